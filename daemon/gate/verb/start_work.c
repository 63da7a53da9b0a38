// start-work: hands go into the cabinet, under a lockout that is proved.
#include "gate/refusal_list.h"
#include "gate/require.h"
#include "gate/verb/case.h"

// Rule (2, inspection): Nothing is worked on in an inspection. [inspection-worked-on]
static void require(struct gate_case *c) {
    if (c->job->needs->inspection) {
        gate_list_put(&c->list, false, GATE_SAY_INSPECTION, c->job->job,
                      GATE_ARGS(.job = c->job->job));
    }
}

static void decide(struct gate_case *c) {
    gate_case_emit(c, GATE_FACT_WORK_STARTED);
}

// Rule (5, Start; 29 CFR 1910.147(f)(3) [P]): Only who leads starts the work.
// [start-without-leader]
// Rule (4, start-work): Work is started in open and stopped. [start-in-any-phase]
const struct gate_verb_row gate_verb_start_work = {
    .name = "start-work",
    .about = "Starts the work, or goes on with it, where the start gate holds.",
    .fields = {GATE_MUST(job, ID)},
    .who = GATE_WHO_LEADER,
    .of_job = true,
    .phases = GATE_IN(OPEN) | GATE_IN(STOPPED),
    .permits = true,
    .present = true,
    .gate = gate_require_start,
    .gate_name = "start",
    .refusal = GATE_FACT_WORK_REFUSED,
    .require = require,
    .decide = decide,
};
