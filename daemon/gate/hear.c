// Hearing the hardware: which reading of a sensor is newer, what it refreshes, what it breaks.
//
// The order of readings and the age of each follow the contract, section 3, "Hearing". This is the
// hot path: a reading that changes nothing touches one struct gate_sensor and returns.
#include "gate/hear.h"

#include "gate/distrust.h"
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

// A live that its date alone makes bad was said all the same, and now.
// Rule (3, A sensor out of order; R27): A live that is dated ahead ends the distrust too, at
// whatever hour, and breaks. [ahead-live-spares-distrust]
// Rule (3, A sensor out of order; R27): A sensor that says live now, dated ahead, is not to be said
// out of order. [distrust-of-ahead-live]
static void hear_live_ahead(struct gate *gate, struct gate_site *site, uint32_t sensor,
                            const struct gate_reading *reading, struct gate_time now) {
    uint32_t point = site->model->sensors[sensor].point;
    bool live = reading->readable && reading->good && reading->state == MODEL_POINT_LIVE;
    if (!live || reading->retained) {
        return;
    }
    site->sensors[sensor].contradicted = now.mono;
    if (gate_is_distrusted(site, point, sensor)) {
        gate_live_ends_distrust(gate, site, point, sensor, now);
        gate_said_live(gate, site, point, 0, false, now);
    }
}

// Rule (3, Hearing): A sensor stays bad-quality until a newer good word. [bad-forgotten]
static enum gate_heard hear_bad(struct gate *gate, struct gate_site *site,
                                struct gate_sensor *sensor, struct gate_time now, bool changed) {
    changed |= !sensor->bad;
    sensor->bad = true;
    sensor->isolated_since = 0;
    if (changed) {
        gate_review(gate, site, now);
    }
    return GATE_HEARD_BAD;
}

// --- The last live ---

static void remember_live(struct gate_sensor *sensor, const struct gate_reading *reading,
                          const struct gate_stamp *stamp) {
    sensor->last_live = (struct gate_last_live){.at = stamp->at,
                                                .seq = stamp->seq,
                                                .has_at = stamp->has_at,
                                                .has_seq = stamp->has_seq,
                                                .retained = reading->retained};
}

// Whether a live carries just what the last one did, and lacks what it lacked: it is that one
// again. The sensor's mark cannot tell, for words of isolated move it too.
// Rule (3, Hearing; R1): A live that shares its time with the last one, but not its number, is no
// copy. [copy-by-time-alone]
// Rule (3, Hearing; R1): A live that shares its number with the last one, but not its time, is no
// copy. [copy-by-number-alone]
// Rule (3, Hearing; R1): A live that carries a time, or a number, is no copy of one that lacked it.
// [copy-by-what-others-carried]
// Rule (3, Hearing; R1): A live that came by itself is no copy of one that the broker kept.
// [copy-of-what-is-kept]
static bool is_last_live(const struct gate_sensor *sensor, const struct gate_reading *reading,
                         const struct gate_stamp *stamp) {
    const struct gate_last_live *last = &sensor->last_live;
    bool same_at = last->has_at == stamp->has_at && (!stamp->has_at || last->at == stamp->at);
    bool same_seq = last->has_seq == stamp->has_seq && (!stamp->has_seq || last->seq == stamp->seq);
    return (stamp->has_at || stamp->has_seq) && same_at && same_seq &&
           (reading->retained || !last->retained);
}

// --- Words by themselves ---

// Takes a newer reading. True: the point may have changed by it.
// Rule (3, Hearing): Isolated settles anew after a gap. [gap-not-settled]
// Rule (3, Hearing): A bad word between two words of isolated is a gap. [bad-is-no-gap]
// Rule (3, Hearing; R20): What is kept is so until a word comes by itself. [kept-for-ever]
// Rule (3, Hearing; R1): A restarted sender's live is no copy of one from before, though it has its
// number. [copy-of-an-earlier-row]
static bool take(struct gate_sensor *sensor, const struct model_point *point,
                 const struct gate_reading *reading, const struct gate_stamp *stamp,
                 struct gate_time now) {
    bool gap = sensor->bad || sensor->kept || is_stale(sensor, point, now) ||
               sensor->state != reading->state;
    int64_t before = sensor->heard;
    if (gap) {
        sensor->contradicted = 0;
    }
    if (gate_mark_starts_anew(&sensor->mark, stamp)) {
        sensor->last_live = (struct gate_last_live){0};
    }
    if (reading->state == MODEL_POINT_LIVE) {
        remember_live(sensor, reading, stamp);
    }
    sensor->heard = gate_stamp_mono(stamp, now);
    sensor->state = (uint8_t)reading->state;
    sensor->bad = sensor->kept = false;
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

// --- What the broker kept ---

// Whether a word that the broker kept, without a time, is heard at all: of isolated never, of bad
// quality until one has come by itself, of live unless it says nothing new.
// Rule (3, Hearing; R20): What the broker kept, without a time, is ignored if it says isolated.
// [retained-is-evidence]
// Rule (3, Hearing; R20): A live counts whatever its retain flag, also after a word that came by
// itself. [kept-live-after-a-word-dropped]
// Rule (3, Hearing; R20): Once a word came by itself after the subscription, what the broker kept
// of bad quality is ignored. [kept-after-a-word]
static bool hears_kept(const struct gate *gate, const struct gate_sensor *sensor,
                       const struct model_point *point, const struct gate_reading *reading,
                       struct gate_time now) {
    if (!reading->readable || !reading->good || reading->state == MODEL_POINT_UNKNOWN) {
        return sensor->spoke != gate->subscription;
    }
    bool says_so = sensor->state == MODEL_POINT_LIVE && !sensor->bad && !sensor->kept &&
                   !is_stale(sensor, point, now);
    return reading->state == MODEL_POINT_LIVE && !says_so;
}

// Rule (3, table of trust; R20): A live that the broker kept breaks and refuses.
// [kept-live-ignored]
static enum gate_heard hear_kept_live(struct gate *gate, struct gate_site *site,
                                      struct gate_sensor *sensor, uint32_t point_index,
                                      const struct gate_reading *reading,
                                      const struct gate_stamp *stamp, struct gate_time now) {
    remember_live(sensor, reading, stamp);
    sensor->heard = now.mono;
    sensor->state = MODEL_POINT_LIVE;
    sensor->isolated_since = sensor->contradicted = 0;
    sensor->bad = false;
    sensor->kept = true;
    if (!becomes_state(site, sensor, &site->model->points[point_index], now)) {
        gate_said_live(gate, site, point_index, 0, false, now);
    }
    gate_review(gate, site, now);
    return GATE_HEARD_CHANGED;
}

// --- What comes in its order ---

// A live that is older than the newest word, and no copy: whatever its date, it was said now, and
// contradicts a newest word of isolated.
// Rule (3, Hearing; R1): A live that came now and is older than the newest isolated makes the
// sensor bad-quality at once. [old-live-dropped]
// Rule (3, Hearing; R1): A copy of the last live heard says nothing new. [old-live-copy-heard]
// Rule (3, Hearing): A late live breaks the lockouts that rest on the time it tells of.
// [late-live-ignored]
// Rule (3, Hearing): A live from before the oldest tag and signature breaks nothing.
// [stale-live-undated]
static enum gate_heard hear_old_live(struct gate *gate, struct gate_site *site,
                                     struct gate_sensor *sensor, uint32_t point,
                                     const struct gate_reading *reading,
                                     const struct gate_stamp *stamp, struct gate_time now) {
    if (is_last_live(sensor, reading, stamp)) {
        return GATE_HEARD_COPY;
    }
    remember_live(sensor, reading, stamp);
    if (!reading->retained) {
        gate_live_ends_distrust(gate, site, point, (uint32_t)(sensor - site->sensors), now);
    }
    gate_said_live(gate, site, point, reading->has_at ? reading->at : 0, false, now);
    if (!reading->retained && sensor->state == MODEL_POINT_ISOLATED) {
        sensor->bad = true;
        sensor->isolated_since = 0;
        sensor->contradicted = now.mono;
    }
    return GATE_HEARD_CHANGED;
}

// Rule (3, Hearing): An equal live after isolated is taken. [equal-live-is-a-copy]
// Rule (3, Hearing; R26): A live that came now and is dated too old to be its point's state breaks
// whatever its date. [stale-live-by-date]
static enum gate_heard hear_in_order(struct gate *gate, struct gate_site *site,
                                     struct gate_sensor *sensor, uint32_t point_index,
                                     const struct gate_reading *reading,
                                     const struct gate_stamp *stamp, struct gate_time now) {
    const struct model_point *point = &site->model->points[point_index];
    enum gate_order order = gate_order_of(&sensor->mark, stamp, is_stale(sensor, point, now));
    bool live = reading->state == MODEL_POINT_LIVE;
    if (order == GATE_ORDER_COPY &&
        !(live && (sensor->state == MODEL_POINT_ISOLATED || sensor->kept))) {
        return GATE_HEARD_COPY;
    }
    if (order == GATE_ORDER_OLDER) {
        return live ? hear_old_live(gate, site, sensor, point_index, reading, stamp, now)
                    : GATE_HEARD_OLDER;
    }
    bool changed = take(sensor, point, reading, stamp, now);
    if (live && changed && !reading->retained) {
        gate_live_ends_distrust(gate, site, point_index, (uint32_t)(sensor - site->sensors), now);
    }
    if (live && !becomes_state(site, sensor, point, now)) {
        // Too old, or nobody vouches for its controller: yet live is never too little to stop.
        bool old = is_stale(sensor, point, now);
        gate_said_live(gate, site, point_index, old ? reading->at : 0, !reading->retained, now);
        changed = true;
    }
    return changed ? GATE_HEARD_CHANGED : GATE_HEARD_UNCHANGED;
}

// Rule (3, Hearing): A copy and an older word tell of the sender's clock too.
// [clock-by-newer-alone]
// Rule (3, A sensor out of order; R27): What the broker kept of a sensor out of order is nothing.
// [distrusted-kept-counts]
// Rule (5, Breaking): What grew stale while nobody listened is so before the next word refreshes
// it. [late-tick-heals]
enum gate_heard gate_hear(struct gate *gate, uint32_t site_index, uint32_t sensor_index,
                          const struct gate_reading *reading, struct gate_time now) {
    struct gate_site *site = &gate->sites[site_index];
    struct gate_sensor *sensor = &site->sensors[sensor_index];
    uint32_t point_index = site->model->sensors[sensor_index].point;
    const struct model_point *point = &site->model->points[point_index];
    bool kept = reading->retained && !reading->has_at;
    if (kept && !hears_kept(gate, sensor, point, reading, now)) {
        return GATE_HEARD_RETAINED;
    }
    if (reading->retained && gate_is_distrusted(site, point_index, sensor_index)) {
        return GATE_HEARD_RETAINED; // it is not said by itself
    }
    if (!reading->retained) {
        sensor->spoke = gate->subscription;
    }
    gate_review_due(gate, site, now);
    struct gate_stamp stamp = stamp_of(reading);
    bool clock =
        gate_clock_judge(site, &sensor->clock, &stamp, reading->retained, point->max_age_ms, now);
    if (is_bad(reading, &stamp, now)) {
        uint64_t before = gate->changes;
        hear_live_ahead(gate, site, sensor_index, reading, now);
        return hear_bad(gate, site, sensor, now, clock || gate->changes != before);
    }
    if (kept) {
        return hear_kept_live(gate, site, sensor, point_index, reading, &stamp, now);
    }
    enum gate_heard heard = hear_in_order(gate, site, sensor, point_index, reading, &stamp, now);
    if (heard != GATE_HEARD_CHANGED && !clock) {
        return heard;
    }
    gate_review(gate, site, now);
    return heard == GATE_HEARD_UNCHANGED ? GATE_HEARD_CHANGED : heard;
}

// Rule (3, Hearing; R20): What the broker keeps is told from what comes by itself after each
// subscription. [subscription-unheeded]
void gate_subscribed(struct gate *gate) {
    gate->subscription++;
}

// The controller of a point came online: each of its sensors must be heard anew; a lower seq is a
// restarted sender's, an earlier time a corrected clock's.
// Rule (3, Hearing): After a controller's online each of its sensors must be heard anew.
// [online-proves]
static void hear_anew(struct gate_site *site, uint32_t index) {
    const struct model_point *point = &site->model->points[index];
    for (size_t i = 0; i < point->sensor_count; i++) {
        struct gate_sensor *sensor = &site->sensors[point->sensors[i]];
        sensor->heard = sensor->isolated_since = 0;
        sensor->mark.forget = true;
    }
    for (size_t i = 0; i < site->hearing[index].mark_count; i++) {
        site->hearing[index].marks[i].mark.forget = true;
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
