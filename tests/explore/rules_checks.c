// Checks: in season, standing, void (contract, section 4 "Seasons", "What voids").
#include "rules.h"

#include <string.h>

const struct model_requirements *rules_needs(const struct rules *r, const struct rules_job *job) {
    return &r->forecourt->procedures[job->procedure];
}

static const struct model_check *check_of(const struct rules *r, const struct rules_job *job,
                                          size_t check) {
    return &rules_needs(r, job)->checks[check];
}

// --- Standing ---

bool rules_check_aged(const struct rules *r, const struct rules_job *job, size_t check) {
    int64_t valid = check_of(r, job, check)->valid_ms;
    return valid > 0 && r->now.mono - job->signed_[check].at > valid;
}

bool rules_check_stands(const struct rules *r, const struct rules_job *job, size_t check) {
    const struct rules_mark *mark = &job->signed_[check];
    return mark->stands && mark->pass && !rules_check_aged(r, job, check);
}

bool rules_group_stands(const struct rules *r, const struct rules_job *job,
                        enum model_group group) {
    unsigned count = 0;
    for (size_t i = 0; i < rules_needs(r, job)->check_count; i++) {
        if (check_of(r, job, i)->group == group) {
            count++;
            if (!rules_check_stands(r, job, i)) {
                return false;
            }
        }
    }
    // Where nothing is asked, nothing is proved: these may not be empty.
    return count > 0 || (group != MODEL_GROUP_VERIFY && group != MODEL_GROUP_CLEAR &&
                         group != MODEL_GROUP_LEAVE);
}

// --- In season ---

// Once work was started, where a required point cannot be isolated, a supervisor may say how the
// position was made safe. *whether: the contract does not say it of one that only settles still, or
// is not heard again yet.
bool rules_made_safe(const struct rules *r, const struct rules_job *job, unsigned signer,
                     bool *whether) {
    bool cannot = false, settled = true;
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        unsigned slot = (unsigned)(job - r->jobs);
        bool required = (job->required >> p & 1u) != 0;
        cannot = cannot || (required && rules_reads(r, p, slot) != MODEL_POINT_ISOLATED);
        settled = settled && (!required || rules_isolated(r, p, slot));
    }
    bool supervisor = signer < FORECOURT_PEOPLE &&
                      (r->forecourt->people[signer].roles & MODEL_ROLE_SUPERVISOR) != 0;
    bool before = job->phase == MODEL_PHASE_OPEN || job->phase == MODEL_PHASE_WORKING ||
                  job->phase == MODEL_PHASE_STOPPED;
    bool may = before && job->started && supervisor && (r->step->how & STEP_NOTE) != 0;
    *whether = may && !settled && (!cannot || job->unproven);
    return may && cannot;
}

bool rules_in_season(const struct rules *r, const struct rules_job *job, size_t check,
                     unsigned signer) {
    const struct model_check *model = check_of(r, job, check);
    unsigned locked = model->by != 0 ? job->leader : signer; // whose locks protect whoever signs
    bool cabinet = job->phase == MODEL_PHASE_WORKING || job->phase == MODEL_PHASE_STOPPED;
    switch (model->group) {
    case MODEL_GROUP_RELIEVE:
    case MODEL_GROUP_VERIFY:
        return rules_points_held(r, job) && rules_group_stands(r, job, MODEL_GROUP_PREPARE) &&
               !rules_shared_in(r, job, 1u << MODEL_PHASE_TESTING) &&
               rules_protected(r, job, locked);
    case MODEL_GROUP_WORK:
        return job->phase == MODEL_PHASE_WORKING && !job->unproven &&
               rules_protected(r, job, locked);
    case MODEL_GROUP_CLEAR:
    case MODEL_GROUP_LEAVE:
        if (cabinet) {
            return model->by == 0 || rules_protected(r, job, locked);
        }
        return model->group == MODEL_GROUP_LEAVE && job->phase == MODEL_PHASE_OPEN &&
               job->started && rules_protected(r, job, locked);
    case MODEL_GROUP_FINISH:
        return job->phase == MODEL_PHASE_TESTING;
    default:
        return true;
    }
}

// --- Void ---

void rules_void(struct rules *r, struct rules_job *job, enum model_group group) {
    for (size_t i = 0; i < rules_needs(r, job)->check_count; i++) {
        if (check_of(r, job, i)->group == group) {
            job->signed_[i].stands = false;
            memset(job->verified[i], 0, sizeof job->verified[i]);
        }
    }
}

void rules_void_tests(struct rules *r, struct rules_job *job) {
    for (size_t i = 0; i < FORECOURT_TESTS; i++) {
        job->tests[i].stands = false;
    }
    rules_void(r, job, MODEL_GROUP_FINISH);
}

// A relieve check signed while working counts for the next start only: then it voids the verify
// checks before it.
void rules_void_older_verify(struct rules *r, struct rules_job *job) {
    unsigned newest = 0;
    for (size_t i = 0; i < rules_needs(r, job)->check_count; i++) {
        bool relieve = check_of(r, job, i)->group == MODEL_GROUP_RELIEVE;
        if (relieve && job->signed_[i].stands && job->signed_[i].order > newest) {
            newest = job->signed_[i].order;
        }
    }
    for (size_t i = 0; i < rules_needs(r, job)->check_count; i++) {
        if (check_of(r, job, i)->group == MODEL_GROUP_VERIFY) {
            job->signed_[i].stands = job->signed_[i].stands && job->signed_[i].order > newest;
            for (unsigned p = 0; p < FORECOURT_PEOPLE; p++) {
                job->verified[i][p] = job->verified[i][p] > newest ? job->verified[i][p] : 0;
            }
        }
    }
}

// --- Signed ---

// Energy was found where there should be none, or the ground under the job is gone: that breaks
// where a lock of the job hangs or people may be in the cabinet, and under test. Who drains still
// is not through yet.
bool rules_failure_breaks(const struct rules *r, const struct rules_job *job, size_t check) {
    unsigned slot = (unsigned)(job - r->jobs);
    bool breaks = rules_tagged(r, slot) || job->phase == MODEL_PHASE_STOPPED ||
                  job->phase == MODEL_PHASE_TESTING;
    bool draining = check_of(r, job, check)->group == MODEL_GROUP_RELIEVE &&
                    job->phase == MODEL_PHASE_OPEN && !job->passed_in_hold[check];
    return breaks && !draining;
}

static void failed(struct rules *r, struct rules_job *job, size_t check) {
    enum model_group group = check_of(r, job, check)->group;
    unsigned slot = (unsigned)(job - r->jobs);
    if (rules_failure_breaks(r, job, check)) {
        rules_break(r, job, RULES_FAILED, (unsigned)check);
    }
    for (unsigned p = 0; group == MODEL_GROUP_VERIFY && p < FORECOURT_POINTS; p++) {
        for (unsigned who = 0; who <= RULES_ANYBODY; who++) {
            r->points[p].tags[who][slot].counts = false;
        }
    }
}

void rules_sign(struct rules *r, struct rules_job *job, size_t check, unsigned by, bool pass) {
    enum model_group group = check_of(r, job, check)->group;
    bool energy = group == MODEL_GROUP_RELIEVE || group == MODEL_GROUP_VERIFY;
    if (group == MODEL_GROUP_WORK) {
        rules_void(r, job, MODEL_GROUP_CLEAR);
        rules_void(r, job, MODEL_GROUP_LEAVE);
    } else if (group == MODEL_GROUP_RELIEVE && job->phase != MODEL_PHASE_WORKING) {
        rules_void(r, job, MODEL_GROUP_VERIFY);
    }
    struct rules_mark *mark = &job->signed_[check];
    int64_t first = mark->stands && mark->pass && pass ? mark->first : r->now.mono;
    *mark = (struct rules_mark){true, pass, r->now.mono, first, ++r->order};
    job->newest_order = r->order;
    if (group == MODEL_GROUP_VERIFY && by < FORECOURT_PEOPLE) {
        job->verified[check][by] = pass ? r->order : job->verified[check][by];
    }
    if (!pass && (energy || group == MODEL_GROUP_PREPARE)) {
        failed(r, job, check);
    }
    job->passed_in_hold[check] = job->passed_in_hold[check] || pass;
}
