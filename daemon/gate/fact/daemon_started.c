// daemon.started: every reading from before it is no evidence any more.
#include "gate/distrust.h"
#include "gate/fact/row.h"

// Rule (5, After a restart; R38): What was known before a restart is waited for.
// [awaited-by-nobody]
static void start_point(struct gate_site *site, uint32_t index, struct gate_time at) {
    const struct model_point *model = &site->model->points[index];
    struct gate_point *point = &site->points[index];
    if (point->since.wall == 0) {
        point->since = at;
    }
    if (model->sensor_count == 0 || gate_left_without_sensor(site, index)) {
        return; // statements survive
    }
    if (point->state != MODEL_POINT_UNKNOWN) {
        point->since = at;
        point->awaited = point->state;
    }
    point->state = MODEL_POINT_UNKNOWN;
    point->trust =
        model->controller != MODEL_NONE ? MODEL_TRUST_CONTROLLER_OFFLINE : MODEL_TRUST_SILENT;
}

// Rule (5, After a restart): After a restart a hold must be proved again. [restart-forgotten]
static void start_site(struct gate_site *site, struct gate_time at) {
    for (uint32_t p = 0; p < site->model->point_count; p++) {
        start_point(site, p, at);
    }
    for (uint32_t p = 0; p < site->model->position_count; p++) {
        if (site->positions[p].since.wall == 0) {
            site->positions[p].since = at;
        }
    }
    for (size_t i = 0; i < site->job_count; i++) {
        if (site->jobs[i]->isolation == GATE_ISOLATION_HELD) {
            site->jobs[i]->isolation = GATE_ISOLATION_UNPROVEN;
        }
    }
}

static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    for (size_t s = 0; s < to->gate->model->site_count; s++) {
        start_site(&to->gate->sites[s], fact->at);
    }
    return true;
}

const struct gate_fact_row gate_fact_daemon_started = {
    .name = "daemon.started",
    .about = GATE_ABOUT_GATE,
    .carries = GATE_HAS(boot) | GATE_HAS(version),
    .apply = apply,
    .sentence = "the daemon started[ (version {version})]: what it heard before is no evidence any "
                "more",
};
