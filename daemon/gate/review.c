// Every consequence of a change at a site, in one fixed order: points, jobs, alarms, positions; and
// the time at which something changes by itself.
#include "gate/review.h"

#include "gate/check_in.h"
#include "gate/credential.h"
#include "gate/gate.h"
#include "gate/own_clock.h"

// What lapses in a job by time alone beside signatures and records: an offer, a credential, the
// wait for a point after a restart.
// Rule (5, After a restart): The moment at which a point was to be heard again is waited for.
// [restart-not-due]
// Rule (1, helper; R28): The moment at which a credential of the crew ends is waited for.
// [helper-not-due]
static void job_deadlines(const struct gate *gate, const struct gate_site *site,
                          const struct gate_job *job, struct gate_time now, int64_t *next) {
    for (size_t i = 0; i < job->crew_count; i++) {
        gate_lower(next, gate_credential_ends(gate, site, job->crew[i].person, now), now);
    }
    if (job->offered[0] != '\0') {
        gate_lower(next, job->offered_at.mono + GATE_OFFER_MS, now);
    }
    for (size_t i = 0; i < job->required_count; i++) {
        uint32_t point = job->required[i];
        if (job->isolation == GATE_ISOLATION_UNPROVEN || site->points[point].awaited) {
            gate_lower(
                next, site->hearing[point].heard_before + site->model->points[point].max_age_ms + 1,
                now);
        }
    }
}

void gate_review(struct gate *gate, struct gate_site *site, struct gate_time now) {
    int64_t next = INT64_MAX;
    gate_own_clock_look(gate, now);
    site->changes++;
    gate->changes++;
    gate_review_distrusts(gate, site, now, &next);
    for (uint32_t p = 0; p < site->model->point_count; p++) {
        gate_review_point(gate, site, p, now, &next);
    }
    gate_review_jobs(gate, site, now);
    gate_review_words(gate, site, now, &next);
    gate_review_alarms(gate, site, now, &next);
    gate_review_spills(gate, site, now, &next);
    gate_review_check_ins(gate, site, now, &next);
    gate_review_positions(gate, site, now);
    for (size_t i = 0; i < site->job_count; i++) {
        if (gate_job_stands(site->jobs[i])) {
            gate_review_ages(gate, site, site->jobs[i], now, &next);
            gate_lower_outage(gate, site, site->jobs[i], now, &next);
            job_deadlines(gate, site, site->jobs[i], now, &next);
        } else { // its document goes
            gate_lower(&next, site->jobs[i]->ended.mono + GATE_KEEP_ENDED_MS + 1, now);
        }
    }
    int64_t clock = gate_own_clock_due(gate, now);
    site->deadline = clock < next ? clock : next;
}

void gate_review_due(struct gate *gate, struct gate_site *site, struct gate_time now) {
    if (site->deadline <= now.mono) {
        gate_review(gate, site, now);
    }
}

// Rule (3, alarms; R19): A clock that was set is noticed before anything is decided by it.
// [clock-looked-at-late]
void gate_tick(struct gate *gate, struct gate_time now) {
    int64_t stepped = gate->clock.stepped;
    gate_own_clock_look(gate, now);
    bool news =
        gate_own_clock_fault(gate, now) != gate->clock.told || gate->clock.stepped != stepped;
    gate->clock.told = gate_own_clock_fault(gate, now);
    for (size_t s = 0; s < gate->model->site_count; s++) {
        if (news) {
            gate_review(gate, &gate->sites[s], now);
        } else {
            gate_review_due(gate, &gate->sites[s], now);
        }
    }
}

int64_t gate_deadline(const struct gate *gate) {
    int64_t next = INT64_MAX;
    for (size_t s = 0; s < gate->model->site_count; s++) {
        if (gate->sites[s].deadline < next) {
            next = gate->sites[s].deadline;
        }
    }
    return next;
}
