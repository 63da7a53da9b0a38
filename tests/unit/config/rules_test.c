// The rules of configuration, each by what it refuses and what it still takes.
#include "config/config.h"

#include "tree.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

// 2026-06-01 12:00 UTC.
#define TODAY_MS 1780315200000

static struct tree tree;

static int make(void **state) {
    (void)state;
    tree_make(&tree);
    return 0;
}

static int end(void **state) {
    (void)state;
    tree_remove(&tree);
    return 0;
}

// The tree as it stands is refused for this reason alone, which the report names by its place.
static void assert_error(const char *pointer, const char *words) {
    struct config_report report = {.now_ms = TODAY_MS};
    assert_null(config_load("forelock.json", &report));
    if (report.error_count != 1) {
        config_report_print(&report, stderr);
    }
    assert_int_equal(report.error_count, 1);
    for (size_t i = 0; i < report.count; i++) {
        if (!report.entries[i].warning) {
            assert_string_equal(report.entries[i].pointer, pointer);
            assert_non_null(strstr(report.entries[i].text, words));
        }
    }
    config_report_free(&report);
}

// The limits of a check or test (NULL) as the procedure, or with the district's additions, has it.
static struct model_limits limits_of(const char *check, bool district) {
    struct config_report report = {.now_ms = TODAY_MS};
    struct model *model = config_load("forelock.json", &report);
    config_report_print(&report, stderr);
    config_report_free(&report);
    assert_non_null(model);
    struct model_requirements *needs =
        model_requirements_copy(district ? model_site_find(model, "juniper")->requirements[0]
                                         : model_procedure_find(model, "spout-and-boot"));
    model_free(model);
    assert_non_null(needs);
    struct model_limits limits =
        check != NULL ? model_check_named(needs, check)->limits : needs->tests[1].limits;
    free(needs);
    return limits;
}

static void assert_limits(struct model_limits limits, double min, double max) {
    assert_true(limits.has_min && limits.has_max);
    assert_true(limits.min == min && limits.max == max);
}

static void a_max_in_volts_bounds_both_poles(void **state) {
    (void)state;
    assert_limits(limits_of("no-voltage", false), -1, 1);
    tree_edit("procedures/spout.json", "\"unit\": \"V\", \"max\": 1",
              "\"unit\": \"V\", \"min\": -5, \"max\": 1");
    assert_limits(limits_of("no-voltage", false), -5, 1);
    tree_edit("procedures/spout.json", "\"unit\": \"V\", \"min\": -5, \"max\": 1",
              "\"unit\": \"ppm\", \"max\": 1");
    assert_false(limits_of("no-voltage", false).has_min);
}

static void a_range_in_psi_bounds_both_sides(void **state) {
    (void)state;
    assert_false(limits_of(NULL, false).has_min); // ohm
    tree_edit("procedures/spout.json", "\"unit\": \"ohm\"", "\"unit\": \"psi\"");
    assert_limits(limits_of(NULL, false), -1000000, 1000000);
}

static void a_max_below_zero_leaves_nothing(void **state) {
    (void)state;
    tree_edit("procedures/spout.json", "\"unit\": \"V\", \"max\": 1",
              "\"unit\": \"V\", \"max\": -1");
    tree_edit("districts/basin.json", "\"max\": 0.5", "\"max\": -2");
    struct config_report report = {.now_ms = TODAY_MS};
    assert_null(config_load("forelock.json", &report));
    assert_non_null(strstr(report.entries[0].text, "without a \"min\" bounds both sides of zero"));
    config_report_free(&report);
    tree_edit("districts/basin.json", "\"max\": -2", "\"min\": -20");
    tree_edit("procedures/spout.json", "\"unit\": \"V\", \"max\": -1",
              "\"unit\": \"V\", \"min\": -20, \"max\": -1");
    assert_limits(limits_of("no-voltage", true), -20, -1);
    tree_edit("procedures/spout.json", "\"unit\": \"ohm\", \"max\": 1000000",
              "\"unit\": \"mbar\", \"max\": -1");
    assert_error("/tests/1/max", "without a \"min\" bounds both sides of zero");
}

static void a_district_tightens_both_sides(void **state) {
    (void)state;
    assert_limits(limits_of("no-voltage", true), -0.5, 0.5);
    tree_edit("districts/basin.json", "\"max\": 0.5", "\"min\": -0.25");
    assert_limits(limits_of("no-voltage", true), -0.25, 1);
    tree_edit("districts/basin.json", "\"min\": -0.25", "\"max\": 0.5");
    tree_edit("procedures/spout.json", "\"unit\": \"V\", \"max\": 1",
              "\"unit\": \"V\", \"min\": 0, \"max\": 1");
    assert_limits(limits_of("no-voltage", true), 0, 0.5);
}

static void a_districts_wider_min_loosens(void **state) {
    (void)state;
    tree_edit("districts/basin.json", "\"max\": 0.5", "\"min\": -2");
    assert_error("/adds/spout-and-boot/verify/0/min", "loosens the procedure's limit of -1");
}

// --- Who verifies ---

#define MEASURED "\"unit\": \"psi\", \"max\": 2, \"measure\": \"line-pressure\""

static void a_voltage_is_a_persons_to_prove(void **state) {
    (void)state;
    tree_edit("procedures/spout.json", "\"unit\": \"V\", \"max\": 1",
              "\"unit\": \"V\", \"max\": 1, \"measure\": \"voltage\"");
    assert_error("/verify/1/measure", "no measure answers a check in V");
}

static void one_verify_check_is_a_persons(void **state) {
    (void)state;
    tree_edit("districts/basin.json",
              "      \"verify\": [{\"check\": \"no-voltage\", \"max\": 0.5}],\n", "");
    tree_edit("procedures/spout.json", "\"unit\": \"V\", \"max\": 1", MEASURED);
    limits_of("no-voltage", false); // the other one is a person's
    tree_edit("procedures/spout.json", "\"ask\": \"Nothing flows\"",
              "\"ask\": \"Nothing flows\", " MEASURED);
    assert_error("/verify", "at least one is a person's");
}

static void a_district_leaves_a_person_to_verify(void **state) {
    (void)state;
    tree_edit("procedures/spout.json", "\"unit\": \"V\", \"max\": 1", MEASURED);
    tree_edit("procedures/spout.json", "\"ask\": \"Nothing flows\"",
              "\"ask\": \"Nothing flows\", \"unit\": \"psi\"");
    tree_edit("districts/basin.json", "[{\"check\": \"no-voltage\", \"max\": 0.5}]",
              "[{\"check\": \"no-flow\", " MEASURED "}]");
    assert_error("/adds/spout-and-boot/verify", "at least one is a person's");
}

// --- Points ---

static void witnesses_speak_only_where_no_sensor_does(void **state) {
    (void)state;
    tree_edit("sites/juniper.json", "\"isolates\": [\"3A\", \"3B\"]},",
              "\"isolates\": [\"3A\", \"3B\"], \"witnesses\": 1},");
    assert_error("/points/1/witnesses", "say \"sensors\": [] beside it");
}

static void a_points_energy_is_one_that_is_isolated(void **state) {
    (void)state;
    tree_edit("sites/juniper.json", "\"point\": \"3-line\", \"energy\": \"product\"",
              "\"point\": \"3-line\", \"energy\": \"products\"");
    assert_error("/points/2/energy", "the nearest that one isolates is \"product\"");
    // What the district isolates is isolated.
    tree_edit("districts/basin.json", "\"spout-and-boot\": {",
              "\"spout-and-boot\": {\"isolate\": [\"products\"],");
    limits_of("no-voltage", true);
}

static void an_electrical_point_takes_the_whole_cabinet(void **state) {
    (void)state;
    tree_edit("sites/juniper.json", "\"kind\": \"breaker\", \"isolates\": [\"3A\", \"3B\"]",
              "\"kind\": \"breaker\", \"isolates\": [\"3A\"]");
    assert_error("/points/0", "isolates dispenser \"3\" and not its position \"3B\"");
}

#define TOW                                                                                        \
    "{\"procedure\": \"tow\", \"isolate\": [\"electrical\", \"product-supply\", \"held\"],\n"      \
    " \"verify\": [{\"check\": \"no-flow\", \"ask\": \"Nothing flows\"}],\n"                       \
    " \"clear\": [{\"check\": \"clear\", \"ask\": \"Clear\"}],\n"                                  \
    " \"tests\": [{\"test\": \"seen\", \"rule\": \"pass-fail\"}],\n"                               \
    " \"leave\": [{\"check\": \"safe\", \"ask\": \"Safe\"}]}\n"
#define PUMP(energy)                                                                               \
    "\"points\": [{\"point\": \"pump\", \"energy\": \"" energy                                     \
    "\", \"kind\": \"pump-disconnect\", "                                                          \
    "\"isolates\": [\"3A\", \"3B\"], \"sensors\": []},"

static void a_pumps_disconnect_is_no_circuit_of_a_dispenser(void **state) {
    (void)state;
    tree_write("procedures/tow.json", TOW);
    tree_edit("sites/juniper.json", "\"points\": [", PUMP("product-supply"));
    limits_of("no-voltage", true);
    tree_edit("sites/juniper.json", "product-supply", "held");
    assert_error("/points/0", "leaves this electrical point, \"pump\", on");
}

static void an_answer_that_must_equal_is_in_words(void **state) {
    (void)state;
    tree_edit("procedures/spout.json", "\"ask\": \"Nothing flows\"",
              "\"ask\": \"Family\", \"equals\": \"nozzle_family\"");
    struct config_report report = {.now_ms = TODAY_MS};
    struct model *model = config_load("forelock.json", &report);
    config_report_free(&report);
    assert_non_null(model);
    struct model_requirements *needs = model_requirements_copy(&model->procedures[0]);
    model_free(model);
    assert_true(model_check_named(needs, "no-flow")->equals_family);
    assert_true(model_check_named(needs, "no-flow")->note);
    free(needs);
    tree_edit("procedures/spout.json", "\"equals\": \"nozzle_family\"", "\"equals\": \"family\"");
    assert_error("/verify/0/equals", "must be \"nozzle_family\" or left out");
    tree_edit("procedures/spout.json", "\"equals\": \"family\"",
              "\"equals\": \"nozzle_family\", \"unit\": \"V\"");
    assert_error("/verify/0/equals", "this check has a reading");
}

static void a_torque_is_over_nothing_and_no_hardwares(void **state) {
    (void)state;
    const char *file = "procedures/spout.json";
    tree_edit(file, "\"ask\": \"Torqued\"", "\"ask\": \"Torqued\", \"rule\": \"torque-applied\"");
    tree_edit("instruments.json", "\"kind\"", "\"wrench_in\": 12, \"kind\"");
    tree_edit("districts/basin.json", "\"finish\":",
              "\"work\": [{\"check\": \"nut\", \"measure\": \"torque\"}], \"finish\":");
    assert_error("/adds/spout-and-boot/work/0/measure", "no measure reads the wrench");
    tree_edit("districts/basin.json", "\"measure\": \"torque\"", "\"max\": 48");
    tree_edit(file, "\"min\": 43.8, \"max\": 48.4,", "\"max\": 48.4,");
    assert_error("/work/0/rule", "needs a \"min\" over 0");
    tree_edit(file, "\"max\": 48.4,", "\"min\": 0, \"max\": 48.4,");
    assert_error("/work/0/rule", "needs a \"min\" over 0");
}

static void a_check_of_a_torque_needs_its_wrench(void **state) {
    (void)state;
    const char *file = "procedures/spout.json";
    tree_edit(file, "\"ask\": \"Torqued\"", "\"ask\": \"Torqued\", \"rule\": \"torque-applied\"");
    assert_error("/work/0/rule", "the instrument \"tw-3\" has no \"wrench_in\"");
    tree_edit("instruments.json", "\"kind\"", "\"wrench_in\": 12, \"kind\"");
    struct config_report report = {.now_ms = TODAY_MS};
    struct model *model = config_load("forelock.json", &report);
    config_report_free(&report);
    assert_non_null(model);
    struct model_requirements *needs = model_requirements_copy(&model->procedures[0]);
    model_free(model);
    assert_true(model_check_named(needs, "nut")->torque_applied);
    free(needs);
    tree_edit(file, "\"rule\": \"torque-applied\"", "\"rule\": \"torque\"");
    assert_error("/work/0/rule", "is \"torque-applied\" or left out, not \"torque\"");
    tree_edit(file, "\"rule\": \"torque\"", "\"rule\": \"torque-applied\"");
    tree_edit(file, "\"unit\": \"N.m\"", "\"unit\": \"psi\"");
    assert_error("/work/0/rule", "needs a \"unit\" of torque");
    tree_edit(file, "\"unit\": \"psi\"", "\"unit\": \"N.m\"");
    tree_edit(file, ", \"instrument\": \"torque-wrench\"", "");
    assert_error("/work/0/rule", "needs the kind of \"instrument\"");
    tree_edit(file, "\"rule\": \"torque-applied\", ", "");
    tree_edit(file, "\"ask\": \"Tools removed\"",
              "\"ask\": \"Tools removed\", \"rule\": \"torque-applied\"");
    assert_error("/clear/0/rule", "goes with checks in \"work\" and \"finish\"");
}

static void a_twin_goes_with_a_unit_that_has_one(void **state) {
    (void)state;
    tree_edit("procedures/spout.json", "\"ask\": \"No voltage\"",
              "\"ask\": \"No voltage\", \"twin\": true");
    assert_error("/verify/1/twin", "goes with a \"unit\" that has one");
}

// --- Notices ---

#define ANNOUNCED(check, hours)                                                                    \
    "\"rule\": \"pass-fail\", \"notice\": \"" check "\", \"notice_h\": " hours "}"

static void announce(const char *test) {
    tree_edit("procedures/spout.json", "\"rule\": \"pass-fail\"}", test);
}

static void a_notice_is_a_prepare_check_that_outlasts_it(void **state) {
    (void)state;
    announce(ANNOUNCED("barricade", "0.5"));
    struct config_report report = {.now_ms = TODAY_MS};
    struct model *model = config_load("forelock.json", &report);
    config_report_free(&report);
    assert_non_null(model);
    const struct model_test *leak = &model_procedure_find(model, "spout-and-boot")->tests[0];
    assert_string_equal(leak->notice, "barricade");
    assert_int_equal(leak->notice_ms, 1800000);
    model_free(model);
}

static void a_notice_of_another_group_is_none(void **state) {
    (void)state;
    announce(ANNOUNCED("no-flow", "0.5"));
    assert_error("/tests/0/notice", "there is no check \"no-flow\" in \"prepare\"");
}

static void a_notice_that_stands_no_longer_is_no_good(void **state) {
    (void)state;
    announce(ANNOUNCED("barricade", "1"));
    assert_error("/tests/0/notice_h", "stands for 1 hours");
}

static void a_district_only_lengthens_a_notice(void **state) {
    (void)state;
    announce(ANNOUNCED("barricade", "0.5"));
    tree_edit("districts/basin.json", "{\"test\": \"decay\", \"rule\": \"pressure-decay\"}",
              "{\"test\": \"leak\", \"notice_h\": 0.25}");
    assert_error("/adds/spout-and-boot/tests/0/notice_h", "loosens the procedure");
}

// --- Inspections ---

#define INSPECTION                                                                                 \
    "{\"procedure\": \"monthly\", \"kind\": \"inspection\",\n"                                     \
    " \"prepare\": [{\"check\": \"cones\", \"ask\": \"Cones out\"}],\n"                            \
    " \"finish\": [{\"check\": \"away\", \"ask\": \"Cones away\"}],\n"                             \
    " \"tests\": [{\"test\": \"seen\", \"rule\": \"pass-fail\"}]}\n"

static void an_inspection_needs_no_lockout(void **state) {
    (void)state;
    struct config_report report = {.now_ms = TODAY_MS};
    tree_write("procedures/monthly.json", INSPECTION);
    struct model *model = config_load("forelock.json", &report);
    config_report_print(&report, stderr);
    config_report_free(&report);
    assert_non_null(model);
    const struct model_requirements *monthly = model_procedure_find(model, "monthly");
    assert_true(monthly->inspection);
    assert_int_equal(monthly->isolate_count, 0);
    assert_int_equal(monthly->check_count, 2);
    assert_false(model_procedure_find(model, "spout-and-boot")->inspection);
    model_free(model);
}

static void an_inspection_isolates_nothing(void **state) {
    (void)state;
    tree_write("procedures/monthly.json", INSPECTION);
    tree_edit("procedures/monthly.json", "\"tests\"", "\"isolate\": [\"product\"], \"tests\"");
    assert_error("/isolate", "an inspection has only");
    tree_edit("procedures/monthly.json", "\"isolate\": [\"product\"]",
              "\"work\": [{\"check\": \"nut\", \"ask\": \"Torqued\"}]");
    assert_error("/work", "an inspection has only");
    tree_edit("procedures/monthly.json", "\"kind\": \"inspection\"", "\"kind\": \"inspecting\"");
    struct config_report report = {.now_ms = TODAY_MS};
    assert_null(config_load("forelock.json", &report));
    config_report_free(&report);
}

static void a_district_adds_no_lockout_to_an_inspection(void **state) {
    (void)state;
    tree_write("procedures/monthly.json", INSPECTION);
    tree_edit(
        "districts/basin.json", "\"spout-and-boot\": {",
        "\"monthly\": {\"verify\": [{\"check\": \"x\", \"ask\": \"X\"}]}, \"spout-and-boot\": {");
    assert_error("/adds/monthly/verify", "an inspection has only");
}

#define TEST(test) cmocka_unit_test_setup_teardown(test, make, end)

int main(void) {
    const struct CMUnitTest tests[] = {
        TEST(a_max_in_volts_bounds_both_poles),
        TEST(a_range_in_psi_bounds_both_sides),
        TEST(a_max_below_zero_leaves_nothing),
        TEST(a_district_tightens_both_sides),
        TEST(a_districts_wider_min_loosens),
        TEST(a_voltage_is_a_persons_to_prove),
        TEST(one_verify_check_is_a_persons),
        TEST(a_district_leaves_a_person_to_verify),
        TEST(witnesses_speak_only_where_no_sensor_does),
        TEST(a_points_energy_is_one_that_is_isolated),
        TEST(an_electrical_point_takes_the_whole_cabinet),
        TEST(an_answer_that_must_equal_is_in_words),
        TEST(a_check_of_a_torque_needs_its_wrench),
        TEST(a_torque_is_over_nothing_and_no_hardwares),
        TEST(a_twin_goes_with_a_unit_that_has_one),
        TEST(a_pumps_disconnect_is_no_circuit_of_a_dispenser),
        TEST(a_notice_is_a_prepare_check_that_outlasts_it),
        TEST(a_notice_of_another_group_is_none),
        TEST(a_notice_that_stands_no_longer_is_no_good),
        TEST(a_district_only_lengthens_a_notice),
        TEST(an_inspection_needs_no_lockout),
        TEST(an_inspection_isolates_nothing),
        TEST(a_district_adds_no_lockout_to_an_inspection),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
