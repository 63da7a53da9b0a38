// A running gate over a forecourt, with its account of the rules: where steps are taken, for the
// explorer and the random histories alike.
#pragma once

#include "rules.h"

struct world {
    struct forecourt *forecourt;
    struct gate *gate;
    struct rules rules;
    struct gate_time now;
    struct gate_answer answer;
    bool accepted; // the last request
    uint64_t told; // a digest of the kinds of the facts of the last step
    // Each fact as it is told; may be NULL.
    void (*keep)(void *user, const struct gate_fact *fact);
    void *user;
    // Makes the gate that comes up after a restart from what was kept; NULL: restarts fold nothing
    // and are not to be taken.
    struct gate *(*fold)(struct world *world);
};

// The instant at which every world begins.
#define WORLD_BEGIN 1800000000000

// A world whose daemon has just come up with its link up and its controller online. False: no
// memory.
bool world_begin(struct world *world, struct forecourt *forecourt);
void world_end(struct world *world);
// The hook that a gate of this world tells its facts to.
void world_fact(void *user, const struct gate_fact *fact);
// Takes one step. False: the rules are broken, and world->rules.wrong says how.
bool world_take(struct world *world, const struct step *step);
