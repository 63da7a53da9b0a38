// cancel-job: the job ends without a return.
#include "gate/emit.h"
#include "gate/require.h"
#include "gate/verb/case.h"

// Rule (4, cancel-job): A job is cancelled in open, while no tag of it hangs. [cancel-under-tags]
// Rule (4, cancel-job; R10): No job is cancelled while an alarm of it is unacknowledged.
// [cancel-with-open-alarm]
// Rule (4, cancel-job; R10): Once work was started a job is cancelled only when every leave check
// is signed and stands. [cancel-left-unsafe]
// Rule (2, inspection): An inspection that failed has nothing to leave: the alarm of what is left
// live is its way on. [inspection-never-cancelled]
static void require(struct gate_case *c) {
    gate_require_no_tags_of_job(c->site, c->job, NULL, &c->list);
    gate_require_alarms_seen(c->site, c->job, &c->list);
    if (c->job->started && !c->job->needs->inspection) {
        gate_require_group(c->job, MODEL_GROUP_LEAVE, c->now, &c->list);
    }
}

static void decide(struct gate_case *c) {
    if (!gate_case_clear(c)) {
        return;
    }
    struct gate_fact fact =
        gate_fact_of_job(c->gate, c->site, c->job, GATE_FACT_JOB_CANCELLED, c->now);
    fact.by = c->person->person;
    fact.reason = c->request->reason;
    gate_emit(c->gate, &fact);
    gate_case_clear_broken(c);
}

const struct gate_verb_row gate_verb_cancel_job = {
    .name = "cancel-job",
    .about = "Ends an open job.",
    .fields = {GATE_MUST(job, ID), GATE_MUST(reason, REASON)},
    .who = GATE_WHO_ROLE,
    .roles = GATE_OPENERS,
    .of_job = true,
    .phases = GATE_IN(OPEN),
    .permits = true,
    .present = true,
    .require = require,
    .decide = decide,
};
