// Windows: when a check of a group may be signed.
#pragma once

#include "gate/refusal.h"
#include "gate/state.h"

// Whether a check of the group may be signed now, as passed or as failed.
bool gate_in_window(const struct gate_job *job, enum model_group group, bool pass);
// What is said of a check of the group that is out of its window.
enum gate_say gate_window_say(enum model_group group);
