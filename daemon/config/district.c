// Districts: what local authority adds to procedures. Under an id that the procedure has, it may
// only ask for more.
#include "config/requirement.h"

#include <string.h>

static const struct config_field addition_fields[CONFIG_REQ_COUNT] = {
    {"credentials", CONFIG_ARRAY, false, 0, 1000, 0},
    {"isolate", CONFIG_ARRAY, false, 0, MODEL_ENERGIES_MAX, 0},
    {"prepare", CONFIG_ARRAY, false, 0, 1000, 0},
    {"relieve", CONFIG_ARRAY, false, 0, 1000, 0},
    {"verify", CONFIG_ARRAY, false, 0, 1000, 0},
    {"work", CONFIG_ARRAY, false, 0, 1000, 0},
    {"clear", CONFIG_ARRAY, false, 0, 1000, 0},
    {"finish", CONFIG_ARRAY, false, 0, 1000, 0},
    {"leave", CONFIG_ARRAY, false, 0, 1000, 0},
    {"tests", CONFIG_ARRAY, false, 0, 1000, 0},
};

enum { DISTRICT, DISTRICT_EFFECTIVE, DISTRICT_ADDS };
static const struct config_field district_fields[] = {
    [DISTRICT] = {"district", CONFIG_ID, true, 0, 0, 0},
    [DISTRICT_EFFECTIVE] = {"effective", CONFIG_DATE, false, 0, 0, 0},
    [DISTRICT_ADDS] = {"adds", CONFIG_OBJECT, true, 0, 0, 0},
};

static void unknown_procedure(struct config_file *file, const struct json_node *key,
                              const char *id) {
    const struct model *model = file->config->model;
    const char *names[32];
    char hint[80];
    size_t count = 0;
    for (; count < model->procedure_count && count < CONFIG_COUNT(names); count++) {
        names[count] = model->procedures[count].procedure;
    }
    if (!file->config->procedures_broken) {
        config_error(file, key, "there is no procedure \"%s\"%s", id,
                     config_hint(id, names, count, hint, sizeof(hint)));
    }
}

// The rules that one file holds: of which district, from which day, by procedure index.
struct reading {
    const char *district, *day; // interned; day NULL: from the start
    const struct model_requirements **rows;
};

// What a district adds to one procedure.
static void read_addition(struct config_file *file, const struct reading *reading,
                          const struct json_node *key, const struct json_node *node) {
    struct config *config = file->config;
    struct model *model = config->model;
    char id[MODEL_ID_SIZE] = "";
    const struct model_requirements *base =
        json_copy(&file->tape, key, id, sizeof(id)) ? model_procedure_find(model, id) : NULL;
    if (base == NULL) {
        unknown_procedure(file, key, id);
        return;
    }
    struct config_value values[CONFIG_REQ_COUNT];
    if (!config_read(file, node, "an addition to a procedure", addition_fields, CONFIG_REQ_COUNT,
                     values)) {
        return;
    }
    if (base->inspection) {
        config_of_repairs(file, values, CONFIG_REQ_COUNT);
    }
    config->isolation_broken |=
        values[CONFIG_REQ_ISOLATE].node != NULL && !values[CONFIG_REQ_ISOLATE].ok;
    struct config_building building = {
        .file = file, .all = *base, .checks = {.brief = true}, .tests = {.brief = true}};
    building.all.district = reading->district;
    building.all.effective = reading->day;
    struct model_requirements *row = config_alloc(config, 1, sizeof(*row));
    config_requirements_add(&building, values);
    config_verify_by_a_person(&building, values[CONFIG_REQ_GROUPS + MODEL_GROUP_VERIFY].node);
    config_requirements_keep(&building, row);
    reading->rows[base - model->procedures] = row;
}

// The district of an id, made where it is the first file of it. files: how many there may be.
static struct config_district *district_of(struct config *config, const char *id, size_t files) {
    uint32_t fresh = (uint32_t)config->district_count;
    uint32_t known = config_names_add(config, &config->districts, id, fresh);
    struct config_district *district = &config->district_rows[known != MODEL_NONE ? known : fresh];
    if (known == MODEL_NONE) {
        config->district_count++;
        district->id = config_intern(config, id);
        district->requirements = config->plain_row;
        district->rules = config_alloc(config, files, sizeof(*district->rules));
    }
    return district;
}

// Takes rules that hold from a day on. Two files of one day contradict each other.
static void keep_from(struct config_file *file, const struct json_node *node,
                      struct config_district *district, const struct reading *reading) {
    size_t at = district->rule_count;
    while (at > 0 && strcmp(district->rules[at - 1].day, reading->day) > 0) {
        at--;
    }
    if (at > 0 && strcmp(district->rules[at - 1].day, reading->day) == 0) {
        config_error(file, node,
                     "another file has rules of the district \"%s\" from this day already; a day "
                     "has one set of rules",
                     district->id);
        return;
    }
    memmove(&district->rules[at + 1], &district->rules[at],
            (district->rule_count - at) * sizeof(*district->rules));
    district->rules[at] = (struct model_rules){.requirements = reading->rows};
    memcpy(district->rules[at].day, reading->day, sizeof(district->rules[at].day));
    district->rule_count++;
}

// Takes rules that hold until the first day of others.
static void keep_plain(struct config_file *file, const struct json_node *node,
                       struct config_district *district, const struct reading *reading) {
    if (district->plain) {
        config_error(file, node,
                     "the district \"%s\" stands in another file already; a second one needs an "
                     "\"effective\" day of its own",
                     district->id);
        return;
    }
    district->plain = true;
    district->requirements = reading->rows;
}

// Every procedure as configured, under the district's name: also one to which it adds nothing was
// judged by its rules.
static const struct model_requirements **rows_of(struct config *config,
                                                 const struct reading *reading) {
    size_t count = config->model->procedure_count;
    // NOLINTNEXTLINE(bugprone-sizeof-expression): elements are pointers
    const struct model_requirements **rows = config_alloc(config, count, sizeof(*rows));
    struct model_requirements *named = config_alloc(config, count, sizeof(*named));
    for (size_t i = 0; i < count; i++) {
        named[i] = config->model->procedures[i];
        named[i].district = reading->district;
        named[i].effective = reading->day;
        rows[i] = &named[i];
    }
    return rows;
}

static void read_additions(struct config_file *file, const struct reading *reading,
                           const struct json_node *adds) {
    const struct json_node *key = json_first(&file->tape, adds);
    while (key != NULL) {
        const struct json_node *node = json_next(&file->tape, adds, key);
        if (node->kind != JSON_NULL) {
            read_addition(file, reading, key, node);
        }
        key = json_next(&file->tape, adds, node);
    }
}

static void read_district(struct config_file *file, size_t files) {
    struct config *config = file->config;
    struct config_value values[CONFIG_COUNT(district_fields)];
    if (!config_read(file, json_root(&file->tape), "a district", district_fields,
                     CONFIG_COUNT(district_fields), values) ||
        !values[DISTRICT].ok) {
        config->districts_broken = true;
        return;
    }
    const struct config_value *day = &values[DISTRICT_EFFECTIVE];
    struct reading reading = {.district = config_intern(config, values[DISTRICT].id)};
    reading.day = day->ok ? config_intern(config, day->id) : NULL;
    reading.rows = rows_of(config, &reading);
    if (values[DISTRICT_ADDS].ok) {
        read_additions(file, &reading, values[DISTRICT_ADDS].node);
    }
    struct config_district *district = district_of(config, values[DISTRICT].id, files);
    if (day->ok) {
        keep_from(file, day->node, district, &reading);
    } else if (day->node == NULL) {
        keep_plain(file, values[DISTRICT].node, district, &reading);
    }
}

void config_districts_load(struct config *config, const struct config_paths *paths) {
    config->district_rows = config_scratch(config, paths->count, sizeof(*config->district_rows));
    for (size_t i = 0; i < paths->count; i++) {
        struct config_file *file =
            config_open(config, config->root, paths->items[i].node, paths->items[i].path);
        if (file == NULL) {
            config->districts_broken = true;
            continue;
        }
        read_district(file, paths->count);
        config_close(file);
    }
}
