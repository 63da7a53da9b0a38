// The lockout of a job: whether it holds, when it breaks, what breaking draws with it.
//
// 29 CFR 1910.147(d) orders shut down, isolate, lock, relieve, verify; (e) and (f) say when that
// ends. The hold (points and the leader's tags) is what relieve and verify rest on; the lockout is
// the hold with those checks signed.
#include "gate/internal.h"

// Before a restart the hold stood; each point must be heard again before it grows too old. A first
// isolated settles without breaking.
static bool unproven_point_holds(const struct gate *gate, const struct gate_site *site,
                                 uint32_t point, const struct gate_view *view,
                                 struct gate_time now) {
    (void)gate;
    const struct model_point *model = &site->model->points[point];
    if (view->state == MODEL_POINT_ISOLATED) {
        return true;
    }
    if (view->state == MODEL_POINT_LIVE || model->sensor_count == 0) {
        return false;
    }
    for (size_t i = 0; i < model->sensor_count; i++) {
        if (site->sensors[model->sensors[i]].bad) {
            return false;
        }
    }
    if (model->controller != MODEL_NONE &&
        site->controllers[model->controller] == GATE_CONTROLLER_OFFLINE) {
        return false;
    }
    return now.line - site->hearing[point].heard_before <= model->max_age_ms;
}

static bool point_holds(const struct gate *gate, const struct gate_site *site,
                        const struct gate_job *job, uint32_t point, struct gate_time now,
                        enum model_code *why) {
    int64_t next = INT64_MAX;
    struct gate_view view = gate_point_for_job(gate, site, job, point, now, &next);
    *why = gate_view_code(&view);
    if (gate_view_isolated(&view)) {
        return true;
    }
    if (job->hold != GATE_HOLD_UNPROVEN) {
        return false;
    }
    if (view.state == MODEL_POINT_UNKNOWN && view.trust == MODEL_TRUST_SILENT) {
        *why = MODEL_CODE_POINT_STALE; // not heard again in time
    }
    return unproven_point_holds(gate, site, point, &view, now);
}

struct gate_fault gate_hold_fault(const struct gate *gate, const struct gate_site *site,
                                  const struct gate_job *job, struct gate_time now) {
    for (size_t i = 0; i < job->required_count; i++) {
        enum model_code why;
        if (!point_holds(gate, site, job, job->required[i], now, &why)) {
            return (struct gate_fault){GATE_FAULT_POINT, why, job->required[i]};
        }
    }
    for (size_t i = 0; i < job->required_count; i++) {
        if (!gate_tag_counts(site, job->required[i], job->job, job->leader)) {
            return (struct gate_fault){GATE_FAULT_TAG, MODEL_CODE_TAG_MISSING, job->required[i]};
        }
    }
    if (job->leader[0] == '\0' || job->required_count == 0 ||
        gate_unmapped(site->model, job->needs, job->position) != NULL) {
        return (struct gate_fault){GATE_FAULT_TAG, MODEL_CODE_ENERGY_UNMAPPED, MODEL_NONE};
    }
    return (struct gate_fault){GATE_FAULT_NONE, MODEL_CODE_COUNT, MODEL_NONE};
}

// Whether every required point is isolated, settled and trusted now: an unproven hold is then
// proved.
static bool hold_proved(const struct gate *gate, const struct gate_site *site,
                        const struct gate_job *job, struct gate_time now) {
    for (size_t i = 0; i < job->required_count; i++) {
        int64_t next = INT64_MAX;
        struct gate_view view = gate_point_for_job(gate, site, job, job->required[i], now, &next);
        if (!gate_view_isolated(&view)) {
            return false;
        }
    }
    return gate_hold_fault(gate, site, job, now).kind == GATE_FAULT_NONE;
}

bool gate_group_needed(enum model_group group) {
    return group == MODEL_GROUP_VERIFY || group == MODEL_GROUP_CLEAR;
}

bool gate_group_signed(const struct gate_job *job, enum model_group group, struct gate_time now) {
    bool any = false;
    for (size_t i = 0; i < job->needs->check_count; i++) {
        const struct model_check *check = &job->needs->checks[i];
        if (check->group != group) {
            continue;
        }
        const struct gate_signature *signature = gate_signature_of(job, check->check);
        if (signature == NULL || !signature->pass || gate_signature_void(job, signature, now)) {
            return false;
        }
        any = true;
    }
    return any || !gate_group_needed(group);
}

bool gate_signatures_hold(const struct gate_job *job, struct gate_time now) {
    return gate_group_signed(job, MODEL_GROUP_RELIEVE, now) &&
           gate_group_signed(job, MODEL_GROUP_VERIFY, now);
}

static void emit_hold(struct gate *gate, struct gate_site *site, struct gate_job *job, bool begun,
                      struct gate_time now) {
    struct gate_fact fact =
        gate_fact_of_job(gate, site, job, begun ? GATE_FACT_HOLD_BEGUN : GATE_FACT_HOLD_ENDED, now);
    gate_emit(gate, &fact);
}

void gate_hold_end(struct gate *gate, struct gate_site *site, struct gate_job *job,
                   struct gate_time now) {
    emit_hold(gate, site, job, false, now);
}

static void stop_work(struct gate *gate, struct gate_site *site, struct gate_job *job,
                      enum model_code why, const char *say, struct gate_time now) {
    struct gate_fact fact = gate_fact_of_job(gate, site, job, GATE_FACT_WORK_STOPPED, now);
    fact.has_phase = true;
    fact.phase = MODEL_PHASE_STOPPED;
    fact.has_why = true;
    fact.why = why;
    fact.reason = say;
    gate_emit(gate, &fact);
}

void gate_break(struct gate *gate, struct gate_site *site, struct gate_job *job,
                enum model_code why, uint32_t point, const char *say, struct gate_time now) {
    struct gate_fact fact = gate_fact_of_job(gate, site, job, GATE_FACT_LOCKOUT_BROKEN, now);
    fact.point = point != MODEL_NONE ? site->model->points[point].point : NULL;
    fact.has_why = true;
    fact.why = why;
    fact.say = say;
    fact.has_lockout = true;
    fact.lockout = MODEL_LOCKOUT_BROKEN;
    gate_emit(gate, &fact);
    if (job->phase == MODEL_PHASE_WORKING) {
        stop_work(gate, site, job, why, say, now);
    }
    if (job->hold != GATE_HOLD_NONE) {
        gate_hold_end(gate, site, job, now);
    }
    struct gate_alarm_about about = {.kind = MODEL_ALARM_LOCKOUT_BROKEN,
                                     .job = job,
                                     .position = job->position,
                                     .point = point,
                                     .has_why = true,
                                     .why = why,
                                     .say = say};
    gate_alarm_raise(gate, site, &about, true, now);
}

void gate_break_by_point(struct gate *gate, struct gate_site *site, struct gate_job *job,
                         enum model_code why, uint32_t point, struct gate_time now) {
    const char *what = why == MODEL_CODE_POINT_LIVE           ? "reads LIVE"
                       : why == MODEL_CODE_POINT_DISAGREES    ? "has sensors that disagree"
                       : why == MODEL_CODE_POINT_STALE        ? "is no longer heard"
                       : why == MODEL_CODE_CONTROLLER_OFFLINE ? "has lost its controller"
                       : why == MODEL_CODE_TAG_MISSING        ? "has lost the leader's lock"
                                                              : "is no longer proved isolated";
    char say[240];
    gate_text(say, sizeof say, "%s %s. Stop, hands out, keep clear.",
              point != MODEL_NONE ? site->model->points[point].title : "The lockout", what);
    gate_break(gate, site, job, why, point, say, now);
}

void gate_break_by_check(struct gate *gate, struct gate_site *site, struct gate_job *job,
                         const struct model_check *check, struct gate_time now) {
    bool in_cabinet = job->phase == MODEL_PHASE_WORKING || job->phase == MODEL_PHASE_STOPPED;
    if (!in_cabinet ||
        (check->group != MODEL_GROUP_RELIEVE && check->group != MODEL_GROUP_VERIFY)) {
        return;
    }
    char say[240];
    gate_text(say, sizeof say, "%s: outside its limits. Stop, hands out, keep clear.", check->ask);
    gate_break(gate, site, job, MODEL_CODE_CHECK_FAILED, MODEL_NONE, say, now);
}

// --- Every standing job, after anything changed ---

static void review_protection(struct gate *gate, struct gate_site *site, struct gate_job *job,
                              struct gate_time now) {
    for (size_t i = 0; i < job->crew_count; i++) {
        bool is = gate_protected(site, job, job->crew[i].person);
        if (is == job->crew[i].protected) {
            continue;
        }
        struct gate_fact fact = gate_fact_of_job(
            gate, site, job, is ? GATE_FACT_CREW_PROTECTED : GATE_FACT_CREW_UNPROTECTED, now);
        fact.person = job->crew[i].person;
        gate_emit(gate, &fact);
    }
}

// The hold is gone. In `working` that breaks the lockout whatever it was; in `stopped`, and where a
// restart left it unproven, a point breaks it while a lifted tag (judged where it was lifted) does
// not.
static void hold_gone(struct gate *gate, struct gate_site *site, struct gate_job *job,
                      const struct gate_fault *fault, struct gate_time now) {
    bool by_point = fault->kind == GATE_FAULT_POINT &&
                    (job->phase == MODEL_PHASE_STOPPED || job->lockout == MODEL_LOCKOUT_UNPROVEN);
    if (job->phase == MODEL_PHASE_WORKING || by_point) {
        gate_break_by_point(gate, site, job, fault->why, fault->point, now);
    } else {
        gate_hold_end(gate, site, job, now);
    }
}

static void review_hold(struct gate *gate, struct gate_site *site, struct gate_job *job,
                        struct gate_time now) {
    struct gate_fault fault = gate_hold_fault(gate, site, job, now);
    if (job->hold != GATE_HOLD_NONE && fault.kind != GATE_FAULT_NONE) {
        hold_gone(gate, site, job, &fault, now);
    } else if (job->hold == GATE_HOLD_NONE && fault.kind == GATE_FAULT_NONE) {
        emit_hold(gate, site, job, true, now);
    } else if (job->hold == GATE_HOLD_UNPROVEN && hold_proved(gate, site, job, now)) {
        emit_hold(gate, site, job, true, now);
    }
}

static void set_lockout(struct gate *gate, struct gate_site *site, struct gate_job *job,
                        enum gate_fact_type type, enum model_lockout lockout,
                        struct gate_time now) {
    struct gate_fact fact = gate_fact_of_job(gate, site, job, type, now);
    fact.has_lockout = true;
    fact.lockout = lockout;
    gate_emit(gate, &fact);
}

static void review_lockout(struct gate *gate, struct gate_site *site, struct gate_job *job,
                           struct gate_time now) {
    bool holds = job->hold == GATE_HOLD_HELD && gate_signatures_hold(job, now);
    bool may = job->phase == MODEL_PHASE_OPEN || job->phase == MODEL_PHASE_STOPPED ||
               job->phase == MODEL_PHASE_WORKING;
    // What was broken after the finish stays so until rework or the return; what only a restart
    // left unproven is confirmed again in any phase.
    may |= job->lockout == MODEL_LOCKOUT_UNPROVEN;
    if (holds && may && job->lockout != MODEL_LOCKOUT_CONFIRMED) {
        set_lockout(gate, site, job, GATE_FACT_LOCKOUT_CONFIRMED, MODEL_LOCKOUT_CONFIRMED, now);
        struct gate_alarm_about about = {.kind = MODEL_ALARM_LOCKOUT_BROKEN, .job = job};
        gate_alarm_clear(gate, site, &about, now);
    } else if (!holds && job->phase == MODEL_PHASE_WORKING && job->hold == GATE_HOLD_HELD) {
        gate_break_by_point(gate, site, job, MODEL_CODE_CHECK_VOID, MODEL_NONE, now);
    } else if (!holds &&
               (job->lockout == MODEL_LOCKOUT_CONFIRMED ||
                (job->lockout == MODEL_LOCKOUT_UNPROVEN && job->hold != GATE_HOLD_UNPROVEN))) {
        set_lockout(gate, site, job, GATE_FACT_LOCKOUT_LOST, MODEL_LOCKOUT_UNCONFIRMED, now);
    }
}

void gate_review_jobs(struct gate *gate, struct gate_site *site, struct gate_time now) {
    for (size_t i = 0; i < site->job_count; i++) {
        struct gate_job *job = site->jobs[i];
        if (gate_job_stands(job)) {
            review_protection(gate, site, job, now);
            review_hold(gate, site, job, now);
            gate_review_measures(gate, site, job, now);
            if (job->hold == GATE_HOLD_NONE) { // a measure broke it: isolated and locked it may be
                review_hold(gate, site, job, now);
            }
            review_lockout(gate, site, job, now);
        }
    }
}
