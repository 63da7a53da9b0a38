// The journal's rows.
#include "tool/row.h"

#include "wire/fact_parts.h"

#include <string.h>

void tool_row_reader_free(struct tool_row_reader *reader) {
    json_tape_free(&reader->tape);
    wire_fact_arena_free(&reader->arena);
}

static bool wrong(const struct journal_row *row, const char *why, char what[TOOL_ROW_WHAT_SIZE]) {
    snprintf(what, TOOL_ROW_WHAT_SIZE, "fact %lld (%.60s): %s", (long long)row->seq, row->type,
             why);
    return false;
}

bool tool_row_read(struct tool_row_reader *reader, const struct journal_row *row,
                   struct gate_fact *fact, char what[TOOL_ROW_WHAT_SIZE]) {
    int type = gate_fact_of(row->type);
    const struct model_site *site =
        row->site[0] != '\0' ? model_site_find(reader->model, row->site) : NULL;
    struct json_error error;
    if (type < 0) {
        return wrong(row, "a type that this version does not know", what);
    }
    wire_fact_arena_reset(&reader->arena);
    if (!json_scan(&reader->tape, row->data, row->data_length, &json_config_limits, &error) ||
        !wire_fact_decode(&reader->tape, json_root(&reader->tape), (enum gate_fact_type)type,
                          site != NULL ? site->index : MODEL_NONE,
                          (struct gate_time){row->at_ms, row->mono_ms}, &reader->arena, fact)) {
        return wrong(row, "data that cannot be read", what);
    }
    fact->missing_site = site == NULL && row->site[0] != '\0' ? row->site : NULL;
    return true;
}

void tool_row_members(struct json_out *out, const struct journal_row *row) {
    char type[sizeof "forelock." + 64];
    snprintf(type, sizeof type, "forelock.%s", row->type);
    json_out_key(out, "seq");
    json_out_int(out, row->seq);
    json_out_key(out, "at");
    wire_fact_write_time(out, row->at_ms);
    json_out_key(out, "type");
    json_out_string(out, type);
    json_out_key(out, "site");
    wire_fact_write_text(out, row->site);
    json_out_key(out, "subject");
    wire_fact_write_text(out, row->subject);
}

bool tool_same(const char *a, const char *b) {
    return a != NULL && b != NULL && strcmp(a, b) == 0;
}
