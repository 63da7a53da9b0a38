// A name and its value.
#include "wire/tell_member.h"

#include "wire/fact_parts.h"

void wire_text(struct json_out *out, const char *name, const char *value) {
    json_out_key(out, name);
    wire_fact_write_text(out, value);
}

void wire_texts(struct json_out *out, const char *name, const struct model_texts *texts) {
    if (texts == NULL) {
        return;
    }
    json_out_key(out, name);
    json_out_object(out);
    for (size_t i = 0; i < texts->count; i++) {
        wire_text(out, texts->in[i].language, texts->in[i].text);
    }
    json_out_object_end(out);
}

void wire_time(struct json_out *out, const char *name, int64_t wall) {
    json_out_key(out, name);
    wire_fact_write_time(out, wall);
}

void wire_flag(struct json_out *out, const char *name, bool value) {
    json_out_key(out, name);
    json_out_bool(out, value);
}

void wire_number(struct json_out *out, const char *name, bool present, double value) {
    json_out_key(out, name);
    wire_fact_write_number(out, present, value);
}

void wire_reading(struct json_out *out, bool present, double reading, const char *unit) {
    if (present) {
        wire_number(out, "reading", true, reading);
        wire_text(out, "reading_unit", unit);
    }
}

void wire_count(struct json_out *out, const char *name, int64_t value) {
    json_out_key(out, name);
    json_out_int(out, value);
}

void wire_limits(struct json_out *out, const struct model_limits *limits) {
    wire_number(out, "min", limits->has_min, limits->min);
    wire_number(out, "max", limits->has_max, limits->max);
}

void wire_list(struct json_out *out, const char *name) {
    json_out_key(out, name);
    json_out_array(out);
}
