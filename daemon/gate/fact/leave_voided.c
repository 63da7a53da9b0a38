// leave.voided: a lock was hung for the job after it was left safe.
#include "gate/fact/effect.h"

static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    (void)fact;
    gate_void_group(to->job, MODEL_GROUP_LEAVE);
    return true;
}

const struct gate_fact_row gate_fact_leave_voided = {
    .name = "leave.voided",
    .about = GATE_ABOUT_JOB,
    .needs = GATE_HAS(job),
    .apply = apply,
    .sentence = "a lock was hung for {job}: what was signed to leave it safe is void",
};
