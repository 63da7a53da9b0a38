// Whether a text says anything.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/text.h"

static void what_cannot_be_seen_says_nothing(void **state) {
    (void)state;
    static const char *const blank[] = {
        "",
        " \t\r\n",
        "\xc2\xa0",
        "\xe3\x80\x80",
        "\xe2\x80\x83",
        "\xe2\x80\x8b",
        "\xef\xbb\xbf",
        "\xc2\xad",
        "\xe2\x81\xa0",
        "\x7f",
    };
    for (size_t i = 0; i < sizeof blank / sizeof *blank; i++) {
        assert_true(base_text_blank(blank[i]));
    }
    assert_false(base_text_blank(" \xf0\x9f\x94\x92"));
    assert_false(base_text_blank("\xe2\x80\x8b."));
    assert_false(base_text_blank("\xc3\xa9"));
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(what_cannot_be_seen_says_nothing)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
