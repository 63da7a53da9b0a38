// Procedures: what a kind of work requires.
#include "config/requirement.h"

#include <stdlib.h>
#include <string.h>

#define DAY_S (24.0 * 3600)

enum {
    PROCEDURE = CONFIG_REQ_COUNT,
    PROCEDURE_TITLE,
    PROCEDURE_MATCH,
    PROCEDURE_TAKES,
    PROCEDURE_CHECK_IN
};
static const struct config_field procedure_fields[] = {
    {"credentials", CONFIG_ARRAY, false, 0, 1000, 0},
    {"isolate", CONFIG_ARRAY, true, 1, MODEL_ENERGIES_MAX, 0},
    {"prepare", CONFIG_ARRAY, false, 0, 1000, 0},
    {"relieve", CONFIG_ARRAY, false, 0, 1000, 0},
    {"verify", CONFIG_ARRAY, true, 1, 1000, 0},
    {"work", CONFIG_ARRAY, false, 0, 1000, 0},
    {"clear", CONFIG_ARRAY, true, 1, 1000, 0},
    {"finish", CONFIG_ARRAY, false, 0, 1000, 0},
    {"leave", CONFIG_ARRAY, true, 1, 1000, 0},
    {"tests", CONFIG_ARRAY, true, 1, 1000, 0},
    [PROCEDURE] = {"procedure", CONFIG_ID, true, 0, 0, 0},
    [PROCEDURE_TITLE] = {"title", CONFIG_TEXT, false, 1, 200, 0},
    [PROCEDURE_MATCH] = {"match", CONFIG_TEXT, false, 0, 0, 0},
    [PROCEDURE_TAKES] = {"takes", CONFIG_TEXT, false, 0, 0, 0},
    [PROCEDURE_CHECK_IN] = {"check_in_s", CONFIG_SECONDS, false, 60, DAY_S, 0},
};

// A field that may hold one word.
static bool is_word(struct config_file *file, const struct config_value *value, const char *word) {
    bool is = value->ok && strcmp(value->text, word) == 0;
    if (value->ok && !is) {
        config_error(file, value->node, "must be \"%s\" or left out, not \"%s\"", word,
                     value->text);
    }
    return is;
}

// Rule (3, service; R9): A procedure may take every position of the site. [takes-site-unread]
static void read_takes(struct config_file *file, const struct config_value *value,
                       struct model_requirements *all) {
    if (!value->ok) {
        return;
    }
    all->takes_site = strcmp(value->text, "site") == 0;
    all->takes_dispenser = all->takes_site || strcmp(value->text, "dispenser") == 0;
    if (!all->takes_dispenser && strcmp(value->text, "position") != 0) {
        config_error(file, value->node,
                     "must be \"position\", \"dispenser\" or \"site\", not \"%s\"", value->text);
    }
}

static void read_procedure(struct config_file *file) {
    struct config *config = file->config;
    struct model *model = config->model;
    struct config_value values[CONFIG_COUNT(procedure_fields)];
    if (!config_read(file, json_root(&file->tape), "a procedure", procedure_fields,
                     CONFIG_COUNT(procedure_fields), values) ||
        !values[PROCEDURE].ok) {
        config->procedures_broken = true;
        return;
    }
    uint32_t other =
        config_names_add(config, &config->procedures, values[PROCEDURE].id, file->order);
    if (other != MODEL_NONE) {
        config_error(file, values[PROCEDURE].node,
                     "the procedure \"%s\" stands in \"%s\" already; ids are unique",
                     values[PROCEDURE].id, config->file_paths[other]);
        return;
    }
    struct config_building building = {
        .file = file, .checks = {.brief = true}, .tests = {.brief = true}};
    building.all.procedure = config_intern(config, values[PROCEDURE].id);
    building.all.title =
        values[PROCEDURE_TITLE].ok ? values[PROCEDURE_TITLE].text : building.all.procedure;
    building.all.match = is_word(file, &values[PROCEDURE_MATCH], "nozzle_family");
    read_takes(file, &values[PROCEDURE_TAKES], &building.all);
    building.all.check_in_ms = values[PROCEDURE_CHECK_IN].integer;
    config->isolation_broken |= !values[CONFIG_REQ_ISOLATE].ok;
    config_requirements_add(&building, values);
    config_verify_by_a_person(&building, values[CONFIG_REQ_GROUPS + MODEL_GROUP_VERIFY].node);
    config_requirements_keep(&building, &model->procedures[model->procedure_count++]);
}

static int compare_procedures(const void *a, const void *b) {
    return strcmp(((const struct model_requirements *)a)->procedure,
                  ((const struct model_requirements *)b)->procedure);
}

void config_procedures_load(struct config *config, const struct config_paths *paths) {
    struct model *model = config->model;
    model->procedures = config_alloc(config, paths->count, sizeof(*model->procedures));
    for (size_t i = 0; i < paths->count; i++) {
        struct config_file *file =
            config_open(config, config->root, paths->items[i].node, paths->items[i].path);
        if (file == NULL) {
            config->procedures_broken = true;
            continue;
        }
        read_procedure(file);
        config_close(file);
    }
    if (model->procedure_count > 1) {
        qsort(model->procedures, model->procedure_count, sizeof(*model->procedures),
              compare_procedures);
    }
    // NOLINTNEXTLINE(bugprone-sizeof-expression): elements are pointers
    config->plain_row = config_alloc(config, model->procedure_count, sizeof(*config->plain_row));
    for (size_t i = 0; i < model->procedure_count; i++) {
        config->plain_row[i] = &model->procedures[i];
    }
}
