// What the scanner takes, and the tape it makes of it.
#include "given.h"

static void expect_node(const struct json_node *node, enum json_kind kind, uint32_t start,
                        uint32_t length, uint32_t next, uint32_t count) {
    assert_int_equal(node->kind, kind);
    assert_int_equal(node->start, start);
    assert_int_equal(node->length, length);
    assert_int_equal(node->next, next);
    assert_int_equal(node->count, count);
}

static void the_tape_of_an_object(void **state) {
    (void)state;
    struct json_tape tape = {0};
    //                          0         1         2
    //                          0123456789012345678901234567
    char *text = given(&tape, " {\"a\":[1, true],\"b\\n\":{}} ");

    assert_int_equal(tape.count, 7);
    expect_node(&tape.nodes[0], JSON_OBJECT, 1, 24, 7, 2);
    expect_node(&tape.nodes[1], JSON_STRING, 3, 1, 2, 0);
    expect_node(&tape.nodes[2], JSON_ARRAY, 6, 9, 5, 2);
    expect_node(&tape.nodes[3], JSON_NUMBER, 7, 1, 4, 0);
    expect_node(&tape.nodes[4], JSON_TRUE, 10, 4, 5, 0);
    expect_node(&tape.nodes[5], JSON_STRING, 17, 3, 6, 0);
    expect_node(&tape.nodes[6], JSON_OBJECT, 22, 2, 7, 0);
    assert_int_equal(tape.nodes[1].escaped, 0);
    assert_int_equal(tape.nodes[5].escaped, 1);
    assert_ptr_equal(json_root(&tape), tape.nodes);
    done(&tape, text);
}

static void every_kind_may_be_the_root(void **state) {
    (void)state;
    static const struct {
        const char *text;
        enum json_kind kind;
    } rows[] = {
        {"null", JSON_NULL}, {"false", JSON_FALSE},      {"true", JSON_TRUE},
        {"-0", JSON_NUMBER}, {"\"\"", JSON_STRING},      {"[]", JSON_ARRAY},
        {"{}", JSON_OBJECT}, {"\t\r\n 1 ", JSON_NUMBER},
    };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct json_tape tape = {0};
        char *text = given(&tape, rows[i].text);
        assert_int_equal(json_root(&tape)->kind, rows[i].kind);
        assert_int_equal(tape.count, 1);
        done(&tape, text);
    }
}

static void numbers_at_the_edge_of_the_grammar(void **state) {
    (void)state;
    static const char *const texts[] = {
        "0",
        "-0",
        "0.0",
        "-0.5e-3",
        "1E+2",
        "10",
        "123456789012345678901234",
        "1e308",
        "1.7976931348623157e308",
        "5e-324",
        "3e-324",
        "0e999999999999999999999",
        "0.000e-9999",
        "-1.7976931348623158e308",
    };

    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        struct json_tape tape = {0};
        char *text = given(&tape, texts[i]);
        assert_int_equal(json_root(&tape)->length, strlen(texts[i]));
        done(&tape, text);
    }
}

// 400 digits whose exponent brings them back into range, and the same without it.
static void a_long_number_is_judged_by_its_value(void **state) {
    (void)state;
    char text[512];
    struct json_tape tape = {0};
    struct json_error error;

    memset(text, '7', 400);
    memcpy(text + 400, "e-200", 6);
    char *copy = given(&tape, text);
    double value = 0;
    assert_true(json_double(&tape, json_root(&tape), &value));
    assert_true(value > 7.7e199 && value < 7.8e199);
    free(copy);
    assert_true(refused(&tape, text, 400, &json_message_limits, &error));
    assert_string_equal(error.what, "this number is out of the range of a double");
    json_tape_free(&tape);
}

static void unicode_is_taken_whole(void **state) {
    (void)state;
    static const char *const texts[] = {
        "\"\xc2\x80\"",
        "\"\xdf\xbf\"",
        "\"\xe0\xa0\x80\"",
        "\"\xed\x9f\xbf\"",
        "\"\xee\x80\x80\"",
        "\"\xef\xbf\xbf\"",
        "\"\xf0\x90\x80\x80\"",
        "\"\xf4\x8f\xbf\xbf\"",
        "\"\\ud800\\udc00\"",
        "\"\\uDBFF\\uDFFF\"",
        "\"\\u0000\"",
        "\"\\\"\\\\\\/\\b\\f\\n\\r\\t\"",
        "\"\x7f\"",
        "\"\xef\xbb\xbf\"",
    };

    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        struct json_tape tape = {0};
        char *text = given(&tape, texts[i]);
        assert_int_equal(json_root(&tape)->kind, JSON_STRING);
        done(&tape, text);
    }
}

static void comments_stand_wherever_blanks_may(void **state) {
    (void)state;
    static const char text[] = "// one\n/* two **/{/**/\"a\"/*/*/:// \xc3\xa9\n[/*x*/1/*y*/,/*z*/2]"
                               "/*\n*/}// end";
    struct json_tape tape = {0};
    struct json_error error;
    char *copy = given_bytes(&tape, text, sizeof text - 1, &json_config_limits, &error);

    assert_non_null(copy);
    assert_int_equal(json_member(&tape, json_root(&tape), "a")->count, 2);
    done(&tape, copy);
}

static void depth_reaches_the_limit(void **state) {
    (void)state;
    struct json_tape tape = {0};

    char *text = given(&tape, "[[[[[[[[[[[[[[[[1]]]]]]]]]]]]]]]]");
    assert_int_equal(tape.count, 17);
    done(&tape, text);
}

// The deepest that may be asked for, whatever is asked for.
static void depth_is_64_at_most(void **state) {
    (void)state;
    struct json_limits limits = {.max_length = 1000, .max_depth = 1000};
    struct json_tape tape = {0};
    struct json_error error;
    char text[130];

    memset(text, '[', 65);
    memset(text + 65, ']', 65);
    char *copy = given_bytes(&tape, text + 1, 128, &limits, &error);
    assert_non_null(copy);
    free(copy);
    assert_true(refused(&tape, text, 130, &limits, &error));
    assert_int_equal(error.offset, 64);
    json_tape_free(&tape);
}

static void the_longest_text_is_taken(void **state) {
    (void)state;
    struct json_limits limits = {.max_length = 5, .max_depth = 1};
    struct json_tape tape = {0};
    struct json_error error;

    assert_true(json_scan(&tape, "[1,2]", 5, &limits, &error));
    assert_false(json_scan(&tape, "[1,2] ", 6, &limits, &error));
    json_tape_free(&tape);
}

// The same memory serves text after text, also after one that failed.
static void a_tape_is_reused(void **state) {
    (void)state;
    struct json_tape tape = {0};

    free(given(&tape, "[1,2,3]"));
    const struct json_node *nodes = tape.nodes;
    assert_false(json_scan(&tape, "[1,", 3, &json_message_limits, NULL));
    assert_null(json_root(&tape));
    char *text = given(&tape, "{\"state\":\"isolated\"}");
    assert_ptr_equal(tape.nodes, nodes);
    assert_true(json_equals(&tape, json_member(&tape, json_root(&tape), "state"), "isolated"));
    done(&tape, text);
    assert_null(tape.nodes);
}

static void the_limits_of_the_contract(void **state) {
    (void)state;
    assert_int_equal(json_message_limits.max_length, 65536);
    assert_int_equal(json_message_limits.max_depth, 16);
    assert_false(json_message_limits.comments);
    assert_int_equal(json_config_limits.max_length, 16777216);
    assert_int_equal(json_config_limits.max_depth, 32);
    assert_true(json_config_limits.comments);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_tape_of_an_object),
        cmocka_unit_test(every_kind_may_be_the_root),
        cmocka_unit_test(numbers_at_the_edge_of_the_grammar),
        cmocka_unit_test(a_long_number_is_judged_by_its_value),
        cmocka_unit_test(unicode_is_taken_whole),
        cmocka_unit_test(comments_stand_wherever_blanks_may),
        cmocka_unit_test(depth_reaches_the_limit),
        cmocka_unit_test(depth_is_64_at_most),
        cmocka_unit_test(the_longest_text_is_taken),
        cmocka_unit_test(a_tape_is_reused),
        cmocka_unit_test(the_limits_of_the_contract),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
