// The words of facts in JSON: a spelling, and the value that it is.
#pragma once

#include <string.h>

#include "gate/fact/spelling.h"
#include "json/json.h"

// The value that a node spells; null is the value without a spelling. -1: there is none.
int wire_fact_word_read(const struct gate_spelling *words, const struct json_tape *tape,
                        const struct json_node *node);

// json_equals with what is nearly always so tried first: every fact that is replayed passes here
// some dozens of times.
static inline bool wire_fact_spells(const struct json_tape *tape, const struct json_node *string,
                                    const char *text, size_t length) {
    if (string->kind != JSON_STRING || string->escaped) {
        return json_equals(tape, string, text);
    }
    return string->length == length && memcmp(tape->text + string->start, text, length) == 0;
}
