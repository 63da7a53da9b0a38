// checked-in: who leads says that all is well.
#include "gate/fact/effect.h"

static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    to->job->checked_in = fact->at;
    return true;
}

const struct gate_fact_row gate_fact_checked_in = {
    .name = "checked-in",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(by),
    .needs = GATE_HAS(job),
    .apply = apply,
    .sentence = "{by} checked in on {job}",
};
