// Hex digits: every byte there and back, and everything that is no digit.
#include "base/hex.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static void test_every_byte_there_and_back(void **state) {
    (void)state;
    for (int i = 0; i < 256; i++) {
        const uint8_t byte = (uint8_t)i;
        uint8_t back = (uint8_t)~byte;
        char text[BASE_HEX_SIZE(1)], expected[3], upper[3];
        base_hex_encode(&byte, 1, text);
        snprintf(expected, sizeof expected, "%02x", (unsigned)i);
        snprintf(upper, sizeof upper, "%02X", (unsigned)i);
        assert_string_equal(text, expected);
        assert_true(base_hex_decode(text, &back, 1));
        assert_int_equal(back, byte);
        back = (uint8_t)~byte;
        assert_true(base_hex_decode(upper, &back, 1));
        assert_int_equal(back, byte);
    }
}

static void test_order_and_end(void **state) {
    (void)state;
    const uint8_t bytes[] = {0xde, 0xad, 0x00, 0x0f};
    uint8_t back[4];
    char text[BASE_HEX_SIZE(sizeof bytes)];
    memset(text, '#', sizeof text);
    base_hex_encode(bytes, sizeof bytes, text);
    assert_string_equal(text, "dead000f");
    assert_true(base_hex_decode("dead000f and more", back, sizeof back));
    assert_memory_equal(back, bytes, sizeof bytes);
    base_hex_encode(bytes, 0, text);
    assert_string_equal(text, "");
}

static void test_only_digits_are_digits(void **state) {
    (void)state;
    for (int i = 0; i < 256; i++) {
        const char c = (char)i;
        const char *all = "0123456789abcdefABCDEF", *at = i != 0 ? strchr(all, c) : NULL;
        const long place = at != NULL ? at - all : -1;
        assert_int_equal(base_hex_digit(c), place < 16 ? place : place - 6);
    }
}

static void test_what_is_too_short_is_refused(void **state) {
    (void)state;
    uint8_t bytes[2];
    assert_false(base_hex_decode("", bytes, 2));
    assert_false(base_hex_decode("a", bytes, 2));
    assert_false(base_hex_decode("abc", bytes, 2));
    assert_false(base_hex_decode("ab c", bytes, 2));
    assert_false(base_hex_decode("0x12", bytes, 2));
    assert_true(base_hex_decode("", bytes, 0));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_byte_there_and_back),
        cmocka_unit_test(test_order_and_end),
        cmocka_unit_test(test_only_digits_are_digits),
        cmocka_unit_test(test_what_is_too_short_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
