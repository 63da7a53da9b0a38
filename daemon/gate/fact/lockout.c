// lockout.confirmed, lockout.lost and lockout.broken: what the lockout of a job has become.
#include "gate/cause.h"
#include "gate/fact/effect.h"

// Rule (5, After a restart; R38): A point that was waited for in vain is lost once.
// [awaited-lost-again]
// Rule (5, last paragraph; R2, R32): A break that came before the return was written leaves every
// position of the job untested: its tests are void. [break-spares-a-return]
// Rule (5, After a restart; R38): A lock lifted at a point is no word of that point: it is waited
// for as before. [awaited-lost-by-a-tag]
static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_job *job = to->job;
    job->lockout = fact->lockout;
    if (fact->lockout == MODEL_LOCKOUT_CONFIRMED) {
        job->cause_count = 0;
    }
    if (fact->has_why && fact->why == MODEL_CODE_LINK_DOWN) {
        job->outage_broke = fact->at;
    }
    if (fact->lockout == MODEL_LOCKOUT_BROKEN) {
        job->broke = fact->at;
        if (!gate_job_stands(job) && !gate_untest(to->site, job)) {
            return false;
        }
        gate_void_group(job, MODEL_GROUP_RELIEVE);
        gate_void_group(job, MODEL_GROUP_VERIFY);
        uint32_t point =
            fact->point != NULL ? model_point_find(to->site->model, fact->point) : MODEL_NONE;
        if (point != MODEL_NONE && fact->why != MODEL_CODE_TAG_MISSING) {
            to->site->points[point].awaited = MODEL_POINT_UNKNOWN; // it was lost: told once
        }
        if (point != MODEL_NONE) {
            gate_causes_end(to->site, fact->at);
        }
        return !fact->has_why ||
               gate_cause_note(to->site, job, fact->why, point, fact->check, fact->at);
    }
    return true;
}

const struct gate_fact_row gate_fact_lockout_confirmed = {
    .name = "lockout.confirmed",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(lockout),
    .needs = GATE_HAS(job),
    .apply = apply,
    .sentence = "the lockout of {job} is confirmed",
};

const struct gate_fact_row gate_fact_lockout_lost = {
    .name = "lockout.lost",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(lockout),
    .needs = GATE_HAS(job),
    .apply = apply,
    .sentence = "the lockout of {job} is confirmed no longer[: it is {lockout}]",
};

const struct gate_fact_row gate_fact_lockout_broken = {
    .name = "lockout.broken",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries =
        GATE_HAS(point) | GATE_HAS(check) | GATE_HAS(lockout) | GATE_HAS(why) | GATE_HAS(say),
    .needs = GATE_HAS(job),
    .apply = apply,
    .sentence = "the lockout of {job} was BROKEN[ at {point}][ ({why})][: {say}]",
};
