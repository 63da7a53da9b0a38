// Paths and queries.
#include "http/parse.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <string.h>

static void a_path_in_its_parts(void **state) {
    (void)state;
    struct http_path path;
    assert_true(http_path_split("/api/juniper/job/J%2d1/gate", &path));
    assert_int_equal(path.count, 5);
    assert_string_equal(path.parts[0], "api");
    assert_string_equal(path.parts[3], "J-1");
    assert_true(http_path_split("/health", &path));
    assert_int_equal(path.count, 1);
    // A slash that is escaped is part of its part, and no id.
    assert_true(http_path_split("/api/a%2Fb", &path));
    assert_int_equal(path.count, 2);
    assert_string_equal(path.parts[1], "a/b");
}

static void paths_that_are_none(void **state) {
    (void)state;
    static const char *const bad[] = {"",        "api",          "/",      "//",  "/api/",
                                      "/api//x", "/a/b/c/d/e/f", "/%",     "/%4", "/a%4",
                                      "/%zz",    "/%0",          "/x%00y", "/%4g"};
    struct http_path path;
    char longest[70] = "/";
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        assert_false(http_path_split(bad[i], &path));
    }
    assert_false(http_path_split(NULL, &path));
    memset(longest + 1, 'x', 64);
    assert_true(http_path_split(longest, &path));
    longest[65] = 'x';
    assert_false(http_path_split(longest, &path));
}

static void a_path_and_a_pattern(void **state) {
    (void)state;
    struct http_path path;
    assert_true(http_path_split("/api/juniper/job/J-1", &path));
    assert_true(http_path_is(&path, "api/+/job/+"));
    assert_true(http_path_is(&path, "+/juniper/+/+"));
    assert_false(http_path_is(&path, "api/+/job"));
    assert_false(http_path_is(&path, "api/+/job/+/gate"));
    assert_false(http_path_is(&path, "api/+/jobs/+"));
    assert_false(http_path_is(&path, "ap/+/job/+"));
    assert_false(http_path_is(&path, "api/+/point/+"));
    assert_true(http_path_split("/api", &path));
    assert_true(http_path_is(&path, "api"));
    assert_false(http_path_is(&path, "api/+"));
}

static void fields_of_a_query(void **state) {
    (void)state;
    char value[32] = "";
    assert_int_equal(http_query_text("a=1&after=x%3Ay&b", "after", value, sizeof value),
                     HTTP_FIELD_GOOD);
    assert_string_equal(value, "x:y");
    assert_int_equal(http_query_text("b=&a=2", "b", value, sizeof value), HTTP_FIELD_GOOD);
    assert_string_equal(value, "");
    assert_int_equal(http_query_text("aa=1&a", "a", value, sizeof value), HTTP_FIELD_ABSENT);
    assert_int_equal(http_query_text(NULL, "a", value, sizeof value), HTTP_FIELD_ABSENT);
    // An offset's plus is none of a blank.
    assert_int_equal(http_query_text("t=12:00+02:00", "t", value, sizeof value), HTTP_FIELD_GOOD);
    assert_string_equal(value, "12:00+02:00");
    assert_int_equal(http_query_text("t=%2", "t", value, sizeof value), HTTP_FIELD_BAD);
    assert_int_equal(http_query_text("t=%00", "t", value, sizeof value), HTTP_FIELD_BAD);
    assert_int_equal(http_query_text("t=1234", "t", value, 4), HTTP_FIELD_BAD);
}

static void numbers(void **state) {
    (void)state;
    uint64_t value = 7;
    assert_int_equal(http_query_number("n=0", "n", 10, &value), HTTP_FIELD_GOOD);
    assert_int_equal(value, 0);
    assert_true(http_number("18446744073709551615", UINT64_MAX, &value));
    assert_true(value == UINT64_MAX);
    assert_false(http_number("18446744073709551616", UINT64_MAX, &value));
    assert_true(http_number("10", 10, &value));
    assert_false(http_number("11", 10, &value));
    assert_false(http_number("9", 5, &value));
    static const char *const bad[] = {"", "-1", "+1", " 1", "1 ", "1e3", "0x1", "1.0"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        assert_false(http_number(bad[i], UINT64_MAX, &value));
    }
    assert_int_equal(value, 10);
    assert_int_equal(http_query_number("n=", "n", 10, &value), HTTP_FIELD_BAD);
    assert_int_equal(http_query_number("m=1", "n", 10, &value), HTTP_FIELD_ABSENT);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_path_in_its_parts), cmocka_unit_test(paths_that_are_none),
        cmocka_unit_test(a_path_and_a_pattern), cmocka_unit_test(fields_of_a_query),
        cmocka_unit_test(numbers)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
