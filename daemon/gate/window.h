// Windows: when a check of a group may be signed.
#pragma once

#include "gate/state.h"

// Whether a check of the group may be signed now, as passed or as failed.
bool gate_in_season(const struct gate_job *job, enum model_group group, bool pass);
// What the group waits for, for people.
const char *gate_season_text(enum model_group group);
