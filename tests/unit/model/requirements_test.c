// Requirements: copies that stand alone, and the stricter of two.
#include "model/result.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static const char *energies_a[] = {"electrical", "product"};
static const char *energies_b[] = {"product", "vapor"};
static const char *any_ab[] = {"vapor-a", "vapor-b"};
static const char *any_ba[] = {"vapor-b", "vapor-a"};
static const char *any_c[] = {"basin-c"};
static struct model_credential_choice credentials_a[] = {{any_ab, 2}};
static struct model_credential_choice credentials_b[] = {{any_ba, 2}, {any_c, 1}};

static struct model_check checks_a[] = {
    {.check = "barricade", .group = MODEL_GROUP_PREPARE, .ask = "Barricaded", .valid_ms = 3600000},
    {.check = "no-voltage",
     .group = MODEL_GROUP_VERIFY,
     .ask = "No voltage",
     .unit = "V",
     .limits = {.has_max = true, .max = 1}},
    {.check = "nut", .group = MODEL_GROUP_WORK, .ask = "Torqued"},
    {.check = "clear", .group = MODEL_GROUP_CLEAR, .ask = "Clear"},
};
static struct model_check checks_b[] = {
    {.check = "barricade",
     .group = MODEL_GROUP_PREPARE,
     .ask = "Barricaded, all of it",
     .by = MODEL_ROLE_MANAGER,
     .valid_ms = 1800000},
    {.check = "no-voltage",
     .group = MODEL_GROUP_VERIFY,
     .ask = "No voltage",
     .unit = "V",
     .limits = {.has_min = true, .has_max = true, .min = 0, .max = 2},
     .instrument = "voltmeter"},
    {.check = "no-flow", .group = MODEL_GROUP_VERIFY, .ask = "Nothing flows"},
    {.check = "nut",
     .group = MODEL_GROUP_WORK,
     .ask = "Torqued",
     .unit = "N.m",
     .limits = {.has_min = true, .min = 43.8}},
    {.check = "clear", .group = MODEL_GROUP_FINISH, .ask = "Clear"},
};
static struct model_test tests_a[] = {
    {.test = "leak", .rule = "pass-fail", .valid_ms = 60000},
    {.test = "resistance",
     .rule = "range",
     .unit = "ohm",
     .limits = {.has_max = true, .max = 1e6},
     .valid_ms = 300000},
    {.test = "ratio",
     .rule = "vapor-liquid-ratio",
     .rule_limits = {.has_min = true, .has_max = true, .min = 0.95, .max = 1.15},
     .powered = true},
};
static struct model_test tests_b[] = {
    {.test = "leak", .rule = "pressure-decay", .powered = true},
    {.test = "resistance",
     .rule = "range",
     .unit = "ohm",
     .limits = {.has_max = true, .max = 5e5},
     .valid_ms = 120000,
     .powered = true,
     .instrument = "ohmmeter"},
    {.test = "ratio",
     .rule = "vapor-liquid-ratio",
     .rule_limits = {.has_min = true, .has_max = true, .min = 0.95, .max = 1.15},
     .limits = {.has_min = true, .has_max = true, .min = 0.9, .max = 1.1}},
    {.test = "flow", .rule = "flow-rate", .powered = true},
};

static const struct model_requirements a = {
    .procedure = "spout",
    .check_in_ms = 1800000,
    .title = "Spout",
    .credentials = credentials_a,
    .credential_count = 1,
    .isolate = energies_a,
    .isolate_count = 2,
    .checks = checks_a,
    .check_count = 4,
    .tests = tests_a,
    .test_count = 3,
};
static const struct model_requirements b = {
    .procedure = "hose",
    .title = "Hose",
    .credentials = credentials_b,
    .credential_count = 2,
    .isolate = energies_b,
    .isolate_count = 2,
    .match = true,
    .takes_dispenser = true,
    .takes_site = true,
    .checks = checks_b,
    .check_count = 5,
    .tests = tests_b,
    .test_count = 4,
};

static const struct model_check *check(const struct model_requirements *all, const char *id) {
    for (size_t i = 0; i < all->check_count; i++) {
        if (strcmp(all->checks[i].check, id) == 0) {
            return &all->checks[i];
        }
    }
    fail_msg("no check %s", id);
    return NULL;
}

static const struct model_test *test(const struct model_requirements *all, const char *id) {
    for (size_t i = 0; i < all->test_count; i++) {
        if (strcmp(all->tests[i].test, id) == 0) {
            return &all->tests[i];
        }
    }
    fail_msg("no test %s", id);
    return NULL;
}

static void test_copy(void **state) {
    (void)state;
    struct model_requirements *copy = model_requirements_copy(&b);
    assert_non_null(copy);
    assert_ptr_not_equal(copy->procedure, b.procedure);
    assert_string_equal(copy->procedure, "hose");
    assert_string_equal(copy->title, "Hose");
    assert_int_equal(copy->credential_count, 2);
    assert_ptr_not_equal(copy->credentials[0].any, any_ba);
    assert_string_equal(copy->credentials[0].any[1], "vapor-a");
    assert_string_equal(copy->isolate[1], "vapor");
    assert_true(copy->match && copy->takes_dispenser && copy->takes_site);
    assert_int_equal(copy->check_count, 5);
    assert_string_equal(copy->checks[1].instrument, "voltmeter");
    assert_ptr_not_equal(copy->checks[1].ask, checks_b[1].ask);
    assert_null(copy->checks[0].unit);
    assert_true(copy->checks[1].limits.max == 2);
    assert_string_equal(copy->tests[1].unit, "ohm");
    assert_string_equal(copy->tests[3].rule, "flow-rate");
    free(copy); // all of it: a leak checker says so otherwise
}

static void test_copy_of_nothing(void **state) {
    (void)state;
    struct model_requirements empty = {0};
    struct model_requirements *copy = model_requirements_copy(&empty);
    assert_non_null(copy);
    assert_null(copy->procedure);
    assert_int_equal(copy->check_count + copy->test_count + copy->isolate_count, 0);
    free(copy);
}

static void test_stricter_lists(void **state) {
    (void)state;
    struct model_requirements *all = model_requirements_stricter(&a, &b);
    assert_non_null(all);
    assert_string_equal(all->procedure, "spout"); // a's identity
    assert_int_equal(all->isolate_count, 3);
    assert_string_equal(all->isolate[2], "vapor");
    assert_int_equal(all->credential_count, 2); // the same alternatives count once
    assert_string_equal(all->credentials[1].any[0], "basin-c");
    assert_true(all->match && all->takes_dispenser && all->takes_site);
    assert_int_equal(all->check_in_ms, 1800000); // asked by a alone
    free(all);
    struct model_requirements often = b;
    often.check_in_ms = 60000;
    all = model_requirements_stricter(&a, &often);
    assert_non_null(all);
    assert_int_equal(all->check_in_ms, 60000);
    free(all);
}

static void test_stricter_checks(void **state) {
    (void)state;
    struct model_requirements *all = model_requirements_stricter(&a, &b);
    assert_non_null(all);
    assert_int_equal(all->check_count, 5);
    assert_int_equal(check(all, "barricade")->valid_ms, 1800000);
    assert_int_equal(check(all, "barricade")->by, MODEL_ROLE_MANAGER);
    assert_string_equal(check(all, "barricade")->ask, "Barricaded");
    const struct model_check *voltage = check(all, "no-voltage");
    assert_true(voltage->limits.has_min && voltage->limits.min == 0);
    assert_true(voltage->limits.has_max && voltage->limits.max == 1);
    assert_string_equal(voltage->instrument, "voltmeter");
    assert_string_equal(check(all, "nut")->unit, "N.m"); // asked without a reading before
    assert_true(check(all, "nut")->limits.min == 43.8);
    assert_int_equal(check(all, "clear")->group, MODEL_GROUP_CLEAR); // not comparable: a's
    for (size_t i = 1; i < all->check_count; i++) {
        assert_true(all->checks[i - 1].group <= all->checks[i].group);
    }
    free(all);
}

static void test_stricter_tests(void **state) {
    (void)state;
    struct model_requirements *all = model_requirements_stricter(&a, &b);
    assert_non_null(all);
    assert_int_equal(all->test_count, 5);
    assert_string_equal(test(all, "leak")->rule, "pass-fail");
    assert_string_equal(test(all, "hose.leak")->rule, "pressure-decay");
    assert_true(test(all, "resistance")->limits.max == 5e5);
    assert_true(test(all, "resistance")->powered);
    assert_string_equal(test(all, "resistance")->instrument, "ohmmeter");
    // Against the rule's own 0.95 to 1.15, which a has without saying it.
    assert_true(test(all, "ratio")->limits.min == 0.95 && test(all, "ratio")->limits.max == 1.1);
    assert_true(test(all, "ratio")->rule_limits.max == 1.15);
    assert_string_equal(test(all, "flow")->rule, "flow-rate");
    assert_int_equal(test(all, "leak")->valid_ms, 60000);
    assert_int_equal(test(all, "resistance")->valid_ms, 120000);
    assert_int_equal(test(all, "flow")->valid_ms, 0);
    free(all);
}

// The longer notice holds, and its check stands for longer than that.
static void test_stricter_notices(void **state) {
    (void)state;
    struct model_check checks[] = {
        {.check = "told", .group = MODEL_GROUP_PREPARE, .valid_ms = 48 * 3600000LL},
        {.check = "told", .group = MODEL_GROUP_PREPARE, .valid_ms = 96 * 3600000LL},
    };
    struct model_test tests[] = {
        {.test = "leak", .rule = "pass-fail", .notice = "told", .notice_ms = 24 * 3600000LL},
        {.test = "leak", .rule = "pass-fail", .notice = "told", .notice_ms = 72 * 3600000LL},
        {.test = "leak", .rule = "pass-fail"},
    };
    struct model_requirements day = {
        .checks = &checks[0], .check_count = 1, .tests = &tests[0], .test_count = 1};
    struct model_requirements three = {
        .checks = &checks[1], .check_count = 1, .tests = &tests[1], .test_count = 1};
    struct model_requirements none = {.tests = &tests[2], .test_count = 1};
    const struct model_requirements *pairs[][2] = {{&day, &three}, {&three, &day}};
    for (size_t i = 0; i < 2; i++) {
        struct model_requirements *all = model_requirements_stricter(pairs[i][0], pairs[i][1]);
        assert_int_equal(test(all, "leak")->notice_ms, 72 * 3600000LL);
        assert_int_equal(all->checks[0].valid_ms, 96 * 3600000LL);
        free(all);
    }
    struct model_requirements *all = model_requirements_stricter(&none, &day);
    assert_string_equal(test(all, "leak")->notice, "told");
    assert_int_equal(all->checks[0].valid_ms, 48 * 3600000LL); // shorter where that is enough
    free(all);
}

static void test_stricter_again(void **state) {
    (void)state;
    // Once more with the same: nothing is added, nothing loosens.
    struct model_requirements *once = model_requirements_stricter(&a, &b);
    struct model_requirements *twice = model_requirements_stricter(once, &b);
    assert_non_null(twice);
    assert_int_equal(twice->test_count, once->test_count);
    assert_int_equal(twice->check_count, once->check_count);
    assert_int_equal(twice->credential_count, once->credential_count);
    assert_int_equal(twice->isolate_count, once->isolate_count);
    assert_true(check(twice, "no-voltage")->limits.max == 1);
    free(once);
    free(twice);
}

static void test_limits(void **state) {
    (void)state;
    struct model_limits open = {0};
    struct model_limits low = {.has_max = true, .max = 1};
    struct model_limits high = {.has_min = true, .min = 2};
    struct model_limits both = model_limits_both(low, high);
    assert_true(both.has_min && both.has_max && both.min > both.max); // nothing passes
    both = model_limits_both(open, low);
    assert_true(!both.has_min && both.has_max && both.max == 1);
    both = model_limits_both(low, open);
    assert_true(!both.has_min && both.has_max && both.max == 1);
    both = model_limits_both(open, open);
    assert_false(both.has_min || both.has_max);
}

// An end that is not configured is the rule's own.
static void test_limits_of_two_signs(void **state) {
    static const char *const units[] = {"V", "A", "psi", "kPa", "Pa", "bar", "mbar", "inH2O"};
    const struct model_limits most = {.has_max = true, .max = 2}, own = {true, true, -5, 2};
    const struct model_limits least = {.has_min = true, .min = 2};
    (void)state;
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        struct model_limits both = model_limits_in(most, units[i]);
        assert_true(both.has_min && both.min == -2 && both.max == 2);
        assert_true(model_limits_in(own, units[i]).min == -5);
        assert_false(model_limits_in(least, units[i]).has_max);
    }
    assert_false(model_limits_in(most, "ohm").has_min);
    assert_false(model_limits_in(most, "Va").has_min);
    assert_false(model_limits_in(most, NULL).has_min);
}

static void test_renew_limits(void **state) {
    struct model_requirements *old = model_requirements_copy(&a);
    (void)state;
    assert_non_null(old);
    old->tests[1].unit = "kPa";
    model_requirements_renew(old);
    const struct model_check *voltage = model_check_named(old, "no-voltage");
    assert_true(voltage->limits.has_min && voltage->limits.min == -1 && voltage->limits.max == 1);
    assert_true(old->tests[1].limits.has_min && old->tests[1].limits.min == -1e6);
    assert_false(model_check_named(old, "nut")->limits.has_min);
    free(old);
}

// Who answers the checks of a job that an earlier edition opened.
static void test_renew_measures(void **state) {
    struct model_requirements *old = model_requirements_copy(&b);
    (void)state;
    assert_non_null(old);
    struct model_check *voltage = model_check_named(old, "no-voltage");
    struct model_check *flow = model_check_named(old, "no-flow");
    struct model_check *nut = model_check_named(old, "nut");
    voltage->measure = flow->measure = nut->measure = "reading";
    model_requirements_renew(old);
    assert_null(voltage->measure); // never
    assert_string_equal(flow->measure, "reading");
    voltage->unit = "psi";
    voltage->measure = "reading"; // now nobody verifies
    model_requirements_renew(old);
    assert_null(voltage->measure);
    assert_null(flow->measure);
    assert_string_equal(nut->measure, "reading");
    voltage->measure = "reading"; // a person's is left
    model_requirements_renew(old);
    assert_string_equal(voltage->measure, "reading");
    free(old);
}

static void test_what_a_margin_says(void **state) {
    static const struct {
        double margin;
        bool equality_fails, failed_beside, meets;
    } rows[] = {
        {0.1, false, false, true}, {0, false, false, true}, {-0.1, false, false, false},
        {0.1, true, false, true},  {0, true, false, false}, {0.1, false, true, false},
        {0.1, true, true, false},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct model_result result = {.margin = rows[i].margin,
                                      .equality_fails = rows[i].equality_fails,
                                      .failed_beside = rows[i].failed_beside};
        assert_int_equal(model_result_meets(&result), rows[i].meets);
    }
}

// ILAC-G8:09/2019 4.2.3, the guard band as wide as the uncertainty.
static void test_what_an_uncertainty_makes_of_it(void **state) {
    static const struct {
        double margin, uncertainty;
        bool beside;
        enum model_decision decision;
    } rows[] = {
        {0.028, 0.05, false, MODEL_DECISION_CONDITIONAL_PASS}, // 1.24 over 1.2120
        {0.051, 0.05, false, MODEL_DECISION_PASS},
        {0.05, 0.05, false, MODEL_DECISION_CONDITIONAL_PASS},
        {0, 0.05, false, MODEL_DECISION_CONDITIONAL_PASS},
        {-0.01, 0.05, false, MODEL_DECISION_CONDITIONAL_FAIL},
        {-0.05, 0.05, false, MODEL_DECISION_CONDITIONAL_FAIL},
        {-0.051, 0.05, false, MODEL_DECISION_FAIL},
        {0.01, 0.05, true, MODEL_DECISION_FAIL},
        {0.028, 0, false, MODEL_DECISION_NONE},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct model_result result = {.has_margin = true,
                                      .margin = rows[i].margin,
                                      .has_pass = true,
                                      .uncertainty = rows[i].uncertainty,
                                      .failed_beside = rows[i].beside};
        result.pass = model_result_meets(&result);
        model_result_decide(&result);
        assert_int_equal(result.decision, rows[i].decision);
        result.has_pass = false;
        model_result_decide(&result);
        assert_int_equal(result.decision, MODEL_DECISION_NONE);
    }
    assert_string_equal(model_decision_name(MODEL_DECISION_CONDITIONAL_PASS), "conditional pass");
    assert_int_equal(model_decision_of("conditional fail"), MODEL_DECISION_CONDITIONAL_FAIL);
    assert_int_equal(model_decision_of("maybe"), MODEL_DECISION_NONE);
}

static void test_limits_of_a_test(void **state) {
    (void)state;
    struct model_test ratio = {.rule_limits = {true, true, 0.95, 1.15}};
    struct model_limits limits = model_test_limits(&ratio);
    assert_true(limits.has_min && limits.has_max && limits.min == 0.95 && limits.max == 1.15);
    ratio.limits = (struct model_limits){.has_max = true, .max = 1.2};
    limits = model_test_limits(&ratio);
    assert_true(limits.has_min && limits.has_max && limits.min == 0.95 && limits.max == 1.2);
    ratio.rule_limits = (struct model_limits){0};
    limits = model_test_limits(&ratio);
    assert_false(limits.has_min);
    assert_true(limits.has_max && limits.max == 1.2);
}

static void test_other_unit(void **state) {
    (void)state;
    struct model_check volts = {.check = "v",
                                .group = MODEL_GROUP_VERIFY,
                                .unit = "V",
                                .limits = {.has_max = true, .max = 1}};
    struct model_check millivolts = volts;
    millivolts.unit = "mV";
    millivolts.limits.max = 0.5;
    struct model_requirements x = {.procedure = "p", .checks = &volts, .check_count = 1};
    struct model_requirements y = {.procedure = "p", .checks = &millivolts, .check_count = 1};
    struct model_requirements *all = model_requirements_stricter(&x, &y);
    assert_non_null(all);
    assert_string_equal(all->checks[0].unit, "V");
    assert_true(all->checks[0].limits.max == 1);
    free(all);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_copy),
        cmocka_unit_test(test_copy_of_nothing),
        cmocka_unit_test(test_stricter_lists),
        cmocka_unit_test(test_stricter_checks),
        cmocka_unit_test(test_stricter_tests),
        cmocka_unit_test(test_stricter_notices),
        cmocka_unit_test(test_stricter_again),
        cmocka_unit_test(test_limits),
        cmocka_unit_test(test_limits_of_a_test),
        cmocka_unit_test(test_other_unit),
        cmocka_unit_test(test_limits_of_two_signs),
        cmocka_unit_test(test_renew_limits),
        cmocka_unit_test(test_renew_measures),
        cmocka_unit_test(test_what_a_margin_says),
        cmocka_unit_test(test_what_an_uncertainty_makes_of_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
