// The daemon comes up: what it did not hear while it was away proves nothing, and where it was away
// too long nobody vouches for the lockouts that stood.
#include "gate/break.h"
#include "gate/emit.h"
#include "gate/gate.h"
#include "gate/own_clock.h"
#include "gate/review.h"

// Rule (5, After a restart): The wait after a restart counts from when the point was last heard
// before it. [restart-from-the-start]
void gate_heard_before(struct gate *gate, uint32_t site, uint32_t point, int64_t heard,
                       struct gate_time now) {
    gate->sites[site].hearing[point].heard_before = heard < now.mono ? heard : now.mono;
}

// Rule (5, After a restart): The least age of the required points counts, not the greatest.
// [restart-gap-greatest]
static int64_t least_max_age(const struct gate_site *site, const struct gate_job *job) {
    int64_t least = INT64_MAX;
    for (size_t i = 0; i < job->required_count; i++) {
        const struct model_point *point = &site->model->points[job->required[i]];
        if (point->sensor_count > 0 && point->max_age_ms < least) {
            least = point->max_age_ms;
        }
    }
    return least;
}

// The clock tells that the gap cannot be judged: it stands behind the journal, or past what any
// point may be unheard.
// Rule (5, After a restart): After a restart a wall clock more than 1 s behind the journal breaks.
// [restart-clock-back]
// Rule (5, After a restart): After a restart a wall clock up to 1 s behind is borne.
// [restart-clock-a-second]
// Rule (5, After a restart): After a restart a wall clock past the journal by more than the least
// age breaks. [restart-gap-ignored]
static bool gap_too_long(const struct gate_site *site, const struct gate_job *job,
                         int64_t newest_wall, struct gate_time now) {
    int64_t least = least_max_age(site, job);
    return now.wall < newest_wall - GATE_CLOCK_BEHIND_MS ||
           (least != INT64_MAX && now.wall - newest_wall > least);
}

// Rule (5, After a restart): After a restart a confirmed lockout is unproven.
// [restart-still-confirmed]
// Rule (5, After a restart): A hold that was not yet a lockout is let go after too long an absence.
// [restart-held-kept]
static void start_job(struct gate *gate, struct gate_site *site, struct gate_job *job,
                      int64_t newest_wall, struct gate_time now) {
    if (job->lockout == MODEL_LOCKOUT_CONFIRMED) {
        struct gate_fact fact = gate_fact_of_job(gate, site, job, GATE_FACT_LOCKOUT_LOST, now);
        fact.has_lockout = true;
        fact.lockout = MODEL_LOCKOUT_UNPROVEN;
        gate_emit(gate, &fact);
    }
    if (job->isolation != GATE_ISOLATION_UNPROVEN || !gap_too_long(site, job, newest_wall, now)) {
        return;
    }
    if (job->lockout == MODEL_LOCKOUT_UNPROVEN) {
        gate_break_by_point(gate, site, job, MODEL_CODE_POINT_STALE, MODEL_NONE, now);
    } else {
        gate_isolation_end(gate, site, job, now);
    }
}

void gate_start(struct gate *gate, const char *boot, const char *version, int64_t newest_wall,
                struct gate_time now) {
    gate_own_clock_start(gate, newest_wall, now);
    struct gate_fact fact = gate_fact_new(gate, NULL, GATE_FACT_DAEMON_STARTED, now);
    fact.boot = boot;
    fact.version = version;
    gate_emit(gate, &fact);
    for (size_t s = 0; s < gate->model->site_count; s++) {
        struct gate_site *site = &gate->sites[s];
        for (size_t i = 0; i < site->job_count; i++) {
            site->jobs[i]->broke_before = site->jobs[i]->broke;
            if (gate_job_stands(site->jobs[i])) {
                start_job(gate, site, site->jobs[i], newest_wall, now);
            }
        }
        gate_resume_alarms(gate, site, now);
        gate_resume_outage(site);
        gate_review(gate, site, now);
    }
}
