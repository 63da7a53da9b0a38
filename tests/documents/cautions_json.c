// Prints the sentences of a result's cautions as JSON, in their order: the documents are made of
// them, and the tests of the pages read them instead of the source.
#include "trade/caution.h"
#include "json/json.h"

#include <stdio.h>

#define ROW(id, name, words) {name, words},
static const struct { const char *name, *words; } rows[] = {TRADE_CAUTIONS(ROW)};

int main(void) {
    struct json_out out = {0};
    json_out_array(&out);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        json_out_object(&out);
        json_out_key(&out, "caution");
        json_out_string(&out, rows[i].name);
        json_out_key(&out, "say");
        json_out_string(&out, rows[i].words);
        json_out_object_end(&out);
    }
    json_out_array_end(&out);
    bool good = !out.failed && fwrite(out.data, 1, out.length, stdout) == out.length;
    json_out_free(&out);
    return good && putchar('\n') != EOF ? 0 : 1;
}
