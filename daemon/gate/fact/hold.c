// hold.begun and hold.ended: every required point is isolated and tagged by the leader, or no
// longer; with its end, what was relieved and verified is void.
#include "gate/fact/effect.h"

// Rule (4, What voids): Relieve and verify are void once the hold of points and leader's tags was
// broken. [hold-end-voids-nothing]
// Rule (4, What voids; 29 CFR 1910.147(d)(5) [P]): Relieve too is void once the hold was broken.
// [hold-end-spares-relieve]
static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_job *job = to->job;
    bool begun = fact->type == GATE_FACT_HOLD_BEGUN;
    if (begun && job->isolation != GATE_ISOLATION_UNPROVEN) { // one that is proved again goes on
        job->isolation_order = job->order;
    }
    if (!begun) {
        gate_void_group(job, MODEL_GROUP_RELIEVE);
        gate_void_group(job, MODEL_GROUP_VERIFY);
    }
    job->isolation = begun ? GATE_ISOLATION_HELD : GATE_ISOLATION_NONE;
    if (begun) {
        job->isolation_since = fact->at;
    }
    return true;
}

const struct gate_fact_row gate_fact_hold_begun = {
    .name = "hold.begun",
    .about = GATE_ABOUT_JOB,
    .needs = GATE_HAS(job),
    .apply = apply,
    .sentence = "every required point is isolated and tagged by the leader: relieve and verify are "
                "in season",
};

const struct gate_fact_row gate_fact_hold_ended = {
    .name = "hold.ended",
    .about = GATE_ABOUT_JOB,
    .needs = GATE_HAS(job),
    .apply = apply,
    .sentence = "not every required point is isolated and tagged by the leader any more: what was "
                "relieved and verified is void",
};
