// return-position: the job ends; its position may go back into service.
#include <stdlib.h>

#include "gate/emit.h"
#include "gate/fuel.h"
#include "gate/require.h"
#include "gate/verb/case.h"

// Rule (4, record-fuel): The return tells of each product what was drawn and where it went.
// [return-without-sums]
static void decide(struct gate_case *c) {
    struct gate_fuel_of *sums = gate_fuel_sums(c->job);
    c->list.failed = c->list.failed || sums == NULL;
    if (gate_case_clear(c)) {
        struct gate_fact fact = gate_case_fact(c, GATE_FACT_JOB_RETURNED);
        fact.fuel = sums;
        fact.fuel_count = c->job->day.fuel_count;
        gate_emit(c->gate, &fact);
        gate_case_clear_broken(c);
    }
    free(sums);
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
