// Coverage: what the work at a site will need and the configuration does not have. Nothing here is
// an error, because the gate refuses what is missing; better to hear it now than at the dispenser.
#include "config/site.h"

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

// A procedure by the rules of a row: 0, those that hold first; behind it, those of the district's
// days.
static const struct model_requirements *row_of(const struct model_site *site, size_t procedure,
                                               size_t row) {
    return row == 0 ? site->requirements[procedure] : site->rules[row - 1].requirements[procedure];
}

// Whether rules of the site that hold earlier isolate this energy too, so that it was said.
static bool said_before(const struct model_site *site, size_t rules, size_t procedure,
                        const char *energy) {
    for (size_t row = 0; row < rules; row++) {
        const struct model_requirements *needs =
            row == 0 ? site->requirements[procedure] : site->rules[row - 1].requirements[procedure];
        for (size_t i = 0; i < needs->isolate_count; i++) {
            if (needs->isolate[i] == energy) { // interned
                return true;
            }
        }
    }
    return false;
}

static void cover_position(struct config_file *file, const struct json_node *node,
                           const struct model_site *site, const struct model_position *position,
                           size_t procedure, size_t row) {
    const struct model_requirements *needs =
        row == 0 ? site->requirements[procedure] : site->rules[row - 1].requirements[procedure];
    for (size_t i = 0; i < needs->isolate_count; i++) {
        if (!position_has(site, position, needs->isolate[i]) &&
            !said_before(site, row, procedure, needs->isolate[i])) {
            config_warn(file, node,
                        "site \"%s\", position \"%s\": no point isolates its \"%s\" energy, which "
                        "the procedure \"%s\" isolates; such a job will be refused",
                        site->site, position->position, needs->isolate[i], needs->procedure);
        }
    }
}

// A test of each product needs to know them. True: it was said.
static bool cover_products(struct config_file *file, const struct json_node *node,
                           const struct model_position *position,
                           const struct model_requirements *needs) {
    for (size_t i = 0; i < needs->test_count && position->product_count == 0; i++) {
        if (needs->tests[i].each_product) {
            config_warn(file, node,
                        "position \"%s\" names no products, and the test \"%s\" of the procedure "
                        "\"%s\" is made for each product",
                        position->position, needs->tests[i].test, needs->procedure);
            return true;
        }
    }
    return false;
}

// One position and procedure, by the rules that hold first and those of each day.
static void cover_procedure(struct config_file *file, const struct json_node *node,
                            const struct model_site *site, const struct model_position *position,
                            size_t procedure) {
    bool said = false;
    for (size_t row = 0; row <= site->rule_count; row++) {
        cover_position(file, node, site, position, procedure, row);
        said = said || cover_products(file, node, position, row_of(site, procedure, row));
    }
}

void config_coverage_positions(struct config_file *file, const struct json_node *const *nodes,
                               const struct model_site *site) {
    size_t procedures = file->config->model->procedure_count;
    for (size_t i = 0; i < site->position_count; i++) {
        for (size_t k = 0; k < procedures; k++) {
            cover_procedure(file, nodes[i], site, &site->positions[i], k);
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
                          const struct model_requirements *needs, int64_t at_ms) {
    for (size_t i = 0; i < config->model->person_count; i++) {
        if (may_do(&config->model->people[i], site, needs, at_ms)) {
            return true;
        }
    }
    return false;
}

// The procedures by the rules of an instant: today, or the first of a coming day.
static void cover_procedures(struct config *config, const struct model_site *site, int64_t at_ms,
                             const char *when) {
    const struct config_place *place =
        &config->site_places[config_names_find(&config->sites, site->site)];
    const struct model *model = config->model;
    for (size_t i = 0; i < model->procedure_count; i++) {
        const char *procedure = model->procedures[i].procedure;
        const struct model_requirements *needs =
            model_requirements_find(model, site, procedure, at_ms);
        if (!anyone_may_do(config, site, needs, at_ms)) {
            config_warn_at(config, place,
                           "site \"%s\": no technician holds the credentials of the procedure "
                           "\"%s\" %s",
                           site->site, procedure, when);
        }
    }
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
    cover_procedures(config, site, config->now_ms, "today");
    for (size_t i = 0; i < site->rule_count; i++) {
        int64_t from_ms = site->rules[i].from_ms[site->zone];
        char when[40];
        snprintf(when, sizeof(when), "on %s, when its rules change", site->rules[i].day);
        if (from_ms > config->now_ms) {
            cover_procedures(config, site, from_ms, when);
        }
    }
}

void config_coverage_people(struct config *config) {
    if (config->people_broken) {
        return;
    }
    for (size_t i = 0; i < config->model->site_count; i++) {
        cover_site(config, &config->model->sites[i]);
    }
}
