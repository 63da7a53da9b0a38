// The writer: punctuation, escapes, numbers, copies and the canonical form.
#include "given.h"

#include <math.h>

static void commas_and_colons_come_by_themselves(void **state) {
    (void)state;
    struct json_out out = {0};

    json_out_object(&out);
    json_out_key(&out, "a");
    json_out_int(&out, INT64_MIN);
    json_out_key(&out, "b\"");
    json_out_array(&out);
    json_out_array(&out);
    json_out_array_end(&out);
    json_out_object(&out);
    json_out_object_end(&out);
    json_out_bool(&out, true);
    json_out_bool(&out, false);
    json_out_null(&out);
    json_out_string(&out, NULL);
    json_out_string(&out, "");
    json_out_array_end(&out);
    json_out_key(&out, "c");
    json_out_raw(&out, "[1]xx", 3);
    json_out_object_end(&out);
    assert_false(out.failed);
    assert_string_equal(out.data, "{\"a\":-9223372036854775808,\"b\\\"\":[[],{},true,false,null,"
                                  "null,\"\"],\"c\":[1]}");
    assert_int_equal(out.length, strlen(out.data));
    json_out_free(&out);
    assert_null(out.data);
}

static void a_writer_is_reused(void **state) {
    (void)state;
    struct json_out out = {0};

    json_out_reset(&out);
    assert_null(out.data);
    json_out_string(&out, "first");
    const char *data = out.data;
    json_out_reset(&out);
    assert_string_equal(out.data, "");
    json_out_int(&out, 2);
    assert_string_equal(out.data, "2");
    assert_ptr_equal(out.data, data);
    json_out_free(&out);
}

static void it_grows_over_any_length(void **state) {
    (void)state;
    struct json_out out = {0};
    static char text[1000];

    memset(text, 'x', sizeof text);
    for (size_t length = 0; length < sizeof text; length++) {
        json_out_reset(&out);
        json_out_string_n(&out, text, length);
        assert_int_equal(out.length, length + 2);
        assert_int_equal(strlen(out.data), length + 2);
        json_out_free(&out);
    }
}

static void strings_are_escaped(void **state) {
    (void)state;
    static const struct {
        const char *text;
        size_t length;
        const char *written;
    } rows[] = {
        {"\"\\/", 3, "\"\\\"\\\\/\""},
        {"\b\f\n\r\t\x01\x1f\x7f", 8, "\"\\b\\f\\n\\r\\t\\u0001\\u001f\x7f\""},
        {"a\0b", 3, "\"a\\u0000b\""},
        {"\xc3\xa9\xf0\x9f\x98\x80", 6, "\"\xc3\xa9\xf0\x9f\x98\x80\""},
        {"x\xff\xc3(\xed\xa0\x80", 7,
         "\"x\xef\xbf\xbd\xef\xbf\xbd(\xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbd\""},
        {"\xe2\x82", 2, "\"\xef\xbf\xbd\xef\xbf\xbd\""},
    };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct json_out out = {0};
        json_out_string_n(&out, rows[i].text, rows[i].length);
        assert_string_equal(out.data, rows[i].written);
        json_out_free(&out);
    }
}

static void doubles_are_short_and_read_back(void **state) {
    (void)state;
    static const struct {
        double value;
        const char *written;
    } rows[] = {
        {0, "0"},
        {-0.0, "0"},
        {1, "1"},
        {-12, "-12"},
        {0.1, "0.1"},
        {-0.5, "-0.5"},
        {1.0 / 3, "0.3333333333333333"},
        {0.1 + 0.2, "0.30000000000000004"},
        {2.0 / 3, "0.6666666666666666"},
        {123456.789, "123456.789"},
        {999999999999999, "999999999999999"},
        {1e15, "1000000000000000"},
        {1e20, "100000000000000000000"},
        {1e21, "1e21"},
        {1.5e21, "1.5e21"},
        {1e-7, "0.0000001"},
        {1.25e-8, "1.25e-8"},
        {-1.7976931348623157e308, "-1.7976931348623157e308"},
        {5e-324, "4.94065645841247e-324"},
        {9007199254740993.0, "9007199254740992"},
        {NAN, "null"},
        {INFINITY, "null"},
        {-INFINITY, "null"},
    };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct json_out out = {0};
        json_out_double(&out, rows[i].value);
        assert_string_equal(out.data, rows[i].written);
        json_out_free(&out);
    }
}

static void every_double_reads_back_the_same(void **state) {
    (void)state;
    uint64_t bits = 88172645463325252u;
    struct json_out out = {0};
    struct json_tape tape = {0};

    for (int i = 0; i < 20000; i++) {
        bits ^= bits << 13;
        bits ^= bits >> 7;
        bits ^= bits << 17;
        double value;
        double back = 0;
        memcpy(&value, &bits, sizeof value);
        if (!isfinite(value)) {
            continue;
        }
        json_out_reset(&out);
        json_out_double(&out, value);
        assert_true(json_scan(&tape, out.data, out.length, &json_message_limits, NULL));
        assert_true(json_double(&tape, json_root(&tape), &back));
        assert_true(back == value);
    }
    json_out_free(&out);
    json_tape_free(&tape);
}

static void a_node_is_copied_as_it_stands(void **state) {
    (void)state;
    struct json_tape tape = {0};
    struct json_out out = {0};
    char *text =
        given(&tape, " { \"b\" : [ 1.0 , \"\\u0041\\n\" , { } ,[ ] ] , \"\\u0061\" : null } ");

    json_out_array(&out);
    json_out_node(&out, &tape, json_root(&tape));
    json_out_node(&out, &tape, json_at_from(&tape, json_root(&tape), "/b/1"));
    json_out_array_end(&out);
    assert_string_equal(out.data,
                        "[{\"b\":[1.0,\"\\u0041\\n\",{},[]],\"\\u0061\":null},\"\\u0041\\n\"]");
    json_out_free(&out);
    done(&tape, text);
}

static void expect_canonical(const char *given_text, const char *canonical) {
    struct json_tape tape = {0};
    struct json_out out = {0};
    char *text = given(&tape, given_text);

    json_out_canonical(&out, &tape, json_root(&tape));
    assert_string_equal(out.data, canonical);
    done(&tape, text);
    text = given(&tape, canonical);
    json_out_reset(&out);
    json_out_canonical(&out, &tape, json_root(&tape));
    assert_string_equal(out.data, canonical);
    done(&tape, text);
    json_out_free(&out);
}

static void the_canonical_form(void **state) {
    (void)state;
    expect_canonical(" { \"b\" : 1 , \"a\" : [ true , false , null ] } ",
                     "{\"a\":[true,false,null],\"b\":1}");
    expect_canonical("{\"a\\u0062\":1,\"aa\":2,\"a\":3,\"B\":4,\"\\u00e9\":5,\"\":6}",
                     "{\"\":6,\"B\":4,\"a\":3,\"aa\":2,\"ab\":1,\"\xc3\xa9\":5}");
    expect_canonical("\"\\u0041\\/\\u000a\\u001F\\u0000\xc3\xa9\\ud83d\\ude00\"",
                     "\"A/\\n\\u001f\\u0000\xc3\xa9\xf0\x9f\x98\x80\"");
    expect_canonical("[1.0,1e3,-0.0,100e-2,0.00000010,12.50]", "[1,1000,0,1,0.0000001,12.5]");
    expect_canonical("[1e20,1e21,1.50e-8,-0.1e1,9007199254740993]",
                     "[100000000000000000000,1e21,1.5e-8,-1,9007199254740993]");
    expect_canonical("[{},[],[[{\"z\":{\"y\":1,\"x\":2}}]]]",
                     "[{},[],[[{\"z\":{\"x\":2,\"y\":1}}]]]");
    expect_canonical("1000000000000000000000000000000000000000000000000000000000000000000000001",
                     "1.000000000000000000000000000000000000000000000000000000000000000000000001"
                     "e72");
}

static void many_members_are_sorted(void **state) {
    (void)state;
    expect_canonical("{\"t\":1,\"s\":1,\"r\":1,\"q\":1,\"p\":1,\"o\":1,\"n\":1,\"m\":1,\"l\":1,"
                     "\"k\":1,\"j\":1,\"i\":1,\"h\":1,\"g\":1,\"f\":1,\"e\":1,\"d\":1,\"c\":1}",
                     "{\"c\":1,\"d\":1,\"e\":1,\"f\":1,\"g\":1,\"h\":1,\"i\":1,\"j\":1,\"k\":1,"
                     "\"l\":1,\"m\":1,\"n\":1,\"o\":1,\"p\":1,\"q\":1,\"r\":1,\"s\":1,\"t\":1}");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(commas_and_colons_come_by_themselves),
        cmocka_unit_test(a_writer_is_reused),
        cmocka_unit_test(it_grows_over_any_length),
        cmocka_unit_test(strings_are_escaped),
        cmocka_unit_test(doubles_are_short_and_read_back),
        cmocka_unit_test(every_double_reads_back_the_same),
        cmocka_unit_test(a_node_is_copied_as_it_stands),
        cmocka_unit_test(the_canonical_form),
        cmocka_unit_test(many_members_are_sorted),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
