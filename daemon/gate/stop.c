// Calling a stop: what it draws with it, and whether the newest one stands.
#include "gate/stop.h"

#include <string.h>

#include "gate/alarm.h"
#include "gate/emit.h"
#include "gate/text.h"

static struct gate_alarm_about about_stop(const struct gate_job *job) {
    return (struct gate_alarm_about){.kind = MODEL_ALARM_STOP_CALLED,
                                     .job = job,
                                     .position = job->position,
                                     .point = MODEL_NONE};
}

static bool is_signed_since(const struct gate_job *job) {
    for (size_t i = 0; i < job->signature_count; i++) {
        if (job->signatures[i].order > job->stop.order) {
            return true;
        }
    }
    return false;
}

// Rule (4, a stop; R12): A stop said again counts once: the same person's, for the same reason,
// nothing signed since. [stop-again-of-anybody, stop-again-for-another-reason,
// stop-again-though-signed]
// Rule (4, a stop; R12): A stop whose alarm was acknowledged does not stand: it is called anew.
// [stop-again-though-seen]
// Rule (4, stop-work; R3): A stop that only adds a reason to one's own without a reason counts
// once. [stop-reason-counts]
bool gate_stop_stands(const struct gate_site *site, const struct gate_job *job, const char *by,
                      const char *reason, bool *adds) {
    const struct gate_alarm_about about = about_stop(job);
    uint64_t mark = gate_text_mark(reason);
    bool explains = job->stop.reason == 0 && mark != 0;
    bool stands = strcmp(job->stop.by, by) == 0 && (job->stop.reason == mark || explains) &&
                  !is_signed_since(job) && gate_alarm_about(site, &about) != NULL;
    *adds = stands && explains;
    return stands;
}

// Rule (4, a stop; R12): A stop done once already, ahead of its turn or before a commit that
// failed, is not called again; nor is it because it was acknowledged meanwhile.
// [stop-done-called-again]
bool gate_stop_called_since(const struct gate_job *job, struct gate_time since) {
    return job->stop.by[0] != '\0' && job->stop.at.mono >= since.mono;
}

static void lose_lockout(struct gate *gate, struct gate_site *site, struct gate_job *job,
                         struct gate_time now) {
    struct gate_fact fact = gate_fact_of_job(gate, site, job, GATE_FACT_LOCKOUT_LOST, now);
    fact.has_lockout = true;
    fact.lockout = MODEL_LOCKOUT_UNCONFIRMED;
    gate_emit(gate, &fact);
}

// What a stop is by and for, as a fact of the job and as its alarm.
static struct gate_fact fact_of(struct gate *gate, struct gate_site *site, struct gate_job *job,
                                enum gate_fact_type type, const char *by, const char *reason,
                                struct gate_time now) {
    struct gate_fact fact = gate_fact_of_job(gate, site, job, type, now);
    fact.by = by;
    fact.reason = reason;
    return fact;
}

// Rule (4, stop-work): A stop while working stops the work. [stop-leaves-working]
// Rule (4, stop-work): A stop after the finish goes back to restoring. [stop-leaves-testing]
static void stop_work(struct gate *gate, struct gate_site *site, struct gate_job *job,
                      const char *by, const char *reason, struct gate_time now) {
    bool working = job->phase == MODEL_PHASE_WORKING;
    if (!working && job->phase != MODEL_PHASE_RESTORING && job->phase != MODEL_PHASE_TESTING) {
        return; // nobody works or tests, and the job stays where it is
    }
    struct gate_fact fact = fact_of(gate, site, job, GATE_FACT_WORK_STOPPED, by, reason, now);
    fact.has_phase = true;
    fact.phase = working ? MODEL_PHASE_STOPPED : MODEL_PHASE_RESTORING;
    gate_emit(gate, &fact);
}

static void raise(struct gate *gate, struct gate_site *site, struct gate_job *job, const char *by,
                  const char *reason, bool again, struct gate_time now) {
    const struct gate_args args = {.job = job->job, .by = by, .reason = reason};
    struct gate_alarm_about about = about_stop(job);
    about.by = by;
    about.sentence = GATE_SAY_ALARM_STOP_CALLED;
    about.args = &args;
    if (again) {
        gate_alarm_raise(gate, site, &about, true, now);
    } else {
        gate_alarm_reword(gate, site, &about, now);
    }
}

// Rule (4, stop-work; R3): After a called stop the lockout is confirmed no longer.
// [stop-stays-confirmed]
// Rule (5, Lockout): One that is broken stays so until it is proved anew. [stop-mends-broken]
// Rule (4, stop-work; R3): A called stop stands as an alarm. [stop-without-alarm]
void gate_stop_call(struct gate *gate, struct gate_site *site, struct gate_job *job, const char *by,
                    const char *reason, struct gate_time now) {
    struct gate_fact fact = fact_of(gate, site, job, GATE_FACT_STOP_CALLED, by, reason, now);
    fact.has_phase = true;
    fact.phase = job->phase;
    gate_emit(gate, &fact);
    if (job->lockout == MODEL_LOCKOUT_CONFIRMED || job->lockout == MODEL_LOCKOUT_UNPROVEN) {
        lose_lockout(gate, site, job, now);
    }
    stop_work(gate, site, job, by, reason, now);
    raise(gate, site, job, by, reason, true, now);
}

void gate_stop_explain(struct gate *gate, struct gate_site *site, struct gate_job *job,
                       const char *by, const char *reason, struct gate_time now) {
    struct gate_fact fact = fact_of(gate, site, job, GATE_FACT_STOP_EXPLAINED, by, reason, now);
    gate_emit(gate, &fact);
    raise(gate, site, job, by, reason, false, now);
}

// Rule (4, a stop; R12): What was asked before a stop and is decided after it does not undo it.
// [stop-done-undone]
bool gate_stop_uphold(struct gate *gate, struct gate_site *site, struct gate_job *job,
                      const char *by, struct gate_time now) {
    if (!is_signed_since(job)) {
        return false;
    }
    struct gate_fact fact = fact_of(gate, site, job, GATE_FACT_STOP_UPHELD, by, NULL, now);
    gate_emit(gate, &fact);
    return true;
}
