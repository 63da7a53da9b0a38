// Members of this folder's own documents, one line each.
#pragma once

#include "wire/fact_parts.h"
#include "json/json.h"

// A text; NULL and "" as null.
static inline void http_text(struct json_out *out, const char *name, const char *text) {
    json_out_key(out, name);
    fact_write_text(out, text);
}

static inline void http_flag(struct json_out *out, const char *name, bool value) {
    json_out_key(out, name);
    json_out_bool(out, value);
}

// A number, or null where there is none.
static inline void http_figure(struct json_out *out, const char *name, bool present, double value) {
    json_out_key(out, name);
    fact_write_number(out, present, value);
}

static inline void http_array(struct json_out *out, const char *name) {
    json_out_key(out, name);
    json_out_array(out);
}
