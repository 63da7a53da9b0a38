// Lines and words of the printed form of a record: what the files that write it share.
#pragma once

#include "base/time_text.h"
#include "report/record.h"

#include <stdio.h>

// Prints one paragraph, wrapped at 96 columns; what goes on stands indented a little further.
// Control characters come out as spaces.
void report_put(FILE *out, int indent, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
void report_heading(FILE *out, const char *text);

// A time (wall ms), or "-" for 0.
#define REPORT_WHEN_SIZE (BASE_TIME_SIZE + 8)
const char *report_when(int64_t ms, char text[REPORT_WHEN_SIZE]);
// The text, or "-" where there is none.
const char *report_or_dash(const char *text);
// A person's title as configured now; "" where it says no more than the id.
const char *report_title_of(const struct report_record *record, const char *person);
// A figure with the digits that it is worth: as it was typed, or of what was calculated five.
#define REPORT_FIGURE_SIZE 40
const char *report_figure(double value, char text[REPORT_FIGURE_SIZE]);
// How far a value is from its limit: two digits say it where it was calculated.
const char *report_margin(double value, char text[REPORT_FIGURE_SIZE]);
// " [limits 1 to 2 V]", or "" without limits. unit may be NULL.
#define REPORT_LIMITS_SIZE 128
const char *report_limits_text(const struct model_limits *limits, const char *unit,
                               char text[REPORT_LIMITS_SIZE]);

// Two arguments for "%s%s": the label and the text, or nothing where there is no text.
#define REPORT_LABELED(label, text)                                                                \
    ((text) != NULL && (text)[0] != '\0' ? (label) : ""),                                          \
        ((text) != NULL && (text)[0] != '\0' ? (text) : "")

// The checks and the tests, each with all that was said of it.
void report_put_checks(FILE *out, const struct report_record *record);
void report_put_tests(FILE *out, const struct report_record *record);
