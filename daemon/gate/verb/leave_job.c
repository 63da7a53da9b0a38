// leave-job: off the crew, once no lock of theirs hangs.
#include <string.h>

#include "gate/emit.h"
#include "gate/find.h"
#include "gate/refusal_list.h"
#include "gate/require.h"
#include "gate/verb/case.h"

static void emit_left(struct gate_case *c, struct gate_job *job, const char *person) {
    struct gate_fact fact = gate_fact_of_job(c->gate, c->site, job, GATE_FACT_CREW_LEFT, c->now);
    fact.person = person;
    fact.by = c->person->person;
    gate_emit(c->gate, &fact);
}

// Rule (4, leave-job; 29 CFR 1910.147(f)(3) [P]): Nobody leaves a job while a tag of theirs hangs
// on it. [leave-under-tags]
// Rule (4, leave-job): Who leads does not leave. [leader-leaves]
static void decide(struct gate_case *c) {
    const char *asker = c->person->person;
    const char *who = c->request->member != NULL ? c->request->member : asker;
    if (strcmp(who, asker) == 0) {
        gate_case_crew(c);
    } else {
        if (!model_person_has(c->person, MODEL_ROLE_SUPERVISOR)) {
            gate_case_leader(c);
        }
        gate_list_put(&c->list, gate_member_of(c->job, who) != NULL, GATE_SAY_OTHER_NOT_IN_CREW,
                      who, GATE_ARGS(.person = who));
    }
    gate_list_put(&c->list, !gate_leads(c->job, who), GATE_SAY_LEADER_LEAVES, who,
                  GATE_ARGS(.person = who));
    gate_require_no_tags_of_job(c->site, c->job, who, &c->list);
    if (gate_case_clear(c)) {
        emit_left(c, c->job, who);
    }
}

const struct gate_verb_row gate_verb_leave_job = {
    .name = "leave-job",
    .about = "Takes the asker, or the person named, out of the crew.",
    .fields = {GATE_MUST(job, ID), GATE_PERSON},
    .who = GATE_WHO_VERB,
    .asker = "one of the crew for themselves; who leads or a supervisor for another",
    .of_job = true,
    .permits = true,
    .present = true,
    .decide = decide,
};
