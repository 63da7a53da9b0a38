// Numbers: exact doubles, exact integers, whatever the locale.
#include "given.h"

#include <locale.h>
#include <math.h>
#include <stdio.h>

static double as_double(const char *number) {
    struct json_tape tape = {0};
    double value = NAN;
    char *text = given(&tape, number);

    assert_true(json_double(&tape, json_root(&tape), &value));
    done(&tape, text);
    return value;
}

// Equal with the sign of zero.
static void expect_double(const char *number, double expected) {
    double value = as_double(number);

    if (value != expected || signbit(value) != signbit(expected)) {
        fail_msg("%s: %a, expected %a", number, value, expected);
    }
}

static void doubles_are_the_nearest(void **state) {
    (void)state;
    expect_double("0", 0.0);
    expect_double("-0", -0.0);
    expect_double("-0.0e5", -0.0);
    expect_double("1764088911123", 1764088911123.0);
    expect_double("0.1", 0.1);
    expect_double("-2.50", -2.5);
    expect_double("1e23", 1e23);
    expect_double("9007199254740993", 9007199254740992.0);
    expect_double("9007199254740995", 9007199254740996.0);
    expect_double("1.7976931348623157e308", 0x1.fffffffffffffp1023);
    expect_double("2.2250738585072011e-308", 0x0.fffffffffffffp-1022);
    expect_double("4.9406564584124654e-324", 0x1p-1074);
    expect_double("123456789012345678", 123456789012345680.0);
    expect_double("0.000000000000000000000000000001", 1e-30);
    expect_double("100000000000000000000000", 1e23);
}

// Halfway between 1 and the next double: a tie, which goes down to the even one; a last digit
// behind more of them than any buffer holds breaks it.
static void a_digit_far_behind_decides(void **state) {
    (void)state;
    static char text[2000] = "1.00000000000000011102230246251565404236316680908203125";
    size_t length = strlen(text);

    expect_double(text, 1.0);
    memset(text + length, '0', 1500);
    expect_double(text, 1.0);
    text[length + 1500] = '1';
    text[length + 1501] = '\0';
    expect_double(text, 0x1.0000000000001p0);
}

// Against the C library, on numbers of every length of digits and size of exponent.
static void doubles_are_those_of_the_c_library(void **state) {
    (void)state;
    uint64_t seed = 88172645463325252u;
    char number[64];

    for (int i = 0; i < 20000; i++) {
        seed ^= seed << 13;
        seed ^= seed >> 7;
        seed ^= seed << 17;
        int digits = 1 + (int)(seed % 19);
        uint64_t whole = (seed >> 5) % (uint64_t)pow(10, digits);
        snprintf(number, sizeof number, "%llu.%03llue%d", (unsigned long long)whole,
                 (unsigned long long)(seed >> 40) % 1000, (int)((seed >> 20) % 61) - 30);
        expect_double(number, strtod(number, NULL));
    }
}

static void doubles_do_not_depend_on_the_locale(void **state) {
    (void)state;
    static const char *const names[] = {"de_DE.UTF-8", "fr_FR.UTF-8", "de_DE", "C"};
    size_t i = 0;

    while (!setlocale(LC_NUMERIC, names[i])) {
        i++;
    }
    expect_double("1.5", 1.5);
    expect_double("1.00000000000000000001", 1.0);
    expect_double("3.1415926535897932384", 3.1415926535897932384);
    struct json_out out = {0};
    json_out_double(&out, 0.30000000000000004);
    assert_string_equal(out.data, "0.30000000000000004");
    json_out_free(&out);
    setlocale(LC_NUMERIC, "C");
}

static void integers_are_exact(void **state) {
    (void)state;
    static const struct {
        const char *number;
        int64_t value;
    } rows[] = {
        {"0", 0},
        {"-0", 0},
        {"0.000", 0},
        {"0e-5", 0},
        {"1.0", 1},
        {"1e3", 1000},
        {"12.50e1", 125},
        {"-1200e-2", -12},
        {"9223372036854775807", INT64_MAX},
        {"-9223372036854775808", INT64_MIN},
        {"9007199254740993", 9007199254740993},
        {"9.223372036854775807e18", INT64_MAX},
        {"1000000000000000000", 1000000000000000000},
        {"1.000000000000000000000000000000", 1},
    };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct json_tape tape = {0};
        int64_t value = 77;
        char *text = given(&tape, rows[i].number);
        assert_true(json_integer(&tape, json_root(&tape), &value));
        assert_true(value == rows[i].value);
        done(&tape, text);
    }
}

static void what_is_no_integer(void **state) {
    (void)state;
    static const char *const texts[] = {
        "0.5",
        "1.0000000000000000000000001",
        "9223372036854775808",
        "-9223372036854775809",
        "1e19",
        "9999999999999999999",
        "1e-1",
        "1e300",
        "5e-324",
        "\"1\"",
        "true",
        "[1]",
        "10000000000000000001",
        "123e-2",
    };

    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        struct json_tape tape = {0};
        int64_t value = 77;
        char *text = given(&tape, texts[i]);
        if (json_integer(&tape, json_root(&tape), &value)) {
            fail_msg("taken: %s", texts[i]);
        }
        assert_int_equal(value, 77);
        done(&tape, text);
    }
}

static void what_is_no_number(void **state) {
    (void)state;
    struct json_tape tape = {0};
    double value = 77;
    int64_t whole = 77;
    char *text = given(&tape, "\"1\"");

    assert_false(json_double(&tape, json_root(&tape), &value));
    assert_false(json_double(&tape, NULL, &value));
    assert_false(json_integer(&tape, NULL, &whole));
    assert_true(value == 77);
    assert_int_equal(whole, 77);
    done(&tape, text);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(doubles_are_the_nearest),
        cmocka_unit_test(a_digit_far_behind_decides),
        cmocka_unit_test(doubles_are_those_of_the_c_library),
        cmocka_unit_test(doubles_do_not_depend_on_the_locale),
        cmocka_unit_test(integers_are_exact),
        cmocka_unit_test(what_is_no_integer),
        cmocka_unit_test(what_is_no_number),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
