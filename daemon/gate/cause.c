// The causes of a broken lockout. What holds is read off the folded state, so that it survives a
// restart; when it ended is folded with the facts that end it.
#include "gate/cause.h"

#include <string.h>

#include "base/array.h"
#include "gate/find.h"
#include "gate/text.h"

// The reasons in their order, the worst first (contract, section 3).
enum reason {
    REASON_LIVE,
    REASON_DISAGREES,
    REASON_CHECK_FAILED,
    REASON_UNKNOWN,
    REASON_TAG,
    REASON_LINK,
    REASON_CHECK_VOID,
};

// Rule (3, alarms; R17): Every way in which a point is unknown is one reason. [cause-of-each-code]
static enum reason reason_of(enum model_code why) {
    switch (why) {
    case MODEL_CODE_POINT_LIVE:
        return REASON_LIVE;
    case MODEL_CODE_POINT_DISAGREES:
        return REASON_DISAGREES;
    case MODEL_CODE_CHECK_FAILED:
        return REASON_CHECK_FAILED;
    case MODEL_CODE_TAG_MISSING:
        return REASON_TAG;
    case MODEL_CODE_LINK_DOWN:
        return REASON_LINK;
    case MODEL_CODE_CHECK_VOID:
        return REASON_CHECK_VOID;
    default: // silent, stale, of bad quality, offline, settling; the daemon away
        return REASON_UNKNOWN;
    }
}

// A live that was said holds while the point is not known anew: one word makes it live and of bad
// quality at once. So does what was so before a restart, while the point is waited for.
// Rule (5, After a restart; R17, R38): What holds at a restart goes on when it is heard again.
// [cause-over-a-restart]
static bool point_is(const struct gate_site *site, const struct gate_cause *cause) {
    const struct gate_point *point = &site->points[cause->point];
    bool live = point->state == MODEL_POINT_LIVE;
    bool disagrees = live && point->trust == MODEL_TRUST_DISAGREES;
    if (point->awaited == MODEL_POINT_LIVE && reason_of(cause->why) <= REASON_DISAGREES) {
        return true;
    }
    switch (reason_of(cause->why)) {
    case REASON_LIVE:
        return (live && !disagrees) || (cause->said && point->state == MODEL_POINT_UNKNOWN);
    case REASON_DISAGREES:
        return disagrees;
    default:
        return point->state == MODEL_POINT_UNKNOWN;
    }
}

static bool is_so(const struct gate_site *site, const struct gate_job *job,
                  const struct gate_cause *cause) {
    const struct gate_signature *signature = gate_signature_of(job, cause->check);
    switch (reason_of(cause->why)) {
    case REASON_CHECK_FAILED:
        return signature != NULL && !signature->pass;
    case REASON_CHECK_VOID:
        return cause->check[0] != '\0' && (signature == NULL || signature->void_);
    case REASON_TAG:
        return cause->point != MODEL_NONE &&
               !gate_tag_counts(site, cause->point, job->job, job->leader);
    case REASON_LINK:
        return false; // it was away for too long, and is told of when it is back
    default:
        return cause->point != MODEL_NONE && point_is(site, cause);
    }
}

static bool same(const struct gate_cause *one, enum model_code why, uint32_t point,
                 const char *check) {
    return reason_of(one->why) == reason_of(why) && one->point == point &&
           gate_same(one->check, check);
}

static struct gate_cause *find(const struct gate_job *job, enum model_code why, uint32_t point,
                               const char *check) {
    for (size_t i = 0; i < job->cause_count; i++) {
        if (same(&job->causes[i], why, point, check)) {
            return &job->causes[i];
        }
    }
    return NULL;
}

// Whether it holds, or did so a moment ago.
static bool is_recent(const struct gate_site *site, const struct gate_job *job,
                      const struct gate_cause *cause, struct gate_time now) {
    return (cause->held && is_so(site, job, cause)) ||
           now.mono - cause->last.mono < GATE_CAUSE_AWAY_MS;
}

// The same word that said live made the point unknown: that is no further cause.
static bool said_live(const struct gate_site *site, const struct gate_job *job, uint32_t point,
                      struct gate_time now) {
    const struct gate_cause *live =
        point != MODEL_NONE ? find(job, MODEL_CODE_POINT_LIVE, point, NULL) : NULL;
    return live != NULL && live->said && is_recent(site, job, live, now);
}

// Rule (3, alarms; R17): The same cause that comes back after 5 s without it is a further one.
// [cause-back-unheard]
// Rule (3, alarms; R17): A cause that goes on is no further one. [cause-that-goes-on]
// Rule (3, alarms; R1, R17): The word of live that makes its point unknown is one cause.
// [cause-word-twice]
bool gate_cause_is_further(const struct gate_site *site, const struct gate_job *job,
                           const struct gate_break_cause *cause, struct gate_time now) {
    const struct gate_cause *known =
        find(job, cause->why, cause->point, cause->check != NULL ? cause->check->check : NULL);
    if (known != NULL && is_recent(site, job, known, now)) {
        return false;
    }
    return reason_of(cause->why) != REASON_UNKNOWN || !said_live(site, job, cause->point, now);
}

static const struct gate_cause *newest(const struct gate_job *job) {
    const struct gate_cause *newest = &job->causes[0];
    for (size_t i = 1; i < job->cause_count; i++) {
        newest = job->causes[i].came > newest->came ? &job->causes[i] : newest;
    }
    return newest;
}

// Rule (3, alarms; R17): An alarm says the worst cause that holds, not the newest. [cause-newest]
// Rule (3, alarms; R17): What holds no longer is not what an alarm says. [cause-that-is-over]
struct gate_break_cause gate_cause_worst(const struct gate_site *site, const struct gate_job *job,
                                         struct gate_time now) {
    const struct gate_cause *worst = newest(job);
    for (size_t i = 0; i < job->cause_count; i++) {
        const struct gate_cause *cause = &job->causes[i];
        bool holds = cause->held && is_so(site, job, cause);
        bool said = cause->said && is_recent(site, job, cause, now);
        if ((holds || said) && reason_of(cause->why) < reason_of(worst->why)) {
            worst = cause;
        }
    }
    return (struct gate_break_cause){worst->why, worst->point, gate_check_of(job, worst->check)};
}

bool gate_cause_was_live(const struct gate_job *job, uint32_t point, struct gate_time now) {
    for (size_t i = 0; i < job->cause_count; i++) {
        const struct gate_cause *cause = &job->causes[i];
        if (cause->point == point && reason_of(cause->why) <= REASON_DISAGREES && !cause->held &&
            cause->last.mono == now.mono) {
            return true;
        }
    }
    return false;
}

bool gate_cause_note(const struct gate_site *site, struct gate_job *job, enum model_code why,
                     uint32_t point, const char *check, struct gate_time at) {
    struct gate_cause *cause = find(job, why, point, check);
    if (cause == NULL) {
        if (!BASE_ARRAY_ROOM(job->causes, job->cause_count, job->cause_capacity)) {
            return false;
        }
        cause = &job->causes[job->cause_count++];
        memset(cause, 0, sizeof *cause);
        cause->point = point;
        gate_id_copy(cause->check, check);
    }
    cause->why = why;
    cause->last = at;
    cause->came = job->order;
    cause->held = true;
    cause->said = why == MODEL_CODE_POINT_LIVE && point != MODEL_NONE &&
                  site->points[point].state != MODEL_POINT_LIVE;
    return true;
}

// Rule (3, alarms; R1, R17): Once the point reads live, its loss is another reason again.
// [cause-said-for-ever]
void gate_causes_end(struct gate_site *site, struct gate_time at) {
    for (size_t i = 0; i < site->job_count; i++) {
        struct gate_job *job = site->jobs[i];
        for (size_t c = 0; c < job->cause_count; c++) {
            struct gate_cause *cause = &job->causes[c];
            if (cause->said && site->points[cause->point].state == MODEL_POINT_LIVE) {
                cause->said = false;
            }
            if (cause->held && !is_so(site, job, cause)) {
                cause->held = false;
                cause->last = at;
            }
        }
    }
}
