// Procedures: what a kind of work requires. The reading of checks, tests, credentials and energies
// serves the additions of districts too.
#include "config/internal.h"

#include <stdlib.h>
#include <string.h>

// A signature is kept with its unit, in as much room.
#define UNIT_MAX 31
#define YEAR_S 31536000
// How many rules a misspelled one is compared with.
#define RULES_MAX 64

static const struct config_field check_fields[CONFIG_CHECK_COUNT] = {
    [CONFIG_CHECK] = {"check", CONFIG_ID, true, 0, 0, 0},
    [CONFIG_CHECK_ASK] = {"ask", CONFIG_TEXT, false, 0, 0, 0},
    [CONFIG_CHECK_UNIT] = {"unit", CONFIG_TEXT, false, 1, UNIT_MAX, 0},
    [CONFIG_CHECK_MIN] = {"min", CONFIG_NUMBER, false, 0, 0, 0},
    [CONFIG_CHECK_MAX] = {"max", CONFIG_NUMBER, false, 0, 0, 0},
    [CONFIG_CHECK_INSTRUMENT] = {"instrument", CONFIG_ID, false, 0, 0, 0},
    [CONFIG_CHECK_BY] = {"by", CONFIG_TEXT, false, 0, 0, 0},
    [CONFIG_CHECK_VALID] = {"valid_s", CONFIG_SECONDS, false, 0.001, YEAR_S, 28800},
    [CONFIG_CHECK_MEASURE] = {"measure", CONFIG_ID, false, 0, 0, 0},
    [CONFIG_CHECK_NOTE] = {"note", CONFIG_FLAG, false, 0, 0, 0},
};

static const struct config_field test_fields[CONFIG_TEST_COUNT] = {
    [CONFIG_TEST] = {"test", CONFIG_ID, true, 0, 0, 0},
    [CONFIG_TEST_RULE] = {"rule", CONFIG_TEXT, false, 0, 0, 0},
    [CONFIG_TEST_UNIT] = {"unit", CONFIG_TEXT, false, 1, UNIT_MAX, 0},
    [CONFIG_TEST_MIN] = {"min", CONFIG_NUMBER, false, 0, 0, 0},
    [CONFIG_TEST_MAX] = {"max", CONFIG_NUMBER, false, 0, 0, 0},
    [CONFIG_TEST_INSTRUMENT] = {"instrument", CONFIG_ID, false, 0, 0, 0},
    [CONFIG_TEST_POWERED] = {"powered", CONFIG_FLAG, false, 0, 0, 1},
    [CONFIG_TEST_RUNS] = {"runs", CONFIG_INTEGER, false, 2, 16, 0},
    [CONFIG_TEST_BORDERLINE] = {"borderline", CONFIG_NUMBER, false, 0, 1e9, 0},
    [CONFIG_TEST_EACH] = {"each", CONFIG_TEXT, false, 0, 0, 0},
    [CONFIG_TEST_FAILS] = {"fails", CONFIG_TEXT, false, 0, 0, 0},
};

enum { PROCEDURE = CONFIG_REQ_COUNT, PROCEDURE_TITLE, PROCEDURE_MATCH, PROCEDURE_TAKES };
static const struct config_field procedure_fields[] = {
    {"credentials", CONFIG_ARRAY, false, 0, 1000, 0},
    {"isolate", CONFIG_ARRAY, true, 1, MODEL_ENERGIES_MAX, 0},
    {"prepare", CONFIG_ARRAY, false, 0, 1000, 0},
    {"relieve", CONFIG_ARRAY, false, 0, 1000, 0},
    {"verify", CONFIG_ARRAY, true, 1, 1000, 0},
    {"work", CONFIG_ARRAY, false, 0, 1000, 0},
    {"clear", CONFIG_ARRAY, true, 1, 1000, 0},
    {"finish", CONFIG_ARRAY, false, 0, 1000, 0},
    {"leave", CONFIG_ARRAY, false, 0, 1000, 0},
    {"tests", CONFIG_ARRAY, true, 1, 1000, 0},
    [PROCEDURE] = {"procedure", CONFIG_ID, true, 0, 0, 0},
    [PROCEDURE_TITLE] = {"title", CONFIG_TEXT, false, 1, 200, 0},
    [PROCEDURE_MATCH] = {"match", CONFIG_TEXT, false, 0, 0, 0},
    [PROCEDURE_TAKES] = {"takes", CONFIG_TEXT, false, 0, 0, 0},
};

static void *grown(struct config *config, const void *from, size_t count, size_t more,
                   size_t size) {
    void *to = config_scratch(config, count + more, size);
    if (count > 0) {
        memcpy(to, from, count * size);
    }
    return to;
}

static size_t elements(const struct config_value *value) {
    return value->ok ? value->node->count : 0;
}

static void make_room(struct config_building *building, const struct config_value *values) {
    struct config *config = building->file->config;
    struct model_requirements *all = &building->all;
    size_t checks = 0;
    for (size_t i = 0; i < MODEL_GROUP_COUNT; i++) {
        checks += elements(&values[CONFIG_REQ_GROUPS + i]);
    }
    all->checks = grown(config, all->checks, all->check_count, checks, sizeof(*all->checks));
    all->tests = grown(config, all->tests, all->test_count, elements(&values[CONFIG_REQ_TESTS]),
                       sizeof(*all->tests));
    all->isolate = grown(config, all->isolate, all->isolate_count,
                         elements(&values[CONFIG_REQ_ISOLATE]), sizeof(*all->isolate));
    all->credentials = grown(config, all->credentials, all->credential_count,
                             elements(&values[CONFIG_REQ_CREDENTIALS]), sizeof(*all->credentials));
}

static void warn_unheld(struct config_file *file, const struct json_node *node,
                        const struct model_credential_choice *choice) {
    struct config *config = file->config;
    char list[200] = "";
    size_t used = 0;
    for (size_t i = 0; i < choice->count; i++) {
        if (config_names_find(&config->held, choice->any[i]) != MODEL_NONE) {
            return;
        }
        int wrote = snprintf(list + used, sizeof(list) - used, "%s\"%s\"", i > 0 ? ", " : "",
                             choice->any[i]);
        used += wrote > 0 && (size_t)wrote < sizeof(list) - used ? (size_t)wrote : 0;
    }
    if (!config->people_broken) {
        config_warn(file, node, "nobody holds %s%s: no one can do this work",
                    choice->count > 1 ? "any of " : "", list);
    }
}

static void add_choice(struct config_building *building, const struct json_node *node) {
    static const struct config_field list = {"", CONFIG_ARRAY, true, 1, 100, 0};
    struct config_file *file = building->file;
    struct config_value value;
    config_read_value(file, node, &list, &value);
    if (!value.ok) {
        return;
    }
    struct model_credential_choice choice;
    const char **named = config_ids(file, node, "the credential", &choice.count);
    const struct json_node *at = json_first(&file->tape, node);
    for (size_t i = 0; i < choice.count && choice.count == node->count; i++) {
        config_credential_known(file, at, named[i]);
        at = json_next(&file->tape, node, at);
    }
    const char **ids = config_credentials_expand(file->config, named, &choice.count);
    choice.any = config_alloc(file->config, choice.count, sizeof(*choice.any));
    for (size_t i = 0; i < choice.count; i++) {
        choice.any[i] = config_intern(file->config, ids[i]);
    }
    if (choice.count > 0) {
        warn_unheld(file, node, &choice);
        building->all.credentials[building->all.credential_count++] = choice;
    }
}

static bool isolates(const struct model_requirements *all, const char *energy) {
    for (size_t i = 0; i < all->isolate_count; i++) {
        if (all->isolate[i] == energy) { // interned
            return true;
        }
    }
    return false;
}

static void add_energy(struct config_building *building, const struct json_node *node) {
    static const struct config_field id = {"", CONFIG_ID, true, 0, 0, 0};
    struct config_file *file = building->file;
    struct config_value value;
    config_read_value(file, node, &id, &value);
    if (!value.ok) {
        return;
    }
    const char *energy = config_intern(file->config, value.id);
    config_energy(file, node, energy);
    if (isolates(&building->all, energy)) {
        config_error(file, node, "the energy \"%s\" is isolated already; name it once", energy);
    } else {
        building->all.isolate[building->all.isolate_count++] = energy;
    }
}

bool config_limits_meet(struct config_file *file, const struct config_value *min,
                        const struct config_value *max, const struct model_limits *limits) {
    if (!limits->has_min || !limits->has_max || limits->min <= limits->max) {
        return true;
    }
    config_error(file, min->ok ? min->node : max->node,
                 "the least allowed value, %.15g, is over the greatest, %.15g: nothing would pass",
                 limits->min, limits->max);
    return false;
}

static struct model_limits limits_of(const struct config_value *min,
                                     const struct config_value *max) {
    return (struct model_limits){min->ok, max->ok, min->ok ? min->number : 0,
                                 max->ok ? max->number : 0};
}

static unsigned read_by(struct config_file *file, const struct config_value *by) {
    unsigned role = by->ok ? model_role_of(by->text) : 0;
    if (by->ok && role == 0) {
        config_error(file, by->node,
                     "must be a role: technician, supervisor, manager, tracker or viewer, not "
                     "\"%s\"",
                     by->text);
    }
    return role;
}

static void new_check(struct config_building *building, const struct json_node *node,
                      enum model_group group, const struct config_value *values, unsigned role) {
    struct config_file *file = building->file;
    const struct config_value *min = &values[CONFIG_CHECK_MIN], *max = &values[CONFIG_CHECK_MAX];
    if (values[CONFIG_CHECK_ASK].node == NULL) {
        config_missing(file, node, "a check", "ask");
    }
    if (values[CONFIG_CHECK_UNIT].node == NULL && (min->ok || max->ok)) {
        config_error(file, min->ok ? min->node : max->node,
                     "a limit needs the \"unit\" it is in, beside it");
    }
    struct model_check check = {
        .group = group,
        .ask = values[CONFIG_CHECK_ASK].text,
        .unit = values[CONFIG_CHECK_UNIT].text,
        .limits = limits_of(min, max),
        .by = role,
        .valid_ms = group == MODEL_GROUP_PREPARE ? values[CONFIG_CHECK_VALID].integer : 0,
    };
    memcpy(check.check, values[CONFIG_CHECK].id, sizeof(check.check));
    if (values[CONFIG_CHECK_INSTRUMENT].ok) {
        check.instrument = config_intern(file->config, values[CONFIG_CHECK_INSTRUMENT].id);
    }
    check.note = values[CONFIG_CHECK_NOTE].flag;
    config_limits_meet(file, min, max, &check.limits);
    config_check_measure(file, &check, &values[CONFIG_CHECK_MEASURE]);
    model_check_insert(&building->all, &check);
}

static void add_check(struct config_building *building, const struct json_node *node,
                      enum model_group group) {
    struct config_file *file = building->file;
    struct config_value values[CONFIG_CHECK_COUNT];
    if (!config_read(file, node, "a check", check_fields, CONFIG_CHECK_COUNT, values)) {
        return;
    }
    unsigned role = read_by(file, &values[CONFIG_CHECK_BY]);
    if (values[CONFIG_CHECK_VALID].node != NULL && group != MODEL_GROUP_PREPARE) {
        config_error(file, values[CONFIG_CHECK_VALID].node,
                     "\"valid_s\" goes with checks in \"prepare\" only; leave it out");
    }
    const char *id = values[CONFIG_CHECK].id;
    if (!values[CONFIG_CHECK].ok) {
        return;
    }
    if (config_names_add(file->config, &building->checks, id, 0) != MODEL_NONE) {
        config_error(file, values[CONFIG_CHECK].node,
                     "the check \"%s\" stands twice; ids are unique in a procedure", id);
        return;
    }
    struct model_check *known = model_check_named(&building->all, id);
    if (known == NULL) {
        new_check(building, node, group, values, role);
    } else if (known->group != group) {
        config_error(file, values[CONFIG_CHECK].node,
                     "the procedure has the check \"%s\" in \"%s\"; add one under another id", id,
                     model_group_name(known->group));
    } else {
        config_tighten_check(file, known, values, role);
    }
}

static void unknown_rule(struct config_file *file, const struct config_value *value) {
    const struct trade_rule *rule = trade_rule_find(value->text);
    const char *names[RULES_MAX];
    char hint[80];
    size_t count = 0;
    if (rule != NULL) {
        config_error(file, value->node,
                     "\"%s\" is for the calculator only; sign a \"work\" check with its limits",
                     rule->rule);
        return;
    }
    for (size_t i = 0; count < RULES_MAX && (rule = trade_rule_at(i)) != NULL; i++) {
        if (trade_rule_known(rule->rule)) {
            names[count++] = rule->rule;
        }
    }
    config_error(file, value->node, "there is no rule \"%s\"%s", value->text,
                 config_hint(value->text, names, count, hint, sizeof(hint)));
}

bool config_limits_allowed(struct config_file *file, const struct json_node *node,
                           const struct trade_rule *rule, const struct config_value *values) {
    const struct config_value *min = &values[CONFIG_TEST_MIN], *max = &values[CONFIG_TEST_MAX];
    struct model_limits given = limits_of(min, max);
    struct trade_error error;
    if ((min->node != NULL && !min->ok) || (max->node != NULL && !max->ok)) {
        return false; // said already
    }
    if (trade_limits_allowed(rule, &given, &error)) {
        return true;
    }
    const struct json_node *at = strcmp(error.reading, "min") == 0 ? min->node : max->node;
    config_error(file, at != NULL ? at : node, "%s", error.what);
    return false;
}

// A unit goes with limits that are the procedure's alone; every other rule has one of its own.
static void check_rule_unit(struct config_file *file, const struct json_node *node,
                            const struct trade_rule *rule, const struct config_value *unit) {
    bool needed = rule->limits == TRADE_LIMITS_NEEDED;
    if (needed && unit->node == NULL) {
        config_error(file, node, "a test by the rule \"%s\" needs \"unit\", which is missing",
                     rule->rule);
    } else if (!needed && unit->node != NULL) {
        config_error(file, unit->node, "the rule \"%s\" has its own unit; leave it out",
                     rule->rule);
    }
}

static void new_test(struct config_building *building, const struct json_node *node,
                     const struct config_value *values) {
    struct config_file *file = building->file;
    const struct config_value *min = &values[CONFIG_TEST_MIN], *max = &values[CONFIG_TEST_MAX];
    const struct config_value *named = &values[CONFIG_TEST_RULE];
    if (named->node == NULL) {
        config_missing(file, node, "a test", "rule");
    }
    if (!named->ok) {
        return;
    }
    if (!trade_rule_known(named->text)) {
        unknown_rule(file, named);
        return;
    }
    const struct trade_rule *rule = trade_rule_find(named->text);
    check_rule_unit(file, node, rule, &values[CONFIG_TEST_UNIT]);
    config_limits_allowed(file, node, rule, values);
    struct model_test test = {
        .rule = rule->rule,
        .unit = values[CONFIG_TEST_UNIT].text,
        .limits = limits_of(min, max),
        .rule_limits = trade_limits_replaced(rule->rule),
        .powered = values[CONFIG_TEST_POWERED].flag,
    };
    memcpy(test.test, values[CONFIG_TEST].id, sizeof(values[CONFIG_TEST].id));
    if (values[CONFIG_TEST_INSTRUMENT].ok) {
        test.instrument = config_intern(file->config, values[CONFIG_TEST_INSTRUMENT].id);
    }
    config_test_runs(file, node, &test, values);
    building->all.tests[building->all.test_count++] = test;
}

static struct model_test *test_named(struct model_requirements *all, const char *id) {
    for (size_t i = 0; i < all->test_count; i++) {
        if (strcmp(all->tests[i].test, id) == 0) {
            return &all->tests[i];
        }
    }
    return NULL;
}

static void add_test(struct config_building *building, const struct json_node *node) {
    struct config_file *file = building->file;
    struct config_value values[CONFIG_TEST_COUNT];
    if (!config_read(file, node, "a test", test_fields, CONFIG_TEST_COUNT, values) ||
        !values[CONFIG_TEST].ok) {
        return;
    }
    const char *id = values[CONFIG_TEST].id;
    if (config_names_add(file->config, &building->tests, id, 0) != MODEL_NONE) {
        config_error(file, values[CONFIG_TEST].node,
                     "the test \"%s\" stands twice; ids are unique in a procedure", id);
        return;
    }
    struct model_test *known = test_named(&building->all, id);
    if (known == NULL) {
        new_test(building, node, values);
    } else {
        config_tighten_test(file, node, known, values);
        config_test_runs(file, node, known, values);
    }
}

static void add_element(struct config_building *building, size_t field,
                        const struct json_node *node) {
    if (field == CONFIG_REQ_CREDENTIALS) {
        add_choice(building, node);
    } else if (field == CONFIG_REQ_ISOLATE) {
        add_energy(building, node);
    } else if (field == CONFIG_REQ_TESTS) {
        add_test(building, node);
    } else {
        add_check(building, node, (enum model_group)(field - CONFIG_REQ_GROUPS));
    }
}

void config_requirements_add(struct config_building *building, const struct config_value *values) {
    const struct json_tape *tape = &building->file->tape;
    make_room(building, values);
    for (size_t field = 0; field < CONFIG_REQ_COUNT; field++) {
        const struct json_node *array = values[field].ok ? values[field].node : NULL;
        const struct json_node *node = array != NULL ? json_first(tape, array) : NULL;
        for (; node != NULL; node = json_next(tape, array, node)) {
            add_element(building, field, node);
        }
    }
}

static void *kept(struct config *config, const void *from, size_t count, size_t size) {
    void *to = config_alloc(config, count, size);
    if (count > 0) {
        memcpy(to, from, count * size);
    }
    return to;
}

void config_requirements_keep(struct config_building *building, struct model_requirements *to) {
    struct config *config = building->file->config;
    *to = building->all;
    to->credentials = kept(config, to->credentials, to->credential_count, sizeof(*to->credentials));
    to->isolate = kept(config, to->isolate, to->isolate_count, sizeof(*to->isolate));
    to->checks = kept(config, to->checks, to->check_count, sizeof(*to->checks));
    to->tests = kept(config, to->tests, to->test_count, sizeof(*to->tests));
}

// A field that may hold one of few words.
static bool one_of(struct config_file *file, const struct config_value *value, const char *a,
                   const char *b) {
    if (!value->ok) {
        return false;
    }
    if (strcmp(value->text, a) == 0) {
        return true;
    }
    if (b == NULL) {
        config_error(file, value->node, "must be \"%s\" or left out, not \"%s\"", a, value->text);
    } else if (strcmp(value->text, b) != 0) {
        config_error(file, value->node, "must be \"%s\" or \"%s\", not \"%s\"", a, b, value->text);
    }
    return false;
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
    building.all.match = one_of(file, &values[PROCEDURE_MATCH], "nozzle_family", NULL);
    building.all.takes_dispenser = one_of(file, &values[PROCEDURE_TAKES], "dispenser", "position");
    config_requirements_add(&building, values);
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
            config_open(config, config->root, paths->nodes[i], paths->paths[i]);
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
