// Members of an object, one line each: whatever is written as JSON names its members by these.
#pragma once

#include "model/model.h"
#include "json/json.h"

// A text; NULL and "" as null.
void tell_text(struct json_out *out, const char *name, const char *value);
// An instant (Unix ms); 0 as null.
void tell_time(struct json_out *out, const char *name, int64_t wall);
void tell_flag(struct json_out *out, const char *name, bool value);
// A number, or null where there is none.
void tell_number(struct json_out *out, const char *name, bool present, double value);
void tell_count(struct json_out *out, const char *name, int64_t value);
// "min" and "max", null where there is none.
void tell_limits(struct json_out *out, const struct model_limits *limits);
// Opens a list; the caller closes it.
void tell_list(struct json_out *out, const char *name);
