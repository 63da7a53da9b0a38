// What can be read of a text that is no JSON.
#include "given.h"

#include <stdio.h>

static void reads(const char *text, const char *as) {
    struct json_out out = {0};
    struct json_tape tape = {0};
    struct json_error error = {0};
    size_t length = strlen(text);
    char *copy = malloc(length + 1);

    assert_non_null(copy);
    memcpy(copy, text, length); // without its end, so that reading over it is found
    if (!json_salvage(&out, copy, length)) {
        fail_msg("nothing could be read of: %s", text);
    }
    assert_string_equal(out.data, as);
    assert_true(json_scan(&tape, out.data, out.length, &json_message_limits, &error));
    json_tape_free(&tape);
    json_out_free(&out);
    free(copy);
}

static void a_text_is_read_with_marks_for_what_is_none(void **state) {
    (void)state;
    reads("{\"job\":\"J\",\"reason\":\"raw\ttab\"}", "{\"job\":\"J\",\"reason\":\"raw\\ttab\"}");
    reads("{\"reason\":\"caf\xe9 \xc3\xa9\"}", "{\"reason\":\"caf\xef\xbf\xbd \xc3\xa9\"}");
    reads("{\"reason\":\"\\ud83d cut, \\u00e9 whole\"}",
          "{\"reason\":\"\xef\xbf\xbdud83d cut, \xc3\xa9 whole\"}");
    reads("{\"reason\":\"\\ud83d\\ude00 \\\"\\q\"}",
          "{\"reason\":\"\xf0\x9f\x98\x80 \\\"\xef\xbf\xbdq\"}");
}

static void a_value_that_is_none_is_left_out(void **state) {
    (void)state;
    reads("{\"n\":1e,\"o\":.5,\"p\":5.,\"q\":1e5x,\"job\":\"J\"}", "{\"job\":\"J\"}");
    reads("{\"job\":\"J\",\"n\":NaN,\"m\":[1,2}", "{\"job\":\"J\"}");
    reads("{\"n\":[[[[[[[[[[[[[[[[1]]]]]]]]]]]]]]]],\"job\":\"J\"}", "{\"job\":\"J\"}");
    reads("{\"n\":,\"job\" : \"J\" , \"l\":[1, {\"a\":\"}\"}]}",
          "{\"job\":\"J\",\"l\":[1, {\"a\":\"}\"}]}");
}

static void a_number_that_no_double_holds_is_read_as_far_as_it_can_be(void **state) {
    (void)state;
    reads("{\"n\":1e9999,\"job\":\"J\"}", "{\"n\":1e300,\"job\":\"J\"}");
    reads("{\"n\":-1.5E+9999}", "{\"n\":-1e300}");
    reads("{\"n\":1e-9999,\"m\":-2.5e-9999}", "{\"n\":1e-300,\"m\":-1e-300}");
    reads("{\"n\":-Infinity,\"m\":Infinity}", "{\"n\":-1e300,\"m\":1e300}");
    char text[512] = "{\"n\":";
    memset(text + strlen(text), '9', 400);
    memcpy(text + 405, "}", 2);
    reads(text, "{\"n\":1e300}");
}

static void what_stands_around_is_passed_over(void **state) {
    (void)state;
    reads("\xef\xbb\xbf{\"job\":\"J\"}", "{\"job\":\"J\"}");
    reads(" {\"job\":\"J\",}", "{\"job\":\"J\"}");
    reads("{\"job\":\"J\"} and more", "{\"job\":\"J\"}");
    reads("{job:1,\"job\":\"J\"", "{\"job\":\"J\"}");
    reads("{\"a\" 1,\"job\":\"J\",\"reason\":\"cut of", "{\"job\":\"J\",\"reason\":\"cut of\"}");
    reads("{", "{}");
    reads("{\"key", "{}");
    reads("{\"key\":", "{}");
}

static void what_is_said_twice_is_said_once_or_is_a_list(void **state) {
    (void)state;
    reads("{\"job\":\"J\",\"job\":\"J\"}", "{\"job\":\"J\"}");
    reads("{\"reason\":\"r\",\"job\":\"J9\",\"j\\u006fb\":\"J1\"}",
          "{\"reason\":\"r\",\"job\":[\"J9\",\"J1\"]}");
    reads("{\"v\":0.5,\"v\":NaN,\"v\":1e999}", "{\"v\":[0.5,1e300]}");
}

static void without_an_object_there_is_nothing(void **state) {
    (void)state;
    static const char *const texts[] = {"", " ", "\"job\"", "[{\"job\":\"J\"}]", "job=J"};
    struct json_out out = {0};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        assert_false(json_salvage(&out, texts[i], strlen(texts[i])));
    }
    json_out_free(&out);
}

static void no_more_than_32_members_are_read(void **state) {
    (void)state;
    char text[1024] = "{";
    for (int i = 0; i < 40; i++) {
        snprintf(text + strlen(text), sizeof text - strlen(text), "\"k%d\":%d,", i, i);
    }
    struct json_out out = {0};
    assert_true(json_salvage(&out, text, strlen(text)));
    assert_non_null(strstr(out.data, "\"k31\":31}"));
    json_out_free(&out);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_text_is_read_with_marks_for_what_is_none),
        cmocka_unit_test(a_value_that_is_none_is_left_out),
        cmocka_unit_test(what_stands_around_is_passed_over),
        cmocka_unit_test(a_number_that_no_double_holds_is_read_as_far_as_it_can_be),
        cmocka_unit_test(what_is_said_twice_is_said_once_or_is_a_list),
        cmocka_unit_test(without_an_object_there_is_nothing),
        cmocka_unit_test(no_more_than_32_members_are_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
