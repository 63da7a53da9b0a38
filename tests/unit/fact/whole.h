// A fact with every field set, its text, and what tests of the codec read it with.
#pragma once

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "wire/fact_codec.h"

// The model that the fact lives in: juniper with 3A and 3B; 3-power isolates both, 3A-line 3A
// alone.
extern struct model whole_model;
extern const struct model_requirements whole_needs;
// Every field but the type set.
struct gate_fact whole_fact(void);
// Its text, and the text's members one by one, so that each can stand alone too.
const char *whole_text(void);
extern const char *const whole_members[];
extern const size_t whole_member_count;

struct bench {
    struct json_tape tape;
    struct wire_fact_arena arena;
    struct json_out out;
    struct gate_fact fact;
};

int bench_new(void **state);
int bench_end(void **state);
// Reads a text, which must be JSON, as a fact of juniper at the whole fact's time.
bool decode(struct bench *bench, const char *text, enum gate_fact_type type);
// A fact's text, which must succeed; good until the next.
const char *encode(struct bench *bench, const struct gate_fact *fact);
