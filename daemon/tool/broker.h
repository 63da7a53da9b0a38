// A short look at what the broker keeps: connect, subscribe, read, leave.
#pragma once

#include "tool/broker_client.h"

#define BROKER_LOOK_MS 3000

struct tool_broker_look {
    const struct model_broker *broker;
    int64_t deadline; // base_clock_mono_ms; nothing goes on past it
    void (*on_message)(void *user, const char *topic, const char *payload, size_t length);
    // What to subscribe to next, one filter a call: the caller counts. NULL: no more. Called again
    // when what came before has been answered.
    const char *(*next_filter)(void *user);
    // Whether all that is waited for has come. Without it, the end is a while of silence.
    bool (*has_all)(void *user);
    void *user;
};

// Reads what the filters match. False: error is one sentence.
bool tool_broker_look(const struct tool_broker_look *look, char *error, size_t size);
