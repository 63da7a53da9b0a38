// finish-work: the work is done and cleared away.
#include "gate/require.h"
#include "gate/verb/case.h"

static void decide(struct gate_case *c) {
    gate_case_emit(c, GATE_FACT_WORK_FINISHED);
}

// Rule (4, finish-work): Work is finished while working. [finish-from-stopped]
const struct gate_verb_row gate_verb_finish_work = {
    .name = "finish-work",
    .about = "Ends the work, where its checks and those of clearing away are signed.",
    .fields = {GATE_MUST(job, ID)},
    .who = GATE_WHO_LEADER,
    .of_job = true,
    .phases = GATE_IN(WORKING),
    .permits = true,
    .present = true,
    .gate = gate_require_finish,
    .gate_name = "finish",
    .decide = decide,
};
