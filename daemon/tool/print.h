// JSON that a command prints.
#pragma once

#include "json/json.h"

#include <stdbool.h>

// A member that is a text; NULL becomes null.
void tool_text_member(struct json_out *out, const char *name, const char *text);
// Prints what was written and a line's end to standard output, and frees it. False: there was no
// memory for it, and nothing is printed.
bool tool_print_json(struct json_out *out);
