// A name and its value.
#include "wire/tell_member.h"

#include "wire/fact_parts.h"

void tell_text(struct json_out *out, const char *name, const char *value) {
    json_out_key(out, name);
    fact_write_text(out, value);
}

void tell_time(struct json_out *out, const char *name, int64_t wall) {
    json_out_key(out, name);
    fact_write_time(out, wall);
}

void tell_flag(struct json_out *out, const char *name, bool value) {
    json_out_key(out, name);
    json_out_bool(out, value);
}

void tell_number(struct json_out *out, const char *name, bool present, double value) {
    json_out_key(out, name);
    fact_write_number(out, present, value);
}

void tell_count(struct json_out *out, const char *name, int64_t value) {
    json_out_key(out, name);
    json_out_int(out, value);
}

void tell_limits(struct json_out *out, const struct model_limits *limits) {
    tell_number(out, "min", limits->has_min, limits->min);
    tell_number(out, "max", limits->has_max, limits->max);
}

void tell_list(struct json_out *out, const char *name) {
    json_out_key(out, name);
    json_out_array(out);
}
