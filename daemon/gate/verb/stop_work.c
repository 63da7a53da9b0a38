// stop-work: somebody has seen a hazard; or who leads lets the work rest.
#include <string.h>

#include "gate/emit.h"
#include "gate/find.h"
#include "gate/stop.h"
#include "gate/verb/case.h"

// Rule (4, stop-work; R3): A pause is the leader's, while working; any other is a called stop.
// [pause-by-anybody, pause-while-stopped]
static bool is_pause(const struct gate_case *c) {
    return c->request->pause && c->job->phase == MODEL_PHASE_WORKING &&
           gate_leads(c->job, c->person->person);
}

// Rule (4, stop-work; R3): The leader's pause said again while the job is stopped by it changes
// nothing. [pause-again-calls]
static bool is_paused_so(const struct gate_case *c) {
    return c->request->pause && c->job->phase == MODEL_PHASE_STOPPED &&
           strcmp(c->job->paused_by, c->person->person) == 0 &&
           gate_leads(c->job, c->person->person);
}

static void pause(struct gate_case *c) {
    struct gate_fact fact = gate_case_fact(c, GATE_FACT_WORK_STOPPED);
    fact.has_phase = true;
    fact.phase = MODEL_PHASE_STOPPED;
    fact.pause = true;
    gate_emit(c->gate, &fact);
}

// Once more what was done already: a pause still lets the work rest that was started meanwhile, by
// who had asked before it.
// Rule (4, a stop; R12): A pause done already is no called stop. [pause-done-calls]
// True: that is all.
static bool decide_done(struct gate_case *c) {
    if (!c->request->done || is_pause(c)) {
        return false;
    }
    bool called = gate_stop_called_since(c->job, c->request->done_at);
    bool paused = c->request->pause && gate_leads(c->job, c->person->person);
    if (!called && !paused) {
        return false;
    }
    c->again = true;
    c->idle = !gate_case_clear(c) || !called ||
              !gate_stop_uphold(c->gate, c->site, c->job, c->person->person, c->now);
    return true;
}

static void decide(struct gate_case *c) {
    if (decide_done(c)) {
        return;
    }
    const char *by = c->person->person, *reason = c->request->reason;
    bool adds = false;
    bool stands = !is_pause(c) && gate_stop_stands(c->site, c->job, by, reason, &adds);
    c->again = stands || is_paused_so(c);
    c->idle = c->again && !adds;
    if (!gate_case_clear(c) || c->idle) {
        return;
    }
    if (is_pause(c)) {
        pause(c);
    } else if (adds) {
        gate_stop_explain(c->gate, c->site, c->job, by, reason, c->now);
    } else {
        gate_stop_call(c->gate, c->site, c->job, by, reason, c->now);
    }
}

// Rule (4, stop-work; R13): A stop is anybody's of the site. [stop-of-the-crew]
// Rule (4, stop-work; R13): A stop is called in every phase in which the job stands.
// [stop-in-open-refused]
// Rule (5, last paragraph): A stop is taken also while the journal cannot write.
// [stop-refused-while-down]
const struct gate_verb_row gate_verb_stop_work = {
    .name = "stop-work",
    .about = "Says that a hazard was seen, and stops the work or the test; or, of who leads, lets "
             "the work rest.",
    .fields = {GATE_MUST(job, ID), GATE_MAY(reason, REASON), GATE_MAY(pause, FLAG)},
    .who = GATE_WHO_VERB,
    .asker = "anybody of the site",
    .of_job = true,
    .ends = gate_case_always,
    .ending = true,
    .decide = decide,
};
