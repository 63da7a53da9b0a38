// Every error and warning of the configuration, by the whole report that it gives.
#include "config/config.h"

#include "cases.h"
#include "tree.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

// 2026-06-01 12:00 UTC.
#define TODAY_MS 1780315200000

// What config_report_print prints. Owned by the caller.
static char *printed(const struct config_report *report) {
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    config_report_print(report, out);
    fclose(out);
    return text;
}

static void check_case(void **state) {
    const struct case_of *wanted = *state;
    struct tree tree;
    tree_make(&tree);
    for (size_t i = 0; i < CASE_EDITS_MAX && wanted->edits[i].file != NULL; i++) {
        const struct case_edit *edit = &wanted->edits[i];
        if (edit->from == NULL) {
            tree_write(edit->file, edit->to);
        } else {
            tree_edit(edit->file, edit->from, edit->to);
        }
    }
    struct config_report report = {.now_ms = TODAY_MS};
    struct model *model = config_load("forelock.json", &report);
    char *text = printed(&report);
    tree_remove(&tree);
    assert_string_equal(text, wanted->report);
    assert_int_equal(report.error_count + report.warning_count, report.count);
    assert_int_equal(model == NULL, report.error_count > 0);
    free(text);
    model_free(model);
    config_report_free(&report);
}

static size_t add(struct CMUnitTest *tests, size_t at, const struct case_of *cases, size_t count) {
    for (size_t i = 0; i < count; i++) {
        // cmocka takes the state as a plain pointer and only hands it back.
        union {
            const struct case_of *in;
            struct case_of *out;
        } state = {.in = &cases[i]};
        tests[at + i] = (struct CMUnitTest){
            .name = cases[i].name, .test_func = check_case, .initial_state = state.out};
    }
    return at + count;
}

int main(void) {
    size_t count = cases_first_count + cases_work_count + cases_site_count + cases_feed_count +
                   cases_rules_count + cases_limits_count;
    struct CMUnitTest *tests = calloc(count, sizeof(*tests));
    if (tests == NULL) {
        return 1;
    }
    size_t at = add(tests, 0, cases_first, cases_first_count);
    at = add(tests, at, cases_work, cases_work_count);
    at = add(tests, at, cases_site, cases_site_count);
    at = add(tests, at, cases_feed, cases_feed_count);
    at = add(tests, at, cases_rules, cases_rules_count);
    add(tests, at, cases_limits, cases_limits_count);
    int failed = _cmocka_run_group_tests("config_report", tests, count, NULL, NULL);
    free(tests);
    return failed;
}
