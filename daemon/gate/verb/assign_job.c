// assign-job: another technician takes charge before anything is locked.
#include "gate/emit.h"
#include "gate/require.h"
#include "gate/tag.h"
#include "gate/verb/case.h"

// Rule (4, assign-job): A job is assigned while no tag of it hangs. [assign-under-tags]
static void decide(struct gate_case *c) {
    gate_case_technician(c, c->request->technician);
    gate_require_no_tags_of_job(c->site, c->job, NULL, &c->list);
    const struct gate_kit kit = {c->request->kit_family, c->job->part};
    gate_require_match(c->site, c->job->needs, c->job->position, &kit, false, &c->list);
    if (!gate_case_clear(c)) {
        return;
    }
    struct gate_fact fact =
        gate_fact_of_job(c->gate, c->site, c->job, GATE_FACT_JOB_ASSIGNED, c->now);
    fact.person = c->request->technician;
    fact.by = c->person->person;
    fact.kit_family = c->request->kit_family;
    gate_emit(c->gate, &fact);
    gate_tags_adopt(c->gate, c->site, c->job, c->request->technician, c->now);
}

// Rule (4, assign-job): A job is assigned in open. [assign-in-any-phase]
const struct gate_verb_row gate_verb_assign_job = {
    .name = "assign-job",
    .about = "Puts a technician in charge; who led leaves the crew.",
    .fields = {GATE_MUST(job, ID), GATE_MUST(technician, ID), GATE_MAY(kit_family, NAME)},
    .who = GATE_WHO_ROLE,
    .roles = GATE_OPENERS,
    .of_job = true,
    .phases = GATE_IN(OPEN),
    .permits = true,
    .decide = decide,
};
