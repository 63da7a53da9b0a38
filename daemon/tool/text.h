// Text for people: lines without control characters, ages, instants.
//
// What people wrote into notes comes out here, so nothing in it may steer a terminal or begin a
// line of its own.
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

// A growing text. Zero-initialize it, end it with tool_text_free. failed: out of memory; what was
// added since is lost.
struct tool_text {
    char *data; // with a final NUL once anything was added
    size_t length, capacity;
    bool failed;
};

void tool_text_add(struct tool_text *text, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
void tool_text_add_n(struct tool_text *text, const char *data, size_t length);
// Cuts the text back to a length that it had.
void tool_text_cut(struct tool_text *text, size_t length);
void tool_text_free(struct tool_text *text);
// The text, or a sentence that there was no memory for it.
const char *tool_text_of(const struct tool_text *text);

// Prints one line; control characters in it come out as spaces.
void tool_line(FILE *out, const char *format, ...) __attribute__((format(printf, 2, 3)));
// Prints "forelock: ", a sentence and a line's end to standard error.
void tool_error(const char *format, ...) __attribute__((format(printf, 1, 2)));

// "0.4 s", "12 s", "3 min", "2 h 5 min", "3 d 4 h"; below 0 as 0.
#define TOOL_AGE_SIZE 48
void tool_age(int64_t ms, char buffer[TOOL_AGE_SIZE]);
