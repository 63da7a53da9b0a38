// Which points the standing lockouts rest on, and when each was heard: the daemon keeps that over a
// restart.
#include "gate/gate.h"

// Rule (5, After a restart; R38): The journal keeps when each required point was last heard while a
// hold stands. [watched-without-hold]
// Rule (5, After a restart; R38): And while stopped, when people may be in the cabinet.
// [watched-while-stopped]
static bool is_watched(const struct gate_job *job) {
    return job->isolation != GATE_ISOLATION_NONE || job->phase == MODEL_PHASE_STOPPED;
}

void gate_each_watched(const struct gate *gate, struct gate_time now,
                       void (*each)(void *user, const char *site, const char *point, int64_t heard),
                       void *user) {
    for (size_t s = 0; s < gate->model->site_count; s++) {
        const struct gate_site *site = &gate->sites[s];
        for (size_t i = 0; i < site->job_count; i++) {
            const struct gate_job *job = site->jobs[i];
            for (size_t r = 0; is_watched(job) && r < job->required_count; r++) {
                int64_t heard = gate_point_heard(gate, site, job->required[r], now);
                if (heard != 0) {
                    each(user, site->model->site, site->model->points[job->required[r]].point,
                         now.mono - (now.wall - heard));
                }
            }
        }
    }
}

// Rule (5, After a restart): A hold that stands is watched, so that its points' times are written.
// [watching-untold]
bool gate_is_watching(const struct gate *gate) {
    for (size_t s = 0; s < gate->model->site_count; s++) {
        for (size_t i = 0; i < gate->sites[s].job_count; i++) {
            if (is_watched(gate->sites[s].jobs[i])) {
                return true;
            }
        }
    }
    return false;
}

// Rule (5, After a restart; R38): While anything ages, time itself is written, so that nothing
// grows younger by a restart after a quiet shift. [ageing-untold]
bool gate_is_ageing(const struct gate *gate) {
    for (size_t s = 0; s < gate->model->site_count; s++) {
        const struct gate_site *site = &gate->sites[s];
        for (size_t i = 0; i < site->job_count; i++) {
            if (gate_job_stands(site->jobs[i])) {
                return true;
            }
        }
        if (site->spill_count > 0) {
            return true;
        }
        for (uint32_t p = 0; p < site->model->point_count; p++) {
            const struct gate_point *point = &site->points[p];
            if (point->tag_count > 0 || point->statement_count > 0 ||
                point->live_statement_count > 0) {
                return true;
            }
        }
    }
    return false;
}
