// Raising and clearing alarms.
#pragma once

#include "gate/state.h"

struct gate_alarm_about {
    enum model_alarm_kind kind;
    const struct gate_job *job; // or NULL
    uint32_t position;          // or MODEL_NONE
    uint32_t point;             // or MODEL_NONE
    const char *person;         // or NULL
    bool has_why;
    enum model_code why;
    const char *say;
};
// again: a new event of the same kind raises an acknowledged alarm anew.
void gate_alarm_raise(struct gate *gate, struct gate_site *site,
                      const struct gate_alarm_about *about, bool again, struct gate_time now);
// The condition is gone: acknowledged alarms end, others wait for it.
void gate_alarm_clear(struct gate *gate, struct gate_site *site,
                      const struct gate_alarm_about *about, struct gate_time now);
