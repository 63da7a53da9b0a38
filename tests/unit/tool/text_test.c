// Text for people: ages, and lines that steer no terminal.
#include "rig.h"

#include <stdio.h>
#include <stdlib.h>

#include "tool/fact_text.h"
#include "tool/text.h"

static void ages(void **state) {
    static const struct {
        int64_t ms;
        const char *text;
    } rows[] = {{-5, "0.0 s"},          {0, "0.0 s"},           {449, "0.4 s"},
                {9999, "10.0 s"},       {10000, "10 s"},        {119999, "119 s"},
                {120000, "2 min"},      {7199999, "119 min"},   {7200000, "2 h 0 min"},
                {7500000, "2 h 5 min"}, {172800000, "2 d 0 h"}, {INT64_MAX, "106751991167 d 7 h"}};
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[TOOL_AGE_SIZE];
        tool_age(rows[i].ms, text);
        assert_string_equal(text, rows[i].text);
    }
}

static void line_of(const char *given, char *line, size_t size) {
    char *text = NULL;
    size_t length = 0;
    FILE *out = open_memstream(&text, &length);
    assert_non_null(out);
    tool_line(out, "<%s>", given);
    fclose(out);
    snprintf(line, size, "%s", text);
    free(text);
}

static void a_line_is_one_line(void **state) {
    char line[64];
    (void)state;
    line_of("a\nb\x1b[2Jc\x7f\xc2\x9b"
            "d\xc3\xa9",
            line, sizeof line);
    assert_string_equal(line, "<a b [2Jc   d\xc3\xa9>\n");
}

static void text_grows_and_is_cut(void **state) {
    struct tool_text text = {0};
    (void)state;
    assert_string_equal(tool_text_of(&text), "");
    for (int i = 0; i < 1000; i++) {
        tool_text_add(&text, "%d,", i % 10);
    }
    assert_int_equal(text.length, 2000);
    tool_text_cut(&text, 4);
    assert_string_equal(tool_text_of(&text), "0,1,");
    tool_text_cut(&text, 9); // no longer than it is
    assert_int_equal(text.length, 4);
    tool_text_free(&text);
}

static void says(const struct gate_fact *fact, const char *expected) {
    struct tool_text text = {0};
    tool_fact_headline(&text, fact);
    assert_string_equal(tool_text_of(&text), expected);
    tool_text_free(&text);
}

// A part of which something is not known is left out; nothing is made up.
static void headlines(void **state) {
    (void)state;
    says(&(struct gate_fact){.type = GATE_FACT_TAG_HUNG,
                             .badge = "0451",
                             .point = "3-power",
                             .reader = true,
                             .has_counts = true},
         "0451 hung lock and tag on 3-power, told by a reader, badge 0451; it does NOT count");
    says(&(struct gate_fact){.type = GATE_FACT_TAG_LIFTED,
                             .person = "t-1",
                             .by = "s-1",
                             .point = "3-power",
                             .absent = true,
                             .reason = "went home"},
         "lock and tag of t-1 on 3-power was lifted by s-1, for its absent owner: went home");
    says(&(struct gate_fact){.type = GATE_FACT_CHECK_SIGNED,
                             .person = "t-1",
                             .check = "volts",
                             .has_value = true,
                             .value = 12.5,
                             .unit = "V",
                             .has_pass = true},
         "t-1 signed check volts: 12.5 V: FAILED");
    says(&(struct gate_fact){.type = GATE_FACT_CHECK_SIGNED,
                             .person = "t-1",
                             .check = "clear",
                             .has_pass = true,
                             .pass = true},
         "t-1 signed check clear");
    says(&(struct gate_fact){.type = GATE_FACT_WORK_STARTED, .job = "J-1"},
         "(not known) started the work on J-1");
}

static void every_fact_has_a_headline(void **state) {
    (void)state;
    for (int type = 0; type < GATE_FACT_COUNT; type++) {
        struct tool_text text = {0};
        tool_fact_headline(&text, &(struct gate_fact){.type = (enum gate_fact_type)type});
        assert_true(text.length > 10);
        tool_text_free(&text);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ages),
        cmocka_unit_test(a_line_is_one_line),
        cmocka_unit_test(text_grows_and_is_cut),
        cmocka_unit_test(headlines),
        cmocka_unit_test(every_fact_has_a_headline),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
