// Options of the command line.
#pragma once

#include "simulator/link.h"

struct sim_options {
    struct sim_link_options broker;
    char password[256]; // what `broker.password` points to
    const char *root;
    const char *site;
    const char *scenario; // a file, NULL: standard input alone
    bool input;           // standard input follows the scenario
    uint64_t seed;
    int64_t max_time; // [ms]
    bool help;
};

// Reads the command line. False, with the reason in the note, for a mistake in it.
bool sim_options_read(struct sim_options *options, int argc, char **argv, struct sim_note *note);

// Prints the usage: options, declarations and steps.
void sim_options_usage(void);
