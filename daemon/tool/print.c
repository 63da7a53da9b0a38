// JSON that a command prints.
#include "tool/print.h"

#include <stdio.h>

void tool_text_member(struct json_out *out, const char *name, const char *text) {
    json_out_key(out, name);
    json_out_string(out, text);
}

bool tool_print_json(struct json_out *out) {
    bool good = !out->failed;
    if (good) {
        printf("%s\n", out->data);
    }
    json_out_free(out);
    return good;
}
