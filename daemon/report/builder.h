// What the facts of a job make of its record.
#pragma once

#include "report/record.h"

#include <string.h>

// Whether two texts are the same; NULL is the same as nothing.
static inline bool report_is(const char *a, const char *b) {
    return a != NULL && b != NULL && strcmp(a, b) == 0;
}

// Takes one fact of the job, or one that touches it; the first is that of its opening. False: no
// memory (then the record has failed), or a fact that the gate cannot apply.
bool report_build(struct report_record *record, struct report_entry *entry);
