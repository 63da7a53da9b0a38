// Members of the documents, one line each. Shared by the files of this folder alone.
#pragma once

#include "json/json.h"

// A text; NULL and "" as null.
void tell_text(struct json_out *out, const char *name, const char *value);
// An instant (Unix ms); 0 as null.
void tell_time(struct json_out *out, const char *name, int64_t wall);
void tell_flag(struct json_out *out, const char *name, bool value);
// A number, or null where there is none.
void tell_number(struct json_out *out, const char *name, bool present, double value);
