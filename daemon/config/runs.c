// How often and where a test is made: averaged runs, one for each product, and what a failed one
// takes out of service.
#include "config/internal.h"

#include <string.h>

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

void config_test_runs(struct config_file *file, const struct json_node *node,
                      struct model_test *test, const struct config_value *given) {
    read_runs(file, node, test, &given[CONFIG_TEST_RUNS], &given[CONFIG_TEST_BORDERLINE]);
    test->each_product = says(file, &given[CONFIG_TEST_EACH], "product") || test->each_product;
    test->fails_dispenser =
        says(file, &given[CONFIG_TEST_FAILS], "dispenser") || test->fails_dispenser;
}
