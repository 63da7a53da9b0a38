// tests.voided: a lock was hung on the dispenser, on a point that the job does not require.
#include "gate/fact/effect.h"

static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    (void)fact;
    gate_void_tests(to->job);
    return true;
}

const struct gate_fact_row gate_fact_tests_voided = {
    .name = "tests.voided",
    .about = GATE_ABOUT_JOB,
    .needs = GATE_HAS(job),
    .apply = apply,
    .sentence = "a lock was hung on the dispenser of {job}: what was tested is void",
};
