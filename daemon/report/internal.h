// What the files of this folder share.
#pragma once

#include "report/record.h"

#include <string.h>

// Whether a position is in service, as of the facts so far.
struct record_place {
    bool in;
    bool unproved; // out since the journal began
    int64_t since, seq;
    enum model_cause cause;
};

// Room for one more at the end of a list of the record; zeroed. NULL: no memory, and the record has
// failed.
void *record_more(struct record *record, void *list, size_t *count, size_t *capacity, size_t size);
#define RECORD_MORE(record, list)                                                                  \
    record_more((record), &(record)->list##s, &(record)->list##_count, &(record)->list##_capacity, \
                sizeof *(record)->list##s)

// Whether two texts are the same; NULL is the same as nothing.
static inline bool record_is(const char *a, const char *b) {
    return a != NULL && b != NULL && strcmp(a, b) == 0;
}

// Follows one fact of the job, or one that touches it.
void record_follow(struct record *record, const struct record_entry *entry);
