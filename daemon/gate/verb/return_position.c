// return-position: the job ends; its position may go back into service.
#include "gate/require.h"
#include "gate/verb/case.h"

static void decide(struct gate_case *c) {
    if (gate_case_emit(c, GATE_FACT_JOB_RETURNED)) {
        gate_case_clear_broken(c);
    }
}

// Rule (4, return-position): The leader returns the position. [return-by-anybody]
const struct gate_verb_row gate_verb_return_position = {
    .name = "return-position",
    .about = "Ends the job, where the return gate holds.",
    .fields = {GATE_MUST(job, ID)},
    .who = GATE_WHO_LEADER,
    .of_job = true,
    .phases = GATE_IN(TESTING),
    .permits = true,
    .present = true,
    .gate = gate_require_return,
    .gate_name = "return",
    .refusal = GATE_FACT_RETURN_REFUSED,
    .decide = decide,
};
