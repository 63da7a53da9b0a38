// Reading the journal's rows as facts, and printing them as JSON.
#pragma once

#include "journal/journal.h"
#include "wire/fact_codec.h"

// What reading reuses from row to row. Zero-initialize it.
struct tool_row_reader {
    const struct model *model;
    struct json_tape tape;
    struct wire_fact_arena arena;
};
void tool_row_reader_free(struct tool_row_reader *reader);
// The fact of a row, good until the next. False: what says why, with the row's number.
#define TOOL_ROW_WHAT_SIZE 160
bool tool_row_read(struct tool_row_reader *reader, const struct journal_row *row,
                   struct gate_fact *fact, char what[TOOL_ROW_WHAT_SIZE]);

// The members "seq","at","type","site","subject", for an object that goes on. The type is spelled
// as in events.
void tool_row_members(struct json_out *out, const struct journal_row *row);
// Compares texts of which either may be NULL (equal to nothing).
bool tool_same(const char *a, const char *b);
