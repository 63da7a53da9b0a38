// What a good configuration becomes: the model's values, defaults, links, ends of days; the example
// that ships; files that are no files; and the scale of a thousand sites.
#include "config/config.h"

#include "tree.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#define TODAY_MS 1780315200000

struct loaded {
    struct tree tree;
    struct config_report report;
    struct model *model;
};

static int make(void **state) {
    struct loaded *loaded = calloc(1, sizeof(*loaded));
    assert_non_null(loaded);
    tree_make(&loaded->tree);
    loaded->report.now_ms = TODAY_MS;
    *state = loaded;
    return 0;
}

static int end(void **state) {
    struct loaded *loaded = *state;
    model_free(loaded->model);
    config_report_free(&loaded->report);
    tree_remove(&loaded->tree);
    free(loaded);
    return 0;
}

static const struct model *load(void **state) {
    struct loaded *loaded = *state;
    loaded->model = config_load("forelock.json", &loaded->report);
    config_report_print(&loaded->report, stderr);
    assert_non_null(loaded->model);
    return loaded->model;
}

static void test_own(void **state) {
    const struct model *model = load(state);
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
    const struct model *model = load(state);
    assert_string_equal(model->root, "forelock");
    assert_int_equal(model->broker.port, 1883);
    assert_null(model->http_listen);
    const struct model_site *site = model_site_find(model, "juniper");
    assert_string_equal(site->title, "juniper");
    assert_string_equal(site->time_zone, "UTC");
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
    const struct model *model = load(state);
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
    const struct model_site *site = model_site_find(load(state), "juniper");
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
    const struct model *model = load(state);
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

// The people alone, whatever stands in the other files; a lost phone is not kept in by a site that
// is being edited.
static void test_people_alone(void **state) {
    struct loaded *loaded = *state;
    const struct model *whole = load(state);
    tree_write("sites/juniper.json", "{ \"site\": ");
    setenv("TZ", "Asia/Tokyo", 1);
    struct model *alone = config_load_people("forelock.json", &loaded->report);
    assert_string_equal(getenv("TZ"), "Asia/Tokyo");
    unsetenv("TZ");
    assert_non_null(alone);
    assert_int_equal(loaded->report.error_count, 0);
    assert_int_equal(alone->person_count, whole->person_count);
    assert_int_equal(alone->site_count, 0);
    for (size_t i = 0; i < whole->person_count; i++) {
        const struct model_person *before = &whole->people[i];
        const struct model_person *now = model_person_find(alone, before->person);
        assert_non_null(now);
        assert_int_equal(now->has_token, before->has_token);
        assert_memory_equal(now->token_sha256, before->token_sha256, 32);
        assert_int_equal(now->roles, before->roles);
    }
    model_free(alone);
    tree_edit("people.json", "\"token_sha256\": \"", "\"token_sha256\": \"x");
    assert_null(config_load_people("forelock.json", &loaded->report));
    assert_int_equal(loaded->report.error_count, 1);
    assert_string_equal(loaded->report.entries[0].file, "people.json");
    assert_true(loaded->report.entries[0].line > 1);
}

static void test_people_alone_broken(void **state) {
    struct loaded *loaded = *state;
    tree_edit("forelock.json", "\"people\": \"people.json\"", "\"people\": 7");
    assert_null(config_load_people("forelock.json", &loaded->report));
    assert_int_equal(loaded->report.error_count, 1);
    tree_write("forelock.json", "");
    assert_null(config_load_people("forelock.json", &loaded->report));
    assert_null(config_load_people("nowhere.json", &loaded->report));
    assert_true(loaded->report.error_count >= 3);
}

static void test_district(void **state) {
    const struct model *model = load(state);
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
    const struct model *model = load(state);
    const struct model_requirements *all = model_procedure_find(model, "spout-and-boot");
    assert_true(all->takes_site && all->takes_dispenser);
    assert_string_equal(model_takes_name(all), "site");
}

static void test_district_tightens_ratio(void **state) {
    tree_edit("districts/basin.json", "\"decay\", \"rule\": \"pressure-decay\"",
              "\"ratio\", \"min\": 1");
    const struct model *model = load(state);
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
    const struct model_site *site = model_site_find(load(state), "juniper");
    assert_true(site->sensors[model_sensor_find(site, "3-power")].claimed);
    assert_false(site->sensors[model_sensor_find(site, "3-aux")].claimed);
    assert_false(site->sensors[model_sensor_find(site, "3-regular")].claimed);
}

static void test_webhook(void **state) {
    tree_edit("forelock.json", "\"webhooks\": []",
              "\"webhooks\": [{\"url\": \"https://tracker.example/hook\", \"secret_file\": "
              "\"broker.secret\", \"sites\": [\"juniper\"]},"
              "{\"url\": \"http://127.0.0.1:9\", \"secret_file\": \"broker.secret\"}]");
    const struct model *model = load(state);
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

// Unix seconds of the end of a day at a site whose zone is given.
static int64_t day_end(void **state, const char *zone, const char *day) {
    struct loaded *loaded = *state;
    tree_edit("sites/juniper.json", "America/Denver", zone);
    tree_edit("people.json", "2027-03-31", day);
    const struct model *model = load(state);
    const struct model_until *until = &model_person_find(model, "t-104")->credentials[0].until;
    assert_string_equal(until->day, day);
    int64_t end_ms = until->end_ms[model->sites[0].zone];
    assert_true(model_until_valid(until, &model->sites[0], end_ms - 1));
    assert_false(model_until_valid(until, &model->sites[0], end_ms));
    tree_edit("sites/juniper.json", zone, "America/Denver");
    tree_edit("people.json", day, "2027-03-31");
    model_free(loaded->model);
    loaded->model = NULL;
    config_report_free(&loaded->report);
    loaded->report.now_ms = TODAY_MS;
    return end_ms / 1000;
}

static int64_t utc(int year, int month, int day, int hour) {
    struct tm tm = {.tm_year = year - 1900, .tm_mon = month - 1, .tm_mday = day, .tm_hour = hour};
    return (int64_t)timegm(&tm);
}

static void test_zones(void **state) {
    setenv("TZ", "Asia/Tokyo", 1);
    assert_int_equal(day_end(state, "UTC", "2027-03-31"), utc(2027, 4, 1, 0));
    // Winter and summer, UTC-7 and UTC-6; and the day on which summer begins.
    assert_int_equal(day_end(state, "America/Denver", "2027-01-31"), utc(2027, 2, 1, 7));
    assert_int_equal(day_end(state, "America/Denver", "2027-07-31"), utc(2027, 8, 1, 6));
    assert_int_equal(day_end(state, "America/Denver", "2027-03-13"), utc(2027, 3, 14, 7));
    assert_int_equal(day_end(state, "America/Denver", "2027-03-14"), utc(2027, 3, 15, 6));
    assert_int_equal(day_end(state, "Pacific/Kiritimati", "2027-12-31"), utc(2027, 12, 31, 10));
    assert_int_equal(day_end(state, "UTC", "2028-02-29"), utc(2028, 3, 1, 0));
    assert_string_equal(getenv("TZ"), "Asia/Tokyo"); // put back
    unsetenv("TZ");
}

static void test_zones_without_midnight(void **state) {
    // In Santiago clocks went from 24:00 to 01:00 on this night: 2018-08-12 began at 01:00, UTC-3.
    assert_int_equal(day_end(state, "America/Santiago", "2018-08-11"), utc(2018, 8, 12, 4));
    // In Havana clocks went from 01:00 back to 00:00: midnight came twice, and the first ends it.
    assert_int_equal(day_end(state, "America/Havana", "2018-11-03"), utc(2018, 11, 4, 4));
    // Samoa left out 2011-12-30.
    assert_int_equal(day_end(state, "Pacific/Apia", "2011-12-29"), utc(2011, 12, 30, 10));
    assert_int_equal(day_end(state, "Pacific/Apia", "2011-12-30"), utc(2011, 12, 30, 10));
    assert_null(getenv("TZ"));
}

static void test_zone_each(void **state) {
    // The same day ends at different instants at two sites.
    tree_write("sites/coast.json", "{\"site\": \"coast\", \"time_zone\": \"Europe/Lisbon\","
                                   " \"positions\": []}");
    const struct model *model = load(state);
    const struct model_until *until = &model_instrument_find(model, "tw-3")->calibrated_until;
    int64_t coast = until->end_ms[model_site_find(model, "coast")->zone];
    int64_t juniper = until->end_ms[model_site_find(model, "juniper")->zone];
    assert_int_equal(juniper - coast, 7 * 3600 * 1000);
    assert_int_equal(model->zone_count, 2);
    assert_string_equal(model->sites[0].site, "coast"); // sorted
    assert_int_equal(model->sites[1].index, 1);
}

static void test_folder_and_comments(void **state) {
    // Paths count from the file that names them, and a folder's own name is no pattern.
    struct loaded *loaded = *state;
    tree_write("odd [*]/forelock.json", "{}");
    tree_edit("forelock.json", "{\n", "{ // a comment\n /* and another */\n");
    assert_int_equal(rename("forelock.json", "odd [*]/forelock.json"), 0);
    assert_int_equal(rename("broker.secret", "odd [*]/broker.secret"), 0);
    assert_int_equal(rename("people.json", "odd [*]/people.json"), 0);
    assert_int_equal(rename("instruments.json", "odd [*]/instruments.json"), 0);
    assert_int_equal(rename("procedures", "odd [*]/procedures"), 0);
    assert_int_equal(rename("districts", "odd [*]/districts"), 0);
    assert_int_equal(rename("sites", "odd [*]/sites"), 0);
    loaded->model = config_load("odd [*]/forelock.json", &loaded->report);
    assert_non_null(loaded->model);
    assert_string_equal(loaded->model->journal, "odd [*]/forelock.db");
}

// One entry that says this text.
static void assert_only(const struct config_report *report, const char *file, const char *phrase) {
    assert_int_equal(report->count, 1);
    assert_string_equal(report->entries[0].file, file);
    assert_non_null(strstr(report->entries[0].text, phrase));
}

static void test_url(void **state) {
    tree_edit("forelock.json", "\"127.0.0.1:8080\"",
              "\"127.0.0.1:8080\", \"url\": \"https://pumps.example/a//\"");
    assert_string_equal(load(state)->http_url, "https://pumps.example/a"); // no final slash
}

static void test_measures(void **state) {
    tree_edit("sites/juniper.json", "  \"points\": [",
              "  \"measures\": [{\"measure\": \"3-psi\", \"kind\": \"line-pressure\", \"unit\": "
              "\"psi\", \"positions\": [\"3B\", \"3A\"], \"controller\": \"panel-1\", "
              "\"max_age_s\": 1.5}, {\"measure\": \"air\", \"kind\": \"flammable\", \"unit\": "
              "\"%LEL\", \"positions\": [\"3A\"], \"title\": \"Gas\"}],\n  \"points\": [");
    tree_edit("procedures/spout.json", "\"unit\": \"L\", \"min\": 0",
              "\"unit\": \"psi\", \"max\": 2, \"measure\": \"line-pressure\"");
    const struct model *model = load(state);
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
    const struct model *model = load(state);
    const struct model_requirements *spout = model_procedure_find(model, "spout-and-boot");
    assert_int_equal(spout->credential_count, 2);
    assert_int_equal(spout->credentials[0].count, 3);
    assert_string_equal(spout->credentials[0].any[0], "vapor-b");
    assert_string_equal(spout->credentials[0].any[1], "vapor-d");
    assert_string_equal(spout->credentials[0].any[2], "vapor-c");
    assert_int_equal(spout->credentials[1].count, 1);
    assert_int_equal(((struct loaded *)*state)->report.count, 0); // vapor-d is enough
}

static void test_days(void **state) {
    tree_edit("people.json", ", \"until\": \"2027-03-31\"", "");
    tree_write("districts/b.json", "{\"district\": \"north-basin\", \"effective\": \"2027-07-01\", "
                                   "\"adds\": {\"spout-and-boot\": {\"finish\": [{\"check\": "
                                   "\"receipt\", \"ask\": \"Number\", \"note\": true}]}}}");
    tree_write("districts/a.json", "{\"district\": \"north-basin\", \"effective\": \"2028-01-01\", "
                                   "\"adds\": {}}");
    const struct model *model = load(state);
    const struct model_site *site = model_site_find(model, "juniper");
    assert_int_equal(site->rule_count, 2);
    // Denver is 6 h behind in July and 7 h in January.
    int64_t july = utc(2027, 7, 1, 6) * 1000, january = utc(2028, 1, 1, 7) * 1000;
    const struct model_requirements *before =
        model_requirements_find(model, site, "spout-and-boot", july - 1);
    assert_null(before->effective);
    assert_string_equal(before->district, "north-basin");
    assert_int_equal(before->test_count, 4); // the undated file adds a test
    const struct model_requirements *from =
        model_requirements_find(model, site, "spout-and-boot", july);
    assert_string_equal(from->effective, "2027-07-01");
    assert_int_equal(from->test_count, 3); // whole new rules, not more of the old
    assert_true(from->checks[from->check_count - 2].note);
    assert_string_equal(from->checks[from->check_count - 2].check, "receipt");
    assert_ptr_equal(from, model_requirements_find(model, site, "spout-and-boot", january - 1));
    const struct model_requirements *last =
        model_requirements_find(model, site, "spout-and-boot", january);
    assert_string_equal(last->effective, "2028-01-01");
    assert_int_equal(last->check_count, from->check_count - 1);
}

static void test_no_file(void **state) {
    struct loaded *loaded = *state;
    assert_null(config_load("nowhere.json", &loaded->report));
    assert_only(&loaded->report, "nowhere.json", "cannot be read: No such file");
    assert_int_equal(loaded->report.entries[0].line, 1);
    assert_string_equal(loaded->report.entries[0].pointer, "");
}

static void test_pipe(void **state) {
    // Opening a pipe that nobody writes must not hang the start.
    struct loaded *loaded = *state;
    assert_int_equal(unlink("people.json"), 0);
    assert_int_equal(mkfifo("people.json", 0600), 0);
    assert_null(config_load("forelock.json", &loaded->report));
    assert_only(&loaded->report, "forelock.json", "not a regular file");
}

static void test_too_large(void **state) {
    struct loaded *loaded = *state;
    assert_int_equal(truncate("people.json", 17 * 1024 * 1024), 0);
    assert_null(config_load("forelock.json", &loaded->report));
    assert_only(&loaded->report, "forelock.json", "too large");
}

static void test_two_globs_one_file(void **state) {
    tree_edit("forelock.json", "[\"sites/*.json\"]", "[\"sites/*.json\", \"sites/j*.json\"]");
    assert_int_equal(load(state)->site_count, 1);
}

static void test_example(void **state) {
    struct loaded *loaded = *state;
    loaded->model = config_load(FORELOCK_EXAMPLE "/forelock.json", &loaded->report);
    config_report_print(&loaded->report, stderr);
    assert_non_null(loaded->model);
    assert_int_equal(loaded->report.count, 0);
    const struct model_site *site = model_site_find(loaded->model, "juniper");
    assert_int_equal(site->position_count, 4);
    assert_string_equal(site->title, "Juniper Crossing");
    assert_non_null(model_requirements_find(loaded->model, site, "spout-and-boot", TODAY_MS));
    assert_non_null(model_person_find(loaded->model, "t-104"));
}

static void write_big_site(unsigned number) {
    char name[64], *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    fprintf(out, "{\"site\": \"s%u\", \"title\": \"Site %u\", \"controllers\": [\"panel-1\"],",
            number, number);
    fprintf(out, "\"positions\": [");
    for (unsigned i = 0; i < 64; i++) {
        fprintf(out, "%s{\"position\": \"%u%c\", \"dispenser\": \"%u\", \"products\": [\"a\"]}",
                i > 0 ? "," : "", i / 2, 'A' + (int)(i % 2), i / 2);
    }
    fprintf(out, "], \"points\": [");
    for (unsigned i = 0; i < 64; i++) {
        fprintf(out,
                "%s{\"point\": \"%u-%s\", \"energy\": \"%s\", \"title\": \"Device %u of %u\","
                "\"controller\": \"panel-1\", \"isolates\": [\"%uA\", \"%uB\"]}",
                i > 0 ? "," : "", i / 2, i % 2 ? "power" : "fuel", i % 2 ? "electrical" : "product",
                i, number, i / 2, i / 2);
    }
    fprintf(out, "]}");
    fclose(out);
    snprintf(name, sizeof(name), "sites/s%u.json", number);
    tree_write(name, text);
    free(text);
}

static void test_scale(void **state) {
    tree_edit("people.json", "[\"juniper\", \"elsewhere\"]", "[\"*\"]");
    for (unsigned i = 0; i < 1000; i++) {
        write_big_site(i);
    }
    struct timespec before, after;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &before);
    const struct model *model = load(state);
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &after);
    double seconds =
        (double)(after.tv_sec - before.tv_sec) + (double)(after.tv_nsec - before.tv_nsec) / 1e9;
    double mebibytes = (double)model_memory(model) / 1048576;
    print_message("64,000 points: %.2f s of CPU, %.1f MiB\n", seconds, mebibytes);
    assert_int_equal(model->site_count, 1001);
    assert_true(mebibytes < 30);
#ifndef __SANITIZE_ADDRESS__
    assert_true(seconds < 2);
#endif
    const struct model_site *site = model_site_find(model, "s999");
    assert_int_equal(site->positions[model_position_find(site, "31B")].point_count, 2);
    assert_int_equal(model_sensor_find(site, "31-power"), 63);
}

#define TEST(f) cmocka_unit_test_setup_teardown(f, make, end)

// What a procedure says of a published limit reaches the model, with what stands in for its
// silence.
static void test_a_tighter_limit(void **state) {
    tree_edit("procedures/spout.json", "\"rule\": \"pass-fail\"",
              "\"rule\": \"flow-rate\", \"max\": 9");
    tree_edit("districts/basin.json", "{\"test\": \"decay\", \"rule\": \"pressure-decay\"}",
              "{\"test\": \"leak\", \"max\": 8}, {\"test\": \"ratio\", \"max\": 1.1}");
    const struct model *model = load(state);
    const struct model_requirements *plain = model_procedure_find(model, "spout-and-boot");
    const struct model_requirements *basin = model_site_find(model, "juniper")->requirements[0];
    assert_true(plain->tests[0].limits.max == 9 && !plain->tests[0].limits.has_min);
    assert_true(basin->tests[0].limits.max == 8);
    assert_false(basin->tests[0].rule_limits.has_max); // published: it is never replaced
    assert_true(plain->tests[2].rule_limits.min == 0.95 && plain->tests[2].rule_limits.max == 1.15);
    assert_false(plain->tests[2].limits.has_min || plain->tests[2].limits.has_max);
    assert_true(basin->tests[2].limits.has_min && basin->tests[2].limits.min == 0.95);
    assert_true(basin->tests[2].limits.max == 1.1);
    tree_edit("procedures/spout.json", "\"max\": 9", "\"max\": 11");
    struct config_report report = {.now_ms = TODAY_MS};
    assert_null(config_load("forelock.json", &report));
    assert_int_equal(report.error_count, 1);
    config_report_free(&report);
}

static void test_a_shorter_time(void **state) {
    tree_edit("procedures/spout.json", "\"rule\": \"pass-fail\"",
              "\"rule\": \"pass-fail\", \"valid_s\": 600");
    tree_edit("procedures/spout.json", "\"ask\": \"Drained\"",
              "\"ask\": \"Drained\", \"valid_s\": 1200");
    tree_edit("districts/basin.json", "{\"test\": \"decay\", \"rule\": \"pressure-decay\"}",
              "{\"test\": \"leak\", \"valid_s\": 300}");
    tree_edit("districts/basin.json", "\"max\": 0.5", "\"valid_s\": 14400");
    const struct model *model = load(state);
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

int main(void) {
    const struct CMUnitTest tests[] = {
        TEST(test_own),
        TEST(test_defaults),
        TEST(test_points),
        TEST(test_positions),
        TEST(test_people),
        TEST(test_people_alone),
        TEST(test_people_alone_broken),
        TEST(a_procedure_that_takes_the_site_is_read),
        TEST(test_district),
        TEST(test_district_tightens_ratio),
        cmocka_unit_test_setup_teardown(test_a_tighter_limit, make, end),
        cmocka_unit_test_setup_teardown(test_a_shorter_time, make, end),
        TEST(test_feed_claims),
        TEST(test_webhook),
        TEST(test_zones),
        TEST(test_zones_without_midnight),
        TEST(test_zone_each),
        TEST(test_folder_and_comments),
        TEST(test_url),
        TEST(test_measures),
        TEST(test_levels),
        TEST(test_days),
        TEST(test_no_file),
        TEST(test_pipe),
        TEST(test_too_large),
        TEST(test_two_globs_one_file),
        TEST(test_example),
        TEST(test_scale),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
