// Steps of a scenario: one line of it, read and checked against the world, then run.
#pragma once

#include "base/clock.h"
#include "simulator/world.h"

// What the one who runs the steps has to do.
enum sim_action {
    SIM_NOTHING, // an empty line or a declaration: it is done by reading it
    SIM_RUN,     // sim_step_run
    SIM_WAIT,    // wait `duration`
    SIM_AFTER,   // run the rest, `later`, when `duration` is over
    SIM_END,     // end
};

struct sim_step {
    enum sim_action action;
    const struct sim_verb *verb; // NULL unless there is something to run
    size_t device;               // index in the world
    bool on;                     // of a state or a switch
    int64_t count;
    int64_t duration; // [ms]
    char text[SIM_LINE_SIZE];
    char line[SIM_LINE_SIZE]; // as written, to tell about it
};

// Reads one line: a declaration takes effect at once, a step is checked and comes back ready to
// run. An `after` has its remaining line in `text`, checked as well.
bool sim_step_read(struct sim_world *world, const char *line, struct sim_step *step,
                   struct sim_note *note);

// Runs a step whose action is SIM_RUN; the note says what was done, or why not.
bool sim_step_run(struct sim_world *world, const struct sim_step *step, struct base_time now,
                  struct sim_note *note);

// Visits the usage of each declaration and step, in order: for the help and its test.
void sim_step_usages(void (*visit)(void *context, const char *name, const char *arguments),
                     void *context);
