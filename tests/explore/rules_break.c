// What holds, and what breaks (contract, section 5 "Lockout", "Breaking", "After a restart").
#include "rules.h"

#include <string.h>

static unsigned slot_of(const struct rules *r, const struct rules_job *job) {
    return (unsigned)(job - r->jobs);
}

static bool requires(const struct rules_job *job, uint32_t point) {
    return (job->required >> point & 1u) != 0;
}

enum model_lockout rules_lockout(const struct rules_job *job) {
    return job->broken       ? MODEL_LOCKOUT_BROKEN
           : !job->confirmed ? MODEL_LOCKOUT_UNCONFIRMED
           : job->unproven   ? MODEL_LOCKOUT_UNPROVEN
                             : MODEL_LOCKOUT_CONFIRMED;
}

void rules_enter(struct rules *r, struct rules_job *job, enum model_phase phase) {
    if (phase == MODEL_PHASE_STOPPED) {
        rules_void_older_verify(r, job);
    }
    job->phase = phase;
    job->entered = r->now.mono;
    job->offered = RULES_NOBODY;
}

// --- Causes ---

// Of a break that is over: all but what was said in this instant, which breaks together with what
// it made of the point.
static void forget_break(const struct rules *r, struct rules_job *job) {
    for (unsigned reason = 0; reason < RULES_REASONS; reason++) {
        for (unsigned i = 0; i < FORECOURT_POINTS; i++) {
            bool now = job->causes.last[reason][i] == r->now.mono;
            job->causes.last[reason][i] = now ? r->now.mono : 0;
        }
    }
    for (unsigned i = 0; i < FORECOURT_POINTS; i++) {
        bool now = job->causes.last[RULES_LIVE][i] == r->now.mono;
        job->causes.said &= now ? ~0u : ~(1u << i);
    }
}

// A cause that is new, or the same come back after 5 s without it, raises the alarm again. Of a
// check that fails again the contract does not say whether it was ever without.
static void raise(struct rules *r, struct rules_job *job, enum rules_reason reason, unsigned of) {
    int64_t last = job->broken ? job->causes.last[reason][of] : 0;
    if (!job->broken) {
        forget_break(r, job);
    }
    if (last == 0 || (reason != RULES_FAILED && r->now.mono - last >= RULES_AGAIN_MS)) {
        job->must_raise = true;
    } else {
        job->may_raise = true;
    }
    job->causes.last[reason][of] = r->now.mono;
    bool late = reason == RULES_LIVE && rules_reads(r, of, RULES_NO_SLOT) != MODEL_POINT_LIVE;
    job->causes.said |= late ? 1u << of : 0;
}

void rules_break(struct rules *r, struct rules_job *job, enum rules_reason reason, unsigned of) {
    raise(r, job, reason, of);
    job->broken = true;
    job->unproven = false; // what is broken is proved anew, not heard again
    job->held = false;     // and what holds on begins anew
    rules_void(r, job, MODEL_GROUP_RELIEVE);
    rules_void(r, job, MODEL_GROUP_VERIFY);
    if (job->phase == MODEL_PHASE_WORKING) {
        rules_enter(r, job, MODEL_PHASE_STOPPED);
    } else if (job->phase == MODEL_PHASE_TESTING) {
        rules_void_tests(r, job);
        rules_enter(r, job, MODEL_PHASE_RESTORING);
    }
}

// After a restart: not yet heard again, and not overdue.
static bool is_awaited(const struct rules *r, uint32_t point) {
    const struct model_point *model = &r->forecourt->points[point];
    for (unsigned i = 0; i < model->sensor_count; i++) {
        if (r->sensors[model->sensors[i]].bad && rules_trusted(r, model->sensors[i])) {
            return false;
        }
    }
    bool offline =
        r->forecourt->plan->point[point].controlled && r->controller == GATE_CONTROLLER_OFFLINE;
    return rules_sensed(r, point) && !offline &&
           r->now.mono - r->points[point].heard_before <= model->max_age_ms;
}

static void find_causes(const struct rules *r, const struct rules_job *job, bool was_held,
                        unsigned hold[RULES_REASONS]) {
    memset(hold, 0, RULES_REASONS * sizeof *hold);
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        if (!requires(job, p)) {
            continue;
        }
        unsigned bit = 1u << p;
        enum model_point_state reads = rules_reads(r, p, slot_of(r, job));
        bool tagged = job->leader < FORECOURT_PEOPLE &&
                      r->points[p].tags[job->leader][slot_of(r, job)].counts;
        hold[RULES_LIVE] |= reads == MODEL_POINT_LIVE && !rules_disagrees(r, p) ? bit : 0;
        hold[RULES_DISAGREE] |= reads == MODEL_POINT_LIVE && rules_disagrees(r, p) ? bit : 0;
        // What it was before the restart it is still, until it is heard or overdue.
        // Where nobody is in the cabinet nothing tells that it is overdue.
        bool inside = job->phase == MODEL_PHASE_WORKING || job->phase == MODEL_PHASE_STOPPED;
        bool awaited = reads == MODEL_POINT_UNKNOWN && is_awaited(r, p) && !r->points[p].spoke;
        bool goes_on = reads == MODEL_POINT_UNKNOWN && r->points[p].left_live != 0 &&
                       !r->points[p].spoke && (awaited || !inside);
        hold[RULES_LIVE] |= goes_on ? job->causes.hold[RULES_LIVE] & bit : 0;
        hold[RULES_DISAGREE] |= goes_on ? job->causes.hold[RULES_DISAGREE] & bit : 0;
        bool was = (job->causes.hold[RULES_UNKNOWN] & bit) != 0;
        bool unknown = reads == MODEL_POINT_UNKNOWN && (was || !awaited);
        // What only settles is not proved, but after a restart: where people said it until now,
        // their words have ended.
        bool settles = (job->phase == MODEL_PHASE_WORKING || was_held) && !job->unproven &&
                       reads == MODEL_POINT_ISOLATED && !rules_isolated(r, p, slot_of(r, job));
        hold[RULES_UNKNOWN] |= unknown || settles ? bit : 0;
        hold[RULES_TAG] |= tagged ? 0 : bit;
    }
    for (size_t i = 0; i < rules_needs(r, job)->check_count; i++) {
        enum model_group group = rules_needs(r, job)->checks[i].group;
        bool energy = group == MODEL_GROUP_RELIEVE || group == MODEL_GROUP_VERIFY;
        bool aged =
            energy && job->signed_[i].stands && job->signed_[i].pass && rules_check_aged(r, job, i);
        hold[RULES_AGED] |= aged ? 1u << i : 0;
    }
}

// A cause that is long over is a further one when it comes back; not so a check that failed.
static void forget_causes(const struct rules *r, struct rules_job *job) {
    for (unsigned reason = 0; reason < RULES_REASONS; reason++) {
        for (unsigned i = 0; reason != RULES_FAILED && i < FORECOURT_POINTS; i++) {
            bool said = reason == RULES_LIVE && (job->causes.said >> i & 1u) != 0;
            bool over = (job->causes.hold[reason] >> i & 1u) == 0 && !said &&
                        r->now.mono - job->causes.last[reason][i] >= RULES_AGAIN_MS;
            job->causes.last[reason][i] = over ? 0 : job->causes.last[reason][i];
        }
    }
}

static bool hangs_on(const struct rules *r, const struct rules_job *job, uint32_t point) {
    for (unsigned who = 0; who <= RULES_ANYBODY; who++) {
        if (r->points[point].tags[who][slot_of(r, job)].hangs) {
            return true;
        }
    }
    return false;
}

// Live and disagreeing are two reasons: where one that was told of becomes the other under a lock
// that hangs still, though it counts no longer, that is told of as well, in any phase.
static void break_by_turning(struct rules *r, struct rules_job *job,
                             const unsigned hold[RULES_REASONS]) {
    for (int now = RULES_LIVE; now <= RULES_DISAGREE; now++) {
        int was = now == RULES_LIVE ? RULES_DISAGREE : RULES_LIVE;
        unsigned before = job->causes.hold[was] | (was == RULES_LIVE ? job->causes.said : 0);
        unsigned turned = hold[now] & ~job->causes.hold[now] & before & ~hold[was];
        for (unsigned i = 0; i < FORECOURT_POINTS; i++) {
            if (job->broken && (turned >> i & 1u) != 0 && job->causes.last[was][i] != 0 &&
                hangs_on(r, job, i)) {
                rules_break(r, job, (enum rules_reason)now, i);
            }
        }
    }
}

// People are in the cabinet, or may be: each cause that holds while working breaks, and in
// `stopped` each that came since the last step. (There a tag breaks by being lifted.)
static void break_by_causes(struct rules *r, struct rules_job *job, bool was_held) {
    unsigned hold[RULES_REASONS];
    bool working = job->phase == MODEL_PHASE_WORKING;
    bool stopped = job->phase == MODEL_PHASE_STOPPED;
    forget_causes(r, job);
    find_causes(r, job, was_held, hold);
    job->causes.said &= hold[RULES_UNKNOWN] | job->causes.hold[RULES_UNKNOWN];
    if (!working && !stopped) {
        break_by_turning(r, job, hold);
    }
    for (unsigned reason = 0; reason < RULES_REASONS; reason++) {
        unsigned before = job->causes.hold[reason];
        unsigned said_of = reason == RULES_LIVE ? job->causes.said : 0;
        unsigned came = reason != RULES_TAG ? hold[reason] & ~before : 0;
        unsigned breaks = working ? hold[reason] : stopped ? came : 0;
        for (unsigned i = 0; i < FORECOURT_POINTS; i++) {
            // A late live made it so, and was said already.
            bool said = reason == RULES_UNKNOWN && job->broken && (breaks >> i & 1u) != 0 &&
                        job->causes.last[RULES_LIVE][i] == r->now.mono;
            if (said) {
                job->causes.last[reason][i] = r->now.mono;
            } else if ((breaks >> i & 1u) != 0) {
                rules_break(r, job, (enum rules_reason)reason, i);
            } else if (job->broken && ((hold[reason] | before | said_of) >> i & 1u) != 0 &&
                       job->causes.last[reason][i] != 0) {
                job->causes.last[reason][i] = r->now.mono; // it held until now
            }
        }
    }
    job->causes.said &= hold[RULES_UNKNOWN];
    memcpy(job->causes.hold, hold, sizeof job->causes.hold);
}

int64_t rules_least_age(const struct rules *r, const struct rules_job *job) {
    int64_t least = INT64_MAX;
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        const struct model_point *model = &r->forecourt->points[p];
        bool sensed = requires(job, p) && model->sensor_count > 0;
        least = sensed && model->max_age_ms < least ? model->max_age_ms : least;
    }
    return least;
}

// Nothing proves the durable connection for longer than the least limit of the job's points: the
// work stops, once an outage.
static void break_by_outage(struct rules *r, struct rules_job *job) {
    int64_t limit = rules_least_age(r, job);
    limit = limit == INT64_MAX ? 30000 : limit;
    bool inside = job->phase == MODEL_PHASE_WORKING || job->phase == MODEL_PHASE_STOPPED;
    if (inside && r->outage != 0 && r->outage != job->cut && r->now.mono - r->outage > limit) {
        job->cut = r->outage;
        rules_break(r, job, RULES_LINK, 0);
    }
}

// --- Holding ---

bool rules_points_held(const struct rules *r, const struct rules_job *job) {
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        if (requires(job, p) && !rules_isolated(r, p, slot_of(r, job))) {
            return false;
        }
    }
    return job->required != 0 && rules_protected(r, job, job->leader);
}

// What held before a restart waits to be heard again; a confirmed lockout of which a point reads
// otherwise, or is overdue, is broken.
static void prove_again(struct rules *r, struct rules_job *job) {
    bool waits = rules_protected(r, job, job->leader);
    for (unsigned p = 0; job->unproven && p < r->forecourt->plan->points; p++) {
        if (!requires(job, p)) {
            continue;
        }
        enum model_point_state reads = rules_reads(r, p, slot_of(r, job));
        bool good =
            reads == MODEL_POINT_ISOLATED || (reads == MODEL_POINT_UNKNOWN && is_awaited(r, p));
        waits = waits && good;
        if (!good && job->confirmed) {
            rules_break(r, job, reads == MODEL_POINT_LIVE ? RULES_LIVE : RULES_UNKNOWN, p);
        }
    }
    job->unproven = job->unproven && waits && !(rules_points_held(r, job) && rules_link(r));
}

// A hold that begins: what was drained before it says nothing of it.
static void hold(struct rules *r, struct rules_job *job) {
    bool held = rules_points_held(r, job) || job->unproven;
    if (held && !job->held) {
        job->held_since = r->now.mono;
        memset(job->passed_in_hold, 0, sizeof job->passed_in_hold);
    }
    job->held = held;
}

static void settle_job(struct rules *r, struct rules_job *job) {
    bool was_held = job->held && !job->unproven;
    prove_again(r, job);
    hold(r, job);
    break_by_outage(r, job);
    break_by_causes(r, job, was_held);
    hold(r, job);
    if (!job->held) {
        rules_void(r, job, MODEL_GROUP_RELIEVE);
        rules_void(r, job, MODEL_GROUP_VERIFY);
    }
    bool proof = job->held && rules_group_stands(r, job, MODEL_GROUP_RELIEVE) &&
                 rules_group_stands(r, job, MODEL_GROUP_VERIFY);
    bool after = job->phase == MODEL_PHASE_RESTORING || job->phase == MODEL_PHASE_TESTING;
    if (proof && !job->unproven && !after) {
        job->broken = false;
    }
    // After the finish nothing is confirmed any more.
    job->confirmed = proof && (job->confirmed || (!job->unproven && !after)) && !job->broken;
}

// What was out of order for as long as was said is trusted again.
static void end_distrust(struct rules *r) {
    for (uint32_t i = 0; i < r->forecourt->site.sensor_count; i++) {
        int64_t until = r->sensors[i].distrusted_until;
        if (until != 0 && r->now.mono >= until) {
            rules_trust_again(r, i);
        }
    }
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        struct rules_point *point = &r->points[p];
        if (point->distrusted_until != 0 && r->now.mono >= point->distrusted_until) {
            point->distrusted_until = 0;
            point->distrusted_by = 0;
        }
    }
}

void rules_settle(struct rules *r) {
    end_distrust(r);
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        enum model_point_state reads = rules_reads(r, p, RULES_NO_SLOT);
        bool live = reads == MODEL_POINT_LIVE;
        r->points[p].reads = (uint8_t)reads;
        r->points[p].spoke = r->points[p].spoke || reads != MODEL_POINT_UNKNOWN;
        r->points[p].left_live = reads == MODEL_POINT_UNKNOWN ? r->points[p].left_live : 0;
        r->points[p].last_live = live ? r->now.wall : r->points[p].last_live;
    }
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        if (r->jobs[s].stands) {
            settle_job(r, &r->jobs[s]);
        }
    }
}

// --- A word of live ---

// Whether a lockout rests on a tag or a signature as old as that.
static bool rests_before(const struct rules *r, const struct rules_job *job, int64_t at) {
    for (unsigned p = 0; job->leader < FORECOURT_PEOPLE && p < FORECOURT_POINTS; p++) {
        const struct rules_tag *tag = &r->points[p].tags[job->leader][slot_of(r, job)];
        if (requires(job, p) && tag->counts && tag->hung <= at) {
            return true;
        }
    }
    for (size_t i = 0; i < rules_needs(r, job)->check_count; i++) {
        enum model_group group = rules_needs(r, job)->checks[i].group;
        bool rests = group == MODEL_GROUP_RELIEVE || group == MODEL_GROUP_VERIFY;
        if (rests && job->signed_[i].stands && job->signed_[i].first <= at) {
            return true;
        }
    }
    return false;
}

void rules_live(struct rules *r, uint32_t point, int64_t at, bool came) {
    int64_t then = at != 0 ? r->now.wall - (r->now.mono - at) : r->now.wall;
    r->points[point].last_live =
        then > r->points[point].last_live ? then : r->points[point].last_live;
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        struct rules_job *job = &r->jobs[s];
        bool under = false;
        for (unsigned who = 0; who <= RULES_ANYBODY; who++) {
            const struct rules_tag *tag = &r->points[point].tags[who][s];
            under = under || (tag->counts && (at == 0 || tag->hung <= at));
        }
        if (!job->stands) {
            continue;
        }
        bool rested =
            requires(job, point) && job->confirmed && (at == 0 || came || rests_before(r, job, at));
        bool inside = requires(job, point) && job->phase == MODEL_PHASE_WORKING;
        if (under || rested || inside) {
            bool disagrees = rules_disagrees(r, point);
            rules_break(r, job, disagrees ? RULES_DISAGREE : RULES_LIVE, point);
            r->points[point].spoke = true;
        }
        if (!under && !rested && requires(job, point) && job->phase == MODEL_PHASE_STOPPED) {
            // One from before every tag and signature need raise nothing, and may.
            job->may_raise = true;
            if (rules_reads(r, point, RULES_NO_SLOT) != MODEL_POINT_LIVE) {
                job->causes.last[RULES_LIVE][point] = r->now.mono;
                bool holds = (job->causes.hold[RULES_LIVE] >> point & 1u) != 0;
                job->causes.said |= holds ? 0 : 1u << point;
                r->points[point].spoke = r->points[point].spoke || !holds;
            }
        }
        if (requires(job, point) && (at == 0 || came || rests_before(r, job, at))) {
            rules_void(r, job, MODEL_GROUP_RELIEVE);
            rules_void(r, job, MODEL_GROUP_VERIFY);
            job->unproven = false;
        }
    }
    for (unsigned who = 0; who <= RULES_ANYBODY; who++) {
        for (unsigned s = 0; s <= RULES_NO_SLOT; s++) {
            struct rules_tag *tag = &r->points[point].tags[who][s];
            tag->counts = tag->counts && at != 0 && tag->hung > at;
        }
    }
}
