// Hearing the hardware: which reading of a sensor is newer, what it refreshes, what it breaks.
//
// The order of readings and the age of each follow the contract, section 3, "Hearing". This is the
// hot path: a reading that changes nothing touches one struct gate_sensor and returns.
#include "gate/hear.h"

#include "gate/gate.h"
#include "gate/reading_order.h"
#include "gate/review.h"

static bool is_stale(const struct gate_sensor *sensor, const struct model_point *point,
                     struct gate_time now) {
    return sensor->heard == 0 || now.mono - sensor->heard > point->max_age_ms;
}

static struct gate_stamp stamp_of(const struct gate_reading *reading) {
    return (struct gate_stamp){reading->has_at, reading->at, reading->has_seq, reading->seq,
                               reading->modulus};
}

// Rule (2, feeds; 3, Hearing): What cannot be read makes the sensor unknown; it is never guessed.
// [unreadable-is-good]
// Rule (3, Hearing): A word of bad quality makes the sensor bad-quality at once. [quality-ignored]
// Rule (2, feeds): A word that is neither isolated nor live is as unreadable.
// [neither-state-is-good]
static bool is_bad(const struct gate_reading *reading, const struct gate_stamp *stamp,
                   struct gate_time now) {
    return !reading->readable || !reading->good || reading->state == MODEL_POINT_UNKNOWN ||
           gate_stamp_ahead(stamp, now);
}

// Rule (3, Hearing): A sensor stays bad-quality until a newer good word. [bad-forgotten]
// Rule (3, alarms): A word dated more than 5 s ahead raises the clock alarm. [clock-ahead-unheeded]
static enum gate_heard hear_bad(struct gate *gate, struct gate_site *site,
                                struct gate_sensor *sensor, struct gate_time now,
                                bool clock_skewed) {
    bool changed = clock_skewed && gate_set_clock_skew(site, &sensor->clock_skewed, true);
    changed |= !sensor->bad;
    sensor->bad = true;
    sensor->isolated_since = 0;
    if (changed) {
        gate_review(gate, site, now);
    }
    return GATE_HEARD_BAD;
}

// Takes a newer reading. True: the point may have changed by it.
// Rule (3, Hearing): Isolated settles anew after a gap. [gap-not-settled]
// Rule (3, Hearing): A bad word between two words of isolated is a gap. [bad-is-no-gap]
static bool take(struct gate_sensor *sensor, const struct model_point *point,
                 const struct gate_reading *reading, const struct gate_stamp *stamp,
                 struct gate_time now) {
    bool gap = sensor->bad || is_stale(sensor, point, now) || sensor->state != reading->state;
    int64_t before = sensor->heard;
    sensor->heard = gate_stamp_mono(stamp, now);
    sensor->state = (uint8_t)reading->state;
    sensor->bad = false;
    gate_mark_move(&sensor->mark, stamp);
    if (reading->state != MODEL_POINT_ISOLATED) {
        sensor->isolated_since = 0;
    } else if (gap) {
        sensor->isolated_since = now.mono;
    }
    return gap || sensor->heard < before; // dated back: it grows stale sooner than was reckoned
}

// Whether a good reading makes its point what it says.
// Rule (3, Hearing): Live from an offline controller still breaks. [offline-live-ignored]
// Rule (3, Hearing): A live too old to be a point's state still breaks what rests on its time.
// [stale-live-ignored]
static bool becomes_state(const struct gate_site *site, const struct gate_sensor *sensor,
                          const struct model_point *point, struct gate_time now) {
    bool online = point->controller == MODEL_NONE ||
                  site->controllers[point->controller] == GATE_CONTROLLER_ONLINE;
    return online && !is_stale(sensor, point, now);
}

// Rule (3, Hearing): A retained word without a time is no evidence. [retained-is-evidence]
// Rule (3, Hearing): An equal live after isolated is taken. [equal-live-is-a-copy]
// Rule (5, Breaking): What grew stale while nobody listened is so before the next word refreshes
// it. [late-tick-heals]
// Rule (3, Hearing): A late live breaks the lockouts that rest on the time it tells of.
// [late-live-ignored]
// Rule (3, Hearing): A live from before the oldest tag and signature breaks nothing.
// [stale-live-undated]
enum gate_heard gate_hear(struct gate *gate, uint32_t site_index, uint32_t sensor_index,
                          const struct gate_reading *reading, struct gate_time now) {
    struct gate_site *site = &gate->sites[site_index];
    struct gate_sensor *sensor = &site->sensors[sensor_index];
    uint32_t point_index = site->model->sensors[sensor_index].point;
    const struct model_point *point = &site->model->points[point_index];
    if (reading->retained && !reading->has_at) {
        return GATE_HEARD_RETAINED;
    }
    gate_review_due(gate, site, now);
    struct gate_stamp stamp = stamp_of(reading);
    bool clock_skewed = gate_stamp_skewed(&stamp, reading->retained, point->max_age_ms, now);
    if (is_bad(reading, &stamp, now)) {
        return hear_bad(gate, site, sensor, now, clock_skewed);
    }
    enum gate_order order = gate_order_of(&sensor->mark, &stamp, is_stale(sensor, point, now));
    bool live = reading->state == MODEL_POINT_LIVE;
    if (order == GATE_ORDER_COPY && !(live && sensor->state == MODEL_POINT_ISOLATED)) {
        return GATE_HEARD_COPY;
    }
    if (order == GATE_ORDER_OLDER) {
        if (live) {
            gate_said_live(gate, site, point_index, reading->has_at ? reading->at : 0, now);
            gate_review(gate, site, now);
        }
        return live ? GATE_HEARD_CHANGED : GATE_HEARD_OLDER;
    }
    bool changed = take(sensor, point, reading, &stamp, now);
    changed |= gate_set_clock_skew(site, &sensor->clock_skewed, clock_skewed);
    if (live && !becomes_state(site, sensor, point, now)) {
        // Too old, or nobody vouches for its controller: yet live is never too little to stop.
        bool old = is_stale(sensor, point, now);
        gate_said_live(gate, site, point_index, old ? reading->at : 0, now);
        changed = true;
    }
    if (!changed) {
        return GATE_HEARD_UNCHANGED;
    }
    gate_review(gate, site, now);
    return GATE_HEARD_CHANGED;
}

// The controller of a point came online: each of its sensors must be heard anew, and a lower seq is
// that of a restarted sender.
// Rule (3, Hearing): After a controller's online each of its sensors must be heard anew.
// [online-proves]
static void hear_anew(struct gate_site *site, uint32_t index) {
    const struct model_point *point = &site->model->points[index];
    for (size_t i = 0; i < point->sensor_count; i++) {
        struct gate_sensor *sensor = &site->sensors[point->sensors[i]];
        sensor->heard = sensor->isolated_since = 0;
        sensor->mark.seq_forget = true;
    }
    for (size_t i = 0; i < site->hearing[index].mark_count; i++) {
        site->hearing[index].marks[i].mark.seq_forget = true;
    }
}

// Rule (3, Hearing): A repeated online means nothing. [repeated-online-counts]
void gate_hear_controller(struct gate *gate, uint32_t site_index, uint32_t controller, bool online,
                          struct gate_time now) {
    struct gate_site *site = &gate->sites[site_index];
    gate_review_due(gate, site, now);
    bool was = site->controllers[controller] == GATE_CONTROLLER_ONLINE;
    site->controllers[controller] = online ? GATE_CONTROLLER_ONLINE : GATE_CONTROLLER_OFFLINE;
    for (uint32_t p = 0; online && !was && p < site->model->point_count; p++) {
        if (site->model->points[p].controller == controller) {
            hear_anew(site, p);
        }
    }
    if (online && !was) {
        gate_measures_anew(site, controller);
    }
    gate_review(gate, site, now);
}
