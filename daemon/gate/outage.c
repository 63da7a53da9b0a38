// The durable connection away for too long: what was asked, said to stop and hung meanwhile nobody
// heard.
#include "gate/alarm.h"
#include "gate/break.h"
#include "gate/find.h"
#include "gate/gate.h"
#include "gate/review.h"

// How long it may be away for a job none of whose points has a sensor.
#define WITHOUT_SENSORS_MS 30000

// Rule (5, Breaking; R21): The least age of the job's points counts. [outage-greatest-age]
// Rule (5, Breaking; R21): Where no point of the job has a sensor, it is 30 s.
// [outage-without-sensors]
static int64_t due_of(const struct gate *gate, const struct gate_site *site,
                      const struct gate_job *job) {
    int64_t least = INT64_MAX;
    for (size_t i = 0; i < job->required_count; i++) {
        const struct model_point *point = &site->model->points[job->required[i]];
        if (point->sensor_count > 0 && point->max_age_ms < least) {
            least = point->max_age_ms;
        }
    }
    return gate->outage + (least != INT64_MAX ? least : WITHOUT_SENSORS_MS);
}

// Rule (5, Breaking; R21): It is told once an outage. [outage-repeats]
static bool is_over(const struct gate *gate, const struct gate_site *site,
                    const struct gate_job *job) {
    bool in_cabinet = job->phase == MODEL_PHASE_WORKING || job->phase == MODEL_PHASE_STOPPED;
    return gate->outage == 0 || !in_cabinet || job->outage_told ||
           job->outage_broke.mono > due_of(gate, site, job);
}

// What held when the daemon went down and holds when it comes up is one outage, though it is
// counted anew.
// Rule (5, After a restart; R38): An outage that goes on over a restart is told once.
// [outage-again-by-a-restart]
void gate_resume_outage(struct gate_site *site) {
    const struct gate_alarm_about about = {.kind = MODEL_ALARM_LINK_DOWN,
                                           .subject = GATE_SUBJECT_OF_DURABLE};
    const struct gate_alarm *down = gate_alarm_about(site, &about);
    if (down == NULL || down->state == MODEL_ALARM_RETURNED_UNACKNOWLEDGED) {
        return;
    }
    for (size_t i = 0; i < site->job_count; i++) {
        site->jobs[i]->outage_told = site->jobs[i]->outage_broke.mono > down->raised.mono;
    }
}

// When the link returns, what was said meanwhile comes back one by one, and the time since which
// nothing proves it moves on with each: it is the same outage until that is no longer too long.
// Rule (5, Breaking; R21): An outage that ends bit by bit is told once. [outage-anew-at-its-end]
// Rule (5, Breaking; R21): Another one is told, whatever the last was. [outage-told-for-ever]
void gate_outage_moved(const struct gate *gate, struct gate_site *site, struct gate_time now) {
    for (size_t i = 0; i < site->job_count; i++) {
        struct gate_job *job = site->jobs[i];
        if (gate->outage == 0 || now.mono <= due_of(gate, site, job)) {
            job->outage_told = false;
        }
    }
}

// Rule (5, Breaking; R21): A durable connection that is away for longer than that stops the work.
// [outage-goes-on]
// Rule (5, Breaking; R21): While stopped it raises the alarm: people may be in the cabinet.
// [outage-while-stopped]
void gate_review_outage(struct gate *gate, struct gate_site *site, struct gate_job *job,
                        struct gate_time now) {
    if (!is_over(gate, site, job) && now.mono > due_of(gate, site, job)) {
        gate_break_by_point(gate, site, job, MODEL_CODE_LINK_DOWN, MODEL_NONE, now);
        job->outage_told = true;
    }
}

// Rule (5, Breaking; R21): The moment at which it is too long is waited for. [outage-not-due]
void gate_lower_outage(const struct gate *gate, const struct gate_site *site,
                       const struct gate_job *job, struct gate_time now, int64_t *next) {
    if (!is_over(gate, site, job)) {
        gate_lower(next, due_of(gate, site, job) + 1, now);
    }
}
