// Hearing the hardware: which word of a sensor is newer, what it refreshes, what it breaks.
//
// The order of words and the age of each follow the contract, section 3, "Hearing". This is the hot
// path: a word that changes nothing touches one struct gate_sensor and returns.
#include "gate/internal.h"

#include <stdlib.h>

#define READER_AGE_MS 30000

static bool is_stale(const struct gate_sensor *sensor, const struct model_point *point,
                     struct gate_time now) {
    return sensor->heard == 0 || now.line - sensor->heard > point->max_age_ms;
}

static struct gate_stamp stamp_of(const struct gate_reading *reading) {
    return (struct gate_stamp){reading->has_at, reading->at, reading->has_seq, reading->seq,
                               reading->modulus};
}

static bool is_bad(const struct gate_reading *reading, const struct gate_stamp *stamp,
                   struct gate_time now) {
    return !reading->readable || !reading->good || reading->state == MODEL_POINT_UNKNOWN ||
           gate_stamp_ahead(stamp, now);
}

static enum gate_heard hear_bad(struct gate *gate, struct gate_site *site,
                                struct gate_sensor *sensor, struct gate_time now, bool askew) {
    bool changed = askew && gate_set_askew(site, &sensor->askew, true);
    changed |= !sensor->bad;
    sensor->bad = true;
    sensor->isolated_since = 0;
    if (changed) {
        gate_review(gate, site, now);
    }
    return GATE_HEARD_BAD;
}

// Takes a newer word. True: the point may have changed by it.
static bool take(struct gate_sensor *sensor, const struct model_point *point,
                 const struct gate_reading *reading, const struct gate_stamp *stamp,
                 struct gate_time now) {
    bool gap = sensor->bad || is_stale(sensor, point, now) || sensor->state != reading->state;
    int64_t before = sensor->heard;
    sensor->heard = gate_stamp_line(stamp, now);
    sensor->state = (uint8_t)reading->state;
    sensor->bad = false;
    gate_mark_move(&sensor->mark, stamp);
    if (reading->state != MODEL_POINT_ISOLATED) {
        sensor->isolated_since = 0;
    } else if (gap) {
        sensor->isolated_since = now.line;
    }
    return gap || sensor->heard < before; // dated back: it grows stale sooner than was reckoned
}

// Whether a good word makes its point what it says.
static bool becomes_state(const struct gate_site *site, const struct gate_sensor *sensor,
                          const struct model_point *point, struct gate_time now) {
    bool online = point->controller == MODEL_NONE ||
                  site->controllers[point->controller] == GATE_CONTROLLER_ONLINE;
    return online && !is_stale(sensor, point, now);
}

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
    bool askew = gate_stamp_askew(&stamp, reading->retained, point->max_age_ms, now);
    if (is_bad(reading, &stamp, now)) {
        return hear_bad(gate, site, sensor, now, askew);
    }
    enum gate_order order = gate_order_of(&sensor->mark, &stamp, is_stale(sensor, point, now));
    bool live = reading->state == MODEL_POINT_LIVE;
    if (order == GATE_ORDER_COPY && !(live && sensor->state == MODEL_POINT_ISOLATED)) {
        return GATE_HEARD_COPY;
    }
    if (order == GATE_ORDER_OLDER) {
        if (live) {
            gate_live_word(gate, site, point_index, reading->has_at ? reading->at : 0, now);
            gate_review(gate, site, now);
        }
        return live ? GATE_HEARD_CHANGED : GATE_HEARD_OLDER;
    }
    bool changed = take(sensor, point, reading, &stamp, now);
    changed |= gate_set_askew(site, &sensor->askew, askew);
    if (live && !becomes_state(site, sensor, point, now)) {
        // Too old, or nobody vouches for its controller: yet live is never too little to stop.
        bool old = is_stale(sensor, point, now);
        gate_live_word(gate, site, point_index, old ? reading->at : 0, now);
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

// --- Tag readers ---

static struct gate_reader_mark *mark_of(struct gate_point_hearing *hearing, const char *who) {
    for (size_t i = 0; i < hearing->mark_count; i++) {
        if (strcmp(hearing->marks[i].who, who) == 0) {
            return &hearing->marks[i];
        }
    }
    struct gate_reader_mark *marks =
        realloc(hearing->marks, (hearing->mark_count + 1) * sizeof *marks);
    if (marks == NULL) {
        return NULL;
    }
    hearing->marks = marks;
    memset(&marks[hearing->mark_count], 0, sizeof *marks);
    gate_id_copy(marks[hearing->mark_count].who, who);
    return &marks[hearing->mark_count++];
}

// What a reader saw longer ago than the point may be unheard is too old to count. A point without
// sensors has no such age of its own: then the contract's default serves.
static int64_t reader_age(const struct model_point *point) {
    return point->sensor_count > 0 ? point->max_age_ms : READER_AGE_MS;
}

static struct gate_stamp stamp_of_tagging(const struct gate_tagging *tagging) {
    return (struct gate_stamp){tagging->has_at, tagging->at, tagging->has_seq, tagging->seq,
                               tagging->modulus};
}

static enum gate_order reader_order(const struct gate_reader_mark *reader,
                                    const struct model_point *point, const struct gate_stamp *stamp,
                                    struct gate_time now) {
    return gate_order_of(&reader->mark, stamp, now.line - reader->heard > reader_age(point));
}

// Whether a lock that the reader saw may count at all: reported in time, not dated ahead, and hung
// after the point last read live.
static bool hung_in_time(const struct gate_site *site, uint32_t point,
                         const struct gate_tagging *tagging, struct gate_time now) {
    const struct model_point *model = &site->model->points[point];
    if (!tagging->has_at) {
        return true;
    }
    return tagging->at <= now.wall + GATE_AHEAD_MS && now.wall - tagging->at <= reader_age(model) &&
           tagging->at > site->points[point].last_live.wall &&
           tagging->at > site->hearing[point].live_word;
}

static void hang_by_reader(struct gate *gate, struct gate_site *site, uint32_t point,
                           const struct gate_job *job, const struct gate_tagging *tagging,
                           bool may_count, struct gate_time now) {
    const struct model_person *person = model_person_find(gate->model, tagging->person);
    const struct gate_tag *tag =
        gate_tag_find(site, point, job != NULL ? job->job : "", tagging->person);
    bool counts = false;
    if (may_count) {
        int64_t next = INT64_MAX;
        struct gate_view view = job != NULL ? gate_point_for_job(gate, site, job, point, now, &next)
                                            : gate_point_derive(gate, site, point, now, &next);
        counts = view.state == MODEL_POINT_ISOLATED;
    }
    if (tag != NULL && !counts) {
        return; // it is listed already; a late word makes it neither better nor worse
    }
    struct gate_fact fact = gate_fact_of_point(gate, site, point, GATE_FACT_TAG_HUNG, now);
    fact.job = job != NULL ? job->job : NULL;
    fact.person = person != NULL ? person->person : NULL;
    fact.badge = tagging->person;
    fact.reader = true;
    fact.has_counts = true;
    fact.counts = counts;
    fact.hung = tagging->has_at && tagging->at < now.wall ? tagging->at : 0;
    gate_emit(gate, &fact);
}

static void hung_by_reader(struct gate *gate, struct gate_site *site, uint32_t point,
                           const struct gate_tagging *tagging, bool may_count,
                           struct gate_time now) {
    bool of_a_job = false;
    for (size_t i = 0; i < site->job_count; i++) {
        struct gate_job *job = site->jobs[i];
        if (gate_job_stands(job) && gate_requires(job, point) &&
            gate_member_of(job, tagging->person) != NULL) {
            hang_by_reader(gate, site, point, job, tagging, may_count, now);
            of_a_job = true;
        }
    }
    if (!of_a_job) {
        hang_by_reader(gate, site, point, NULL, tagging, may_count, now);
    }
}

static void lifted_by_reader(struct gate *gate, struct gate_site *site, uint32_t point,
                             const char *who, struct gate_time now) {
    struct gate_point *state = &site->points[point];
    struct gate_fact how = {.reader = true};
    for (size_t i = state->tag_count; i-- > 0;) {
        if (i >= state->tag_count) {
            continue; // what followed from the tag behind took this one along
        }
        const struct gate_tag *tag = &state->tags[i];
        if (strcmp(tag->person, who) == 0 || (tag->person[0] == '\0' && !strcmp(tag->badge, who))) {
            char job[MODEL_ID_SIZE];
            gate_id_copy(job, tag->job);
            gate_tag_lift(gate, site, point, job, who, &how, now);
        }
    }
}

enum gate_heard gate_hear_tagging(struct gate *gate, uint32_t site_index, uint32_t point,
                                  const struct gate_tagging *tagging, struct gate_time now) {
    struct gate_site *site = &gate->sites[site_index];
    gate_review_due(gate, site, now);
    struct gate_reader_mark *mark = mark_of(&site->hearing[point], tagging->person);
    const struct model_point *model = &site->model->points[point];
    struct gate_stamp stamp = stamp_of_tagging(tagging);
    enum gate_order order =
        mark != NULL ? reader_order(mark, model, &stamp, now) : GATE_ORDER_OLDER;
    if (mark != NULL && order == GATE_ORDER_NEWER && !gate_stamp_ahead(&stamp, now)) {
        mark->heard = now.line;
        gate_mark_move(&mark->mark, &stamp);
    }
    if (tagging->hung) {
        bool may_count = order == GATE_ORDER_NEWER && hung_in_time(site, point, tagging, now);
        hung_by_reader(gate, site, point, tagging, may_count, now);
    } else {
        lifted_by_reader(gate, site, point, tagging->person, now);
    }
    gate_review(gate, site, now);
    return GATE_HEARD_CHANGED;
}
