// Members of the record as JSON.
#include "record/member.h"

#include "record/tell.h"

#include "wire/fact_parts.h"

void record_hash_text(const uint8_t hash[RECORD_HASH_SIZE], char text[2 * RECORD_HASH_SIZE + 1]) {
    for (size_t i = 0; i < RECORD_HASH_SIZE; i++) {
        snprintf(text + 2 * i, 3, "%02x", hash[i]);
    }
}

void record_json_text(struct json_out *out, const char *name, const char *value) {
    json_out_key(out, name);
    fact_write_text(out, value);
}

void record_json_when(struct json_out *out, const char *name, int64_t ms) {
    json_out_key(out, name);
    fact_write_time(out, ms);
}

void record_json_number(struct json_out *out, const char *name, bool has, double value) {
    json_out_key(out, name);
    fact_write_number(out, has, value);
}

void record_json_count(struct json_out *out, const char *name, int64_t value) {
    json_out_key(out, name);
    json_out_int(out, value);
}

void record_json_flag(struct json_out *out, const char *name, bool value) {
    json_out_key(out, name);
    json_out_bool(out, value);
}

void record_json_hash(struct json_out *out, const char *name, const uint8_t *bytes) {
    char digits[2 * RECORD_HASH_SIZE + 1];
    record_hash_text(bytes, digits);
    record_json_text(out, name, digits);
}

void record_json_list(struct json_out *out, const char *name) {
    json_out_key(out, name);
    json_out_array(out);
}

void record_json_begin(struct json_out *out, const struct record_entry *entry) {
    json_out_object(out);
    record_json_count(out, "seq", entry->seq);
    record_json_when(out, "at", entry->fact->at.wall);
}

void record_json_person(struct json_out *out, const struct record *record, const char *name,
                        const char *title_name, const char *id) {
    const struct model_person *found = id != NULL ? model_person_find(record->model, id) : NULL;
    record_json_text(out, name, id);
    record_json_text(out, title_name, found != NULL ? found->title : NULL);
}

void record_json_instrument(struct json_out *out, const struct record *record, const char *id) {
    const struct model_instrument *found =
        id != NULL ? model_instrument_find(record->model, id) : NULL;
    record_json_text(out, "instrument", id);
    record_json_text(out, "instrument_kind", found != NULL ? found->kind : NULL);
    record_json_text(out, "calibrated_until", found != NULL ? found->calibrated_until.day : NULL);
}

void record_json_voided(struct json_out *out, const struct record_void *one) {
    json_out_key(out, "void");
    if (one->seq == 0) {
        json_out_null(out);
        return;
    }
    json_out_object(out);
    record_json_count(out, "seq", one->seq);
    record_json_when(out, "at", one->at);
    record_json_text(out, "why", one->why);
    json_out_object_end(out);
}

void record_json_limits(struct json_out *out, const struct model_limits *of) {
    record_json_number(out, "min", of->has_min, of->min);
    record_json_number(out, "max", of->has_max, of->max);
}
