// work.finished: nothing more is done in the cabinet; locks come off.
#include "gate/fact/effect.h"

static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    gate_enter(to->job, MODEL_PHASE_RESTORING, fact->at);
    return true;
}

const struct gate_fact_row gate_fact_work_finished = {
    .name = "work.finished",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(by),
    .needs = GATE_HAS(job),
    .apply = apply,
    .sentence = "{by} finished the work on {job}",
};
