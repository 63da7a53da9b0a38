// Breaking a lockout, and what it draws with it: the work stops, the isolation is held no more, an
// alarm stands.
#include "gate/break.h"

#include "gate/alarm.h"
#include "gate/emit.h"
#include "gate/text.h"

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

// Rule (5, Breaking): A break while working stops the work. [live-does-not-stop]
// Rule (5, Breaking): A break raises lockout-broken. [break-without-alarm]
// Rule (5, Breaking): A second break raises an acknowledged alarm again. [break-raises-once]
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
    if (job->isolation != GATE_ISOLATION_NONE) {
        gate_isolation_end(gate, site, job, now);
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

// Rule (5, Breaking; 29 CFR 1910.147(d)(5) [P]): A failed relieve check stops the work as a failed
// verify does. [failed-relieve-goes-on]
// Rule (5, Breaking): A failed reading while stopped raises the alarm again.
// [failed-check-while-stopped]
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
