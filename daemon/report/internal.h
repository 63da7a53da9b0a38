// What the files of this folder share.
#pragma once

#include "report/record.h"

#include <string.h>

// Whether a position is in service, as of the facts so far.
struct report_service {
    bool in;
    bool unproved; // out since the journal began
    int64_t since, seq;
    enum model_cause cause;
};

// Room for one more at the end of a list of the record; zeroed. NULL: no memory, and the record has
// failed.
void *report_more(struct report_record *record, void *list, size_t *count, size_t *capacity,
                  size_t size);
#define REPORT_MORE(record, list)                                                                  \
    report_more((record), &(record)->list##s, &(record)->list##_count, &(record)->list##_capacity, \
                sizeof *(record)->list##s)

// Whether two texts are the same; NULL is the same as nothing.
static inline bool report_is(const char *a, const char *b) {
    return a != NULL && b != NULL && strcmp(a, b) == 0;
}

// Follows one fact of the job, or one that touches it.
void report_build(struct report_record *record, const struct report_entry *entry);
