// The gate's words by number, for tables: every enum behind one shape.
#pragma once

#include <string.h>

#include "json/json.h"

struct fact_words {
    const char *(*name)(int value); // NULL: the value has no spelling and is written as null
    int count;
};

extern const struct fact_words fact_point_states;
extern const struct fact_words fact_trusts;
extern const struct fact_words fact_lockouts;
extern const struct fact_words fact_phases;
extern const struct fact_words fact_causes;
extern const struct fact_words fact_codes;
extern const struct fact_words fact_alarm_kinds;
extern const struct fact_words fact_alarm_states;

// The value that a node spells; null is the value without a spelling. -1: there is none.
int fact_word_read(const struct fact_words *words, const struct json_tape *tape,
                   const struct json_node *node);

// json_equals with what is nearly always so tried first: every fact that is replayed passes here
// some dozens of times.
static inline bool fact_spells(const struct json_tape *tape, const struct json_node *string,
                               const char *text, size_t length) {
    if (string->kind != JSON_STRING || string->escaped) {
        return json_equals(tape, string, text);
    }
    return string->length == length && memcmp(tape->text + string->start, text, length) == 0;
}
