// Windows: when a check of a group may be signed.
#include "gate/window.h"

#include "gate/find.h"
#include "gate/lockout.h"

static bool shares_a_test(const struct gate_site *site, const struct gate_job *job) {
    for (size_t i = 0; i < site->job_count; i++) {
        const struct gate_job *other = site->jobs[i];
        if (other != job && other->phase == MODEL_PHASE_TESTING && gate_shares(site, job, other)) {
            return true;
        }
    }
    return false;
}

// Rule (4, Seasons; R6): No measure proves anything before every prepare check is signed, valid and
// within limits. [measure-unprepared]
// Rule (4, Seasons; R7): No measure proves anything while a job that shares is testing.
// [measure-beside-test]
bool gate_may_prove(const struct gate_site *site, const struct gate_job *job,
                    struct gate_time now) {
    return gate_group_signed(job, MODEL_GROUP_PREPARE, now) && !shares_a_test(site, job);
}

// Relieve and verify are in their window while the isolation is held; under one that a restart left
// unproven nothing is settled, but a failed reading counts.
// Rule (5, After a restart): No work check is signed until the lockout is proved again.
// [unproven-work-signed]
// Rule (4, Seasons; 29 CFR 1910.147(d)(5)-(6) [P]): Relieve and verify are signed while every
// required point is isolated, settled and tagged by the leader. [season-relieve-any]
// Rule (5, Breaking): A failed reading is taken though a restart left the hold unproven.
// [season-failed-unproven]
// Rule (4, Seasons): Work checks are signed while working. [season-work-any]
// Rule (4, Seasons; 29 CFR 1910.147(e)(1)-(2) [P]): Clear and leave checks are signed while working
// or stopped. [season-clear-in-open]
// Rule (4, Seasons; R10): Leave checks are signed in open too, once work was started.
// [season-leave-in-open, season-leave-before-work]
// Rule (4, Seasons): Finish checks are signed while testing. [season-finish-any]
bool gate_in_window(const struct gate_job *job, enum model_group group, bool pass) {
    enum model_phase phase = job->phase;
    switch (group) {
    case MODEL_GROUP_RELIEVE:
    case MODEL_GROUP_VERIFY:
        return job->isolation == GATE_ISOLATION_HELD ||
               (job->isolation == GATE_ISOLATION_UNPROVEN && !pass);
    case MODEL_GROUP_WORK:
        return phase == MODEL_PHASE_WORKING && job->lockout == MODEL_LOCKOUT_CONFIRMED;
    case MODEL_GROUP_CLEAR:
        return phase == MODEL_PHASE_WORKING || phase == MODEL_PHASE_STOPPED;
    case MODEL_GROUP_LEAVE:
        return phase == MODEL_PHASE_WORKING || phase == MODEL_PHASE_STOPPED ||
               (phase == MODEL_PHASE_OPEN && job->started);
    case MODEL_GROUP_FINISH:
        return phase == MODEL_PHASE_TESTING;
    default:
        return gate_job_stands(job);
    }
}

enum gate_say gate_window_say(enum model_group group) {
    switch (group) {
    case MODEL_GROUP_RELIEVE:
    case MODEL_GROUP_VERIFY:
        return GATE_SAY_WINDOW_HOLD;
    case MODEL_GROUP_WORK:
        return GATE_SAY_WINDOW_WORK;
    case MODEL_GROUP_CLEAR:
        return GATE_SAY_WINDOW_CLEAR;
    case MODEL_GROUP_LEAVE:
        return GATE_SAY_WINDOW_LEAVE;
    case MODEL_GROUP_FINISH:
        return GATE_SAY_WINDOW_TESTING;
    default:
        return GATE_SAY_WINDOW_STANDING;
    }
}
