// sensor.trusted: a sensor, or a point's reader, is out of order no longer.
#include <stdlib.h>
#include <string.h>

#include "gate/distrust.h"
#include "gate/fact/effect.h"

static void remove_of(struct gate_point *point, uint32_t sensor) {
    size_t kept = 0;
    for (size_t i = 0; i < point->distrust_count; i++) {
        if (point->distrusts[i].sensor == sensor) {
            free(point->distrusts[i].reason);
        } else {
            point->distrusts[kept++] = point->distrusts[i];
        }
    }
    point->distrust_count = kept;
}

// Rule (3, A sensor out of order; R27): The words that stood for a sensor end with the distrust.
// [distrust-leaves-words]
static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    uint32_t sensor =
        fact->sensor != NULL ? model_sensor_find(to->site->model, fact->sensor) : MODEL_NONE;
    if (fact->sensor != NULL && sensor == MODEL_NONE) {
        return true;
    }
    bool before = gate_left_without_sensor(to->site, to->point);
    remove_of(&to->site->points[to->point], sensor);
    if (before && !gate_left_without_sensor(to->site, to->point)) {
        gate_words_end(&to->site->points[to->point]);
    }
    return true;
}

const struct gate_fact_row gate_fact_sensor_trusted = {
    .name = "sensor.trusted",
    .published = true,
    .about = GATE_ABOUT_POINT,
    .carries = GATE_HAS(point) | GATE_HAS(sensor) | GATE_HAS(reader_of) | GATE_HAS(by) |
               GATE_HAS(trusted_why),
    .needs = GATE_HAS(point),
    .needs_one_of = GATE_HAS(sensor) | GATE_HAS(reader_of),
    .apply = apply,
    .sentence = "[the sensor {sensor}][the reader of {reader}] is out of order no longer"
                "[, {by} says][ ({why})]",
};
