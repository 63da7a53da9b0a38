// Breaking a lockout, and what it draws with it: the work stops, the isolation is held no more, an
// alarm stands.
#include "gate/break.h"

#include <string.h>

#include "gate/alarm.h"
#include "gate/emit.h"
#include "gate/find.h"

static void emit_isolation(struct gate *gate, struct gate_site *site, struct gate_job *job,
                           bool begun, struct gate_time now) {
    struct gate_fact fact =
        gate_fact_of_job(gate, site, job, begun ? GATE_FACT_HOLD_BEGUN : GATE_FACT_HOLD_ENDED, now);
    gate_emit(gate, &fact);
}

void gate_isolation_begin(struct gate *gate, struct gate_site *site, struct gate_job *job,
                          struct gate_time now) {
    emit_isolation(gate, site, job, true, now);
}

void gate_isolation_end(struct gate *gate, struct gate_site *site, struct gate_job *job,
                        struct gate_time now) {
    emit_isolation(gate, site, job, false, now);
}

void gate_stop_work(struct gate *gate, struct gate_site *site, struct gate_job *job,
                    enum model_code why, const char *say, struct gate_time now) {
    struct gate_fact fact = gate_fact_of_job(gate, site, job, GATE_FACT_WORK_STOPPED, now);
    fact.has_phase = true;
    fact.phase = job->phase == MODEL_PHASE_WORKING ? MODEL_PHASE_STOPPED : MODEL_PHASE_RESTORING;
    fact.has_why = true;
    fact.why = why;
    fact.reason = say;
    gate_emit(gate, &fact);
}

static enum gate_say sentence_of(enum model_code why, uint32_t point) {
    switch (why) {
    case MODEL_CODE_POINT_LIVE:
        return GATE_SAY_ALARM_LIVE;
    case MODEL_CODE_POINT_DISAGREES:
        return GATE_SAY_ALARM_DISAGREES;
    case MODEL_CODE_CHECK_FAILED:
        return GATE_SAY_ALARM_CHECK_FAILED;
    case MODEL_CODE_TAG_MISSING:
        return GATE_SAY_ALARM_TAG;
    case MODEL_CODE_LINK_DOWN:
        return GATE_SAY_ALARM_LINK;
    case MODEL_CODE_CHECK_VOID:
        return GATE_SAY_ALARM_VOID;
    default:
        break;
    }
    return point == MODEL_NONE && why == MODEL_CODE_POINT_STALE ? GATE_SAY_ALARM_AWAY
           : point == MODEL_NONE                                ? GATE_SAY_ALARM_UNPROVED
           : why == MODEL_CODE_POINT_STALE                      ? GATE_SAY_ALARM_STALE
           : why == MODEL_CODE_CONTROLLER_OFFLINE               ? GATE_SAY_ALARM_OFFLINE
                                                                : GATE_SAY_ALARM_UNKNOWN;
}

// What a failed reading was, and its limits.
static void put_reading(struct gate_args *args, const struct gate_job *job,
                        const struct model_check *check) {
    const struct gate_signature *signature = gate_signature_of(job, check->check);
    args->unit = check->unit;
    args->has_min = check->limits.has_min;
    args->has_max = check->limits.has_max;
    args->min = check->limits.min;
    args->max = check->limits.max;
    if (signature != NULL) {
        args->by = signature->by;
        args->has_value = signature->has_value;
        args->value = signature->value;
    }
}

// The sentence of a cause, and what it is made of.
static void tell(struct gate_refusal *told, const struct gate_site *site,
                 const struct gate_job *job, const struct gate_break_cause *cause) {
    struct gate_args args = {.job = job->job};
    if (cause->point != MODEL_NONE) {
        args.point = site->model->points[cause->point].point;
        args.title = site->model->points[cause->point].title;
    }
    if (cause->check != NULL) {
        args.check = cause->check->check;
        args.title = cause->check->ask;
    }
    if (cause->check != NULL && cause->why == MODEL_CODE_CHECK_FAILED) {
        put_reading(&args, job, cause->check);
    }
    gate_alarm_say_make(told, sentence_of(cause->why, cause->point), &args);
}

// Rule (3, alarms; R17): The alarm says the worst of the causes that hold. [alarm-says-the-newest]
static void raise_broken(struct gate *gate, struct gate_site *site, const struct gate_job *job,
                         const struct gate_break_cause *came, struct gate_time now) {
    // Without memory for what came it is told all the same.
    const struct gate_break_cause worst =
        job->cause_count > 0 ? gate_cause_worst(site, job, now) : *came;
    struct gate_refusal told;
    tell(&told, site, job, &worst);
    const struct gate_alarm_about about = {.kind = MODEL_ALARM_LOCKOUT_BROKEN,
                                           .job = job,
                                           .position = job->position,
                                           .point = worst.point,
                                           .has_why = true,
                                           .why = worst.why,
                                           .told = &told};
    gate_alarm_raise(gate, site, &about, true, now);
}

// Whether the alarm that stands is for this cause already.
// Rule (5, Breaking; R17): What goes on does not raise an alarm again. [break-goes-on-raises]
bool gate_break_is_told(const struct gate_site *site, const struct gate_job *job,
                        const struct gate_break_cause *cause, struct gate_time now) {
    const struct gate_alarm_about about = {.kind = MODEL_ALARM_LOCKOUT_BROKEN, .job = job};
    const struct gate_alarm *alarm = gate_alarm_about(site, &about);
    return alarm != NULL && alarm->state != MODEL_ALARM_RETURNED_UNACKNOWLEDGED &&
           !gate_cause_is_further(site, job, cause, now);
}

// Rule (5, Breaking): A break while working stops the work. [live-does-not-stop]
// Rule (5, Breaking; R5): A break while testing takes the job back to restoring, its tests void.
// [break-leaves-testing]
// Rule (5, Breaking): A break raises lockout-broken. [break-without-alarm]
// Rule (5, Breaking; R17): A further cause raises an acknowledged alarm again. [break-raises-once]
// Rule (3, alarms): Of a job that has ended meanwhile the alarm waits only to be acknowledged.
// [break-of-the-returned-for-ever]
void gate_break(struct gate *gate, struct gate_site *site, struct gate_job *job,
                const struct gate_break_cause *cause, struct gate_time now) {
    bool is_told_of = gate_break_is_told(site, job, cause, now);
    struct gate_refusal told;
    tell(&told, site, job, cause);
    struct gate_fact fact = gate_fact_of_job(gate, site, job, GATE_FACT_LOCKOUT_BROKEN, now);
    fact.point = cause->point != MODEL_NONE ? site->model->points[cause->point].point : NULL;
    fact.check = cause->check != NULL ? cause->check->check : NULL;
    fact.has_why = true;
    fact.why = cause->why;
    fact.say = told.say;
    fact.has_lockout = true;
    fact.lockout = MODEL_LOCKOUT_BROKEN;
    gate_emit(gate, &fact);
    if (job->phase == MODEL_PHASE_WORKING || job->phase == MODEL_PHASE_TESTING) {
        gate_stop_work(gate, site, job, cause->why, told.say, now);
    }
    if (job->isolation != GATE_ISOLATION_NONE) {
        gate_isolation_end(gate, site, job, now);
    }
    if (!is_told_of) {
        raise_broken(gate, site, job, cause, now);
    }
    if (!gate_job_stands(job)) {
        const struct gate_alarm_about about = {.kind = MODEL_ALARM_LOCKOUT_BROKEN, .job = job};
        gate_alarm_clear(gate, site, &about, now);
    }
}

void gate_break_by_point(struct gate *gate, struct gate_site *site, struct gate_job *job,
                         enum model_code why, uint32_t point, struct gate_time now) {
    const struct gate_break_cause cause = {why, point, NULL};
    gate_break(gate, site, job, &cause, now);
}

bool gate_group_stops(enum model_group group) {
    return group == MODEL_GROUP_PREPARE || group == MODEL_GROUP_RELIEVE ||
           group == MODEL_GROUP_VERIFY;
}

// Rule (5, Breaking; R5): A relieve check that passed in this hold and fails in open breaks: they
// had done draining. [failed-relieve-once-passed]
static bool passed_in_hold(const struct gate_job *job, const struct model_check *check) {
    for (size_t i = 0; i < job->signature_count; i++) {
        const struct gate_signature *signature = &job->signatures[i];
        if (signature->pass && signature->order > job->isolation_order &&
            strcmp(signature->check, check->check) == 0) {
            return true;
        }
    }
    return false;
}

// Whether a failed check says that somebody is in danger: anybody whose tag hangs, who may still
// have their hands in (stopped), or who stands beside what is energized (testing).
// Rule (5, Breaking; R2; 29 CFR 1910.147(d)(1) [P]): A failed prepare check breaks as a failed
// verify does: the air, the barricade. [failed-prepare-goes-on]
// Rule (5, Breaking; 29 CFR 1910.147(d)(5) [P]): A failed relieve check stops the work as a failed
// verify does. [failed-relieve-goes-on]
// Rule (5, Breaking; R5): A failed check breaks in every phase in which a tag of the job hangs.
// [failed-check-under-tags]
// Rule (5, Breaking; R2): A failed check breaks in testing, where no tag hangs.
// [failed-check-in-testing]
// Rule (5, Breaking): A failed reading while stopped raises the alarm again, also with no tag left.
// [failed-check-while-stopped]
// Rule (5, last paragraph; R2, R32): It breaks also while the return is written: for all the world
// the job is testing. [failed-check-while-returning]
// Rule (5, Breaking; R5): A relieve check that never passed in this hold fails in open without a
// break: they are still draining. [failed-relieve-while-draining]
static bool check_breaks(const struct gate_site *site, const struct gate_job *job,
                         const struct model_check *check) {
    bool draining = check->group == MODEL_GROUP_RELIEVE && job->phase == MODEL_PHASE_OPEN &&
                    !passed_in_hold(job, check);
    if (!gate_group_stops(check->group) || draining) {
        return false;
    }
    return job->phase == MODEL_PHASE_WORKING || job->phase == MODEL_PHASE_STOPPED ||
           job->phase == MODEL_PHASE_TESTING || job->phase == MODEL_PHASE_RETURNED ||
           gate_tags_hang(site, job->job, NULL);
}

// Energy was found where there should be none: what the locks hang on is not what holds it.
void gate_discount_tags_of(struct gate *gate, struct gate_site *site, const struct gate_job *job,
                           enum model_code why, struct gate_time now) {
    for (uint32_t p = 0; p < site->model->point_count; p++) {
        for (size_t i = 0; i < site->points[p].tag_count; i++) {
            const struct gate_tag tag = site->points[p].tags[i];
            if (!tag.counts || strcmp(tag.job, job->job) != 0) {
                continue;
            }
            struct gate_fact fact =
                gate_fact_of_point(gate, site, p, GATE_FACT_TAG_DISCOUNTED, now);
            fact.job = tag.job;
            fact.person = tag.person[0] != '\0' ? tag.person : NULL;
            fact.badge = tag.badge[0] != '\0' ? tag.badge : NULL;
            fact.has_why = true;
            fact.why = why;
            gate_emit(gate, &fact);
        }
    }
}

static bool any_tag_counts(const struct gate_site *site, const struct gate_job *job) {
    for (uint32_t p = 0; p < site->model->point_count; p++) {
        for (size_t i = 0; i < site->points[p].tag_count; i++) {
            const struct gate_tag *tag = &site->points[p].tags[i];
            if (tag->counts && strcmp(tag->job, job->job) == 0) {
                return true;
            }
        }
    }
    return false;
}

// Nothing was signed since, and nobody has acknowledged what it broke, or trusts a lock again.
// Rule (4, a stop; R12): A failed reading said again counts once while what it broke stands.
// [failed-again-counts, failed-again-though-seen, failed-again-though-signed]
// Rule (4, a stop; R12): After a failed verify and a lock hung anew it is a new failure.
// [failed-again-though-hung]
bool gate_failure_stands(const struct gate_site *site, const struct gate_job *job,
                         const struct model_check *check, const char *by, bool has_value,
                         double value) {
    const struct gate_signature *last =
        job->signature_count > 0 ? &job->signatures[job->signature_count - 1] : NULL;
    bool same = last != NULL && strcmp(last->check, check->check) == 0 && !last->pass &&
                strcmp(last->by, by) == 0 && last->has_value == has_value &&
                (!has_value || last->value == value);
    if (!same || (check->group == MODEL_GROUP_VERIFY && any_tag_counts(site, job))) {
        return false;
    }
    const struct gate_alarm_about about = {.kind = MODEL_ALARM_LOCKOUT_BROKEN, .job = job};
    const struct gate_alarm *alarm = gate_alarm_about(site, &about);
    return !check_breaks(site, job, check) ||
           (alarm != NULL && alarm->state == MODEL_ALARM_UNACKNOWLEDGED);
}

static bool failed_since(const struct gate_job *job, const char *check, const char *by,
                         struct gate_time since) {
    for (size_t i = 0; i < job->signature_count; i++) {
        const struct gate_signature *signature = &job->signatures[i];
        if (!signature->pass && signature->at.mono >= since.mono &&
            strcmp(signature->check, check) == 0 && strcmp(signature->by, by) == 0) {
            return true;
        }
    }
    return false;
}

// Rule (4, a stop; R12): A failed reading taken once already, ahead of its turn or before a commit
// that failed, counts no second time. [failed-done-counts]
// Rule (4, a stop; R12): But it does where the check passed, or a lock was hung, by what was asked
// before it. [failed-done-undone]
bool gate_failure_holds(const struct gate_site *site, const struct gate_job *job,
                        const struct model_check *check, const char *by, struct gate_time since) {
    const struct gate_signature *newest = gate_signature_of(job, check->check);
    return failed_since(job, check->check, by, since) && !newest->pass &&
           (check->group != MODEL_GROUP_VERIFY || !any_tag_counts(site, job));
}

// Rule (5, Breaking; R5; 29 CFR 1910.147(d)(6) [P], 1910.333(b)(2)(iv)(B) [P]): After a failed
// verify check no tag of the job counts until it is hung again. [failed-verify-spares-tags]
void gate_break_by_check(struct gate *gate, struct gate_site *site, struct gate_job *job,
                         const struct model_check *check, struct gate_time now) {
    if (check_breaks(site, job, check)) {
        const struct gate_break_cause cause = {MODEL_CODE_CHECK_FAILED, MODEL_NONE, check};
        gate_break(gate, site, job, &cause, now);
    }
    if (check->group == MODEL_GROUP_VERIFY) {
        gate_discount_tags_of(gate, site, job, MODEL_CODE_CHECK_FAILED, now);
    }
}

void gate_break_by_age(struct gate *gate, struct gate_site *site, struct gate_job *job,
                       const struct model_check *check, struct gate_time now) {
    const struct gate_break_cause cause = {MODEL_CODE_CHECK_VOID, MODEL_NONE, check};
    gate_break(gate, site, job, &cause, now);
}
