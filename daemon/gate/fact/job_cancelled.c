// job.cancelled: the job is over; the tests of a started one are owed by every position it covered.
#include "gate/fact/effect.h"
#include "gate/lacking.h"
#include "gate/lockout.h"
#include "gate/text.h"

// Rule (3, service): A job cancelled after work was started leaves its tests owed by the position.
// [owed-forgotten]
// Rule (3, alarms; R10): A job of a journal of before that was cancelled without its leave checks
// left its position unsafe. [cancelled-unsafe-unnoticed]
// Rule (3, service): A job cancelled before work was started owes nothing. [owed-before-work]
static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_site *site = to->site;
    struct gate_job *job = to->job;
    for (uint32_t p = 0; job->started && p < site->model->position_count; p++) {
        if (!gate_work_covers(site, job, p)) {
            continue;
        }
        // A set-aside asked for every leave check, also in a journal of before they outlived it.
        site->positions[p].left_unsafe =
            !job->set_aside && !gate_group_signed(job, MODEL_GROUP_LEAVE, fact->at);
        if (!gate_owe_tests(&site->positions[p], job)) {
            return false;
        }
    }
    gate_job_end(site, job, MODEL_PHASE_CANCELLED, fact->at);
    return true;
}

static bool lacking(struct gate *gate, const char *site, const struct gate_fact *fact) {
    gate_lacking_remove(gate, site, fact->job, NULL, NULL);
    return true;
}

const struct gate_fact_row gate_fact_job_cancelled = {
    .name = "job.cancelled",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(by) | GATE_HAS(reason),
    .needs = GATE_HAS(job),
    .apply = apply,
    .lacking = lacking,
    .sentence = "{by} cancelled job {job}[: {reason}]",
};
