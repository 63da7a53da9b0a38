// The end of a distrust by itself: its hours are over, or its sensor says live.
#include "gate/distrust.h"
#include "gate/emit.h"
#include "gate/review.h"

static void trust(struct gate *gate, struct gate_site *site, uint32_t point, uint32_t sensor,
                  const char *why, struct gate_time now) {
    struct gate_fact fact = gate_fact_of_point(gate, site, point, GATE_FACT_SENSOR_TRUSTED, now);
    fact.sensor = sensor != MODEL_NONE ? site->model->sensors[sensor].sensor : NULL;
    fact.reader_of = sensor == MODEL_NONE ? site->model->points[point].point : NULL;
    fact.trusted_why = why;
    gate_emit(gate, &fact);
}

// Rule (3, A sensor out of order; R27): It is out of order for the hours that were said, no longer.
// [distrust-for-ever]
// Rule (3, A sensor out of order; R27): The moment at which those are over is waited for.
// [distrust-not-due]
void gate_review_distrusts(struct gate *gate, struct gate_site *site, struct gate_time now,
                           int64_t *next) {
    for (uint32_t p = 0; p < site->model->point_count; p++) {
        for (size_t i = site->points[p].distrust_count; i-- > 0;) {
            if (i >= site->points[p].distrust_count) {
                continue; // others said it of the same sensor: they went along
            }
            const struct gate_distrust *distrust = &site->points[p].distrusts[i];
            if (distrust->until.mono <= now.mono) {
                trust(gate, site, p, distrust->sensor, "ended", now);
            } else if (distrust->until.mono < *next) {
                *next = distrust->until.mono;
            }
        }
    }
}

// Rule (3, A sensor out of order; R27): A live that it says by itself ends the distrust.
// [distrust-outlives-live]
void gate_live_ends_distrust(struct gate *gate, struct gate_site *site, uint32_t point,
                             uint32_t sensor, struct gate_time now) {
    if (gate_is_distrusted(site, point, sensor)) {
        trust(gate, site, point, sensor, "live", now);
    }
}
