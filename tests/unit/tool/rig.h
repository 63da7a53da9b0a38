// What the tool's tests begin with: a copy of the example configuration in a folder of its own, and
// a gate whose facts go into the journal beside it.
#pragma once

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "gate/gate.h"
#include "journal/journal.h"
#include "json/json.h"

struct rig {
    char folder[64];
    char config[128]; // the copied forelock.json
    struct model *model;
    struct journal *journal;
    struct gate *gate;
    struct gate_time now;
    struct gate_answer answer; // of the last request
    struct json_out out;
};

// What one command line left behind.
struct rig_run {
    int status;
    char out[65536];
    char err[8192];
};

// For cmocka: *state is a struct rig whose daemon has just come up; its folder is removed after the
// test.
int rig_setup(void **state);
int rig_teardown(void **state);

// Time goes on.
void rig_pass(struct rig *rig, int64_t ms);
void rig_hear(struct rig *rig, const char *sensor, enum model_point_state state);
// Decides a request; site and time are the rig's.
bool rig_ask(struct rig *rig, enum gate_verb verb, const char *person, struct gate_request request);
void rig_must(struct rig *rig, enum gate_verb verb, const char *person,
              struct gate_request request);
// The daemon stops and comes up again on its journal.
void rig_restart(struct rig *rig);
// Closes the journal, so that its file holds all.
void rig_close(struct rig *rig);

// Runs the tool on words that one space separates; the word CONFIG stands for the configuration.
void rig_tool(const struct rig *rig, struct rig_run *run, const char *line);
// Fails unless the texts stand in `text` in this order; the list ends with NULL.
void rig_in_order(const char *text, const char *const *parts);
