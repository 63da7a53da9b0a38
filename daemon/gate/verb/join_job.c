// join-job: a technician becomes one of the crew.
#include "gate/emit.h"
#include "gate/find.h"
#include "gate/tag.h"
#include "gate/verb/case.h"

// Rule (3, Tags): When a person joins a job, their lock without a job becomes a tag of it.
// [adopt-never]
// Rule (5, Breaking): Who joins and has not hung every tag is unprotected.
// [joined-unprotected-untold]
static void decide(struct gate_case *c) {
    c->idle = gate_member_of(c->job, c->person->person) != NULL; // who is in it stays in it
    if (!gate_case_clear(c) || c->idle) {
        return;
    }
    struct gate_fact fact =
        gate_fact_of_job(c->gate, c->site, c->job, GATE_FACT_CREW_JOINED, c->now);
    fact.person = c->person->person;
    gate_emit(c->gate, &fact);
    gate_tags_adopt(c->gate, c->site, c->job, c->person->person, c->now);
    if (!gate_protected(c->site, c->job, c->person->person)) {
        fact = gate_fact_of_job(c->gate, c->site, c->job, GATE_FACT_CREW_UNPROTECTED, c->now);
        fact.person = c->person->person;
        gate_emit(c->gate, &fact);
    }
}

// Rule (4, join-job; R28): Any technician of the site joins; who lacks a credential joins as a
// helper. [join-by-anybody]
const struct gate_verb_row gate_verb_join_job = {
    .name = "join-job",
    .about = "Makes the asker one of the crew; who lacks a credential today, as a helper.",
    .fields = {GATE_MUST(job, ID)},
    .who = GATE_WHO_ROLE,
    .roles = MODEL_ROLE_TECHNICIAN,
    .of_job = true,
    .permits = true,
    .present = true,
    .decide = decide,
};
