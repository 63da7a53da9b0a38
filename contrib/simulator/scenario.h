// A scenario: the steps of a file, read and checked whole before the first one runs.
#pragma once

#include "simulator/step.h"

struct sim_scenario {
    struct sim_planned {
        unsigned line; // from 1
        struct sim_step step;
    } * steps;
    size_t count, capacity;
};

// Reads the file; its declarations take effect in the world. Reports every error as
// FILE:LINE: reason on standard error; false if there was one, or if the file cannot be read.
bool sim_scenario_read(struct sim_scenario *scenario, struct sim_world *world, const char *path);
void sim_scenario_free(struct sim_scenario *scenario);
