// The lockout of every standing job after anything changed: who is protected, whether the isolation
// is held, whether it is confirmed, lost or broken.
#include "gate/alarm.h"
#include "gate/break.h"
#include "gate/emit.h"
#include "gate/find.h"
#include "gate/lockout.h"
#include "gate/review.h"

// Rule (5, Breaking): Another of the crew who lifts a tag is unprotected until it is hung.
// [crew-protection-untold]
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

// The isolation is held no longer. In `working` that breaks the lockout whatever it was; in
// `stopped`, and where a restart left it unproven, a point breaks it while a lifted tag (judged
// where it was lifted) does not.
static void isolation_gone(struct gate *gate, struct gate_site *site, struct gate_job *job,
                           const struct gate_fault *fault, struct gate_time now) {
    bool by_point = fault->kind == GATE_FAULT_POINT &&
                    (job->phase == MODEL_PHASE_STOPPED || job->lockout == MODEL_LOCKOUT_UNPROVEN);
    if (job->phase == MODEL_PHASE_WORKING || by_point) {
        gate_break_by_point(gate, site, job, fault->why, fault->point, now);
    } else {
        gate_isolation_end(gate, site, job, now);
    }
}

static void review_isolation(struct gate *gate, struct gate_site *site, struct gate_job *job,
                             struct gate_time now) {
    struct gate_fault fault = gate_isolation_fault(gate, site, job, now);
    if (job->isolation != GATE_ISOLATION_NONE && fault.kind != GATE_FAULT_NONE) {
        isolation_gone(gate, site, job, &fault, now);
    } else if (job->isolation == GATE_ISOLATION_NONE && fault.kind == GATE_FAULT_NONE) {
        gate_isolation_begin(gate, site, job, now);
    } else if (job->isolation == GATE_ISOLATION_UNPROVEN &&
               gate_isolation_proved(gate, site, job, now)) {
        gate_isolation_begin(gate, site, job, now);
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

// A relieve or verify check that is signed, stands but for its age, and passed.
static const struct model_check *lapsed(const struct gate_job *job, struct gate_time now) {
    for (size_t i = 0; i < job->needs->check_count; i++) {
        const struct model_check *check = &job->needs->checks[i];
        const struct gate_signature *signature = gate_signature_of(job, check->check);
        bool rests = check->group == MODEL_GROUP_RELIEVE || check->group == MODEL_GROUP_VERIFY;
        if (rests && signature != NULL && signature->pass && !signature->void_ &&
            gate_signature_lapsed(job, signature, now)) {
            return check;
        }
    }
    return NULL;
}

// Rule (5, Breaking; R5): A relieve or verify check whose valid_s goes by while working stops the
// work. [lapse-while-working]
// Rule (5, Breaking; R5): While stopped it raises the alarm: people may be in the cabinet.
// [lapse-while-stopped]
// Rule (5, Breaking): Elsewhere the lockout is lost by it, without an alarm. [lapse-in-open-raises]
static void review_lapse(struct gate *gate, struct gate_site *site, struct gate_job *job,
                         struct gate_time now) {
    bool in_cabinet = job->phase == MODEL_PHASE_WORKING || job->phase == MODEL_PHASE_STOPPED;
    const struct model_check *check = in_cabinet ? lapsed(job, now) : NULL;
    if (check != NULL) {
        gate_break_by_age(gate, site, job, check, now);
    }
}

// Rule (5, Breaking): A lockout broken after the finish stays broken until rework or the return.
// [broken-confirmed-after-finish]
// Rule (5, Lockout): A confirmed lockout that goes while nobody works is lost. [lost-untold]
// Rule (5, Lockout; 29 CFR 1910.147(d)(5)-(6) [P], 1910.333(b)(2)(iv)(B) [P]): A lockout is
// confirmed only when every relieve and verify check is signed and stands.
// [confirmed-without-signatures]
// Rule (5, Breaking): Proof anew returns the lockout-broken alarm. [alarm-stays-though-confirmed]
static void review_lockout(struct gate *gate, struct gate_site *site, struct gate_job *job,
                           struct gate_time now) {
    bool holds = job->isolation == GATE_ISOLATION_HELD && gate_signatures_hold(job, now);
    bool may = job->phase == MODEL_PHASE_OPEN || job->phase == MODEL_PHASE_STOPPED ||
               job->phase == MODEL_PHASE_WORKING;
    // What was broken after the finish stays so until rework or the return; what only a restart
    // left unproven is confirmed again in any phase.
    may |= job->lockout == MODEL_LOCKOUT_UNPROVEN;
    if (holds && may && job->lockout != MODEL_LOCKOUT_CONFIRMED) {
        set_lockout(gate, site, job, GATE_FACT_LOCKOUT_CONFIRMED, MODEL_LOCKOUT_CONFIRMED, now);
        struct gate_alarm_about about = {.kind = MODEL_ALARM_LOCKOUT_BROKEN, .job = job};
        gate_alarm_clear(gate, site, &about, now);
    } else if (!holds && job->phase == MODEL_PHASE_WORKING &&
               job->isolation == GATE_ISOLATION_HELD) {
        gate_break_by_point(gate, site, job, MODEL_CODE_CHECK_VOID, MODEL_NONE, now);
    } else if (!holds && (job->lockout == MODEL_LOCKOUT_CONFIRMED ||
                          (job->lockout == MODEL_LOCKOUT_UNPROVEN &&
                           job->isolation != GATE_ISOLATION_UNPROVEN))) {
        set_lockout(gate, site, job, GATE_FACT_LOCKOUT_LOST, MODEL_LOCKOUT_UNCONFIRMED, now);
    }
}

// A reading, an age or an outage broke it: isolated and locked it may be.
static void hold_anew(struct gate *gate, struct gate_site *site, struct gate_job *job,
                      struct gate_time now) {
    if (job->isolation == GATE_ISOLATION_NONE) {
        review_isolation(gate, site, job, now);
    }
}

// Rule (5, Breaking; R5): Whose tags a failed measure took is told of it at once.
// [measure-protection-late]
// Rule (5, Breaking): After a break by a measure the hold is judged at once, so that what is
// measured next proves anew. [measure-hold-lost]
// Rule (5, Breaking): So it is after a break by an age or an outage: what is signed next proves
// anew. [outage-hold-lost]
void gate_review_jobs(struct gate *gate, struct gate_site *site, struct gate_time now) {
    for (size_t i = 0; i < site->job_count; i++) {
        struct gate_job *job = site->jobs[i];
        if (gate_job_stands(job)) {
            review_protection(gate, site, job, now);
            review_isolation(gate, site, job, now);
            gate_review_measures(gate, site, job, now);
            review_protection(gate, site, job, now);
            review_lapse(gate, site, job, now);
            gate_review_outage(gate, site, job, now);
            hold_anew(gate, site, job, now);
            review_lockout(gate, site, job, now);
        }
    }
}
