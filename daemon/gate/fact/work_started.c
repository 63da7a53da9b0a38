// work.started: work is done on the position and, by a procedure that takes the dispenser, on every
// one of the cabinet; each is untested from then on.
#include "gate/fact/effect.h"

// Rule (4, What voids): Clear and leave are void when older than the last start.
// [start-spares-clear]
static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_site *site = to->site;
    struct gate_job *job = to->job;
    gate_enter(job, MODEL_PHASE_WORKING, fact->at);
    job->started = true;
    job->set_aside = false;
    gate_void_leaving(job);
    for (uint32_t p = 0; p < site->model->position_count; p++) {
        site->positions[p].left_unsafe &= !gate_work_covers(site, job, p);
    }
    return gate_leave_untested(site, job);
}

const struct gate_fact_row gate_fact_work_started = {
    .name = "work.started",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(by),
    .needs = GATE_HAS(job),
    .apply = apply,
    .sentence = "{by} started the work on {job}",
};
