// hand-over: the lead is offered to another of the crew (29 CFR 1910.147(f)(4)).
#include "gate/verb/case.h"

static void decide(struct gate_case *c) {
    const char *to = c->request->to;
    bool in_crew = gate_member_of(c->job, to) != NULL;
    gate_list_require(&c->list, in_crew, MODEL_CODE_NOT_IN_CREW, to, "one of the crew", "not in it",
                      "The lead can only be offered to one of the crew.");
    gate_list_require(&c->list, !gate_leads(c->job, to), MODEL_CODE_NOT_ALLOWED, to,
                      "somebody who does not lead", "the technician in charge",
                      "That person is in charge already.");
    if (!gate_case_clear(c)) {
        return;
    }
    struct gate_fact fact =
        gate_fact_of_job(c->gate, c->site, c->job, GATE_FACT_LEAD_OFFERED, c->now);
    fact.to = to;
    fact.by = c->person->person;
    gate_emit(c->gate, &fact);
}

const struct gate_verb_row gate_verb_hand_over = {
    .name = "hand-over",
    .about = "Offers the lead to another of the crew.",
    .fields = {GATE_MUST(job, ID), GATE_MUST(to, ID)},
    .who = GATE_WHO_LEADER,
    .roles = MODEL_ROLE_SUPERVISOR,
    .of_job = true,
    .permits = true,
    .decide = decide,
};
