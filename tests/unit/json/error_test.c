// Every error of the scanner: where it stands, in which value, and what it says.
#include "given.h"

#include <stdio.h>

struct row {
    const char *text;
    size_t offset;
    const char *pointer;
    const char *what;
};

static void expect_errors(const struct row *rows, size_t count, const struct json_limits *limits) {
    for (size_t i = 0; i < count; i++) {
        struct json_tape tape = {0};
        struct json_error error = {0};
        const struct row *row = &rows[i];
        if (!refused(&tape, row->text, strlen(row->text), limits, &error)) {
            fail_msg("taken: %s", row->text);
        }
        if (error.offset != row->offset || strcmp(error.pointer, row->pointer) != 0 ||
            strcmp(error.what, row->what) != 0) {
            fail_msg("%s: %zu \"%s\" %s", row->text, error.offset, error.pointer, error.what);
        }
        json_tape_free(&tape);
    }
}

#define EXPECT_ERRORS(rows, limits) expect_errors(rows, sizeof(rows) / sizeof *(rows), limits)

static const char ends[] = "the text ends too early";
static const char no_value[] = "a value is missing here";
static const char no_key[] = "a key in double quotes is missing here";
static const char no_digit[] = "a digit is missing here";
static const char word[] = "only true, false and null may stand without quotes";
static const char utf8[] = "these bytes are not UTF-8";
static const char in_string[] = "the text ends inside a string";
static const char last_comma[] = "no comma may stand before the closing bracket";
static const char range[] = "this number is out of the range of a double";
static const char half[] = "this is half of a surrogate pair without the other half";
static const char hex[] = "\\u needs four hexadecimal digits";
static const char control[] = "a control character must be escaped in a string";
static const char escape[] =
    "no such escape: only \\\" \\\\ \\/ \\b \\f \\n \\r \\t and \\uXXXX are";
static const char twice[] = "this key stands twice in its object";
static const char trailing[] = "nothing may follow the end of the value";

static void of_structure(void **state) {
    (void)state;
    static const struct row rows[] = {
        {"", 0, "", "the text is empty"},
        {" \n ", 3, "", "the text is empty"},
        {"[", 1, "/0", ends},
        {"[1", 2, "", ends},
        {"[1,", 3, "/1", ends},
        {"[1 2]", 3, "", "a comma or ] is missing here"},
        {"[1}", 2, "", "a comma or ] is missing here"},
        {"[1,]", 2, "", last_comma},
        {"[,1]", 1, "/0", no_value},
        {"]", 0, "", no_value},
        {"{", 1, "", ends},
        {"{1:2}", 1, "", no_key},
        {"{a:1}", 1, "", no_key},
        {"{,}", 1, "", no_key},
        {"{\"a\"", 4, "/a", ends},
        {"{\"a\" 1}", 5, "/a", "a colon is missing here"},
        {"{\"a\":", 5, "/a", ends},
        {"{\"a\":}", 5, "/a", no_value},
        {"{\"a\":1", 6, "", ends},
        {"{\"a\":1 \"b\"", 7, "", "a comma or } is missing here"},
        {"{\"a\":1]", 6, "", "a comma or } is missing here"},
        {"{\"a\":1 ,}", 7, "", last_comma},
        {"{\"a\":1,2}", 7, "", no_key},
        {"1 2", 2, "", trailing},
        {"{} {}", 3, "", trailing},
        {"nullx", 4, "", trailing},
        {"// c\n1", 0, "", "comments are not allowed here"},
        {"[1 /* c */]", 3, "", "comments are not allowed here"},
        {"1 // c", 2, "", "comments are not allowed here"},
        {"\xef\xbb\xbf{}", 0, "",
         "the text starts with a byte order mark, which JSON does not allow"},
        {"[\x80]", 1, "/0", utf8},
        {"1\xc0\x80", 1, "", utf8},
    };

    EXPECT_ERRORS(rows, &json_message_limits);
}

static void of_words_and_numbers(void **state) {
    (void)state;
    static const struct row rows[] = {
        {"tru", 3, "", ends},
        {"[nul]", 4, "/0", word},
        {"[True]", 1, "/0", no_value},
        {"falSe", 3, "", word},
        {"NaN", 0, "", "a value is missing here (NaN and Infinity are none)"},
        {"[Infinity]", 1, "/0", "a value is missing here (NaN and Infinity are none)"},
        {"-Infinity", 1, "", no_digit},
        {"+1", 0, "", "a number may not start with a plus sign"},
        {".5", 0, "", "a number needs a digit before its point"},
        {"-", 1, "", no_digit},
        {"2.", 2, "", no_digit},
        {"[0e", 3, "/0", no_digit},
        {"-.5", 1, "", no_digit},
        {"[1.]", 3, "/0", no_digit},
        {"1.e3", 2, "", no_digit},
        {"[1e]", 3, "/0", no_digit},
        {"[1e+]", 4, "/0", no_digit},
        {"[-01]", 2, "/0", "a number may not have zeros in front of it"},
        {"00", 0, "", "a number may not have zeros in front of it"},
        {"0x10", 1, "", trailing},
        {"{\"a\":[0,1e309]}", 8, "/a/1", range},
        {"-1e400", 0, "", range},
        {"1.7976931348623159e308", 0, "", range},
        {"1e-400", 0, "", range},
        {"2e-324", 0, "", range},
        {"1e99999999999999999999999", 0, "", range},
        {"1e-99999999999999999999999", 0, "", range},
    };

    EXPECT_ERRORS(rows, &json_message_limits);
}

static void of_strings(void **state) {
    (void)state;
    static const struct row rows[] = {
        {"'a'", 0, "", "a string stands in double quotes"},
        {"\"abc", 4, "", in_string},
        {"\"abc\\", 5, "", in_string},
        {"[\"a\nb\"]", 3, "/0", control},
        {"\"\x1f\"", 1, "", control},
        {"\"\\a\"", 2, "", escape},
        {"\"\\'\"", 2, "", escape},
        {"\"\\x41\"", 2, "", escape},
        {"\"\\U0041\"", 2, "", escape},
        {"\"\\u12\"", 5, "", hex},
        {"\"\\u12g4\"", 5, "", hex},
        {"\"\\u", 3, "", hex},
        {"\"\\ud800\"", 1, "", half},
        {"\"ab\\udc00\"", 3, "", half},
        {"\"\\ud800\\ud800\"", 1, "", half},
        {"\"\\ud800\\n\"", 1, "", half},
        {"\"\\ud800\\u00", 1, "", half},
        {"\"\\ud800\\uxxxx\"", 1, "", half},
        {"\"a\x80\"", 2, "", utf8},
        {"\"\xc0\x80\"", 1, "", utf8},
        {"\"\xc1\xbf\"", 1, "", utf8},
        {"\"\xe0\x9f\xbf\"", 1, "", utf8},
        {"\"\xed\xa0\x80\"", 1, "", utf8},
        {"\"\xf0\x8f\xbf\xbf\"", 1, "", utf8},
        {"\"\xf4\x90\x80\x80\"", 1, "", utf8},
        {"\"\xf5\x80\x80\x80\"", 1, "", utf8},
        {"\"\xe2\x82\"", 1, "", utf8},
        {"\"\xe2\x82", 1, "", utf8},
        {"\"\xf0\x9f\x98z\"", 1, "", utf8},
        {"{\"\xff\":1}", 2, "", utf8},
    };

    EXPECT_ERRORS(rows, &json_message_limits);
}

static void of_keys_that_stand_twice(void **state) {
    (void)state;
    static const struct row rows[] = {
        {"{\"a\":1,\"a\":2}", 7, "/a", twice},
        {"{\"a\":1,\"\\u0061\":2}", 7, "/a", twice},
        {"[{\"x\":{\"a/~\":[[]],\"b\":{},\"a\\/~\":2}}]", 25, "/0/x/a~1~0", twice},
        {"{\"\":1,\"\":2}", 6, "/", twice},
        {"{\"\xc3\xa9\":1,\"\\u00e9\":2}", 8, "/\xc3\xa9", twice},
        {"{\"\\ud83d\\ude00\":1,\"\xf0\x9f\x98\x80\":2}", 18, "/\xf0\x9f\x98\x80", twice},
    };

    EXPECT_ERRORS(rows, &json_message_limits);
}

static void of_comments(void **state) {
    (void)state;
    static const struct row rows[] = {
        {"[1/*", 2, "", "this comment is never closed"},
        {"/*/", 0, "", "this comment is never closed"},
        {"{\"a\":/* *", 5, "/a", "this comment is never closed"},
        {"// only", 7, "", "the text is empty"},
        {"1 / 2", 2, "", "a comment starts with // or /*"},
        {"/", 0, "", "a comment starts with // or /*"},
        {"// \xff\n1", 3, "", utf8},
        {"/* \xed\xa0\x80 */1", 3, "", utf8},
        {"\"a\" # b", 4, "", trailing},
    };

    EXPECT_ERRORS(rows, &json_config_limits);
}

static void of_limits(void **state) {
    (void)state;
    static const char deep[] = "arrays and objects are nested too deep here";
    static const struct json_limits shallow = {.max_length = 12, .max_depth = 2};
    static const struct row rows[] = {
        {"[[[]]]", 2, "/0/0", deep},
        {"[1,{\"a\":{}}]", 8, "/1/a", deep},
        {"[[[ and no more", 12, "", "the text is longer than allowed"},
    };

    EXPECT_ERRORS(rows, &shallow);
}

// A byte of zero is no end of the text.
static void of_a_zero_byte(void **state) {
    (void)state;
    static const struct {
        const char *text;
        size_t length;
        size_t offset;
        const char *what;
    } rows[] = {
        {"1\0", 2, 1, trailing},
        {"\0", 1, 0, no_value},
        {"\"\0\"", 3, 1, control},
        {"\"\\\0\"", 4, 2, escape},
        {"[1\0]", 4, 2, "a comma or ] is missing here"},
    };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct json_tape tape = {0};
        struct json_error error = {0};
        assert_true(refused(&tape, rows[i].text, rows[i].length, &json_message_limits, &error));
        assert_int_equal(error.offset, rows[i].offset);
        assert_string_equal(error.what, rows[i].what);
        json_tape_free(&tape);
    }
}

// A pointer too long for its place is cut between two whole characters.
static void a_long_pointer_is_cut(void **state) {
    (void)state;
    static const char key[] = "\xc3\xa9";
    char text[400] = "{\"";
    struct json_tape tape = {0};
    struct json_error error;
    size_t length = 2;

    for (int i = 0; i < 150; i++) {
        length += (size_t)snprintf(text + length, sizeof text - length, "%s", key);
    }
    length += (size_t)snprintf(text + length, sizeof text - length, "\":x}");
    assert_true(refused(&tape, text, length, &json_message_limits, &error));
    assert_int_equal(strlen(error.pointer), 255);
    assert_string_equal(error.pointer + 253, key);
    json_tape_free(&tape);
}

static void a_position_counts_lines_and_bytes(void **state) {
    (void)state;
    static const char text[] = "{\n  \"a\": 1,\r\n\xc3\xa9x";
    unsigned line = 0;
    unsigned column = 0;

    json_position(text, sizeof text - 1, 0, &line, &column);
    assert_int_equal(line * 100 + column, 101);
    json_position(text, sizeof text - 1, 4, &line, &column);
    assert_int_equal(line * 100 + column, 203);
    json_position(text, sizeof text - 1, 15, &line, &column);
    assert_int_equal(line * 100 + column, 303);
    json_position(text, sizeof text - 1, 999, &line, &column);
    assert_int_equal(line * 100 + column, 304);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(of_structure),
        cmocka_unit_test(of_words_and_numbers),
        cmocka_unit_test(of_strings),
        cmocka_unit_test(of_keys_that_stand_twice),
        cmocka_unit_test(of_comments),
        cmocka_unit_test(of_limits),
        cmocka_unit_test(of_a_zero_byte),
        cmocka_unit_test(a_long_pointer_is_cut),
        cmocka_unit_test(a_position_counts_lines_and_bytes),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
