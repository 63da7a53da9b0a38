// What the tests of this folder share. cmocka.h needs its four headers in front of it.
#pragma once

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "json/json.h"

#include <stdlib.h>
#include <string.h>

// Scans a copy of exactly these bytes, so that reading over the end is found by the sanitizer.
// Returns the copy (free it with the tape), or NULL where it is refused.
static inline char *given_bytes(struct json_tape *tape, const char *text, size_t length,
                                const struct json_limits *limits, struct json_error *error) {
    char *copy = malloc(length ? length : 1);

    assert_non_null(copy);
    memcpy(copy, text, length);
    if (!json_scan(tape, copy, length, limits, error)) {
        free(copy);
        return NULL;
    }
    return copy;
}

// Whether these bytes are refused, with the tape then empty.
static inline bool refused(struct json_tape *tape, const char *text, size_t length,
                           const struct json_limits *limits, struct json_error *error) {
    char *copy = given_bytes(tape, text, length, limits, error);

    free(copy);
    return !copy && !json_root(tape);
}

// Scans a text that must be right.
static inline char *given(struct json_tape *tape, const char *text) {
    struct json_error error;
    char *copy = given_bytes(tape, text, strlen(text), &json_message_limits, &error);

    if (!copy) {
        fail_msg("%s: %zu %s %s", text, error.offset, error.pointer, error.what);
    }
    return copy;
}

static inline void done(struct json_tape *tape, char *copy) {
    free(copy);
    json_tape_free(tape);
}
