// Prints the sentences of refusals as JSON, in their order: the documents are made of them, and the
// tests of the pages read them instead of the source.
#include "gate/refusal.h"
#include "json/json.h"

#include <stdio.h>

#define ROW(id, name, code, need, met, found, say) {name, MODEL_CODE_##code, need, found, say},
static const struct {
    const char *name;
    enum model_code code;
    const char *need, *found, *say;
} rows[] = {GATE_SAYS(ROW)};

static void text(struct json_out *out, const char *name, const char *value) {
    json_out_key(out, name);
    json_out_string(out, value);
}

static void sentences(struct json_out *out) {
    json_out_key(out, "sentences");
    json_out_array(out);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        json_out_object(out);
        text(out, "sentence", rows[i].name);
        text(out, "code", model_code_name(rows[i].code));
        text(out, "need", rows[i].need);
        text(out, "found", rows[i].found);
        text(out, "say", rows[i].say);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void codes(struct json_out *out) {
    json_out_key(out, "codes");
    json_out_array(out);
    for (int code = 0; code < MODEL_CODE_COUNT; code++) {
        json_out_string(out, model_code_name((enum model_code)code));
    }
    json_out_array_end(out);
}

static void texts(struct json_out *out) {
    json_out_key(out, "texts");
    json_out_array(out);
    for (size_t i = 0; i < GATE_ARG_TEXTS; i++) {
        json_out_string(out, gate_arg_texts[i].name);
    }
    json_out_array_end(out);
}

int main(void) {
    struct json_out out = {0};
    json_out_object(&out);
    sentences(&out);
    codes(&out);
    texts(&out);
    json_out_object_end(&out);
    bool good = !out.failed && fwrite(out.data, 1, out.length, stdout) == out.length;
    json_out_free(&out);
    return good && putchar('\n') != EOF ? 0 : 1;
}
