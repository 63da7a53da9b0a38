// stop-work: hands out; never refused to who may see a hazard.
#include "gate/emit.h"
#include "gate/verb/case.h"

static void decide(struct gate_case *c) {
    if (!gate_case_clear(c)) {
        return;
    }
    struct gate_fact fact = gate_case_fact(c, GATE_FACT_WORK_STOPPED);
    fact.has_phase = true;
    fact.phase = c->job->phase == MODEL_PHASE_WORKING ? MODEL_PHASE_STOPPED : MODEL_PHASE_RESTORING;
    gate_emit(c->gate, &fact);
}

// Rule (4, stop-work): A stop is the crew's, a manager's or a supervisor's. [stop-by-anybody]
// Rule (4, stop-work): A stop after the finish goes back to restoring. [stop-in-testing-refused]
// Rule (5, last paragraph): A stop is taken also while the journal cannot write.
// [stop-refused-while-down]
const struct gate_verb_row gate_verb_stop_work = {
    .name = "stop-work",
    .about = "Stops the work, or the test.",
    .fields = {GATE_MUST(job, ID), GATE_MUST(reason, REASON)},
    .who = GATE_WHO_CREW,
    .roles = GATE_OVERSEERS,
    .of_job = true,
    .phases = GATE_IN(WORKING) | GATE_IN(RESTORING) | GATE_IN(TESTING),
    .ends = true,
    .untold = true,
    .decide = decide,
};
