// sensor.distrusted: a supervisor says that a sensor, or a point's reader, is out of order.
#include <stdlib.h>
#include <string.h>

#include "base/array.h"
#include "gate/distrust.h"
#include "gate/fact/effect.h"
#include "gate/text.h"

static struct gate_distrust *entry_of(struct gate_point *point, uint32_t sensor, const char *by) {
    for (size_t i = 0; i < point->distrust_count; i++) {
        if (point->distrusts[i].sensor == sensor && gate_same(point->distrusts[i].by, by)) {
            return &point->distrusts[i];
        }
    }
    if (!BASE_ARRAY_ROOM(point->distrusts, point->distrust_count, point->distrust_capacity)) {
        return NULL;
    }
    struct gate_distrust *entry = &point->distrusts[point->distrust_count++];
    *entry = (struct gate_distrust){.sensor = sensor};
    gate_id_copy(entry->by, by);
    return entry;
}

// Of one sensor all who say it say it until the same time: that which was said last.
static bool put(struct gate_point *point, uint32_t sensor, const struct gate_fact *fact) {
    const struct gate_time until = {fact->until, fact->at.mono + (fact->until - fact->at.wall)};
    char *reason = fact->reason != NULL ? strdup(fact->reason) : NULL;
    struct gate_distrust *entry = entry_of(point, sensor, fact->by);
    if (entry == NULL || (reason == NULL && fact->reason != NULL)) {
        free(reason);
        return false;
    }
    free(entry->reason);
    entry->reason = reason;
    entry->since = fact->at;
    for (size_t i = 0; i < point->distrust_count; i++) {
        if (point->distrusts[i].sensor == sensor) {
            point->distrusts[i].until = until;
        }
    }
    return true;
}

// A sensor that the configuration has no longer, or elsewhere, is nobody's to distrust.
// Rule (3, A sensor out of order; R27): No word from before a point was left without a sensor
// counts. [distrust-finds-words]
static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_point *point = &to->site->points[to->point];
    uint32_t sensor = MODEL_NONE;
    if (fact->sensor != NULL) {
        sensor = model_sensor_find(to->site->model, fact->sensor);
        if (sensor == MODEL_NONE || to->site->model->sensors[sensor].point != to->point) {
            return true;
        }
    }
    bool before = gate_left_without_sensor(to->site, to->point);
    if (!put(point, sensor, fact)) {
        return false;
    }
    if (!before && gate_left_without_sensor(to->site, to->point)) {
        gate_words_end(point);
    }
    return true;
}

const struct gate_fact_row gate_fact_sensor_distrusted = {
    .name = "sensor.distrusted",
    .published = true,
    .about = GATE_ABOUT_POINT,
    .carries = GATE_HAS(point) | GATE_HAS(sensor) | GATE_HAS(reader_of) | GATE_HAS(by) |
               GATE_HAS(reason) | GATE_HAS(until),
    .needs = GATE_HAS(point) | GATE_HAS(by) | GATE_HAS(until),
    .needs_one_of = GATE_HAS(sensor) | GATE_HAS(reader_of),
    .apply = apply,
    .sentence = "{by} says that [the sensor {sensor}][the reader of {reader}] is out of order"
                "[: {reason}]",
};
