// Comma-separated values.
#include "tool/csv.h"

#include <stdio.h>
#include <string.h>

// One column; *at moves behind it, and *end is the character that ended it. NULL: its quote does
// not end, or something stands behind that.
static char *column(char **at, char *end) {
    char *text = *at, *to = *at;
    if (*text != '"') {
        *at += strcspn(*at, ",\r\n");
    } else {
        text = to = ++*at;
        while (**at != '\0' && (**at != '"' || (*at)[1] == '"')) {
            *at += **at == '"';
            *to++ = *(*at)++;
        }
        if (**at != '"' || strchr(",\r\n", (*at)[1]) == NULL) { // its NUL ends a column too
            return NULL;
        }
        *to = '\0';
        ++*at;
    }
    *end = **at;
    **at = '\0';
    return text;
}

bool tool_csv_next(char **text, char *columns[TOOL_CSV_COLUMNS], size_t *count) {
    char *at = *text, end = ',';
    *count = 0;
    if (*at == '\0') {
        return false;
    }
    while (end == ',') {
        if (*count == TOOL_CSV_COLUMNS || (columns[*count] = column(&at, &end)) == NULL) {
            return false;
        }
        ++*count;
        at += end != '\0';
    }
    if (end == '\r' && *at == '\n') {
        at++;
    }
    *text = at;
    return true;
}

void tool_csv_put(const char *text) {
    if (text == NULL || strpbrk(text, ",\"\r\n") == NULL) {
        fputs(text != NULL ? text : "", stdout);
        return;
    }
    putchar('"');
    for (; *text != '\0'; text++) {
        if (*text == '"') {
            putchar('"');
        }
        putchar(*text);
    }
    putchar('"');
}
