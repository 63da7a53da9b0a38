// check-in: who leads says that all is well.
#include "gate/check_in.h"
#include "gate/verb/case.h"

static void decide(struct gate_case *c) {
    if (gate_case_emit(c, GATE_FACT_CHECKED_IN)) {
        gate_check_in_seen(c->gate, c->site, c->job, c->person->person, c->now);
    }
}

// Rule (4, check-in): The leader checks in, while the job stands. [check-in-by-anybody]
// Rule (5, last paragraph): No check-in is taken while the journal cannot write.
// [check-in-while-down]
const struct gate_verb_row gate_verb_check_in = {
    .name = "check-in",
    .about = "Says that all is well; while working it is asked for again after `check_in_s`.",
    .fields = {GATE_MUST(job, ID)},
    .who = GATE_WHO_LEADER,
    .of_job = true,
    .permits = true,
    .present = true,
    .decide = decide,
};
