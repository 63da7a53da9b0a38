// Districts: what local authority adds to procedures. Under an id that the procedure has, it may
// only ask for more.
#include "config/internal.h"

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

// A text that may be added where there is none, but not replaced.
static void same_or_new(struct config_file *file, const struct config_value *given,
                        const char **text) {
    if (!given->ok) {
        return;
    }
    if (*text == NULL) {
        *text = config_intern(file->config, given->text);
    } else if (strcmp(*text, given->text) != 0) {
        config_error(file, given->node,
                     "the procedure says \"%s\" under this id, and a district may only tighten its "
                     "limits; leave this out, or add one under another id",
                     *text);
    }
}

// Limits may only come closer.
static void tighten(struct config_file *file, struct model_limits *limits,
                    const struct config_value *min, const struct config_value *max) {
    if (min->ok && limits->has_min && min->number < limits->min) {
        config_error(file, min->node,
                     "loosens the procedure's limit of %.15g, and a district may only tighten it",
                     limits->min);
    } else if (min->ok) {
        limits->has_min = true;
        limits->min = min->number;
    }
    if (max->ok && limits->has_max && max->number > limits->max) {
        config_error(file, max->node,
                     "loosens the procedure's limit of %.15g, and a district may only tighten it",
                     limits->max);
    } else if (max->ok) {
        limits->has_max = true;
        limits->max = max->number;
    }
    config_limits_meet(file, min, max, limits);
}

// What is asked goes by the procedure, so that the technician reads one wording everywhere.
static void same_ask(struct config_file *file, const struct config_value *given, const char *ask) {
    if (given->ok && ask != NULL && strcmp(ask, given->text) != 0) {
        config_warn(file, given->node,
                    "the procedure asks \"%s\" under this id, and so it stays; leave this out",
                    ask);
    }
}

void config_tighten_check(struct config_file *file, struct model_check *check,
                          const struct config_value *given, unsigned role) {
    const struct config_value *by = &given[CONFIG_CHECK_BY], *valid = &given[CONFIG_CHECK_VALID];
    const struct config_value *min = &given[CONFIG_CHECK_MIN], *max = &given[CONFIG_CHECK_MAX];
    same_ask(file, &given[CONFIG_CHECK_ASK], check->ask);
    same_or_new(file, &given[CONFIG_CHECK_UNIT], &check->unit);
    same_or_new(file, &given[CONFIG_CHECK_INSTRUMENT], &check->instrument);
    if (role != 0 && check->by != 0 && role != check->by) {
        config_error(file, by->node, "the procedure has it signed by a %s; leave this out",
                     model_role_name(check->by));
    } else if (role != 0) {
        check->by = role;
    }
    if (valid->ok && check->valid_ms > 0 && valid->integer > check->valid_ms) {
        config_error(file, valid->node,
                     "loosens the procedure's limit of %.15g, and a district may only tighten it",
                     (double)check->valid_ms / 1000);
    } else if (valid->ok && check->group == MODEL_GROUP_PREPARE) {
        check->valid_ms = valid->integer;
    }
    if (check->unit == NULL && (min->ok || max->ok)) {
        config_error(file, min->ok ? min->node : max->node,
                     "a limit needs the \"unit\" it is in, beside it");
    } else {
        tighten(file, &check->limits, min, max);
    }
    check->note = check->note || given[CONFIG_CHECK_NOTE].flag;
    config_check_measure(file, check, &given[CONFIG_CHECK_MEASURE]);
}

void config_tighten_test(struct config_file *file, const struct json_node *node,
                         struct model_test *test, const struct config_value *given) {
    const struct config_value *powered = &given[CONFIG_TEST_POWERED];
    const struct config_value *min = &given[CONFIG_TEST_MIN], *max = &given[CONFIG_TEST_MAX];
    const struct config_value *unit = &given[CONFIG_TEST_UNIT];
    same_or_new(file, &given[CONFIG_TEST_RULE], &test->rule);
    same_or_new(file, &given[CONFIG_TEST_INSTRUMENT], &test->instrument);
    if (unit->ok && test->unit == NULL) {
        config_error(file, unit->node, "the rule \"%s\" has its own unit; leave it out",
                     test->rule);
    } else {
        same_or_new(file, unit, &test->unit);
    }
    if (powered->ok && test->powered && !powered->flag) {
        config_error(file, powered->node,
                     "loosens the procedure, which tests under power; a district may only tighten");
    } else if (powered->ok) {
        test->powered = powered->flag;
    }
    if ((min->ok || max->ok) &&
        config_limits_allowed(file, node, trade_rule_find(test->rule), given)) {
        test->limits = model_test_limits(test);
        tighten(file, &test->limits, min, max);
    }
}

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
    struct config_building building = {
        .file = file, .all = *base, .checks = {.brief = true}, .tests = {.brief = true}};
    building.all.district = reading->district;
    building.all.effective = reading->day;
    struct model_requirements *row = config_alloc(config, 1, sizeof(*row));
    config_requirements_add(&building, values);
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
            config_open(config, config->root, paths->nodes[i], paths->paths[i]);
        if (file == NULL) {
            config->districts_broken = true;
            continue;
        }
        read_district(file, paths->count);
        config_close(file);
    }
}
