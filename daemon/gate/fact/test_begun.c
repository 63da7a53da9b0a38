// test.begun: what was tested before stands no longer.
#include "gate/fact/effect.h"

static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    gate_void_tests(to->job);
    gate_enter(to->job, MODEL_PHASE_TESTING, fact->at);
    return true;
}

const struct gate_fact_row gate_fact_test_begun = {
    .name = "test.begun",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(by),
    .needs = GATE_HAS(job),
    .apply = apply,
    .sentence = "{by} began the tests of {job}",
};
