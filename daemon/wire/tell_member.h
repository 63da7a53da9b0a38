// Members of an object, one line each: whatever is written as JSON names its members by these.
#pragma once

#include "model/model.h"
#include "json/json.h"

// A text; NULL and "" as null.
void wire_text(struct json_out *out, const char *name, const char *value);
// Texts by language, as an object; of what is said in one language alone, nothing.
void wire_texts(struct json_out *out, const char *name, const struct model_texts *texts);
// An instant (Unix ms); 0 as null.
void wire_time(struct json_out *out, const char *name, int64_t wall);
void wire_flag(struct json_out *out, const char *name, bool value);
// A number, or null where there is none.
void wire_number(struct json_out *out, const char *name, bool present, double value);
// What a value was computed from, "reading" and "reading_unit"; where it was not, nothing.
void wire_reading(struct json_out *out, bool present, double reading, const char *unit);
void wire_count(struct json_out *out, const char *name, int64_t value);
// "min" and "max", null where there is none.
void wire_limits(struct json_out *out, const struct model_limits *limits);
// Opens a list; the caller closes it.
void wire_list(struct json_out *out, const char *name);
