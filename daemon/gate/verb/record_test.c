// record-test: a test's readings, judged by its rule.
#include <stdlib.h>
#include <string.h>

#include "gate/average.h"
#include "gate/emit.h"
#include "gate/notice.h"
#include "gate/refusal_list.h"
#include "gate/require.h"
#include "gate/text.h"
#include "gate/verb/case.h"

// A failed one of a test that fails the dispenser takes every position of it out of service (a bag
// that collapses; trade rule "bag").
// Rule (3, service; trade rule bag [P]): Only a test that is configured so takes the dispenser out
// of service. [failed-any-takes]
// Rule (3, service; trade rule bag [P]): A borderline run takes nothing out of service.
// [borderline-takes]
static void record(struct gate_case *c, const struct model_test *test) {
    const struct gate_request *request = c->request;
    const struct model_result result = gate_average(c->job, test, request->result, c->now);
    struct gate_fact fact = gate_case_fact(c, GATE_FACT_TEST_RECORDED);
    fact.by = NULL;
    fact.person = c->person->person;
    fact.test = test->test;
    fact.instrument = request->instrument;
    fact.note = request->note;
    fact.has_value = result.has_value;
    fact.value = result.value;
    fact.has_pass = result.has_pass;
    fact.pass = result.pass;
    fact.takes_dispenser = test->fails_dispenser && result.has_pass && !result.pass;
    fact.result = &result;
    gate_emit(c->gate, &fact);
    c->answer->has_result = true;
    c->answer->result = result;
}

// Rule (4, record-test; R22): A test whose last record failed passes only with a note of what was
// changed. [retest-without-a-word]
// Rule (4, record-test; R22): A note of blanks says nothing. [retest-with-blanks]
// Rule (4, record-test; R22): One that fails again needs none. [failed-again-needs-a-word]
static void require_note(struct gate_case *c, const struct model_test *test) {
    const struct model_result result = gate_average(c->job, test, c->request->result, c->now);
    bool passes = result.has_pass && result.pass;
    bool met =
        !passes || !gate_test_failed_last(c->job, test->test) || !gate_blank(c->request->note);
    gate_list_put(&c->list, met, GATE_SAY_TEST_NOTE_MISSING, test->test,
                  GATE_ARGS(.test = test->test));
}

static enum gate_say doubt_says(const struct model_doubt *doubt) {
    if (doubt->of_site) {
        return doubt->has_value ? GATE_SAY_READING_OVER_TANKS : GATE_SAY_READING_CONTRADICTS;
    }
    if (!doubt->limits.has_max) {
        return GATE_SAY_READING_BELOW;
    }
    return doubt->limits.has_min ? GATE_SAY_READING_OUTSIDE : GATE_SAY_READING_ABOVE;
}

// Rule (8, test rules): A reading outside what the method holds for is refused, with its bounds.
// [reading-not-valid-taken]
// Rule (4, the answer): Every such reading is listed, not the first. [first-reading-only]
static void require_valid(struct gate_case *c, const struct model_result *result) {
    for (size_t i = 0; i < result->doubt_count; i++) {
        const struct model_doubt *doubt = &result->doubts[i];
        const struct model_limits *holds = &doubt->limits;
        bool words = doubt->of_site && !doubt->has_value;
        gate_list_put(&c->list, false, doubt_says(doubt), doubt->reading,
                      GATE_ARGS(.test = c->request->test, .reading = doubt->reading,
                                .has_value = doubt->has_value, .value = doubt->value,
                                .unit = doubt->unit, .has_min = holds->has_min, .min = holds->min,
                                .has_max = holds->has_max, .max = holds->max,
                                .first = words ? doubt->need : NULL,
                                .second = words ? doubt->found : NULL, .need = doubt->need,
                                .found = doubt->found));
    }
}

// Rule (4, record-test; 29 CFR 1910.147(f)(1) [P]): A test under power is recorded while every
// required point is live and trusted. [powered-without-power]
static void decide(struct gate_case *c) {
    const struct gate_request *request = c->request;
    const struct model_test *test = NULL;
    struct model_requirements *tests =
        gate_test_definition(c->gate, c->site->model->index, c->job->job, request->test, &test);
    gate_list_put(&c->list, test != NULL, GATE_SAY_UNKNOWN_TEST, request->test,
                  GATE_ARGS(.test = request->test));
    if (test != NULL) {
        gate_require_notice(c->job, test, c->now, &c->list);
        gate_case_instrument(c, test->instrument);
        if (test->powered) {
            gate_require_restored(c->gate, c->site, c->job, c->now, &c->list);
        }
    }
    if (test != NULL && request->result == NULL) {
        gate_list_put(&c->list, false, GATE_SAY_READINGS_MISSING, "/readings",
                      GATE_ARGS(.test = request->test));
    } else if (test != NULL) {
        require_valid(c, request->result);
        require_note(c, test);
    }
    if (gate_case_clear(c) && test != NULL && request->result != NULL) {
        record(c, test);
    }
    free(tests);
}

// Rule (4, record-test): A test is recorded by the leader. [record-by-anybody]
// Rule (4, record-test): A test is recorded while testing. [record-in-restoring]
const struct gate_verb_row gate_verb_record_test = {
    .name = "record-test",
    .about = "Records a test with its readings; the answer has its result.",
    .fields = {GATE_MUST(job, ID), GATE_MUST(test, TEST_ID), GATE_PLAIN(readings, READINGS, true),
               GATE_MAY(instrument, ID), GATE_MAY(note, NOTE)},
    .who = GATE_WHO_LEADER,
    .of_job = true,
    .phases = GATE_IN(TESTING),
    .permits = true,
    .present = true,
    .decide = decide,
};
