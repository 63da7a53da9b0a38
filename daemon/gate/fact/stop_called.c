// stop.called, stop.explained and stop.upheld: somebody has seen a hazard; why, where that was not
// said at once; and what was signed by who did not know of it is void as well.
#include "gate/fact/effect.h"
#include "gate/text.h"

// Rule (4, stop-work; R3): A called stop voids what was prepared, relieved and verified.
// [stop-spares-prepare, stop-spares-relieve, stop-spares-verify]
// Rule (4, stop-work; R3): In working and stopped it voids clear and leave too.
// [stop-spares-clear, stop-in-open-voids-leave]
static void void_signed(struct gate_job *job) {
    gate_void_group(job, MODEL_GROUP_PREPARE);
    gate_void_group(job, MODEL_GROUP_RELIEVE);
    gate_void_group(job, MODEL_GROUP_VERIFY);
    if (job->phase == MODEL_PHASE_WORKING || job->phase == MODEL_PHASE_STOPPED) {
        gate_void_leaving(job);
    }
    job->stop.order = job->order;
}

// Rule (5, last paragraph; R3, R12): A stop that came before the return or the cancellation was
// written leaves every position of the job untested: its tests are done anew.
// [stop-spares-a-return, stop-spares-a-cancellation]
static bool apply_called(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_job *job = to->job;
    void_signed(job);
    job->stop.at = fact->at;
    job->stop.reason = gate_text_mark(fact->reason);
    gate_id_copy(job->stop.by, fact->by);
    job->paused_by[0] = '\0'; // somebody has seen a hazard since
    return gate_job_stands(job) || gate_untest(to->site, job);
}

static bool apply_explained(const struct gate_fold *to, const struct gate_fact *fact) {
    to->job->stop.reason = gate_text_mark(fact->reason);
    return true;
}

static bool apply_upheld(const struct gate_fold *to, const struct gate_fact *fact) {
    (void)fact;
    void_signed(to->job);
    return true;
}

const struct gate_fact_row gate_fact_stop_called = {
    .name = "stop.called",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(by) | GATE_HAS(reason) | GATE_HAS(phase),
    .needs = GATE_HAS(job) | GATE_HAS(by),
    .apply = apply_called,
    .sentence = "{by} CALLED A STOP on {job}[: {reason}]",
};

const struct gate_fact_row gate_fact_stop_explained = {
    .name = "stop.explained",
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(by) | GATE_HAS(reason),
    .needs = GATE_HAS(job) | GATE_HAS(by),
    .apply = apply_explained,
    .sentence = "{by} said why the stop on {job} was called[: {reason}]",
};

const struct gate_fact_row gate_fact_stop_upheld = {
    .name = "stop.upheld",
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(by),
    .needs = GATE_HAS(job) | GATE_HAS(by),
    .apply = apply_upheld,
    .sentence =
        "the stop that {by} called on {job} voids what was signed since: it was asked before",
};
