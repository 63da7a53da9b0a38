// Requests: the body as a whole, what is said of one that is wrong, its bytes, and memory.
#include "asking.h"

#include "failing_memory.h"
#include "wire/request_text.h"

#include <stdio.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

// --- Bodies ---

static void every_error_is_said_at_once(void **state) {
    struct bench *bench = *state;
    static const char *const pointers[] = {"/id",   "/job",        "/check", "/value",
                                           "/unit", "/instrument", "/note"};
    assert_false(ask(bench, "sign-check",
                     "{\"id\":1,\"check\":\"a b\",\"value\":\"x\",\"unit\":1,\"instrument\":\"\","
                     "\"note\":{}}"));
    assert_int_equal(bench->answer.refusal_count, COUNT(pointers));
    for (size_t i = 0; i < COUNT(pointers); i++) {
        assert_string_equal(bench->answer.refusals[i].subject, pointers[i]);
    }
    // What can be read is read all the same, so that the answer finds its way.
    assert_false(ask(bench, "hang-tag", "{\"id\":\"r-1\",\"job\":\"J-1\"}"));
    assert_string_equal(bench->request.gate.id, "r-1");
    assert_string_equal(bench->answer.job, "J-1");
}

static void what_is_no_json_names_line_and_column(void **state) {
    const struct gate_refusal *refusal =
        bad(*state, "hang-tag", "{\"job\":\"J\",\n \"point\": tru}", "/point");
    assert_string_equal(refusal->found, "line 2, column 14");
    bad(*state, "hang-tag", "", "");
    bad(*state, "hang-tag", "{\"job\":\"J\",\"point\":\"p\"", "");
    bad(*state, "hang-tag", "{\"job\":\"J\",\"point\":\"p\"}x", "");
    bad(*state, "hang-tag", "{\"job\":\"J\",\"job\":\"K\",\"point\":\"p\"}", "/job");
    bad(*state, "hang-tag", "{\"job\":\"J\",\"point\":\"\xff\"}", "/point");
    bad(*state, "hang-tag", "/* c */ {\"job\":\"J\",\"point\":\"p\"}", "");
    for (const char *const *body = (const char *const[]){"[]", "7", "null", "\"job\"", NULL};
         *body != NULL; body++) {
        bad(*state, "hang-tag", *body, "");
    }
}

static void a_body_has_a_length_of_its_own(void **state) {
    struct bench *bench = *state;
    const char *body = "{\"job\":\"J\"}{";
    assert_int_equal(
        wire_request_decode(&bench->request, "start-work", body, strlen(body) - 1, &bench->answer),
        WIRE_REQUEST_WHOLE);
}

// Whatever is said, no character is cut in two.
static void what_is_said_is_text(void **state) {
    struct bench *bench = *state;
    struct json_out *out = &bench->out;
    for (size_t pad = 0; pad < 8; pad++) {
        char body[1024], name[512] = "";
        memset(name, 'a', pad);
        for (size_t i = 0; i < 60; i++) {
            memcpy(name + pad + i * 4, "\xf0\x9f\x94\x92", 5);
        }
        snprintf(body, sizeof body, "{\"job\":\"J\",\"test\":\"t\",\"readings\":{\"%s\":1}}", name);
        assert_false(ask(bench, "record-test", body));
        json_out_reset(out);
        json_out_string(out, bench->answer.refusals[0].subject);
        json_out_string(out, bench->answer.refusals[0].say);
        assert_null(strstr(out->data, "\xef\xbf\xbd")); // what the writer puts for no text
    }
}

static void characters_are_counted(void **state) {
    (void)state;
    assert_int_equal(wire_request_characters(""), 0);
    assert_int_equal(wire_request_characters("a\xc3\xa9\xe2\x82\xac\xf0\x9f\x94\x92"), 4);
    char text[] = "a\xe2\x82\xac";
    wire_request_cut(text, 3);
    assert_string_equal(text, "a");
}

// --- The body as bytes ---

static const char *canonical(struct bench *bench, const char *body) {
    // A stop is compared with all that it says, though of what is unknown nothing is taken.
    assert_int_not_equal(
        wire_request_decode(&bench->request, "stop-work", body, strlen(body), &bench->answer),
        WIRE_REQUEST_UNREADABLE);
    json_out_reset(&bench->out);
    assert_true(wire_request_canonical(&bench->request, &bench->out));
    return bench->out.data;
}

static void the_same_json_gives_the_same_bytes(void **state) {
    struct bench *bench = *state;
    static const char *const same[] = {
        "{\"id\":\"r\",\"job\":\"J\",\"x\":{\"b\":1,\"a\":[1.0,null]}}",
        "{ \"x\" : {\"a\":[1,null],\"b\":1e0}, \"job\":\"\\u004a\", \"id\":\"another\"}",
        "{\"job\":\"J\",\"x\":{\"a\":[1,null],\"b\":1}}",
        "{\"\\u0069d\":\"r\",\"\\u006aob\":\"J\",\"x\":{\"a\":[10e-1,null],\"b\":1}}",
    };
    static const char *const other[] = {
        "{\"id\":\"r\",\"job\":\"J\",\"x\":{\"b\":1,\"a\":[null,1]}}",
        "{\"id\":\"r\",\"job\":\"J\",\"x\":{\"b\":1}}",
        "{\"id\":\"r\",\"job\":\"J\",\"x\":{\"b\":1,\"a\":[1,null],\"id\":\"r\"}}",
        "{\"id\":\"r\",\"job\":\"J\",\"x\":{\"b\":\"1\",\"a\":[1,null]}}",
        "{\"id\":\"r\",\"job\":\"J\",\"x\":{\"b\":1,\"a\":[1,null]},\"note\":null}",
    };
    for (size_t i = 0; i < COUNT(same); i++) {
        assert_string_equal(canonical(bench, same[i]),
                            "{\"job\":\"J\",\"x\":{\"a\":[1,null],\"b\":1}}");
    }
    for (size_t i = 0; i < COUNT(other); i++) {
        assert_string_not_equal(canonical(bench, other[i]),
                                "{\"job\":\"J\",\"x\":{\"a\":[1,null],\"b\":1}}");
    }
    // A key that others would cut short is whole.
    assert_string_equal(canonical(bench, "{\"job\":\"J\",\"id\":\"r\",\"a\\u0000b\":1}"),
                        "{\"a\\u0000b\":1,\"job\":\"J\"}");
}

// --- Memory ---

static void memory_that_fails_refuses(void **state) {
    const char *body = "{\"id\":\"r\",\"job\":\"J\",\"reason\":\"rain\"}";
    (void)state;
    for (long n = 0;; n++) {
        struct request request = {0};
        struct gate_answer answer = {0};
        struct json_out out = {0};
        failing_memory_left = n;
        bool decoded = wire_request_decode(&request, "rework", body, strlen(body), &answer) ==
                       WIRE_REQUEST_WHOLE;
        bool written = decoded && wire_request_canonical(&request, &out);
        failing_memory_left = -1;
        assert_true(decoded || !answer.accepted);
        bool done = written;
        if (done) {
            assert_string_equal(out.data, "{\"job\":\"J\",\"reason\":\"rain\"}");
            assert_true(n >= 3);
        }
        wire_request_free(&request);
        gate_answer_free(&answer);
        json_out_free(&out);
        if (done) {
            return;
        }
        assert_true(n < 100);
    }
}

static void a_steady_state_allocates_nothing(void **state) {
    struct bench *bench = *state;
    const char *body = "{\"id\":\"r\",\"job\":\"J\",\"reason\":\"rain\"}";
    good(bench, "stop-work", body);
    assert_true(wire_request_canonical(&bench->request, &bench->out));
    failing_memory_left = 0;
    bool decoded = ask(bench, "stop-work", body);
    json_out_reset(&bench->out);
    bool written = decoded && wire_request_canonical(&bench->request, &bench->out);
    failing_memory_left = -1;
    assert_true(decoded && written);
}

int main(void) {
#define TEST(name) cmocka_unit_test_setup_teardown(name, bench_new, bench_end)
    const struct CMUnitTest all[] = {
        TEST(every_error_is_said_at_once),    TEST(what_is_no_json_names_line_and_column),
        TEST(a_body_has_a_length_of_its_own), TEST(what_is_said_is_text),
        TEST(characters_are_counted),         TEST(the_same_json_gives_the_same_bytes),
        TEST(memory_that_fails_refuses),      TEST(a_steady_state_allocates_nothing),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
