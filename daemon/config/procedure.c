// Procedures: what a kind of work requires.
#include "config/requirement.h"

#include <stdlib.h>
#include <string.h>

#define DAY_S (24.0 * 3600)

enum {
    PROCEDURE = CONFIG_REQ_COUNT,
    PROCEDURE_TITLE,
    PROCEDURE_KIND,
    PROCEDURE_MATCH,
    PROCEDURE_TAKES,
    PROCEDURE_CHECK_IN,
    PROCEDURE_COUNT,
};
static const struct config_field procedure_fields[PROCEDURE_COUNT] = {
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
    [PROCEDURE_TITLE] = {"title", CONFIG_SAID, false, 1, 200, 0},
    [PROCEDURE_KIND] = {"kind", CONFIG_TEXT, false, 0, 0, 0},
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

// What an inspection has none of: it isolates nothing, and nothing is worked on.
static const int of_repairs[] = {CONFIG_REQ_ISOLATE,
                                 CONFIG_REQ_GROUPS + MODEL_GROUP_RELIEVE,
                                 CONFIG_REQ_GROUPS + MODEL_GROUP_VERIFY,
                                 CONFIG_REQ_GROUPS + MODEL_GROUP_WORK,
                                 CONFIG_REQ_GROUPS + MODEL_GROUP_CLEAR,
                                 CONFIG_REQ_GROUPS + MODEL_GROUP_LEAVE,
                                 PROCEDURE_MATCH,
                                 PROCEDURE_CHECK_IN};

void config_of_repairs(struct config_file *file, const struct config_value *values, size_t count) {
    for (size_t i = 0; i < CONFIG_COUNT(of_repairs); i++) {
        const struct config_value *value = &values[of_repairs[i]];
        if ((size_t)of_repairs[i] < count && value->node != NULL) {
            config_error(file, value->node,
                         "an inspection has only \"prepare\", \"tests\" and \"finish\": leave "
                         "\"%s\" out",
                         procedure_fields[of_repairs[i]].name);
        }
    }
}

// Reads the fields of a procedure of either kind. False: it is no object at all.
// Rule (2, inspection): An inspection needs no isolate, verify, clear or leave.
// [inspection-needs-a-lockout]
// Rule (2, inspection): An inspection has none of them. [inspection-isolates]
static bool read_fields(struct config_file *file, struct config_value values[PROCEDURE_COUNT],
                        bool *inspection) {
    const struct json_node *root = json_root(&file->tape);
    struct config_field fields[PROCEDURE_COUNT];
    memcpy(fields, procedure_fields, sizeof(fields));
    const struct json_node *kind =
        root->kind == JSON_OBJECT ? json_present(&file->tape, root, "kind") : NULL;
    *inspection = kind != NULL && json_equals(&file->tape, kind, "inspection");
    for (size_t i = 0; *inspection && i < CONFIG_COUNT(of_repairs); i++) {
        fields[of_repairs[i]].required = false;
    }
    if (!config_read(file, root, "a procedure", fields, PROCEDURE_COUNT, values)) {
        return false;
    }
    is_word(file, &values[PROCEDURE_KIND], "inspection");
    if (*inspection) {
        config_of_repairs(file, values, PROCEDURE_COUNT);
    }
    return true;
}

static void read_procedure(struct config_file *file) {
    struct config *config = file->config;
    struct model *model = config->model;
    struct config_value values[PROCEDURE_COUNT];
    bool inspection;
    if (!read_fields(file, values, &inspection) || !values[PROCEDURE].ok) {
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
    building.all.titles = values[PROCEDURE_TITLE].texts;
    building.all.inspection = inspection;
    building.all.match = is_word(file, &values[PROCEDURE_MATCH], "nozzle_family");
    read_takes(file, &values[PROCEDURE_TAKES], &building.all);
    building.all.check_in_ms = values[PROCEDURE_CHECK_IN].integer;
    config->isolation_broken |= !inspection && !values[CONFIG_REQ_ISOLATE].ok;
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
