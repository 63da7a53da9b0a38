// Members of the record as JSON.
#include "report/record_json.h"

#include "report/record.h"

#include "base/hex.h"

void report_hash_text(const uint8_t hash[REPORT_HASH_SIZE], char text[2 * REPORT_HASH_SIZE + 1]) {
    base_hex_encode(hash, REPORT_HASH_SIZE, text);
}

void report_json_hash(struct json_out *out, const char *name, const uint8_t *bytes) {
    char digits[2 * REPORT_HASH_SIZE + 1];
    report_hash_text(bytes, digits);
    wire_text(out, name, digits);
}

void report_json_entry(struct json_out *out, const struct report_entry *entry) {
    json_out_object(out);
    wire_count(out, "seq", entry->seq);
    wire_time(out, "at", entry->fact->at.wall);
}

void report_json_person(struct json_out *out, const struct report_record *record, const char *name,
                        const char *title_name, const char *id) {
    const struct model_person *found = id != NULL ? model_person_find(record->model, id) : NULL;
    wire_text(out, name, id);
    wire_text(out, title_name, found != NULL ? found->title : NULL);
}

void report_json_instrument(struct json_out *out, const struct report_record *record,
                            const char *id) {
    const struct model_instrument *found =
        id != NULL ? model_instrument_find(record->model, id) : NULL;
    wire_text(out, "instrument", id);
    wire_text(out, "instrument_kind", found != NULL ? found->kind : NULL);
    wire_text(out, "calibrated_until", found != NULL ? found->calibrated_until.day : NULL);
}

void report_json_voided(struct json_out *out, const struct report_void *one) {
    json_out_key(out, "void");
    if (one->seq == 0) {
        json_out_null(out);
        return;
    }
    json_out_object(out);
    wire_count(out, "seq", one->seq);
    wire_time(out, "at", one->at);
    wire_text(out, "why", one->why);
    json_out_object_end(out);
}
