// One position, one breaker with a sensor, one line valve without, one job: what documents are made
// of in these tests. Its state is set by hand.
#pragma once

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "wire/tell.h"

enum { POWER, LINE };

#define WALL 1795624634123 // 2026-11-25T16:37:14.123Z
extern const struct gate_time now;
extern struct model model;

struct bench {
    struct gate *gate;
    struct gate_site *site;
    struct gate_answer answer;
    struct json_out out;
    struct json_tape tape;
};

int bench_new(void **state);
int bench_end(void **state);
// J-1 on 3A, led by t-1.
struct gate_job *job_open(struct bench *bench);
// What was told is good, is what is expected, and is JSON; then it is forgotten.
void said(struct bench *bench, bool good, const char *expected);
