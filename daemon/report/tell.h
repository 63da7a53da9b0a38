// A computed record as JSON, as text for people, and as a line of a table.
#pragma once

#include "report/record.h"

#include <stdio.h>

// What a record is told with, beside itself.
struct report_context {
    int64_t now;          // wall ms: credentials and calibration are as configured then
    const char *version;  // of the program that tells
    const char *instance; // the journal's owner
    int64_t head_seq;     // the end of the journal then
    const uint8_t *head_hash;
    bool verified; // the chain of hashes was proved from the job's opening to the head
};

// The cautions that every record ends with; NULL past the last.
const char *report_caution(size_t index);
// Everything. json_out holds the error.
void report_record_json(const struct report_record *record, const struct report_context *telling,
                        struct json_out *out);
// A printed form of at most 96 columns. What people wrote cannot steer a terminal.
void report_record_text(const struct report_record *record, const struct report_context *telling,
                        FILE *out);
// The names of the columns, and a record's line; lines end as RFC 4180 has it.
void report_record_csv_head(FILE *out);
void report_record_csv(const struct report_record *record, const struct report_context *telling,
                       FILE *out);
// 64 hex digits and a NUL.
void report_hash_text(const uint8_t hash[REPORT_HASH_SIZE], char text[2 * REPORT_HASH_SIZE + 1]);
