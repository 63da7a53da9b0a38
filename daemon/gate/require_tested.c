// What the return requires of tests: each recorded, passed and standing.
#include <stdlib.h>

#include "gate/notice.h"
#include "gate/refusal_list.h"
#include "gate/require.h"

// Rule (5, Return): Every test is recorded. [return-without-tests]
// Rule (5, Return): No test is void at the return. [return-with-void-tests]
// Rule (5, Return): The latest record of every test passes. [return-with-failed-tests]
// Rule (5, Return): A borderline run is told as a test that is still missing. [waiting-test-failed]
// Rule (4, the answer; R34): args name the test and the rule it goes by. [arg-rule]
// Rule (4, the answer; R34): args say which run of how many. [arg-run]
// Rule (5, Return): A test whose valid_s has gone by is void at the return. [return-with-old-tests]
// Rule (6, next; 2, notice_h): A test that lacks its notice says so, and one that waits for it says
// until when. [waiting-test-unsaid]
static void require_passed(const struct gate_site *site, const struct gate_job *job,
                           const struct model_test *test, struct gate_time now,
                           struct gate_list *list) {
    const struct gate_test_record *record = gate_test_of(job, test->test);
    bool stands = record != NULL && !gate_test_void(site, job, record, now);
    bool met = stands && record->pass;
    bool waits = !met && gate_notice_waits(job, test, now);
    char until[GATE_NOTICE_TEXT];
    if (waits) {
        gate_notice_until(job, test, now, until);
    } else if (!met) {
        gate_require_notice(job, test, now, list);
    }
    enum gate_say sentence = waits                   ? GATE_SAY_TEST_NOTICE
                             : record == NULL || met ? GATE_SAY_TEST_MISSING
                             : !stands               ? GATE_SAY_TEST_VOID
                             : record->waits         ? GATE_SAY_TEST_BORDERLINE
                                                     : GATE_SAY_TEST_FAILED;
    struct gate_refusal *refusal = gate_list_put(
        list, met, sentence, test->test,
        GATE_ARGS(.test = test->test, .rule = test->rule, .until = waits ? until : NULL,
                  .run = record != NULL ? record->run : 0,
                  .runs = record != NULL ? record->runs : 0));
    if (refusal != NULL) {
        refusal->age_ms = record != NULL ? now.mono - record->at.mono : -1;
    }
}

void gate_require_tested(const struct gate_site *site, const struct gate_job *job,
                         struct gate_time now, struct gate_list *list) {
    struct model_requirements *tests = gate_tests_of(site, job);
    if (tests == NULL || tests->test_count == 0) {
        list->failed = list->failed || tests == NULL;
        gate_list_put(list, false, GATE_SAY_TEST_NONE_KNOWN, NULL, NULL);
    }
    for (size_t i = 0; tests != NULL && i < tests->test_count; i++) {
        require_passed(site, job, &tests->tests[i], now, list);
    }
    free(list->tests);
    list->tests = tests; // until what borrows its ids is told
}
