// When the leader of a job is to check in, and the alarm that they have not.
#include "gate/check_in.h"

#include "gate/alarm.h"
#include "gate/review.h"

static struct gate_alarm_about about_check_in(const struct gate_job *job) {
    return (struct gate_alarm_about){.kind = MODEL_ALARM_CHECK_IN_OVERDUE,
                                     .job = job,
                                     .position = job->position,
                                     .point = MODEL_NONE,
                                     .subject = job->leader,
                                     .sentence = GATE_SAY_ALARM_CHECK_IN};
}

// Rule (2, check_in_s): While working the leader checks in this long after the start or the last
// check-in. [check-in-since-the-start, check-in-since-before-the-start]
// Rule (2, check_in_s): Who does not work need not check in. [check-in-while-stopped]
int64_t gate_check_in_due(const struct gate_job *job) {
    if (job->needs->check_in_ms == 0 || job->phase != MODEL_PHASE_WORKING) {
        return INT64_MAX;
    }
    int64_t since = job->checked_in.mono > job->since.mono ? job->checked_in.mono : job->since.mono;
    return since + job->needs->check_in_ms;
}

// Rule (3, alarms): A check-in acknowledges that it was overdue. [check-in-unseen]
// Rule (3, alarms): It ends the alarm too, also one that somebody acknowledged before.
// [check-in-ends-nothing]
void gate_check_in_seen(struct gate *gate, struct gate_site *site, const struct gate_job *job,
                        const char *by, struct gate_time now) {
    const struct gate_alarm_about about = about_check_in(job);
    const struct gate_alarm *alarm = gate_alarm_about(site, &about);
    if (alarm != NULL && alarm->state != MODEL_ALARM_ACKNOWLEDGED) {
        gate_alarm_acknowledge(gate, site, alarm, by, NULL, now);
    }
    gate_alarm_clear(gate, site, &about, now); // where it stands still
}

// Rule (3, alarms): A leader who did not check in in time raises an alarm, once.
// [check-in-not-missed, check-in-raised-on]
// Rule (3, alarms): The alarm ends when the phase leaves working. [check-in-outlives-work]
// Rule (3, alarms): The moment at which a check-in is overdue is waited for. [check-in-not-due]
static void review_check_in(struct gate *gate, struct gate_site *site, const struct gate_job *job,
                            struct gate_time now, int64_t *next) {
    int64_t due = gate_check_in_due(job);
    const struct gate_args args = {.job = job->job, .person = job->leader};
    struct gate_alarm_about about = about_check_in(job);
    about.args = &args;
    if (due == INT64_MAX) {
        gate_alarm_clear(gate, site, &about, now);
    } else if (now.mono > due) {
        gate_alarm_raise(gate, site, &about, false, now);
    } else {
        gate_lower(next, due + 1, now);
    }
}

void gate_review_check_ins(struct gate *gate, struct gate_site *site, struct gate_time now,
                           int64_t *next) {
    for (size_t i = 0; i < site->job_count; i++) {
        if (site->jobs[i]->needs->check_in_ms > 0) {
            review_check_in(gate, site, site->jobs[i], now, next);
        }
    }
}
