// fit-part: what was fitted, so that the position knows what hangs there.
#include "gate/emit.h"
#include "gate/verb/case.h"

// Rule (4, fit-part): A part is fitted by the crew. [part-by-anybody]
static void decide(struct gate_case *c) {
    if (!gate_case_clear(c)) {
        return;
    }
    struct gate_fact fact = gate_case_fact(c, GATE_FACT_PART_FITTED);
    fact.part = c->request->part;
    fact.family = c->request->family;
    fact.serial = c->request->serial;
    fact.due = c->request->due;
    gate_emit(c->gate, &fact);
}

const struct gate_verb_row gate_verb_fit_part = {
    .name = "fit-part",
    .about =
        "Says which part was fitted; from the return on it hangs at the position, in the place "
        "of the one of its kind.",
    .fields = {GATE_MUST(job, ID), GATE_MUST(part, NAME), GATE_MAY(family, NAME),
               GATE_MAY(serial, NAME), GATE_MAY(due, DAY)},
    .who = GATE_WHO_CREW,
    .of_job = true,
    .permits = true,
    .present = true,
    .decide = decide,
};
