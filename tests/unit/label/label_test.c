// Codes and labels: the parts that a code of a known text must have, and text that must not get out
// of the place it stands in.
#include "label/label.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

static char text[262144];

// What a function wrote to a stream, in `text`.
#define WRITTEN(call)                                                                              \
    do {                                                                                           \
        FILE *out = fmemopen(text, sizeof text, "w");                                              \
        assert_non_null(out);                                                                      \
        call;                                                                                      \
        assert_int_equal(fclose(out), 0);                                                          \
    } while (0)

// The three finders of ISO/IEC 18004, 6.3.3: a dark ring of 7, a light one, a dark block of 3.
static bool is_finder(const struct label_qr *qr, unsigned left, unsigned top) {
    for (unsigned y = 0; y < 7; y++) {
        for (unsigned x = 0; x < 7; x++) {
            bool ring = x == 0 || y == 0 || x == 6 || y == 6;
            bool block = x >= 2 && x <= 4 && y >= 2 && y <= 4;
            if (label_qr_dark(qr, left + x, top + y) != (ring || block)) {
                return false;
            }
        }
    }
    return true;
}

static void a_code_of_a_known_text(void **state) {
    (void)state;
    struct label_qr qr;
    // 14 bytes at level M are a version 1 code: 21 modules a side (ISO/IEC 18004, table 7).
    assert_true(label_qr_make("http://a.b/c/d", false, &qr));
    assert_int_equal(qr.width, 21);
    assert_true(is_finder(&qr, 0, 0) && is_finder(&qr, 14, 0) && is_finder(&qr, 0, 14));
    assert_false(is_finder(&qr, 14, 14));
    for (unsigned i = 8; i < 13; i++) { // timing: dark, light, dark between the finders
        assert_int_equal(label_qr_dark(&qr, i, 6), i % 2 == 0);
        assert_int_equal(label_qr_dark(&qr, 6, i), i % 2 == 0);
    }
    assert_true(label_qr_dark(&qr, 8, 13)); // the dark module
    assert_false(label_qr_dark(&qr, 21, 0) || label_qr_dark(&qr, 0, UINT32_MAX));
    label_qr_free(&qr);
    assert_null(qr.modules);
    // Sturdier, the same text needs a larger code.
    assert_true(label_qr_make("http://a.b/c/d", true, &qr));
    assert_int_equal(qr.width, 25);
    label_qr_free(&qr);
}

static void a_text_that_is_too_long(void **state) {
    (void)state;
    struct label_qr qr;
    char *address = malloc(4001);
    assert_non_null(address);
    memset(address, 'a', 4000);
    address[4000] = '\0';
    assert_false(label_qr_make(address, false, &qr));
    assert_null(qr.modules);
    assert_int_equal(qr.width, 0);
    const struct label label = {
        .title = "", .position = "", .position_title = "", .dispenser = "", .url = address};
    WRITTEN(assert_false(label_svg(&label, out)));
    WRITTEN(assert_false(label_pdf(&label, 1, LABEL_A4, out, NULL)));
    free(address);
}

static void half_blocks(void **state) {
    (void)state;
    uint8_t modules[] = {1, 0, 1, 1};
    const struct label_qr qr = {.width = 2, .modules = modules};
    WRITTEN(label_qr_print(&qr, false, out));
    assert_string_equal(text, "          \n          \n    █▄    \n          \n          \n");
    WRITTEN(label_qr_print(&qr, true, out));
    assert_non_null(strstr(text, "\x1b[30;107m    █▄    \x1b[0m\n"));
    WRITTEN(label_qr_svg(&qr, "a<b>&\"'\n", out));
    assert_non_null(strstr(text, "<title>a&lt;b&gt;&amp;&quot;&#39; </title>"));
    assert_non_null(strstr(text, "viewBox=\"0 0 10 10\""));
    assert_non_null(strstr(text, "d=\"M4 4h1v1h-1zM4 5h2v1h-2z\""));
}

static void strings_of_a_pdf(void **state) {
    (void)state;
    static const struct {
        const char *from, *to;
        unsigned replaced;
    } cases[] = {
        {"", "()", 0},
        {"a(b)\\c", "(a\\(b\\)\\\\c)", 0},
        {"Ñandú", "(\\321and\\372)", 0},
        {"€ – “x”", "(\\200 \\226 \\223x\\224)", 0},
        {"北a", "(?a)", 1},
        {"😀", "(?)", 1},
        {"a\nb\x7f", "(a?b?)", 2},
        {"\xc3", "(?)", 1}, // cut in the middle
        {"\xff"
         "a",
         "(?a)", 1}, // no UTF-8 at all
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        unsigned replaced = 0;
        WRITTEN(label_pdf_string(cases[i].from, out, &replaced));
        assert_string_equal(text, cases[i].to);
        assert_int_equal(replaced, cases[i].replaced);
    }
}

static void widths(void **state) {
    (void)state;
    assert_true(label_text_width("") == 0);
    assert_float_equal(label_text_width("3A"), 0.556 + 0.722, 1e-9);
    assert_float_equal(label_text_width("~"), 0.584, 1e-9);
    assert_float_equal(label_text_width("é北"), 2, 1e-9);
}

// Every offset of the table of objects must lead to its object.
static void sheets(void **state) {
    (void)state;
    struct label labels[7];
    unsigned replaced = 9;
    for (size_t i = 0; i < 7; i++) {
        labels[i] = (struct label){.site = "s",
                                   .title = "(T)",
                                   .position = "3A",
                                   .position_title = "t",
                                   .dispenser = "3",
                                   .url = "https://a.example/at/s/3A"};
    }
    memset(text, 0, sizeof text);
    WRITTEN(assert_true(label_pdf(labels, 7, LABEL_LETTER, out, &replaced)));
    assert_int_equal(replaced, 0);
    assert_memory_equal(text, "%PDF-1.4\n", 9);
    assert_non_null(strstr(text, "/Count 2 /Kids [ 5 0 R 7 0 R ]"));
    assert_non_null(strstr(text, "/MediaBox [0 0 612.000 792.000]"));
    assert_non_null(strstr(text, "(\\(T\\))"));
    const char *xref = text + strtoul(strstr(text, "startxref\n") + 10, NULL, 10);
    assert_memory_equal(xref, "xref\n0 9\n", 9);
    for (unsigned i = 1; i < 9; i++) {
        char begin[16];
        size_t offset = strtoul(xref + 9 + 20 * (size_t)i, NULL, 10);
        snprintf(begin, sizeof begin, "%u 0 obj\n", i);
        assert_memory_equal(text + offset, begin, strlen(begin));
    }
}

static void a_long_name_keeps_to_its_place(void **state) {
    (void)state;
    char name[65], width[32];
    memset(name, 'W', 64);
    name[64] = '\0';
    const struct label label = {.site = "s",
                                .title = "a & b",
                                .position = name,
                                .position_title = "<i>",
                                .dispenser = "3",
                                .url = "https://a.b"};
    WRITTEN(assert_true(label_svg(&label, out)));
    snprintf(width, sizeof width, "textLength=\"%.3f\"", 35.0);
    assert_non_null(strstr(text, width));
    assert_non_null(strstr(text, ">a &amp; b</text>"));
    assert_non_null(strstr(text, ">&lt;i&gt;</text>"));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_code_of_a_known_text),
        cmocka_unit_test(a_text_that_is_too_long),
        cmocka_unit_test(half_blocks),
        cmocka_unit_test(strings_of_a_pdf),
        cmocka_unit_test(widths),
        cmocka_unit_test(sheets),
        cmocka_unit_test(a_long_name_keeps_to_its_place),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
