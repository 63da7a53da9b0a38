// rework: back under lockout after the work was finished.
#include "gate/verb/case.h"

static void decide(struct gate_case *c) {
    if (gate_case_emit(c, GATE_FACT_WORK_REOPENED)) {
        gate_case_clear_broken(c);
    }
}

// Rule (4, rework): Rework is of restoring and testing. [rework-from-working]
const struct gate_verb_row gate_verb_rework = {
    .name = "rework",
    .about = "Takes the job back to open, to be worked on again.",
    .fields = {GATE_MUST(job, ID), GATE_MUST(reason, REASON)},
    .who = GATE_WHO_LEADER,
    .of_job = true,
    .phases = GATE_IN(RESTORING) | GATE_IN(TESTING),
    .permits = true,
    .present = true,
    .decide = decide,
};
