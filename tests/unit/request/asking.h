// What tests of requests ask with.
#pragma once

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "wire/request.h"

struct bench {
    struct request request;
    struct gate_answer answer;
    struct json_out out;
};

int bench_new(void **state);
int bench_end(void **state);
bool ask(struct bench *bench, const char *verb, const char *body);
// Accepted, with what is asked for in it.
const struct gate_request *good(struct bench *bench, const char *verb, const char *body);
// Refused as malformed for one reason, at one place.
const struct gate_refusal *bad(struct bench *bench, const char *verb, const char *body,
                               const char *pointer);
// {"job":"J","<name>":"ccc…"<rest>}, so many times a character; good until the next.
const char *body_with(const char *name, const char *character, size_t times, const char *rest);
