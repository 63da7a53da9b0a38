// report-fault: anybody of the site tells the tracker what they saw.
#include "gate/emit.h"
#include "gate/refusal_list.h"
#include "gate/verb/case.h"

// Rule (4, report-fault): A fault is of a position that there is. [fault-of-nowhere]
static void decide(struct gate_case *c) {
    uint32_t position = model_position_find(c->site->model, c->request->position);
    gate_list_put(&c->list, position != MODEL_NONE, GATE_SAY_UNKNOWN_POSITION, c->request->position,
                  GATE_ARGS(.position = c->request->position));
    if (!gate_case_clear(c)) {
        return;
    }
    struct gate_fact fact = gate_fact_new(c->gate, c->site, GATE_FACT_FAULT_REPORTED, c->now);
    fact.position = c->site->model->positions[position].position;
    fact.by = c->person->person;
    fact.text = c->request->text;
    gate_emit(c->gate, &fact);
}

const struct gate_verb_row gate_verb_report_fault = {
    .name = "report-fault",
    .about = "Tells the tracker of something wrong at a position.",
    .fields = {GATE_MUST(position, ID), GATE_MUST(text, REASON)},
    .who = GATE_WHO_ROLE,
    .roles = GATE_ROLES_OF_SITE,
    .permits = true,
    .decide = decide,
};
