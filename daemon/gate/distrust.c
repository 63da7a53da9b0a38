// Sensors and readers out of order (the contract, section 3, "A sensor out of order").
#include "gate/distrust.h"

#include <string.h>

bool gate_is_distrusted(const struct gate_site *site, uint32_t point, uint32_t sensor) {
    const struct gate_point *state = &site->points[point];
    for (size_t i = 0; i < state->distrust_count; i++) {
        if (state->distrusts[i].sensor == sensor) {
            return true;
        }
    }
    return false;
}

bool gate_distrusts(const struct gate_site *site, uint32_t point, const char *person) {
    const struct gate_point *state = &site->points[point];
    for (size_t i = 0; i < state->distrust_count; i++) {
        const struct gate_distrust *distrust = &state->distrusts[i];
        if (distrust->sensor != MODEL_NONE && strcmp(distrust->by, person) == 0) {
            return true;
        }
    }
    return false;
}

// Rule (3, A sensor out of order; R27): Another sensor carries the point as long as one counts.
// [distrust-of-one-is-of-all]
bool gate_left_without_sensor(const struct gate_site *site, uint32_t point) {
    const struct model_point *model = &site->model->points[point];
    if (model->sensor_count == 0 || site->points[point].distrust_count == 0) {
        return false;
    }
    for (size_t i = 0; i < model->sensor_count; i++) {
        if (!gate_is_distrusted(site, point, model->sensors[i])) {
            return false;
        }
    }
    return true;
}

bool gate_rests_on_distrust(const struct gate_site *site, uint32_t point) {
    const struct gate_point *state = &site->points[point];
    for (size_t i = 0; i < state->distrust_count; i++) {
        if (state->distrusts[i].sensor != MODEL_NONE) {
            return true;
        }
    }
    return false;
}

int64_t gate_distrust_ends(const struct gate_site *site, uint32_t point) {
    const struct gate_point *state = &site->points[point];
    int64_t first = INT64_MAX;
    for (size_t i = 0; i < state->distrust_count; i++) {
        const struct gate_distrust *distrust = &state->distrusts[i];
        if (distrust->sensor != MODEL_NONE && distrust->until.mono < first) {
            first = distrust->until.mono;
        }
    }
    return first;
}

// Rule (3, A sensor out of order; R27): A live older than max_age_s is none. [distrust-old-live]
// Rule (3, A sensor out of order; R27): A live that its newest isolated contradicts is said now all
// the same. [distrust-contradicted]
bool gate_says_live(const struct gate_site *site, uint32_t sensor, struct gate_time now) {
    const struct gate_sensor *state = &site->sensors[sensor];
    const struct model_point *point = &site->model->points[site->model->sensors[sensor].point];
    bool newest = state->state == MODEL_POINT_LIVE && !state->bad && state->heard != 0 &&
                  now.mono - state->heard <= point->max_age_ms;
    bool contradicted =
        state->contradicted != 0 && now.mono - state->contradicted <= point->max_age_ms;
    return newest || contradicted;
}
