// What an honest crew does next: the step that brings a job nearer to its end.
#pragma once

#include "world.h"

// The next step of the job that stands on a position; a request to open one where none does (of
// this number). False: there is nothing to do but to wait.
bool honest_step(const struct world *world, unsigned position, unsigned number, struct step *step);
