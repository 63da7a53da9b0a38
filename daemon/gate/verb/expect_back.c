// expect-back: when the position is to be back, for whoever waits for it.
#include "gate/emit.h"
#include "gate/refusal_list.h"
#include "gate/verb/case.h"

// Rule (4, expect-back): What is expected is to come. [expected-in-the-past]
// Rule (4, expect-back): A time that is said anew was moved; the same time again was not.
// [expected-never-moved]
static void decide(struct gate_case *c) {
    const struct gate_expected *expected = &c->job->day.expected;
    bool said = expected->at != 0;
    c->idle = said && expected->at == c->request->back;
    gate_list_put(&c->list, c->idle || c->request->back > c->now.wall, GATE_SAY_FIELD_WRONG, "/at",
                  GATE_ARGS(.need = "a time to come", .found = "one that is over"));
    if (!gate_case_clear(c) || c->idle) {
        return;
    }
    struct gate_fact fact =
        gate_fact_of_job(c->gate, c->site, c->job, GATE_FACT_JOB_EXPECTED, c->now);
    fact.by = c->person->person;
    fact.expected = c->request->back;
    fact.moved = said ? expected->moved + 1 : 0;
    fact.note = c->request->note;
    gate_emit(c->gate, &fact);
}

const struct gate_verb_row gate_verb_expect_back = {
    .name = "expect-back",
    .about = "Says when the position is expected back.",
    .fields = {GATE_MUST(job, ID),
               {"at", GATE_FIELD_INSTANT, true, offsetof(struct gate_request, back)},
               GATE_MAY(note, NOTE)},
    .who = GATE_WHO_CREW,
    .roles = GATE_OVERSEERS,
    .of_job = true,
    .permits = true,
    .decide = decide,
};
