// When a day ends at a site, by its time zone: for what is valid until one, and rules in force from
// one.
#include "loaded.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <time.h>

#include <cmocka.h>

// Unix seconds of the end of a day at a site whose zone is given.
static int64_t day_end(void **state, const char *zone, const char *day) {
    struct loaded *loaded = *state;
    tree_edit("sites/juniper.json", "America/Denver", zone);
    tree_edit("people.json", "2027-03-31", day);
    const struct model *model = loaded_model(state);
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
    tree_write("sites/coast.json",
               "{\"site\": \"coast\", \"languages\": [\"en\"], \"time_zone\": \"Europe/Lisbon\","
               " \"positions\": []}");
    const struct model *model = loaded_model(state);
    const struct model_until *until = &model_instrument_find(model, "tw-3")->calibrated_until;
    int64_t coast = until->end_ms[model_site_find(model, "coast")->zone];
    int64_t juniper = until->end_ms[model_site_find(model, "juniper")->zone];
    assert_int_equal(juniper - coast, 7 * 3600 * 1000);
    assert_int_equal(model->zone_count, 2);
    assert_string_equal(model->sites[0].site, "coast"); // sorted
    assert_int_equal(model->sites[1].index, 1);
}

static void test_days(void **state) {
    tree_edit("people.json", ", \"until\": \"2027-03-31\"", "");
    tree_write("districts/b.json", "{\"district\": \"north-basin\", \"effective\": \"2027-07-01\", "
                                   "\"adds\": {\"spout-and-boot\": {\"finish\": [{\"check\": "
                                   "\"receipt\", \"ask\": \"Number\", \"note\": true}]}}}");
    tree_write("districts/a.json", "{\"district\": \"north-basin\", \"effective\": \"2028-01-01\", "
                                   "\"adds\": {}}");
    const struct model *model = loaded_model(state);
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

#define TEST(f) cmocka_unit_test_setup_teardown(f, loaded_make, loaded_end)

int main(void) {
    const struct CMUnitTest tests[] = {
        TEST(test_zones),
        TEST(test_zones_without_midnight),
        TEST(test_zone_each),
        TEST(test_days),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
