// The small documents: position, point and alarm.
#include "wire/tell.h"

#include "gate/alarm.h"
#include "wire/fact_refusal.h"
#include "wire/tell_day.h"
#include "wire/tell_member.h"

#include <string.h>

// 64-bit FNV-1a, from where it stands.
static uint64_t hash_more(uint64_t hash, const char *data, size_t length) {
    for (size_t i = 0; i < length; i++) {
        hash = (hash ^ (unsigned char)data[i]) * 0x100000001b3u;
    }
    return hash;
}

uint64_t wire_hash(const char *data, size_t length) {
    return hash_more(0xcbf29ce484222325u, data, length);
}

bool wire_position(struct json_out *out, const struct gate *gate, uint32_t site,
                   uint32_t position) {
    const struct gate_site *at = &gate->sites[site];
    const struct gate_position *state = &at->positions[position];
    const struct gate_job *job = gate_job_on(at, position);
    char with[MODEL_ID_SIZE] = "";
    enum model_cause cause = gate_position_cause(gate, at, position, with);
    json_out_object(out);
    wire_text(out, "position", at->model->positions[position].position);
    wire_text(out, "service", model_service_name(state->service));
    wire_text(out, "cause", state->service == MODEL_SERVICE_OUT ? model_cause_name(cause) : NULL);
    wire_text(out, "job", job != NULL ? job->job : NULL);
    wire_text(out, "with", with);
    wire_text(out, "phase", job != NULL ? model_phase_name(job->phase) : NULL);
    wire_text(out, "lockout", job != NULL ? model_lockout_name(job->lockout) : NULL);
    wire_time(out, "since", state->since.wall);
    wire_hangs(out, state);
    json_out_object_end(out);
    return !out->failed;
}

static void tags(struct json_out *out, const struct gate_point *point) {
    json_out_key(out, "tags");
    json_out_array(out);
    for (size_t i = 0; i < point->tag_count; i++) {
        const struct gate_tag *tag = &point->tags[i];
        json_out_object(out);
        wire_text(out, "person", tag->person);
        if (tag->badge[0] != '\0') {
            wire_text(out, "badge", tag->badge);
        }
        wire_text(out, "job", tag->job);
        wire_time(out, "since", tag->since.wall);
        // A lock of no job protects nobody, whatever its point reads.
        wire_flag(out, "counts", tag->counts && tag->job[0] != '\0');
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

void wire_distrusts(struct json_out *out, const struct gate_site *site, uint32_t point,
                    bool named) {
    for (size_t i = 0; i < site->points[point].distrust_count; i++) {
        const struct gate_distrust *distrust = &site->points[point].distrusts[i];
        bool reader = distrust->sensor == MODEL_NONE;
        json_out_object(out);
        if (named) {
            wire_text(out, "point", site->model->points[point].point);
        }
        wire_text(out, reader ? "reader" : "sensor",
                  reader ? site->model->points[point].point
                         : site->model->sensors[distrust->sensor].sensor);
        wire_text(out, "by", distrust->by);
        wire_time(out, "until", distrust->until.wall);
        wire_text(out, "reason", distrust->reason);
        json_out_object_end(out);
    }
}

// The hash of what was written from start on, but for the stretch from one offset to another.
static uint64_t hash_without(const struct json_out *out, size_t start, size_t from, size_t to) {
    if (out->failed) {
        return 0;
    }
    start += out->data[start] == ','; // belongs to what stands before
    uint64_t hash = wire_hash(out->data + start, from - start);
    return hash_more(hash, out->data + to, out->length - to);
}

bool wire_point(struct json_out *out, const struct gate *gate, uint32_t site, uint32_t point,
                struct gate_time now, uint64_t *hash) {
    const struct gate_site *at = &gate->sites[site];
    const struct gate_point *state = &at->points[point];
    size_t start = out->length;
    json_out_object(out);
    wire_text(out, "point", at->model->points[point].point);
    wire_text(out, "energy", at->model->points[point].energy);
    wire_text(out, "state", model_point_state_name(state->state));
    wire_text(out, "trust", model_trust_name(state->trust));
    tags(out, state);
    wire_list(out, "distrusted");
    wire_distrusts(out, at, point, false);
    json_out_array_end(out);
    size_t from = out->length;
    wire_time(out, "heard", gate_point_heard(gate, at, point, now));
    size_t to = out->length;
    wire_time(out, "since", state->since.wall);
    json_out_object_end(out);
    if (hash != NULL) {
        *hash = hash_without(out, start, from, to);
    }
    return !out->failed;
}

bool wire_alarm(struct json_out *out, const struct gate *gate, uint32_t site,
                const struct gate_alarm *alarm) {
    const struct model_site *model = gate->sites[site].model;
    bool known = alarm->position < model->position_count;
    char group[GATE_GROUP_SIZE];
    json_out_object(out);
    wire_text(out, "alarm", alarm->alarm);
    wire_text(out, "kind", model_alarm_kind_name(alarm->kind));
    wire_text(out, "job", alarm->job);
    wire_text(out, "position", known ? model->positions[alarm->position].position : NULL);
    wire_text(out, "point", alarm->point);
    wire_text(out, "subject", alarm->subject);
    wire_text(out, "by", alarm->by);
    wire_text(out, "why", alarm->has_why ? model_code_name(alarm->why) : NULL);
    wire_text(out, "say", alarm->say);
    json_out_key(out, "args");
    if (alarm->told.sentence != GATE_SAY_NONE) {
        wire_fact_write_args(out, &alarm->told);
    } else {
        json_out_null(out);
    }
    wire_text(out, "state", model_alarm_state_name(alarm->state));
    wire_time(out, "raised", alarm->raised.wall);
    wire_count(out, "count", alarm->count);
    wire_text(out, "priority", model_priority_name(gate_alarm_priority(alarm)));
    gate_alarm_group(alarm, group, sizeof group);
    wire_text(out, "group", group);
    json_out_object_end(out);
    return !out->failed;
}
