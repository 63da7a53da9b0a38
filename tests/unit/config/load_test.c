// What a good configuration becomes: the model's values, defaults and links.
#include "loaded.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

static void test_own(void **state) {
    const struct model *model = loaded_model(state);
    assert_string_equal(model->instance, "edge-1");
    assert_string_equal(model->root, "forelock");
    assert_string_equal(model->broker.host, "127.0.0.1");
    assert_int_equal(model->broker.port, 1883);
    assert_string_equal(model->broker.username, "forelock");
    assert_string_equal(model->broker.password, "not-a-real-password"); // without the newline
    assert_null(model->broker.ca_file);
    assert_string_equal(model->http_listen, "127.0.0.1:8080");
    assert_string_equal(model->journal, "forelock.db");
    assert_int_equal(((struct loaded *)*state)->report.count, 0);
}

static void test_defaults(void **state) {
    tree_edit("forelock.json", "  \"root\": \"forelock\",\n", "");
    tree_edit("forelock.json", "    \"port\": 1883,\n", "");
    tree_edit("forelock.json", "  \"http\": {\"listen\": \"127.0.0.1:8080\"},\n", "");
    tree_edit("sites/juniper.json", "  \"title\": \"Juniper Crossing\",\n", "");
    tree_edit("sites/juniper.json", "  \"time_zone\": \"America/Denver\",\n", "");
    tree_edit("sites/juniper.json", "\"witnesses\": 2,", "\"witnesses\": 2");
    tree_edit("sites/juniper.json", "      \"witness_valid_s\": 600", "");
    const struct model *model = loaded_model(state);
    assert_string_equal(model->root, "forelock");
    assert_int_equal(model->broker.port, 1883);
    assert_null(model->http_listen);
    const struct model_site *site = model_site_find(model, "juniper");
    assert_string_equal(site->title, "juniper");
    assert_string_equal(site->time_zone, "UTC");
    assert_string_equal(site->volume_unit, "gal");
    const struct model_point *regular = &site->points[model_point_find(site, "3-regular")];
    assert_int_equal(regular->max_age_ms, 30000);
    assert_int_equal(regular->settle_ms, 2000);
    assert_string_equal(regular->title, "3-regular");
    const struct model_point *line = &site->points[model_point_find(site, "3-line")];
    assert_int_equal(line->witness_valid_ms, 28800000);
    const struct model_requirements *spout = model_procedure_find(model, "spout-and-boot");
    assert_int_equal(spout->checks[1].valid_ms, 28800000);
    assert_int_equal(spout->checks[3].group, MODEL_GROUP_VERIFY);
    assert_int_equal(spout->checks[3].valid_ms, 0);
}

static void test_points(void **state) {
    const struct model *model = loaded_model(state);
    const struct model_site *site = model_site_find(model, "juniper");
    assert_non_null(site);
    assert_int_equal(site->position_count, 2);
    assert_int_equal(site->point_count, 3);
    assert_int_equal(site->sensor_count, 3);
    const struct model_point *power = &site->points[model_point_find(site, "3-power")];
    assert_string_equal(power->energy, "electrical");
    assert_string_equal(power->kind, "breaker");
    assert_int_equal(power->sensor_count, 2);
    assert_int_equal(power->controller, model_controller_find(site, "panel-1"));
    assert_int_equal(power->max_age_ms, 12500);
    assert_int_equal(power->settle_ms, 500);
    assert_int_equal(site->sensors[model_sensor_find(site, "3-aux")].point, 0);
    const struct model_point *regular = &site->points[model_point_find(site, "3-regular")];
    assert_int_equal(regular->sensor_count, 1); // its own id
    assert_int_equal(regular->sensors[0], model_sensor_find(site, "3-regular"));
    assert_int_equal(regular->controller, MODEL_NONE);
    const struct model_point *line = &site->points[model_point_find(site, "3-line")];
    assert_int_equal(line->sensor_count, 0);
    assert_int_equal(line->witnesses, 2);
    assert_int_equal(line->witness_valid_ms, 600000);
    assert_true(line->locks_by_reader && !power->locks_by_reader);
    assert_int_equal(model_sensor_find(site, "3-line"), MODEL_NONE);
}

static void test_positions(void **state) {
    const struct model_site *site = model_site_find(loaded_model(state), "juniper");
    const struct model_position *a = &site->positions[model_position_find(site, "3A")];
    const struct model_position *b = &site->positions[model_position_find(site, "3B")];
    assert_string_equal(a->title, "Side A");
    assert_string_equal(a->nozzle_family, "k2");
    assert_int_equal(a->product_count, 1);
    assert_string_equal(a->products[0], "regular");
    assert_int_equal(a->point_count, 3);
    assert_string_equal(b->title, "3B");
    assert_null(b->nozzle_family);
    assert_int_equal(b->product_count, 0);
    assert_int_equal(b->point_count, 2);
    assert_int_equal(b->points[1], model_point_find(site, "3-regular"));
}

static void test_people(void **state) {
    const struct model *model = loaded_model(state);
    const struct model_site *site = model_site_find(model, "juniper");
    const struct model_person *technician = model_person_find(model, "t-104");
    const struct model_person *both = model_person_find(model, "s-201");
    assert_int_equal(technician->roles, MODEL_ROLE_TECHNICIAN);
    assert_true(technician->every_site && model_person_of_site(technician, site));
    assert_true(technician->has_token);
    assert_int_equal(technician->token_sha256[0], 0x00);
    assert_int_equal(technician->token_sha256[31], 0xff);
    assert_int_equal(both->roles, MODEL_ROLE_SUPERVISOR | MODEL_ROLE_MANAGER);
    assert_false(both->every_site || both->has_token);
    assert_true(model_person_of_site(both, site));
    assert_string_equal(both->title, "s-201");
    assert_null(model_person_find(model, "t-105"));
    assert_string_equal(model_instrument_find(model, "tw-3")->kind, "torque-wrench");
}

static void test_district(void **state) {
    const struct model *model = loaded_model(state);
    const struct model_site *site = model_site_find(model, "juniper");
    const struct model_requirements *plain = model_procedure_find(model, "spout-and-boot");
    const struct model_requirements *here =
        model_requirements_find(model, site, "spout-and-boot", TODAY_MS);
    assert_ptr_not_equal(plain, here);
    assert_int_equal(here->check_count, plain->check_count + 1);
    assert_int_equal(here->test_count, plain->test_count + 1);
    assert_string_equal(plain->checks[4].check, "no-voltage");
    assert_true(plain->checks[4].limits.max == 1 && here->checks[4].limits.max == 0.5);
    assert_string_equal(here->checks[4].ask, "No voltage");
    // The district's own stands last in its group, before the next group.
    assert_string_equal(here->checks[7].check, "clean");
    assert_string_equal(here->checks[8].check, "form");
    assert_int_equal(here->checks[9].group, MODEL_GROUP_LEAVE);
    assert_string_equal(here->tests[3].rule, "pressure-decay");
    assert_true(here->match && !here->takes_dispenser);
    assert_true(here->tests[0].powered && !here->tests[1].powered);
}

static void a_procedure_that_takes_the_site_is_read(void **state) {
    tree_edit("procedures/spout.json", "\"takes\": \"position\"", "\"takes\": \"site\"");
    const struct model *model = loaded_model(state);
    const struct model_requirements *all = model_procedure_find(model, "spout-and-boot");
    assert_true(all->takes_site && all->takes_dispenser);
    assert_string_equal(model_takes_name(all), "site");
}

static void test_district_tightens_ratio(void **state) {
    tree_edit("districts/basin.json", "\"decay\", \"rule\": \"pressure-decay\"",
              "\"ratio\", \"min\": 1");
    const struct model *model = loaded_model(state);
    const struct model_requirements *here =
        model_requirements_find(model, &model->sites[0], "spout-and-boot", TODAY_MS);
    assert_true(here->tests[2].limits.min == 1 && here->tests[2].limits.max == 1.15);
}

static void test_feed_claims(void **state) {
    tree_edit("forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]");
    tree_write("feeds/f.json",
               "{\"feeds\": [{\"feed\": \"panel\", \"topic\": \"p/{site}/{c}\", \"to\": \"signal\","
               " \"sensor\": \"{c}-power\", \"payload\": \"text\","
               " \"state\": {\"isolated\": [\"0\"], \"live\": [\"1\"]}}]}");
    const struct model_site *site = model_site_find(loaded_model(state), "juniper");
    assert_true(site->sensors[model_sensor_find(site, "3-power")].claimed);
    assert_false(site->sensors[model_sensor_find(site, "3-aux")].claimed);
    assert_false(site->sensors[model_sensor_find(site, "3-regular")].claimed);
}

static void test_webhook(void **state) {
    tree_edit("forelock.json", "\"webhooks\": []",
              "\"webhooks\": [{\"url\": \"https://tracker.example/hook\", \"secret_file\": "
              "\"broker.secret\", \"sites\": [\"juniper\"]},"
              "{\"url\": \"http://127.0.0.1:9\", \"secret_file\": \"broker.secret\"}]");
    const struct model *model = loaded_model(state);
    assert_int_equal(model->webhook_count, 2);
    assert_string_equal(model->webhooks[0].secret, "not-a-real-password");
    assert_int_equal(model->webhooks[0].site_count, 1);
    assert_string_equal(model->webhooks[0].sites[0], "juniper");
    assert_int_equal(model->webhooks[1].site_count, 0);
    assert_string_equal(model->webhooks[0].webhook, "tracker.example");
    assert_string_equal(model->webhooks[1].webhook, "127.0.0.1-9");
    assert_int_equal(model->webhooks[0].alarm_after_ms, 3600000);
    assert_int_equal(model->webhooks[0].event_count, 0);
    assert_null(model->webhooks[0].ca_file);
}

static void test_url(void **state) {
    tree_edit("forelock.json", "\"127.0.0.1:8080\"",
              "\"127.0.0.1:8080\", \"url\": \"https://pumps.example/a//\"");
    assert_string_equal(loaded_model(state)->http_url, "https://pumps.example/a"); // no final slash
}

static void test_measures(void **state) {
    tree_edit("sites/juniper.json", "  \"points\": [",
              "  \"measures\": [{\"measure\": \"3-psi\", \"kind\": \"line-pressure\", \"unit\": "
              "\"psi\", \"positions\": [\"3B\", \"3A\"], \"controller\": \"panel-1\", "
              "\"max_age_s\": 1.5}, {\"measure\": \"air\", \"kind\": \"flammable\", \"unit\": "
              "\"%LEL\", \"positions\": [\"3A\"], \"title\": \"Gas\"}],\n  \"points\": [");
    tree_edit("procedures/spout.json", "\"unit\": \"L\", \"min\": 0",
              "\"unit\": \"psi\", \"max\": 2, \"measure\": \"line-pressure\"");
    const struct model *model = loaded_model(state);
    const struct model_site *site = model_site_find(model, "juniper");
    assert_int_equal(site->measure_count, 2);
    const struct model_measure *psi = &site->measures[model_measure_find(site, "3-psi")];
    assert_string_equal(psi->kind, "line-pressure");
    assert_string_equal(psi->unit, "psi");
    assert_string_equal(psi->title, "3-psi");
    assert_int_equal(psi->position_count, 2);
    assert_int_equal(psi->positions[0], model_position_find(site, "3B"));
    assert_int_equal(psi->controller, model_controller_find(site, "panel-1"));
    assert_int_equal(psi->max_age_ms, 1500);
    const struct model_measure *air = &site->measures[model_measure_find(site, "air")];
    assert_string_equal(air->title, "Gas");
    assert_int_equal(air->controller, MODEL_NONE);
    assert_int_equal(air->max_age_ms, 30000);
    assert_string_equal(site->requirements[0]->checks[2].measure, "line-pressure");
    assert_null(site->requirements[0]->checks[0].measure);
}

static void test_levels(void **state) {
    // d holds c holds b: where a is asked for, nothing above it helps; where b is, three do.
    tree_edit("forelock.json",
              "  \"people\":", "  \"credentials\": \"credentials.json\",\n  \"people\":");
    tree_write("credentials.json",
               "{\"credentials\": [{\"credential\": \"vapor-d\", \"includes\": [\"vapor-c\"]}, "
               "{\"credential\": \"vapor-c\", \"includes\": [\"vapor-b\"]}, {\"credential\": "
               "\"vapor-b\"}, {\"credential\": \"vapor-a\"}]}");
    tree_edit("procedures/spout.json", "[[\"vapor-a\", \"vapor-b\"]]",
              "[[\"vapor-b\"], [\"vapor-a\"]]");
    tree_edit("people.json", "\"vapor-b\", \"until\": \"2027-03-31\"}",
              "\"vapor-d\"}, {\"credential\": \"vapor-a\"}");
    const struct model *model = loaded_model(state);
    const struct model_requirements *spout = model_procedure_find(model, "spout-and-boot");
    assert_int_equal(spout->credential_count, 2);
    assert_int_equal(spout->credentials[0].count, 3);
    assert_string_equal(spout->credentials[0].any[0], "vapor-b");
    assert_string_equal(spout->credentials[0].any[1], "vapor-d");
    assert_string_equal(spout->credentials[0].any[2], "vapor-c");
    assert_int_equal(spout->credentials[1].count, 1);
    assert_int_equal(((struct loaded *)*state)->report.count, 0); // vapor-d is enough
}

// What a procedure says of a published limit reaches the model, with what stands in for its
// silence.
static void test_a_tighter_limit(void **state) {
    tree_edit("procedures/spout.json", "\"rule\": \"pass-fail\"",
              "\"rule\": \"flow-rate\", \"max\": 9");
    tree_edit("districts/basin.json", "{\"test\": \"decay\", \"rule\": \"pressure-decay\"}",
              "{\"test\": \"leak\", \"max\": 8}, {\"test\": \"ratio\", \"max\": 9}");
    tree_edit("procedures/spout.json",
              "\"rule\": \"vapor-liquid-ratio\", \"min\": 0.95, \"max\": 1.15",
              "\"rule\": \"liquid-removal\"");
    const struct model *model = loaded_model(state);
    const struct model_requirements *plain = model_procedure_find(model, "spout-and-boot");
    const struct model_requirements *basin = model_site_find(model, "juniper")->requirements[0];
    assert_true(plain->tests[0].limits.max == 9 && !plain->tests[0].limits.has_min);
    assert_true(basin->tests[0].limits.max == 8);
    assert_false(basin->tests[0].rule_limits.has_max); // published: it is never replaced
    assert_true(plain->tests[2].rule_limits.min == 5 && !plain->tests[2].rule_limits.has_max);
    assert_false(plain->tests[2].limits.has_min || plain->tests[2].limits.has_max);
    assert_true(basin->tests[2].limits.has_min && basin->tests[2].limits.min == 5);
    assert_true(basin->tests[2].limits.max == 9);
    tree_edit("procedures/spout.json", "\"max\": 9", "\"max\": 11");
    struct config_report report = {.now_ms = TODAY_MS};
    assert_null(config_load("forelock.json", &report));
    assert_int_equal(report.error_count, 1);
    config_report_free(&report);
}

// A rule without limits of its own is configured with some, in its unit or the one beside it.
static void a_torque_has_the_procedures_limits(void **state) {
    tree_edit("procedures/spout.json", "\"rule\": \"pass-fail\"",
              "\"rule\": \"torque-applied\", \"max\": 47.5, \"unit\": \"N.m\"");
    const struct model *model = loaded_model(state);
    const struct model_test *test = model_procedure_find(model, "spout-and-boot")->tests;
    assert_string_equal(test->unit, "N.m");
    assert_true(test->limits.max == 47.5 && !test->limits.has_min);
    tree_edit("procedures/spout.json", ", \"max\": 47.5", "");
    struct config_report report = {.now_ms = TODAY_MS};
    assert_null(config_load("forelock.json", &report));
    assert_int_equal(report.error_count, 1);
    config_report_free(&report);
}

static void a_sites_vapor_is_read(void **state) {
    tree_edit("sites/juniper.json", "\"positions\":",
              "\"vapor\": {\"basis\": \"tp-201.3\", \"system\": \"balance\", \"nozzles\": 8, "
              "\"tanks\": [{\"tank\": \"1\", \"product\": \"regular\", \"gallons\": 10000}]}, "
              "\"positions\":");
    const struct model_vapor *vapor = model_site_find(loaded_model(state), "juniper")->vapor;
    assert_non_null(vapor);
    assert_string_equal(vapor->basis, "tp-201.3");
    assert_string_equal(vapor->system, "balance");
    assert_int_equal(vapor->nozzles, 8);
    assert_int_equal(vapor->tank_count, 1);
    assert_string_equal(vapor->tanks[0].tank, "1");
    assert_string_equal(vapor->tanks[0].product, "regular");
    assert_true(vapor->tanks[0].gallons == 10000);
    tree_edit("sites/juniper.json", "tp-201.3", "tp-201.9");
    struct config_report report = {.now_ms = TODAY_MS};
    assert_null(config_load("forelock.json", &report));
    assert_int_equal(report.error_count, 1);
    config_report_free(&report);
}

static void a_sites_fuel_is_in_gallons_or_liters(void **state) {
    tree_edit("sites/juniper.json", "\"positions\":", "\"volume_unit\": \"L\", \"positions\":");
    assert_string_equal(model_site_find(loaded_model(state), "juniper")->volume_unit, "L");
    tree_edit("sites/juniper.json", "\"volume_unit\": \"L\"", "\"volume_unit\": \"m3\"");
    struct config_report report = {.now_ms = TODAY_MS};
    assert_null(config_load("forelock.json", &report));
    assert_int_equal(report.error_count, 1);
    config_report_free(&report);
}

static void an_instruments_uncertainty_is_read(void **state) {
    tree_edit("instruments.json", "\"calibrated_until\": ",
              "\"uncertainty\": {\"value\": 0.05, \"unit\": \"inH2O\"}, \"calibrated_until\": ");
    const struct model_instrument *first = &loaded_model(state)->instruments[0];
    assert_true(first->uncertainty == 0.05);
    assert_string_equal(first->uncertainty_unit, "inH2O");
    tree_edit("instruments.json", "0.05", "0");
    struct config_report report = {.now_ms = TODAY_MS};
    assert_null(config_load("forelock.json", &report));
    assert_int_equal(report.error_count, 1);
    config_report_free(&report);
}

static void a_wrench_is_measured_in_one_unit(void **state) {
    tree_edit("instruments.json", "\"calibrated_until\": ",
              "\"wrench_mm\": 304.8, \"adapter_mm\": 76.2, \"calibrated_until\": ");
    const struct model_instrument *first = &loaded_model(state)->instruments[0];
    assert_true(fabs(first->wrench_in - 12) < 1e-12 && fabs(first->adapter_in - 3) < 1e-12);
    tree_edit("instruments.json", "\"wrench_mm\": 304.8",
              "\"wrench_mm\": 304.8, \"wrench_in\": 12");
    struct config_report report = {.now_ms = TODAY_MS};
    assert_null(config_load("forelock.json", &report));
    assert_int_equal(report.error_count, 1);
    config_report_free(&report);
}

static void a_wrench_says_how_long_it_is(void **state) {
    tree_edit("instruments.json", "\"calibrated_until\": ",
              "\"wrench_in\": 12, \"adapter_in\": 3, \"angle_deg\": 90, \"calibrated_until\": ");
    const struct model_instrument *first = &loaded_model(state)->instruments[0];
    assert_true(first->wrench_in == 12 && first->adapter_in == 3 && first->angle_deg == 90);
    static const char *const wrong[][2] = {{"\"wrench_in\": 12, ", ""},
                                           {"\"adapter_in\": 3,", "\"wrench_in\": 0,"},
                                           {"\"wrench_in\": 0,", "\"wrench_in\": 12,"},
                                           {"\"angle_deg\": 90", "\"adapter_in\": -12"}};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        tree_edit("instruments.json", wrong[i][0], wrong[i][1]);
        struct config_report report = {.now_ms = TODAY_MS};
        assert_null(config_load("forelock.json", &report));
        assert_int_equal(report.error_count, 1);
        config_report_free(&report);
    }
}

static void test_a_shorter_time(void **state) {
    tree_edit("procedures/spout.json", "\"rule\": \"pass-fail\"",
              "\"rule\": \"pass-fail\", \"valid_s\": 600");
    tree_edit("procedures/spout.json", "\"ask\": \"Drained\"",
              "\"ask\": \"Drained\", \"valid_s\": 1200");
    tree_edit("districts/basin.json", "{\"test\": \"decay\", \"rule\": \"pressure-decay\"}",
              "{\"test\": \"leak\", \"valid_s\": 300}");
    tree_edit("districts/basin.json", "\"max\": 0.5", "\"valid_s\": 14400");
    const struct model *model = loaded_model(state);
    const struct model_requirements *plain = model_procedure_find(model, "spout-and-boot");
    const struct model_requirements *basin = model_site_find(model, "juniper")->requirements[0];
    assert_int_equal(plain->checks[2].valid_ms, 1200000);
    assert_int_equal(basin->checks[2].valid_ms, 1200000);
    assert_int_equal(plain->checks[4].valid_ms, 0);
    assert_int_equal(basin->checks[4].valid_ms, 14400000);
    assert_int_equal(plain->tests[0].valid_ms, 600000);
    assert_int_equal(basin->tests[0].valid_ms, 300000);
    tree_edit("districts/basin.json", "\"valid_s\": 300", "\"valid_s\": 601");
    struct config_report report = {.now_ms = TODAY_MS};
    assert_null(config_load("forelock.json", &report));
    assert_int_equal(report.error_count, 1);
    config_report_free(&report);
}

#define TEST(f) cmocka_unit_test_setup_teardown(f, loaded_make, loaded_end)

int main(void) {
    const struct CMUnitTest tests[] = {
        TEST(test_own),
        TEST(test_defaults),
        TEST(test_points),
        TEST(test_positions),
        TEST(test_people),
        TEST(test_district),
        TEST(a_procedure_that_takes_the_site_is_read),
        TEST(test_district_tightens_ratio),
        TEST(test_feed_claims),
        TEST(test_webhook),
        TEST(test_url),
        TEST(test_measures),
        TEST(test_levels),
        TEST(test_a_tighter_limit),
        TEST(a_torque_has_the_procedures_limits),
        TEST(a_sites_vapor_is_read),
        TEST(a_sites_fuel_is_in_gallons_or_liters),
        TEST(an_instruments_uncertainty_is_read),
        TEST(a_wrench_says_how_long_it_is),
        TEST(a_wrench_is_measured_in_one_unit),
        TEST(test_a_shorter_time),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
