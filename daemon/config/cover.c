// Cover: what the work at a site will need and the configuration does not have. Nothing here is an
// error, because the gate refuses what is missing; better to hear it now than at the dispenser.
#include "config/internal.h"

#include <string.h>

static bool position_has(const struct model_site *site, const struct model_position *position,
                         const char *energy) {
    for (size_t i = 0; i < position->point_count; i++) {
        if (site->points[position->points[i]].energy == energy) { // interned
            return true;
        }
    }
    return false;
}

static void cover_position(struct config_file *file, const struct json_node *node,
                           const struct model_site *site, const struct model_position *position,
                           const struct model_requirements *needs) {
    for (size_t i = 0; i < needs->isolate_count; i++) {
        if (!position_has(site, position, needs->isolate[i])) {
            config_warn(file, node,
                        "site \"%s\", position \"%s\": no point isolates its \"%s\" energy, which "
                        "the procedure \"%s\" isolates; such a job will be refused",
                        site->site, position->position, needs->isolate[i], needs->procedure);
        }
    }
}

void config_cover_positions(struct config_file *file, const struct json_node *const *nodes,
                            const struct model_site *site) {
    size_t procedures = file->config->model->procedure_count;
    for (size_t i = 0; i < site->position_count; i++) {
        for (size_t k = 0; k < procedures; k++) {
            cover_position(file, nodes[i], site, &site->positions[i], site->requirements[k]);
        }
    }
}

static bool anyone_has(const struct model *model, const struct model_site *site, unsigned roles) {
    for (size_t i = 0; i < model->person_count; i++) {
        if (model_person_has(&model->people[i], roles) &&
            model_person_of_site(&model->people[i], site)) {
            return true;
        }
    }
    return false;
}

static bool holds_any(const struct model_person *person, const struct model_site *site,
                      const struct model_credential_choice *choice, int64_t now_ms) {
    for (size_t i = 0; i < person->credential_count; i++) {
        const struct model_credential *credential = &person->credentials[i];
        if (!model_until_valid(&credential->until, site, now_ms)) {
            continue;
        }
        for (size_t k = 0; k < choice->count; k++) {
            if (strcmp(credential->credential, choice->any[k]) == 0) {
                return true;
            }
        }
    }
    return false;
}

static bool may_do(const struct model_person *person, const struct model_site *site,
                   const struct model_requirements *needs, int64_t now_ms) {
    if (!model_person_has(person, MODEL_ROLE_TECHNICIAN) || !model_person_of_site(person, site)) {
        return false;
    }
    for (size_t i = 0; i < needs->credential_count; i++) {
        if (!holds_any(person, site, &needs->credentials[i], now_ms)) {
            return false;
        }
    }
    return true;
}

static bool anyone_may_do(const struct config *config, const struct model_site *site,
                          const struct model_requirements *needs) {
    for (size_t i = 0; i < config->model->person_count; i++) {
        if (may_do(&config->model->people[i], site, needs, config->now_ms)) {
            return true;
        }
    }
    return false;
}

static void cover_site(struct config *config, const struct model_site *site) {
    const struct config_place *place =
        &config->site_places[config_names_find(&config->sites, site->site)];
    if (!anyone_has(config->model, site, MODEL_ROLE_SUPERVISOR)) {
        config_warn_at(config, place,
                       "site \"%s\" has no supervisor: nobody can remove an absent person's tag",
                       site->site);
    }
    if (!anyone_has(config->model, site, MODEL_ROLE_MANAGER)) {
        config_warn_at(config, place, "site \"%s\" has no manager: nobody answers for the site",
                       site->site);
    }
    for (size_t i = 0; i < config->model->procedure_count; i++) {
        if (!anyone_may_do(config, site, site->requirements[i])) {
            config_warn_at(config, place,
                           "site \"%s\": no technician holds the credentials of the procedure "
                           "\"%s\" today",
                           site->site, site->requirements[i]->procedure);
        }
    }
}

void config_cover_people(struct config *config) {
    if (config->people_broken) {
        return;
    }
    for (size_t i = 0; i < config->model->site_count; i++) {
        cover_site(config, &config->model->sites[i]);
    }
}
