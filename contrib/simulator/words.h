// Words of a scenario: a line cut into words, and the few kinds of values that words can be.
#pragma once

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define SIM_LINE_SIZE 1024 // a line, with its NUL
#define SIM_WORDS_MAX 24
#define SIM_ID_SIZE 65 // [A-Za-z0-9][A-Za-z0-9._-]{0,63}, with its NUL

// What is told about one line: the reason when it failed, else what was done.
struct sim_note {
    char text[256];
};

// A line cut into words.
struct sim_words {
    char storage[SIM_LINE_SIZE];
    const char *word[SIM_WORDS_MAX];
    size_t count;
};

// Writes the note; always false, so that a check can end with it.
bool sim_fail(struct sim_note *note, const char *format, ...) __attribute__((format(printf, 2, 3)));

// Writes the note; always true.
bool sim_done(struct sim_note *note, const char *format, ...) __attribute__((format(printf, 2, 3)));

// Cuts a line at blanks; "…" makes one word of several; a # at the start of a word ends the line.
// Behind `raw DEVICE` and `after DURATION` the rest of the line, quotes and # and all, is one word.
// No words is a success. Fails on an open quote, too many words and a line that is too long.
bool sim_words_cut(struct sim_words *words, const char *line, struct sim_note *note);

// An id of the contract.
bool sim_is_id(const char *word);

// A duration with its unit (250ms, 1.5s, 2m, 1h), in milliseconds; a sign is allowed if `sign`.
// At most 24 h.
bool sim_read_duration(const char *word, bool sign, int64_t *ms, struct sim_note *note);

// A whole number from 0 to 1,000,000.
bool sim_read_count(const char *word, int64_t *count, struct sim_note *note);
