// Members of the record as JSON: what the files that write it share.
#pragma once

#include "report/record.h"
#include "wire/tell_member.h"

// REPORT_HASH_SIZE bytes as hex digits.
void report_json_hash(struct json_out *out, const char *name, const uint8_t *bytes);
// Opens an object with an entry's "seq" and "at"; the caller closes it.
void report_json_entry(struct json_out *out, const struct report_entry *entry);
// A person's id (NULL: null) and, beside it, the title as configured now.
void report_json_person(struct json_out *out, const struct report_record *record, const char *name,
                        const char *title_name, const char *id);
// "instrument" (NULL: null), its kind and the last day of its calibration as configured now.
void report_json_instrument(struct json_out *out, const struct report_record *record,
                            const char *id);
// "void": since when and why it does not count; null if it does.
void report_json_voided(struct json_out *out, const struct report_void *one);

// "checks" and "tests": each requirement of the opening, and what was added, with all that was said
// of it.
void report_json_checks(struct json_out *out, const struct report_record *record);
void report_json_tests(struct json_out *out, const struct report_record *record);
