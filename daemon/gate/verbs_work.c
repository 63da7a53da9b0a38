// The verbs of the work itself: start, stop, finish, set aside, do again, test, return.
#include "gate/internal.h"

#include <stdlib.h>

static struct gate_fact job_fact(struct gate_case *c, enum gate_fact_type type) {
    struct gate_fact fact = gate_fact_of_job(c->gate, c->site, c->job, type, c->now);
    fact.by = c->person->person;
    fact.reason = c->request->reason;
    return fact;
}

// Tells the fact if nothing stands against it.
static bool emit_if_clear(struct gate_case *c, enum gate_fact_type type) {
    if (!gate_case_clear(c)) {
        return false;
    }
    struct gate_fact fact = job_fact(c, type);
    gate_emit(c->gate, &fact);
    return true;
}

static void clear_broken(struct gate_case *c) {
    struct gate_alarm_about about = {.kind = MODEL_ALARM_LOCKOUT_BROKEN, .job = c->job};
    gate_alarm_clear(c->gate, c->site, &about, c->now);
}

void gate_start_work(struct gate_case *c) {
    gate_case_phase(c, 1u << MODEL_PHASE_OPEN | 1u << MODEL_PHASE_STOPPED);
    gate_case_leader(c);
    gate_require_start(c->gate, c->site, c->job, c->now, &c->list);
    emit_if_clear(c, GATE_FACT_WORK_STARTED);
}

void gate_stop_work(struct gate_case *c) {
    gate_case_phase(c, 1u << MODEL_PHASE_WORKING | 1u << MODEL_PHASE_RESTORING |
                           1u << MODEL_PHASE_TESTING);
    if (!model_person_has(c->person, MODEL_ROLE_MANAGER | MODEL_ROLE_SUPERVISOR)) {
        gate_case_crew(c);
    }
    if (!gate_case_clear(c)) {
        return;
    }
    struct gate_fact fact = job_fact(c, GATE_FACT_WORK_STOPPED);
    fact.has_phase = true;
    fact.phase = c->job->phase == MODEL_PHASE_WORKING ? MODEL_PHASE_STOPPED : MODEL_PHASE_RESTORING;
    gate_emit(c->gate, &fact);
}

void gate_finish_work(struct gate_case *c) {
    gate_case_phase(c, 1u << MODEL_PHASE_WORKING);
    gate_case_leader(c);
    gate_require_finish(c->gate, c->site, c->job, c->now, &c->list);
    emit_if_clear(c, GATE_FACT_WORK_FINISHED);
}

void gate_set_aside(struct gate_case *c) {
    gate_case_phase(c, 1u << MODEL_PHASE_WORKING | 1u << MODEL_PHASE_STOPPED);
    gate_case_leader(c);
    gate_require_group(c->job, MODEL_GROUP_CLEAR, c->now, &c->list);
    gate_require_group(c->job, MODEL_GROUP_LEAVE, c->now, &c->list);
    gate_require_uncontested(c->site, &c->list);
    if (emit_if_clear(c, GATE_FACT_WORK_SET_ASIDE)) {
        clear_broken(c);
    }
}

void gate_rework(struct gate_case *c) {
    gate_case_phase(c, 1u << MODEL_PHASE_RESTORING | 1u << MODEL_PHASE_TESTING);
    gate_case_leader(c);
    if (emit_if_clear(c, GATE_FACT_WORK_REOPENED)) {
        clear_broken(c);
    }
}

// 29 CFR 1910.147(f)(1): tools, people and devices away before anything is energized for a test.
void gate_begin_test(struct gate_case *c) {
    gate_case_phase(c, 1u << MODEL_PHASE_RESTORING);
    gate_case_leader(c);
    gate_require_test(c->gate, c->site, c->job, c->now, &c->list);
    emit_if_clear(c, GATE_FACT_TEST_BEGUN);
}

// A failed one of a test that fails the dispenser takes every position of it out of service (a bag
// that collapses; trade rule "bag").
static void record(struct gate_case *c, const struct model_test *test) {
    const struct gate_request *request = c->request;
    const struct model_result result = gate_average(c->job, test, request->result);
    struct gate_fact fact = job_fact(c, GATE_FACT_TEST_RECORDED);
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

void gate_record_test(struct gate_case *c) {
    const struct gate_request *request = c->request;
    gate_case_phase(c, 1u << MODEL_PHASE_TESTING);
    gate_case_leader(c);
    const struct model_test *test = NULL;
    struct model_requirements *tests =
        gate_test_definition(c->gate, c->site->model->index, c->job->job, request->test, &test);
    gate_list_require(&c->list, test != NULL, MODEL_CODE_UNKNOWN_TEST, request->test,
                      "a test of the job", "none", "This job has no such test.");
    if (test != NULL) {
        gate_case_instrument(c, test->instrument);
        if (test->powered) {
            gate_require_restored(c->gate, c->site, c->job, c->now, &c->list);
        }
    }
    if (test != NULL && request->result == NULL) {
        gate_list_require(&c->list, false, MODEL_CODE_MALFORMED, "/readings",
                          "the readings of the test", "none", "Give the readings of the test.");
    }
    if (gate_case_clear(c) && test != NULL && request->result != NULL) {
        record(c, test);
    }
    free(tests);
}

void gate_return_position(struct gate_case *c) {
    gate_case_phase(c, 1u << MODEL_PHASE_TESTING);
    gate_case_leader(c);
    gate_require_return(c->gate, c->site, c->job, c->now, &c->list);
    if (emit_if_clear(c, GATE_FACT_JOB_RETURNED)) {
        clear_broken(c);
    }
}
