// Measures: the numbers that a site's hardware reports, and the checks that they answer by
// themselves. A check and a measure of one kind must mean one unit, or a reading in bar would be
// held against a limit in psi.
#include "config/site.h"

#include <string.h>

enum {
    MEASURE,
    MEASURE_KIND,
    MEASURE_UNIT,
    MEASURE_TITLE,
    MEASURE_POSITIONS,
    MEASURE_CONTROLLER,
    MEASURE_MAX_AGE,
};
static const struct config_field measure_fields[] = {
    [MEASURE] = {"measure", CONFIG_ID, true, 0, 0, 0},
    [MEASURE_KIND] = {"kind", CONFIG_ID, true, 0, 0, 0},
    [MEASURE_UNIT] = {"unit", CONFIG_TEXT, true, 1, 31, 0},
    [MEASURE_TITLE] = {"title", CONFIG_SAID, false, 1, 200, 0},
    [MEASURE_POSITIONS] = {"positions", CONFIG_ARRAY, true, 1, 0, 0},
    [MEASURE_CONTROLLER] = {"controller", CONFIG_ID, false, 0, 0, 0},
    [MEASURE_MAX_AGE] = {"max_age_s", CONFIG_SECONDS, false, 0.001, 300, 30},
};

// The first check of the rows that takes this kind in another unit, or NULL.
static const struct model_check *other_unit(const struct model *model,
                                            const struct model_requirements *const *rows,
                                            const struct model_measure *measure,
                                            const char **procedure) {
    for (size_t i = 0; i < model->procedure_count; i++) {
        for (size_t k = 0; k < rows[i]->check_count; k++) {
            const struct model_check *check = &rows[i]->checks[k];
            if (check->measure == measure->kind && check->unit != measure->unit) { // interned
                *procedure = rows[i]->procedure;
                return check;
            }
        }
    }
    return NULL;
}

static void compare_units(struct config_site_reading *reading, const struct json_node *node,
                          const struct model_measure *measure) {
    const struct model *model = reading->config->model;
    const struct model_site *site = reading->site;
    const char *procedure = NULL;
    const struct model_check *check = other_unit(model, site->requirements, measure, &procedure);
    for (size_t i = 0; check == NULL && i < site->rule_count; i++) {
        check = other_unit(model, site->rules[i].requirements, measure, &procedure);
    }
    if (check != NULL) {
        config_error(reading->file, node,
                     "the check \"%s\" of the procedure \"%s\" takes \"%s\" in \"%s\", not in "
                     "\"%s\"; have the measure mapped to that unit",
                     check->check, procedure, measure->kind, check->unit, measure->unit);
    }
}

static void read_measure(struct config_site_reading *reading, const struct json_node *node) {
    struct config_file *file = reading->file;
    struct model_site *site = reading->site;
    struct model_measure *measure = &site->measures[site->measure_count];
    struct config_value values[CONFIG_COUNT(measure_fields)];
    if (!config_read(file, node, "a measure", measure_fields, CONFIG_COUNT(measure_fields),
                     values) ||
        !values[MEASURE].ok) {
        return;
    }
    if (config_names_add(reading->config, &reading->measures, values[MEASURE].id,
                         (uint32_t)site->measure_count) != MODEL_NONE) {
        config_error(file, values[MEASURE].node,
                     "the measure \"%s\" stands twice; ids are unique in a site",
                     values[MEASURE].id);
        return;
    }
    memcpy(measure->measure, values[MEASURE].id, sizeof(measure->measure));
    measure->title = values[MEASURE_TITLE].ok ? values[MEASURE_TITLE].text : measure->measure;
    measure->titles = values[MEASURE_TITLE].texts;
    if (values[MEASURE_POSITIONS].ok) {
        const struct json_node *array = values[MEASURE_POSITIONS].node;
        measure->positions =
            config_alloc(reading->config, array->count, sizeof(*measure->positions));
        measure->position_count = config_read_position_list(reading, array, measure->positions);
    }
    measure->controller = config_read_controller(reading, &values[MEASURE_CONTROLLER]);
    measure->max_age_ms = (int32_t)values[MEASURE_MAX_AGE].integer;
    if (values[MEASURE_KIND].ok && values[MEASURE_UNIT].ok) {
        measure->kind = config_intern(reading->config, values[MEASURE_KIND].id);
        measure->unit = values[MEASURE_UNIT].text;
        compare_units(reading, values[MEASURE_UNIT].node, measure);
        site->measure_count++;
    }
}

void config_read_measures(struct config_site_reading *reading, const struct json_node *array) {
    const struct json_tape *tape = &reading->file->tape;
    reading->site->measures =
        config_alloc(reading->config, array->count, sizeof(*reading->site->measures));
    for (const struct json_node *node = json_first(tape, array); node != NULL;
         node = json_next(tape, array, node)) {
        read_measure(reading, node);
    }
}
