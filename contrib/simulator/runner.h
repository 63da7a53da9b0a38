// The runner: runs a scenario and standard input, step after step, while the devices go on.
#pragma once

#include "simulator/link.h"
#include "simulator/options.h"
#include "simulator/scenario.h"

// Runs until the scenario and, if asked for, standard input have ended, or the time is over.
// Returns the exit status: 0, or 1 if a step failed or the time was over.
int sim_run(const struct sim_options *options, struct sim_world *world, struct sim_link *link,
            const struct sim_scenario *scenario);
