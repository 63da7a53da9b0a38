// Windows: when a check of a group may be signed.
#pragma once

#include "gate/refusal.h"
#include "gate/state.h"

// Whether what is found in the cabinet may prove anything (relieve, verify): it was prepared, and
// no job that shares is testing.
bool gate_may_prove(const struct gate_site *site, const struct gate_job *job, struct gate_time now);
// Whether a check of the group may be signed now, as passed or as failed; of relieve and verify,
// as far as the hold goes.
bool gate_in_window(const struct gate_job *job, enum model_group group, bool pass);
// What is said of a check of the group that is out of its window.
enum gate_say gate_window_say(enum model_group group);
