// Look-ups by id: through a hash for sites and what is in them, by bisection for the rest.
#include "model/model.h"

#include <stdlib.h>
#include <string.h>

static int compare_id(const void *key, const void *element) {
    return strcmp(key, element); // each of these begins with its id
}

static int compare_procedure(const void *key, const void *element) {
    return strcmp(key, ((const struct model_requirements *)element)->procedure);
}

// bsearch may not be given a null array, not even an empty one.
static const void *bisect(const char *key, const void *array, size_t count, size_t size,
                          int (*compare)(const void *, const void *)) {
    return count > 0 ? bsearch(key, array, count, size, compare) : NULL;
}

const struct model_person *model_person_find(const struct model *model, const char *person) {
    return bisect(person, model->people, model->person_count, sizeof(*model->people), compare_id);
}

const struct model_instrument *model_instrument_find(const struct model *model, const char *id) {
    return bisect(id, model->instruments, model->instrument_count, sizeof(*model->instruments),
                  compare_id);
}

const struct model_requirements *model_procedure_find(const struct model *model, const char *id) {
    return bisect(id, model->procedures, model->procedure_count, sizeof(*model->procedures),
                  compare_procedure);
}

const struct model_requirements *model_requirements_find(const struct model *model,
                                                         const struct model_site *site,
                                                         const char *procedure, int64_t at_ms) {
    const struct model_requirements *base = model_procedure_find(model, procedure);
    if (base == NULL) {
        return NULL;
    }
    const struct model_requirements *const *rows = site->requirements;
    for (size_t i = 0; i < site->rule_count; i++) {
        if (at_ms >= site->rules[i].from_ms[site->zone]) {
            rows = site->rules[i].requirements;
        }
    }
    return rows[base - model->procedures];
}

// FNV-1a.
static uint32_t hash_of(const char *id) {
    uint32_t hash = 2166136261u;
    for (; *id != '\0'; id++) {
        hash = (hash ^ (unsigned char)*id) * 16777619u;
    }
    return hash;
}

// Elements of `stride` bytes that begin with their id.
struct table {
    const char *base;
    size_t stride, count;
};

static const char *table_id(const struct table *table, size_t i) {
    return table->base + i * table->stride;
}

static bool hash_make(struct model *model, struct model_hash *hash, const struct table *table) {
    if (table->count >= UINT32_MAX / 4) {
        return false;
    }
    uint32_t size = 4;
    while (size < table->count + table->count / 2) {
        size *= 2;
    }
    hash->slots = model_array(model, size, sizeof(*hash->slots));
    if (hash->slots == NULL) {
        return false;
    }
    hash->mask = size - 1;
    for (size_t i = 0; i < table->count; i++) {
        uint32_t at = hash_of(table_id(table, i)) & hash->mask;
        while (hash->slots[at] != 0) {
            at = (at + 1) & hash->mask;
        }
        hash->slots[at] = (uint32_t)i + 1;
    }
    return true;
}

static uint32_t scan(const struct table *table, const char *id) {
    for (size_t i = 0; i < table->count; i++) {
        if (strcmp(table_id(table, i), id) == 0) {
            return (uint32_t)i;
        }
    }
    return MODEL_NONE;
}

static uint32_t look_up(const struct model_hash *hash, const struct table *table, const char *id) {
    if (hash->slots == NULL) {
        return scan(table, id);
    }
    for (uint32_t at = hash_of(id) & hash->mask;; at = (at + 1) & hash->mask) {
        if (hash->slots[at] == 0) {
            return MODEL_NONE;
        }
        if (strcmp(table_id(table, hash->slots[at] - 1), id) == 0) {
            return hash->slots[at] - 1;
        }
    }
}

#define TABLE(array, n) ((struct table){(const char *)(array), sizeof(*(array)), (n)})

bool model_index(struct model *model) {
    struct table sites = TABLE(model->sites, model->site_count);
    if (!hash_make(model, &model->site_hash, &sites)) {
        return false;
    }
    for (size_t i = 0; i < model->site_count; i++) {
        struct model_site *site = &model->sites[i];
        struct table positions = TABLE(site->positions, site->position_count);
        struct table points = TABLE(site->points, site->point_count);
        struct table sensors = TABLE(site->sensors, site->sensor_count);
        struct table measures = TABLE(site->measures, site->measure_count);
        if (!hash_make(model, &site->position_hash, &positions) ||
            !hash_make(model, &site->point_hash, &points) ||
            !hash_make(model, &site->sensor_hash, &sensors) ||
            !hash_make(model, &site->measure_hash, &measures)) {
            return false;
        }
    }
    return true;
}

const struct model_site *model_site_find(const struct model *model, const char *site) {
    struct table table = TABLE(model->sites, model->site_count);
    uint32_t index = look_up(&model->site_hash, &table, site);
    return index != MODEL_NONE ? &model->sites[index] : NULL;
}

uint32_t model_position_find(const struct model_site *site, const char *position) {
    struct table table = TABLE(site->positions, site->position_count);
    return look_up(&site->position_hash, &table, position);
}

uint32_t model_point_find(const struct model_site *site, const char *point) {
    struct table table = TABLE(site->points, site->point_count);
    return look_up(&site->point_hash, &table, point);
}

uint32_t model_sensor_find(const struct model_site *site, const char *sensor) {
    struct table table = TABLE(site->sensors, site->sensor_count);
    return look_up(&site->sensor_hash, &table, sensor);
}

uint32_t model_measure_find(const struct model_site *site, const char *measure) {
    struct table table = TABLE(site->measures, site->measure_count);
    return look_up(&site->measure_hash, &table, measure);
}

uint32_t model_controller_find(const struct model_site *site, const char *controller) {
    struct table table = TABLE(site->controllers, site->controller_count);
    return scan(&table, controller);
}

bool model_person_of_site(const struct model_person *person, const struct model_site *site) {
    return person->every_site || (person->at_site != NULL && person->at_site[site->index]);
}

bool model_person_has(const struct model_person *person, unsigned roles) {
    return (person->roles & roles) != 0;
}

bool model_until_valid(const struct model_until *until, const struct model_site *site,
                       int64_t at_ms) {
    return !until->set || at_ms < until->end_ms[site->zone];
}

const char *model_text_in(const struct model_texts *texts, const char *language,
                          const char *otherwise) {
    for (size_t i = 0; texts != NULL && i < texts->count; i++) {
        if (strcmp(texts->in[i].language, language) == 0) {
            return texts->in[i].text;
        }
    }
    return otherwise;
}
