// Lines and words of the printed form of a record: what the files that write it share.
#pragma once

#include "report/record.h"
#include "wire/time_text.h"

#include <stdio.h>

// Prints one paragraph, wrapped at 96 columns; what goes on stands indented a little further.
// Control characters come out as spaces.
void record_put(FILE *out, int indent, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
void record_heading(FILE *out, const char *text);

// A time (wall ms), or "-" for 0.
#define RECORD_WHEN_SIZE (TIME_TEXT_SIZE + 8)
const char *record_when(int64_t ms, char text[RECORD_WHEN_SIZE]);
// The text, or "-" where there is none.
const char *record_or_dash(const char *text);
// A person's title as configured now; "" where it says no more than the id.
const char *record_title_of(const struct record *record, const char *person);
// " [limits 1 to 2 V]", or "" without limits. unit may be NULL.
#define RECORD_LIMITS_SIZE 80
const char *record_limits_text(const struct model_limits *limits, const char *unit,
                               char text[RECORD_LIMITS_SIZE]);

// Two arguments for "%s%s": the label and the text, or nothing where there is no text.
#define RECORD_LABELED(label, text)                                                                \
    ((text) != NULL && (text)[0] != '\0' ? (label) : ""),                                          \
        ((text) != NULL && (text)[0] != '\0' ? (text) : "")

// The checks and the tests, each with all that was said of it.
void record_put_checks(FILE *out, const struct record *record);
void record_put_tests(FILE *out, const struct record *record);
