// Lines of comma-separated values as RFC 4180 has them.
#pragma once

#include <stdbool.h>
#include <stddef.h>

#define TOOL_CSV_COLUMNS 16

// Splits the record that begins at *text, which is changed in place, into its columns, and moves
// *text behind it. False: there is none left, or it has a quote that does not end or too many
// columns (then *text stands where it was).
bool tool_csv_next(char **text, char *columns[TOOL_CSV_COLUMNS], size_t *count);
// Prints a text as a column, quoted where it must be; NULL as nothing.
void tool_csv_put(const char *text);
