// work.set-aside and work.reopened: back in `open`, by leaving it for now or because it is not
// good.
#include "gate/fact/effect.h"

// Rule (4, What voids): Rework and set-aside void every signature of the job.
// [rework-spares-signatures]
// Rule (4, What voids; R10): The leave checks of a set-aside stand: it was made safe.
// [aside-voids-leave]
// Rule (5, Lockout): Rework and set-aside end a broken lockout. [rework-stays-broken]
static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_job *job = to->job;
    bool aside = fact->type == GATE_FACT_WORK_SET_ASIDE;
    gate_enter(job, MODEL_PHASE_OPEN, fact->at);
    job->set_aside = aside;
    job->rework += aside ? 0 : 1;
    job->lockout = MODEL_LOCKOUT_UNCONFIRMED;
    job->cause_count = 0;
    if (fact->made_safe) {
        gate_void_all_but_leave(job);
    } else {
        gate_void_everything(job);
    }
    return true;
}

const struct gate_fact_row gate_fact_work_set_aside = {
    .name = "work.set-aside",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(by) | GATE_HAS(reason) | GATE_HAS(made_safe),
    .needs = GATE_HAS(job),
    .apply = apply,
    .sentence = "{by} set job {job} aside[: {reason}]",
};

const struct gate_fact_row gate_fact_work_reopened = {
    .name = "work.reopened",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(by) | GATE_HAS(reason),
    .needs = GATE_HAS(job),
    .apply = apply,
    .sentence = "{by} took job {job} back to open[: {reason}]",
};
