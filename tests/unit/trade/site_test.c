// What stands beside the readings: a site's file, which they are held against, and the uncertainty
// of the instrument that gave them.
#include "given.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#define COUNT_OF(array) (sizeof(array) / sizeof((array)[0]))
#define REST "initial_inwc=2 final_inwc=1.95 "

static struct model_tank tanks[] = {{"1", "regular", 6000}, {"2", "premium", 4000}};
static const struct model_vapor method = {"tp-201.3", "balance", 8, tanks, COUNT_OF(tanks)};
static const struct model_vapor federal = {"federal", "balance", 8, tanks, COUNT_OF(tanks)};
static const struct model_vapor silent = {0};

// The text of an input of the result; "" where it has none.
static const char *word_of(const struct model_result *result, const char *name) {
    for (size_t i = 0; i < result->input_count; i++) {
        if (strcmp(result->inputs[i].name, name) == 0) {
            return result->inputs[i].text;
        }
    }
    return "";
}

static double number_of(const struct model_result *result, const char *name) {
    for (size_t i = 0; i < result->input_count; i++) {
        if (strcmp(result->inputs[i].name, name) == 0) {
            return result->inputs[i].number;
        }
    }
    return -1;
}

static struct model_result of(const struct model_vapor *vapor, const char *line) {
    given_vapor = vapor;
    struct model_result result = given_result("pressure-decay", line);
    given_vapor = NULL;
    return result;
}

static void what_was_not_given_is_the_sites(void **state) {
    struct model_result result = of(&method, "ullage_gal=5000 " REST);

    (void)state;
    assert_true(result.has_pass && result.doubt_count == 0);
    assert_int_equal(result.input_count, 6);
    assert_string_equal(word_of(&result, "basis"), "tp-201.3");
    assert_string_equal(word_of(&result, "system"), "balance");
    assert_true(number_of(&result, "nozzles") == 8);
    assert_non_null(strstr(result.formula, "K = 792.196"));
    result = of(&federal, "ullage_gal=5000 " REST);
    assert_string_equal(word_of(&result, "basis"), "federal");
    assert_int_equal(result.input_count, 4);
    assert_non_null(strstr(result.formula, "K = 500.887"));
    assert_non_null(strstr(result.source, "40 CFR 63"));
    result = of(&silent, "system=assist nozzles=3 ullage_gal=5000 " REST);
    assert_int_equal(result.input_count, 5);
    assert_true(result.has_pass);
}

static void what_nobody_said_is_missing(void **state) {
    (void)state;
    given_vapor = &silent;
    given_refused("pressure-decay", "nozzles=3 ullage_gal=5000 " REST, "system");
    given_refused("pressure-decay", "system=assist ullage_gal=5000 " REST, "nozzles");
    given_vapor = NULL;
}

static void the_same_again_is_no_contradiction(void **state) {
    struct model_result result =
        of(&method, "basis=tp-201.3 system=balance nozzles=8 ullage_gal=10000 " REST);

    (void)state;
    assert_int_equal(result.doubt_count, 0);
    assert_int_equal(result.input_count, 6);
    assert_int_equal(of(&method, "ullage_l=37854.11784 " REST).doubt_count, 0); // the tanks, whole
}

static void a_contradiction_is_not_judged(void **state) {
    static const struct {
        const struct model_vapor *vapor;
        const char *line, *reading, *need, *found;
    } rows[] = {
        {&method, "system=assist ullage_gal=500 " REST, "system", "balance", "assist"},
        {&method, "nozzles=6 ullage_gal=500 " REST, "nozzles", "8", "6"},
        {&method, "basis=federal ullage_gal=500 " REST, "basis", "tp-201.3", "federal"},
        {&federal, "basis=tp-201.3 system=assist nozzles=6 ullage_gal=500 " REST, "basis",
         "federal", "tp-201.3"},
        {&federal, "system=balance ullage_gal=500 " REST, "system", "none, by the basis federal",
         "balance"},
        {&federal, "nozzles=8 ullage_gal=500 " REST, "nozzles", "none, by the basis federal", "8"},
        {&method, "ullage_gal=10001 " REST, "ullage_gal", "at most 10000 gal", "10001 gal"},
        {&federal, "ullage_l=40000 " REST, "ullage_l", "at most 37854.1 L", "40000 L"},
    };

    (void)state;
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct model_result result = of(rows[i].vapor, rows[i].line);
        const struct model_doubt *doubt = &result.doubts[0];
        assert_true(result.doubt_count > 0 && !result.has_pass);
        assert_true(doubt->of_site);
        if (strcmp(doubt->reading, rows[i].reading) != 0 ||
            strcmp(doubt->need, rows[i].need) != 0 || strcmp(doubt->found, rows[i].found) != 0) {
            fail_msg("%s: %s needs %s, found %s", rows[i].line, doubt->reading, doubt->need,
                     doubt->found);
        }
    }
}

static void every_contradiction_is_listed(void **state) {
    struct model_result result = of(&method, "system=assist nozzles=61 ullage_gal=20000 " REST);

    (void)state;
    assert_int_equal(result.doubt_count, 4); // system, nozzles, ullage, and nozzles by the method
    assert_string_equal(result.doubts[0].reading, "system");
    assert_string_equal(result.doubts[1].reading, "nozzles");
    assert_string_equal(result.doubts[2].reading, "ullage_gal");
    assert_false(result.doubts[3].of_site);
}

// Only the rule that takes what a site's file says is held against it.
static void other_rules_do_not_care(void **state) {
    (void)state;
    given_vapor = &method;
    assert_true(given_result("flow-rate", "volume_gal=5 seconds=40").pass);
    given_vapor = NULL;
}

static void an_uncertainty_decides_beside_the_verdict(void **state) {
    static const struct {
        const char *rule, *line, *unit; // of the value
        double uncertainty;
        const char *of; // unit of the uncertainty
        bool taken;
        enum model_decision decision;
        double own; // the uncertainty in unit
    } rows[] = {
        {"pressure-decay", "basis=federal ullage_gal=1000 initial_inwc=2 final_inwc=1.24", "in WC",
         0.05, "in WC", true, MODEL_DECISION_CONDITIONAL_PASS, 0.05},
        {"pressure-decay", "basis=federal ullage_gal=1000 initial_inwc=2 final_inwc=1.27", "in WC",
         0.05, "inH2O", true, MODEL_DECISION_PASS, 0.05},
        {"pressure-decay", "basis=federal ullage_gal=1000 initial_inwc=2 final_inwc=1.20", "in WC",
         12.4544455, "Pa", true, MODEL_DECISION_CONDITIONAL_FAIL, 0.05},
        {"pressure-decay", "basis=federal ullage_gal=1000 initial_inwc=2 final_inwc=1.24", "in WC",
         0.05, "psi", false, MODEL_DECISION_NONE, 0},
        {"hose-length", "length_ft=17", "ft", 0.5, "m", true, MODEL_DECISION_CONDITIONAL_PASS,
         1.6404199475},
        {"range", "value=0.4 max=1", "mV", 0.1, "mV", true, MODEL_DECISION_PASS, 0.1},
        {"range", "value=0.4 max=1", "mV", 0.1, "V", false, MODEL_DECISION_NONE, 0},
        {"flow-rate", "volume_gal=5 seconds=31", "gpm", 0.1, "s", false, MODEL_DECISION_NONE, 0},
        // 1 ft.lbf of the wrench is 1.25 at the nut.
        {"torque-applied", "reading_ftlb=27.2 wrench_in=12 adapter_in=3 max=35.2", "ft.lbf", 1,
         "ft.lbf", true, MODEL_DECISION_CONDITIONAL_PASS, 1.25},
        {"torque-applied", "reading_ftlb=27.2 wrench_in=12 adapter_in=3 max=35.2", "ft.lbf", 0.9,
         "ft.lbf", true, MODEL_DECISION_PASS, 1.125},
        {"pass-fail", "pass=true", "", 0.1, "V", false, MODEL_DECISION_NONE, 0},
    };

    (void)state;
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct model_result result = given_result(rows[i].rule, rows[i].line);
        bool passed = result.pass;
        bool taken = trade_decide(rows[i].uncertainty, rows[i].of, rows[i].unit, &result);
        if (taken != rows[i].taken || result.decision != rows[i].decision ||
            fabs(result.uncertainty - rows[i].own) > 1e-9) {
            fail_msg("%s %s: %d, %d, %.17g", rows[i].rule, rows[i].line, taken, result.decision,
                     result.uncertainty);
        }
        assert_int_equal(result.pass, passed); // by the published limit
        assert_int_equal(strstr(result.source, "ILAC-G8:09/2019 4.2.3") != NULL, taken);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_was_not_given_is_the_sites),
        cmocka_unit_test(what_nobody_said_is_missing),
        cmocka_unit_test(the_same_again_is_no_contradiction),
        cmocka_unit_test(a_contradiction_is_not_judged),
        cmocka_unit_test(every_contradiction_is_listed),
        cmocka_unit_test(other_rules_do_not_care),
        cmocka_unit_test(an_uncertainty_decides_beside_the_verdict),
    };

    return cmocka_run_group_tests_name("trade, site and instrument", tests, NULL, NULL);
}
