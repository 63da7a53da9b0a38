// hand-over: the lead is offered to another of the crew (29 CFR 1910.147(f)(4)).
#include "gate/emit.h"
#include "gate/find.h"
#include "gate/refusal_list.h"
#include "gate/text.h"
#include "gate/verb/case.h"

// Rule (4, hand-over): The lead is offered to one of the crew. [offer-outside-the-crew]
static void decide(struct gate_case *c) {
    const char *to = c->request->to;
    bool in_crew = gate_member_of(c->job, to) != NULL;
    gate_list_put(&c->list, in_crew, GATE_SAY_OFFERED_NOT_IN_CREW, to, GATE_ARGS(.person = to));
    gate_list_put(&c->list, !gate_leads(c->job, to), GATE_SAY_LEADS_ALREADY, to,
                  GATE_ARGS(.person = to));
    if (!gate_case_clear(c)) {
        return;
    }
    struct gate_fact fact =
        gate_fact_of_job(c->gate, c->site, c->job, GATE_FACT_LEAD_OFFERED, c->now);
    fact.to = to;
    fact.by = c->person->person;
    fact.note = gate_blank(c->request->note) ? NULL : c->request->note;
    gate_emit(c->gate, &fact);
}

const struct gate_verb_row gate_verb_hand_over = {
    .name = "hand-over",
    .about = "Offers the lead to another of the crew, with a note for the next shift.",
    .fields = {GATE_MUST(job, ID), GATE_MUST(to, ID), GATE_MAY(note, NOTE)},
    .who = GATE_WHO_LEADER,
    .roles = MODEL_ROLE_SUPERVISOR,
    .of_job = true,
    .permits = true,
    .decide = decide,
};
