// Reading the journal's rows as facts, and printing them as JSON.
#pragma once

#include "journal/journal.h"
#include "wire/fact_codec.h"

// What reading reuses from row to row. Zero-initialize it.
struct record_reader {
    const struct model *model;
    struct json_tape tape;
    struct fact_arena arena;
};
void record_reader_free(struct record_reader *reader);
// The fact of a row, good until the next. False: what says why, with the row's number.
#define RECORD_WHAT_SIZE 160
bool record_read(struct record_reader *reader, const struct journal_row *row,
                 struct gate_fact *fact, char what[RECORD_WHAT_SIZE]);

// The members "seq","at","type","site","subject", for an object that goes on. The type is spelled
// as in events.
void record_members(struct json_out *out, const struct journal_row *row);
// Compares texts of which either may be NULL (equal to nothing).
bool record_same(const char *a, const char *b);
