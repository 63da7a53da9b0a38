// Verbs of a scenario: the table of its steps.
#pragma once

#include "base/clock.h"
#include "simulator/step.h"

struct sim_verb {
    const char *name;
    const char *arguments; // capitals: a value; small letters: that word; [ ]: may be left out
    enum sim_action action;
    // Does it, and notes what was done, or why not. NULL where whoever runs the steps does it.
    bool (*run)(struct sim_world *world, const struct sim_step *step, struct base_time now,
                struct sim_note *note);
};

extern const struct sim_verb sim_verbs[];
extern const size_t sim_verb_count;

// The verb that this word begins, or NULL.
const struct sim_verb *sim_verb_find(const char *name);
