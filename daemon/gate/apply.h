// Applying a fact: what apply.c (jobs), apply_point.c (points, tags, alarms, positions) and
// replay.c (the way in) share.
#pragma once

#include "gate/internal.h"

// Each applies one fact of its kind. False: no memory.
bool gate_apply_opened(struct gate *gate, struct gate_site *site, const struct gate_fact *fact);
bool gate_apply_job(struct gate_site *site, struct gate_job *job, const struct gate_fact *fact);
bool gate_apply_point(struct gate_site *site, uint32_t point, const struct gate_fact *fact);
bool gate_apply_alarm(struct gate_site *site, const struct gate_fact *fact);
bool gate_apply_position(struct gate_site *site, const struct gate_fact *fact);
void gate_apply_started(struct gate *gate, const struct gate_fact *fact);
// A lock was hung on the point: the tests of every standing job that requires it are void.
void gate_void_tests_under(struct gate_site *site, uint32_t point);
