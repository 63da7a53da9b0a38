// The ids of jobs that were ever used.
#pragma once

#include "gate/state.h"

// Adds to the ids used. False: no memory.
bool gate_used_add(struct gate_site *site, const char *job, struct gate_job *ref);
const struct gate_used *gate_used_find(const struct gate_site *site, const char *job);
