// RFC 3339 in and out, against fixed instants and against the C library's calendar.
#include "base/time_text.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static const struct {
    const char *text;
    int64_t ms;
} instants[] = {
    {"1970-01-01T00:00:00Z", 0},
    {"1970-01-01T00:00:00.000Z", 0},
    {"1969-12-31T23:59:59.999Z", -1},
    {"2026-11-25T16:37:14Z", 1795624634000},
    {"2026-11-25T16:37:14.5Z", 1795624634500},
    {"2026-11-25T16:37:14.123456789Z", 1795624634123},
    {"2026-11-25t16:37:14z", 1795624634000},
    {"2026-11-25T18:07:14+01:30", 1795624634000},
    {"2026-11-25T08:37:14-08:00", 1795624634000},
    {"2026-11-25T16:37:14-00:00", 1795624634000},
    {"2027-01-01T00:30:00+01:00", 1798759800000},
    {"2000-02-29T12:00:00Z", 951825600000},
    {"2016-12-31T23:59:60Z", 1483228800000},
    {"2017-01-01T00:59:60.25+01:00", 1483228800250},
    {"0000-01-01T00:00:00Z", -62167219200000},
    {"9999-12-31T23:59:59.999Z", 253402300799999},
};

static const char *const none[] = {
    "",
    "2026-11-25",
    "2026-11-25T16:37:14",
    "2026-11-25 16:37:14Z",
    "2026-11-25T16:37Z",
    "2026-11-25T16:37:14.Z",
    "2026-11-25T16:37:14,5Z",
    "2026-11-25T16:37:14Z ",
    " 2026-11-25T16:37:14Z",
    "2026-11-25T16:37:14ZZ",
    "2026-11-25T16:37:14+0100",
    "2026-11-25T16:37:14+01",
    "2026-11-25T16:37:14+24:00",
    "2026-11-25T16:37:14+01:60",
    "2026-11-25T24:00:00Z",
    "2026-11-25T16:60:14Z",
    "2026-11-25T16:37:61Z",
    "2026-11-25T16:37:60Z",
    "2026-13-01T00:00:00Z",
    "2026-00-01T00:00:00Z",
    "2026-02-29T00:00:00Z",
    "1900-02-29T00:00:00Z",
    "2026-04-31T00:00:00Z",
    "2026-04-00T00:00:00Z",
    "+026-04-01T00:00:00Z",
    "2026-4-01T00:00:00Z",
    "20260401T000000Z",
    "1795624634000",
};

static void instants_are_read(void **state) {
    (void)state;
    for (size_t i = 0; i < COUNT(instants); i++) {
        int64_t ms = 42;
        assert_true(base_time_parse(instants[i].text, strlen(instants[i].text), &ms));
        assert_int_equal(ms, instants[i].ms);
    }
}

static void what_is_none_is_refused(void **state) {
    (void)state;
    for (size_t i = 0; i < COUNT(none); i++) {
        int64_t ms = 42;
        if (base_time_parse(none[i], strlen(none[i]), &ms)) {
            fail_msg("taken for an instant: %s", none[i]);
        }
        assert_int_equal(ms, 42);
    }
}

// Nothing behind the length is looked at.
static void every_cut_is_refused(void **state) {
    (void)state;
    const char *text = "2026-11-25T16:37:14.123+00:00";
    int64_t ms;
    for (size_t length = 0; length < strlen(text); length++) {
        assert_false(base_time_parse(text, length, &ms));
    }
    assert_true(base_time_parse(text, strlen(text), &ms));
}

static void instants_are_written_as_the_library_has_them(void **state) {
    (void)state;
    // A step that meets every hour, day and month, from 1600 to 2400.
    for (int64_t ms = -11676096000000; ms < 13569465600000; ms += 98765432123) {
        char text[BASE_TIME_SIZE], expected[64];
        int64_t back;
        time_t seconds = (time_t)((ms - ((ms % 1000) + 1000) % 1000) / 1000);
        struct tm tm;
        size_t length =
            strftime(expected, sizeof expected, "%Y-%m-%dT%H:%M:%S", gmtime_r(&seconds, &tm));
        snprintf(expected + length, sizeof expected - length, ".%03dZ",
                 (int)(ms - (int64_t)seconds * 1000));
        base_time_format(ms, text);
        assert_string_equal(text, expected);
        assert_true(base_time_parse(text, strlen(text), &back));
        assert_int_equal(back, ms);
    }
}

static void what_the_format_cannot_say_is_the_nearest(void **state) {
    (void)state;
    char text[BASE_TIME_SIZE];
    base_time_format(INT64_MAX, text);
    assert_string_equal(text, "9999-12-31T23:59:59.999Z");
    base_time_format(INT64_MIN, text);
    assert_string_equal(text, "0000-01-01T00:00:00.000Z");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(instants_are_read),
        cmocka_unit_test(what_is_none_is_refused),
        cmocka_unit_test(every_cut_is_refused),
        cmocka_unit_test(instants_are_written_as_the_library_has_them),
        cmocka_unit_test(what_the_format_cannot_say_is_the_nearest),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
