// Prints the rows of the facts as JSON: the documents are made of them, and the tests from outside
// read them instead of the source.
#include "gate/fact/row.h"
#include "json/json.h"

#include <stdio.h>

static void fields(struct json_out *out, const struct gate_fact_row *row) {
    gate_fact_mask carried = row->carries | GATE_FACT_OF_ALL;
    json_out_key(out, "fields");
    json_out_array(out);
    for (int i = 0; i < GATE_FACT_FIELD_COUNT; i++) {
        if ((carried >> i & 1u) != 0) {
            json_out_string(out, gate_fact_field_rows[i].name);
        }
    }
    json_out_array_end(out);
}

static void fact(struct json_out *out, const struct gate_fact_row *row) {
    json_out_object(out);
    json_out_key(out, "fact");
    json_out_string(out, row->name);
    json_out_key(out, "published");
    json_out_bool(out, row->published);
    fields(out, row);
    json_out_object_end(out);
}

int main(void) {
    struct json_out out = {0};
    json_out_array(&out);
    for (int i = 0; i < GATE_FACT_COUNT; i++) {
        fact(&out, gate_fact_row((enum gate_fact_type)i));
    }
    json_out_array_end(&out);
    bool good = !out.failed && fwrite(out.data, 1, out.length, stdout) == out.length;
    json_out_free(&out);
    return good && fflush(stdout) == 0 ? 0 : 1;
}
