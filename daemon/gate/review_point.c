// A point that reads live: which tags stop counting, which lockouts it breaks, in whatever phase;
// and every other change of a point.
#include <string.h>

#include "gate/break.h"
#include "gate/emit.h"
#include "gate/find.h"
#include "gate/lockout.h"
#include "gate/point.h"
#include "gate/review.h"

// Rule (3, Hearing): A late live breaks what the oldest signature rests on, though all tags were
// renewed since. [late-live-tags-alone]
// Rule (3, Hearing): A late live breaks what the oldest tag rests on. [late-live-signatures-alone]
static bool rests_on_before(const struct gate_site *site, const struct gate_job *job, int64_t at) {
    for (size_t i = 0; i < job->required_count; i++) {
        const struct gate_tag *tag = gate_tag_find(site, job->required[i], job->job, job->leader);
        if (tag != NULL && tag->counts && tag->since.wall <= at) {
            return true;
        }
    }
    for (size_t i = 0; i < job->signature_count; i++) {
        const struct gate_signature *signature = &job->signatures[i];
        bool rests = !signature->void_ && (signature->group == MODEL_GROUP_RELIEVE ||
                                           signature->group == MODEL_GROUP_VERIFY);
        if (rests && signature->at.wall <= at) {
            return true;
        }
    }
    return false;
}

static bool tag_under(const struct gate_site *site, uint32_t point, const char *job, int64_t at) {
    const struct gate_point *state = &site->points[point];
    for (size_t i = 0; i < state->tag_count; i++) {
        const struct gate_tag *tag = &state->tags[i];
        if (tag->counts && strcmp(tag->job, job) == 0 && (at == 0 || tag->since.wall <= at)) {
            return true;
        }
    }
    return false;
}

// Whether the point was live until this moment under a lock of the job that hangs there still: what
// it becomes now, live for another reason, is said of that lock as well.
// Rule (5, Breaking): Where no lock hangs any more, live for another reason is the test's power.
// [live-of-a-test-breaks]
// Rule (5, Breaking; R17): A word of live that leaves the point unknown is no other reason.
// [said-live-as-another]
static bool was_under(const struct gate_site *site, uint32_t point, const struct gate_job *job,
                      struct gate_time now) {
    const struct gate_point *state = &site->points[point];
    for (size_t i = 0; state->state == MODEL_POINT_LIVE && i < state->tag_count; i++) {
        if (strcmp(state->tags[i].job, job->job) == 0) {
            return gate_cause_was_live(job, point, now);
        }
    }
    return false;
}

// Rule (3, Hearing): A tag hung after the time of a late live goes on counting.
// [late-live-spares-no-tag]
static void discount_tags(struct gate *gate, struct gate_site *site, uint32_t point, int64_t at,
                          struct gate_time now) {
    for (size_t i = 0; i < site->points[point].tag_count; i++) {
        const struct gate_tag tag = site->points[point].tags[i];
        if (!tag.counts || (at != 0 && tag.since.wall > at)) {
            continue;
        }
        struct gate_fact fact =
            gate_fact_of_point(gate, site, point, GATE_FACT_TAG_DISCOUNTED, now);
        fact.job = tag.job[0] != '\0' ? tag.job : NULL;
        fact.person = tag.person[0] != '\0' ? tag.person : NULL;
        fact.badge = tag.badge[0] != '\0' ? tag.badge : NULL;
        gate_emit(gate, &fact);
    }
}

// Breaks what a live point breaks: the job of each counting tag that hung on it then, in any phase;
// and each job that requires it and is working, stopped or rests on a lockout.
// Rule (3, Tags): A tag no longer counts once its point has read live. [live-leaves-tags]
// Rule (5, Breaking): Live under a counting tag raises the alarm for that tag's job in any phase.
// [live-under-tag-unheeded]
// Rule (5, Breaking): Live while stopped raises the alarm even where no tag counts any more.
// [live-while-stopped-unheeded]
// Rule (5, Breaking; R17): A live that goes on while stopped has broken what there was.
// [said-live-repeats]
// Rule (3, Hearing): A late live from before every tag and signature breaks nothing.
// [live-of-old-breaks]
static void live_breaks(struct gate *gate, struct gate_site *site, uint32_t point, int64_t at,
                        bool came, enum model_code why, struct gate_time now) {
    for (size_t i = 0; i < site->job_count; i++) {
        struct gate_job *job = site->jobs[i];
        if (!gate_job_stands(job)) {
            continue;
        }
        bool in_cabinet = job->phase == MODEL_PHASE_WORKING || job->phase == MODEL_PHASE_STOPPED;
        bool rests =
            job->lockout == MODEL_LOCKOUT_CONFIRMED || job->lockout == MODEL_LOCKOUT_UNPROVEN;
        bool then = at == 0 || came || rests_on_before(site, job, at);
        bool under = tag_under(site, point, job->job, at) || was_under(site, point, job, now);
        const struct gate_break_cause cause = {why, point, NULL};
        bool goes_on = !under && job->phase == MODEL_PHASE_STOPPED &&
                       job->isolation == GATE_ISOLATION_NONE &&
                       gate_break_is_told(site, job, &cause, now);
        if (goes_on) {
            continue;
        }
        if (under || (gate_requires(job, point) && (in_cabinet || rests) && then)) {
            gate_break_by_point(gate, site, job, why, point, now);
        } else if (gate_requires(job, point) && job->isolation != GATE_ISOLATION_NONE && then) {
            gate_isolation_end(gate, site, job, now);
        }
    }
    discount_tags(gate, site, point, at, now);
}

void gate_said_live(struct gate *gate, struct gate_site *site, uint32_t point, int64_t at,
                    bool came, struct gate_time now) {
    int64_t said = at != 0 && at < now.wall ? at : now.wall;
    if (said > site->hearing[point].said_live) {
        site->hearing[point].said_live = said;
    }
    live_breaks(gate, site, point, at, came, MODEL_CODE_POINT_LIVE, now);
}

static void point_lost(struct gate *gate, struct gate_site *site, uint32_t point,
                       enum model_code why, struct gate_time now) {
    for (size_t i = 0; i < site->job_count; i++) {
        struct gate_job *job = site->jobs[i];
        bool relies = job->phase == MODEL_PHASE_STOPPED ||
                      (job->phase == MODEL_PHASE_WORKING && job->isolation == GATE_ISOLATION_HELD);
        if (gate_job_stands(job) && relies && gate_requires(job, point)) {
            gate_break_by_point(gate, site, job, why, point, now);
        }
    }
}

// A point has changed: what its being live, or known no longer, breaks at once.
// Rule (5, Breaking): A required point that is lost while stopped raises the alarm again.
// [loss-while-stopped-unheeded]
// Rule (5, Breaking; R17): Each point that is lost while working is a cause of its own.
// [loss-of-one-for-all]
// Rule (3, alarms; R17): Live where sensors disagreed before, and the other way round, is another
// reason. [live-after-disagreeing]
static void point_changed(struct gate *gate, struct gate_site *site, uint32_t point,
                          const struct gate_view *before, const struct gate_view *view,
                          struct gate_time now) {
    enum model_code why = gate_view_code(view);
    if (view->state == MODEL_POINT_LIVE) {
        if (before->state != MODEL_POINT_LIVE || gate_view_code(before) != why) {
            live_breaks(gate, site, point, 0, true, why, now);
        }
        return;
    }
    if (before->state == MODEL_POINT_UNKNOWN || view->state == MODEL_POINT_ISOLATED) {
        return;
    }
    point_lost(gate, site, point, why, now);
}

// A point that was isolated before a restart and is not heard again in time is lost, as it would
// have been without the restart.
// Rule (5, Breaking; 5, After a restart; R38): A required point that is not heard again in time
// after a restart while stopped raises the alarm again. [awaited-loss-unheeded]
static void review_awaited(struct gate *gate, struct gate_site *site, uint32_t point,
                           struct gate_time now) {
    int64_t next = INT64_MAX;
    struct gate_view view = gate_point_derive(gate, site, point, now, &next);
    if (!site->points[point].awaited || gate_unheard_holds(site, point, &view, now)) {
        return;
    }
    bool silent = view.trust == MODEL_TRUST_SILENT;
    enum model_code why = silent ? MODEL_CODE_POINT_STALE : gate_view_code(&view);
    point_lost(gate, site, point, why, now);
}

// Rule (5, After a restart): Folding the journal gives the state in memory, bit for bit.
// [state-beside-the-facts]
void gate_review_point(struct gate *gate, struct gate_site *site, uint32_t point,
                       struct gate_time now, int64_t *next) {
    struct gate_view view = gate_point_derive(gate, site, point, now, next);
    struct gate_point *state = &site->points[point];
    if (view.state == state->state && view.trust == state->trust) {
        review_awaited(gate, site, point, now);
        return;
    }
    const struct gate_view before = {.state = state->state, .trust = state->trust};
    struct gate_fact fact = gate_fact_of_point(gate, site, point, GATE_FACT_POINT_CHANGED, now);
    struct gate_evidence self = gate_evidence_of(gate, site, point, now);
    self.state = view.state;
    self.trust = view.trust;
    fact.evidence = &self;
    fact.evidence_count = 1;
    fact.has_state = fact.has_trust = true;
    fact.state = view.state;
    fact.trust = view.trust;
    gate_emit(gate, &fact);
    point_changed(gate, site, point, &before, &view, now);
    review_awaited(gate, site, point, now);
}
