// A computed record as JSON, as text for people, and as a line of a table.
#pragma once

#include "report/record.h"

#include <stdio.h>

// What a record is told with, beside itself.
struct record_telling {
    int64_t now;          // wall ms: credentials and calibration are as configured then
    const char *version;  // of the program that tells
    const char *instance; // the journal's owner
    int64_t head_seq;     // the end of the journal then
    const uint8_t *head_hash;
    bool verified; // the chain of hashes was proved from the job's opening to the head
};

// The cautions that every record ends with; NULL past the last.
const char *record_caution(size_t index);
// Everything. json_out holds the error.
void record_tell_json(const struct record *record, const struct record_telling *telling,
                      struct json_out *out);
// A printed form of at most 96 columns. What people wrote cannot steer a terminal.
void record_tell_text(const struct record *record, const struct record_telling *telling, FILE *out);
// The names of the columns, and a record's line; lines end as RFC 4180 has it.
void record_tell_csv_head(FILE *out);
void record_tell_csv(const struct record *record, const struct record_telling *telling, FILE *out);
// 64 hex digits and a NUL.
void record_hash_text(const uint8_t hash[RECORD_HASH_SIZE], char text[2 * RECORD_HASH_SIZE + 1]);
