// Tests: by which rule of the trade and to which limits, how often and where each is made; new
// ones, and those that a district tightens.
#include "config/requirement.h"

#include "trade/trade.h"

#include <string.h>

// A signature is kept with its unit, in as much room.
#define UNIT_MAX 31
// How many rules a misspelled one is compared with.
#define RULES_MAX 64

enum {
    TEST,
    TEST_RULE,
    TEST_UNIT,
    TEST_MIN,
    TEST_MAX,
    TEST_INSTRUMENT,
    TEST_POWERED,
    TEST_RUNS,
    TEST_BORDERLINE,
    TEST_EACH,
    TEST_FAILS,
    TEST_VALID,
    TEST_TITLE,
    TEST_ASK,
    TEST_METHOD,
    TEST_EDITION,
    TEST_NOTICE,
    TEST_NOTICE_H,
    TEST_COUNT,
};
static const struct config_field test_fields[TEST_COUNT] = {
    [TEST] = {"test", CONFIG_ID, true, 0, 0, 0},
    [TEST_RULE] = {"rule", CONFIG_TEXT, false, 0, 0, 0},
    [TEST_UNIT] = {"unit", CONFIG_TEXT, false, 1, UNIT_MAX, 0},
    [TEST_MIN] = {"min", CONFIG_NUMBER, false, 0, 0, 0},
    [TEST_MAX] = {"max", CONFIG_NUMBER, false, 0, 0, 0},
    [TEST_INSTRUMENT] = {"instrument", CONFIG_ID, false, 0, 0, 0},
    [TEST_POWERED] = {"powered", CONFIG_FLAG, false, 0, 0, 1},
    [TEST_RUNS] = {"runs", CONFIG_INTEGER, false, 2, 16, 0},
    [TEST_BORDERLINE] = {"borderline", CONFIG_NUMBER, false, 0, 1e9, 0},
    [TEST_EACH] = {"each", CONFIG_TEXT, false, 0, 0, 0},
    [TEST_FAILS] = {"fails", CONFIG_TEXT, false, 0, 0, 0},
    [TEST_VALID] = {"valid_s", CONFIG_SECONDS, false, 0.001, CONFIG_VALID_MAX_S, 0},
    [TEST_TITLE] = {"title", CONFIG_SAID, false, 1, 200, 0},
    [TEST_ASK] = {"ask", CONFIG_SAID, false, 0, 0, 0},
    [TEST_METHOD] = {"method", CONFIG_TEXT, false, 1, 200, 0},
    [TEST_EDITION] = {"edition", CONFIG_TEXT, false, 1, 100, 0},
    [TEST_NOTICE] = {"notice", CONFIG_ID, false, 0, 0, 0},
    [TEST_NOTICE_H] = {"notice_h", CONFIG_NUMBER, false, 0.001, CONFIG_NOTICE_MAX_H, 0},
};

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

// Rule (2, tests): A procedure that loosens a published limit is not loaded. [configured-loosening]
static bool limits_allowed(struct config_file *file, const struct json_node *node,
                           const struct trade_rule *rule, const char *unit,
                           const struct config_value *values) {
    const struct config_value *min = &values[TEST_MIN], *max = &values[TEST_MAX];
    struct model_limits given = config_limits_of(min, max, unit);
    struct trade_error error;
    if ((min->node != NULL && !min->ok) || (max->node != NULL && !max->ok)) {
        return false; // said already
    }
    if (!config_limits_meet(file, min, max, &given)) {
        return false;
    }
    if (trade_limits_allowed(rule, &given, &error)) {
        return true;
    }
    const struct json_node *at = strcmp(error.reading, "min") == 0 ? min->node : max->node;
    config_error(file, at != NULL ? at : node, "%s", error.what);
    return false;
}

// Rule (2, tests): A procedure that leaves out limits which its rule has not is not loaded.
// [configured-without-limits]
static void limits_complete(struct config_file *file, const struct json_node *node,
                            const struct trade_rule *rule, const struct config_value *values) {
    struct model_limits given = {.has_min = values[TEST_MIN].ok, .has_max = values[TEST_MAX].ok};
    struct trade_error error;
    if (!trade_limits_complete(rule, &given, &error)) {
        config_error(file, node, "%s", error.what);
    }
}

// A unit goes with limits that are the procedure's alone; every other rule has one of its own, or
// two to choose from.
static void check_rule_unit(struct config_file *file, const struct json_node *node,
                            const struct trade_rule *rule, const struct config_value *unit) {
    bool needed = rule->limits == TRADE_LIMITS_NEEDED;
    if (rule->other_unit != TRADE_NO_UNIT) {
        if (unit->ok && trade_rule_unit(rule, unit->text) == TRADE_NO_UNIT) {
            config_error(file, unit->node, "the rule \"%s\" takes limits in \"%s\" or \"%s\"",
                         rule->rule, trade_unit_symbol(rule->unit),
                         trade_unit_symbol(rule->other_unit));
        }
    } else if (needed && unit->node == NULL) {
        config_error(file, node, "a test by the rule \"%s\" needs \"unit\", which is missing",
                     rule->rule);
    } else if (!needed && unit->node != NULL) {
        config_error(file, unit->node, "the rule \"%s\" has its own unit; leave it out",
                     rule->rule);
    }
}

static void read_runs(struct config_file *file, const struct json_node *node,
                      struct model_test *test, const struct config_value *runs,
                      const struct config_value *borderline) {
    if (runs->node == NULL && borderline->node == NULL) {
        return;
    }
    if (runs->node == NULL && test->runs == 0) {
        config_missing(file, node, "a test with \"borderline\"", "runs");
    } else if (borderline->node == NULL && test->borderline <= 0) {
        config_missing(file, node, "a test with \"runs\"", "borderline");
    } else if (trade_rule_find(test->rule)->limits == TRADE_LIMITS_NONE) {
        config_error(file, runs->node != NULL ? runs->node : borderline->node,
                     "the rule \"%s\" has no value that could be near its limit; leave it out",
                     test->rule);
    } else if (borderline->ok && borderline->number <= 0) {
        config_error(file, borderline->node, "must be over 0");
    } else if (runs->ok && (unsigned)runs->integer < test->runs) {
        config_error(file, runs->node,
                     "loosens the procedure, which averages %u runs; a district may only tighten",
                     test->runs);
    } else if (borderline->ok && test->borderline > 0 && borderline->number != test->borderline) {
        // Wider averages away what failed at once, narrower lets pass what was to be repeated.
        config_error(file, borderline->node,
                     "the procedure calls a margin of %.15g borderline; leave this out",
                     test->borderline);
    } else {
        test->runs = runs->ok ? (unsigned)runs->integer : test->runs;
        test->borderline = borderline->ok ? borderline->number : test->borderline;
    }
}

static bool says(struct config_file *file, const struct config_value *given, const char *word) {
    bool said = given->ok && strcmp(given->text, word) == 0;
    if (given->ok && !said) {
        config_error(file, given->node, "must be \"%s\" or left out, not \"%s\"", word,
                     given->text);
    }
    return said;
}

static void read_repeats(struct config_file *file, const struct json_node *node,
                         struct model_test *test, const struct config_value *given) {
    read_runs(file, node, test, &given[TEST_RUNS], &given[TEST_BORDERLINE]);
    test->each_product = says(file, &given[TEST_EACH], "product") || test->each_product;
    test->fails_dispenser = says(file, &given[TEST_FAILS], "dispenser") || test->fails_dispenser;
    config_valid_tighten(file, &test->valid_ms, &given[TEST_VALID]);
    config_notice_read(file, node, test, &given[TEST_NOTICE], &given[TEST_NOTICE_H]);
}

// What people are told of a test, where nothing was said of it yet: a district may say by whose
// text its authority has it done.
static void read_words(struct model_test *test, const struct config_value *given) {
    if (test->title == NULL) {
        test->title = given[TEST_TITLE].text;
        test->titles = given[TEST_TITLE].texts;
    }
    if (test->ask == NULL) {
        test->ask = given[TEST_ASK].text;
        test->asks = given[TEST_ASK].texts;
    }
    if (given[TEST_METHOD].ok || given[TEST_EDITION].ok) {
        test->method = given[TEST_METHOD].ok ? given[TEST_METHOD].text : test->method;
        test->edition = given[TEST_EDITION].text;
    }
}

// Rule (2, tests): A test carries the limits that its own would replace. [replaced-not-kept]
static void new_test(struct config_building *building, const struct json_node *node,
                     const struct config_value *values) {
    struct config_file *file = building->file;
    const struct config_value *min = &values[TEST_MIN], *max = &values[TEST_MAX];
    const struct config_value *named = &values[TEST_RULE];
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
    check_rule_unit(file, node, rule, &values[TEST_UNIT]);
    if (limits_allowed(file, node, rule, values[TEST_UNIT].text, values)) {
        limits_complete(file, node, rule, values);
    }
    struct model_test test = {
        .rule = rule->rule,
        .unit = values[TEST_UNIT].text,
        .limits = config_limits_of(min, max, values[TEST_UNIT].text),
        .rule_limits = trade_limits_replaced(rule->rule),
        .powered = values[TEST_POWERED].flag,
    };
    memcpy(test.test, values[TEST].id, sizeof(values[TEST].id));
    if (values[TEST_INSTRUMENT].ok) {
        test.instrument = config_intern(file->config, values[TEST_INSTRUMENT].id);
    }
    read_repeats(file, node, &test, values);
    read_words(&test, values);
    building->all.tests[building->all.test_count++] = test;
}

// Rule (2, districts): A district tightens what the rule stands in with, also at the end that the
// procedure leaves. [district-forgets-replaced]
static void tighten_test(struct config_file *file, const struct json_node *node,
                         struct model_test *test, const struct config_value *given) {
    const struct config_value *powered = &given[TEST_POWERED];
    const struct config_value *min = &given[TEST_MIN], *max = &given[TEST_MAX];
    const struct config_value *unit = &given[TEST_UNIT];
    config_same_or_new(file, &given[TEST_RULE], &test->rule);
    config_same_or_new(file, &given[TEST_INSTRUMENT], &test->instrument);
    if (unit->ok && test->unit == NULL) {
        config_error(file, unit->node, "the rule \"%s\" has its own unit; leave it out",
                     test->rule);
    } else {
        config_same_or_new(file, unit, &test->unit);
    }
    if (powered->ok && test->powered && !powered->flag) {
        config_error(file, powered->node,
                     "loosens the procedure, which tests under power; a district may only tighten");
    } else if (powered->ok) {
        test->powered = powered->flag;
    }
    if ((min->ok || max->ok) &&
        limits_allowed(file, node, trade_rule_find(test->rule), test->unit, given)) {
        test->limits = model_test_limits(test);
        config_limits_tighten(file, &test->limits, min, max, test->unit);
    }
}

static struct model_test *test_named(struct model_requirements *all, const char *id) {
    for (size_t i = 0; i < all->test_count; i++) {
        if (strcmp(all->tests[i].test, id) == 0) {
            return &all->tests[i];
        }
    }
    return NULL;
}

void config_test_add(struct config_building *building, const struct json_node *node) {
    struct config_file *file = building->file;
    struct config_value values[TEST_COUNT];
    if (!config_read(file, node, "a test", test_fields, TEST_COUNT, values) || !values[TEST].ok) {
        return;
    }
    const char *id = values[TEST].id;
    if (config_names_add(file->config, &building->tests, id, 0) != MODEL_NONE) {
        config_error(file, values[TEST].node,
                     "the test \"%s\" stands twice; ids are unique in a procedure", id);
        return;
    }
    struct model_test *known = test_named(&building->all, id);
    if (known == NULL) {
        new_test(building, node, values);
    } else {
        tighten_test(file, node, known, values);
        read_repeats(file, node, known, values);
        read_words(known, values);
    }
}
