// report-spill: a spill was reported to the authority, which ends what is due.
#include "gate/alarm.h"
#include "gate/emit.h"
#include "gate/refusal_list.h"
#include "gate/spill.h"
#include "gate/text.h"
#include "gate/verb/case.h"

// Who says that it was reported has seen the alarm.
static void see(struct gate_case *c, const char *spill) {
    const struct gate_alarm_about about = {.kind = MODEL_ALARM_SPILL_REPORT_DUE, .subject = spill};
    const struct gate_alarm *alarm = gate_alarm_about(c->site, &about);
    if (alarm != NULL && alarm->state != MODEL_ALARM_ACKNOWLEDGED) {
        gate_alarm_acknowledge(c->gate, c->site, alarm, c->person->person, c->request->reference,
                               c->now);
    }
    gate_alarm_clear(c->gate, c->site, &about, c->now);
}

// Rule (4, report-spill): What is reported was recorded, and not reported before.
// [spill-reported-twice]
static void decide(struct gate_case *c) {
    const struct gate_spill *found = gate_spill_find(c->site, c->request->spill);
    if (found == NULL) {
        gate_list_put(
            &c->list, false, GATE_SAY_FIELD_WRONG, "/spill",
            GATE_ARGS(.need = "a spill that is not reported", .found = c->request->spill));
    }
    if (!gate_case_clear(c) || found == NULL) {
        return;
    }
    const struct gate_spill spill = *found;
    struct gate_fact fact = gate_fact_new(c->gate, c->site, GATE_FACT_SPILL_REPORTED, c->now);
    fact.position =
        spill.position != MODEL_NONE ? c->site->model->positions[spill.position].position : NULL;
    fact.by = c->person->person;
    fact.spill = spill.spill;
    fact.reference = c->request->reference;
    gate_emit(c->gate, &fact);
    see(c, spill.spill);
}

// Rule (4, report-spill): A report is a manager's or a supervisor's to sign.
// [spill-reported-by-anybody]
const struct gate_verb_row gate_verb_report_spill = {
    .name = "report-spill",
    .about = "Says that a spill was reported to the authority, and under which reference.",
    .fields = {GATE_MUST(spill, ID), GATE_MUST(reference, REASON)},
    .who = GATE_WHO_ROLE,
    .roles = GATE_OVERSEERS,
    .permits = true,
    .decide = decide,
};
