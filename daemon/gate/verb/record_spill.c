// record-spill: what was spilled; recorded again under its id, it is corrected or said to be clean.
#include "gate/emit.h"
#include "gate/refusal_list.h"
#include "gate/spill.h"
#include "gate/text.h"
#include "gate/verb/case.h"

static void answer(struct gate_case *c, const struct gate_spill *spill, int64_t due) {
    c->answer->has_spill = true;
    gate_id_copy(c->answer->spill, spill->spill);
    c->answer->report_due = due;
}

static void emit(struct gate_case *c, const char *id, uint32_t position) {
    const struct gate_request *request = c->request;
    struct gate_fact fact = gate_fact_new(c->gate, c->site, GATE_FACT_SPILL_RECORDED, c->now);
    bool liters = gate_same(request->unit, "L");
    const struct gate_spill *before = gate_spill_find(c->site, id);
    struct gate_spill after = {.at = before != NULL ? before->at : c->now,
                               .gallons = gate_spill_gallons(request->quantity.value, liters),
                               .sheen = request->sheen,
                               .cleaned = request->cleaned};
    gate_id_copy(after.spill, id);
    int64_t due = gate_spill_over(&after, c->now) ? gate_spill_due(&after) : 0;
    fact.position = c->site->model->positions[position].position;
    fact.job = c->job != NULL ? c->job->job : NULL;
    fact.by = c->person->person;
    fact.spill = after.spill;
    fact.product = request->product;
    fact.has_quantity = true;
    fact.quantity = request->quantity.value;
    fact.unit = request->unit;
    fact.sheen = request->sheen;
    fact.cleaned = request->cleaned;
    fact.report_due = due;
    fact.note = request->note;
    gate_emit(c->gate, &fact);
    answer(c, &after, due);
}

// Rule (4, record-spill): A spill is of a position that there is. [spill-of-nowhere]
// Rule (4, record-spill): One that is recorded again is one that is not reported. [spill-of-no-id]
// Rule (4, record-spill): What is yet to be cleaned up is not clean. [spill-cleaned-ahead]
static void decide(struct gate_case *c) {
    const struct gate_request *request = c->request;
    uint32_t position = model_position_find(c->site->model, request->position);
    char id[MODEL_ID_SIZE];
    gate_list_put(&c->list, position != MODEL_NONE, GATE_SAY_UNKNOWN_POSITION, request->position,
                  GATE_ARGS(.position = request->position));
    if (request->spill != NULL && gate_spill_find(c->site, request->spill) == NULL) {
        gate_list_put(&c->list, false, GATE_SAY_FIELD_WRONG, "/spill",
                      GATE_ARGS(.need = "a spill that is not reported", .found = request->spill));
    }
    gate_list_put(&c->list, request->cleaned <= c->now.wall + GATE_AHEAD_MS, GATE_SAY_FIELD_WRONG,
                  "/cleaned",
                  GATE_ARGS(.need = "a time that is over, or left out", .found = "one to come"));
    if (!gate_case_clear(c)) {
        return;
    }
    gate_text(id, sizeof id, "s%llu", (unsigned long long)c->site->spills_recorded + 1);
    emit(c, request->spill != NULL ? request->spill : id, position);
}

// Rule (4, record-spill): A spill is anybody's of the site to record. [spill-by-the-crew-alone]
const struct gate_verb_row gate_verb_record_spill = {
    .name = "record-spill",
    .about = "Records a spill, and whether it is cleaned up; the answer has its id, under which it "
             "is recorded again to correct it.",
    .fields = {GATE_MUST(position, ID), GATE_MAY(job, ID), GATE_MUST(product, NAME),
               GATE_MUST(quantity, VOLUME), GATE_MUST(unit, MEASURE), GATE_MAY(sheen, FLAG),
               GATE_MAY(cleaned, INSTANT), GATE_MAY(spill, ID), GATE_MAY(note, NOTE)},
    .who = GATE_WHO_ROLE,
    .roles = GATE_ROLES_OF_SITE,
    .permits = true,
    .decide = decide,
};
