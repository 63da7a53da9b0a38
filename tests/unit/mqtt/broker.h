// A real broker for a test, on a free port of 127.0.0.1, in a directory of its own.
#pragma once

#include <stdbool.h>
#include <sys/types.h>

struct broker {
    pid_t pid;
    int port;
    char directory[64];
};

// The directory exists from here on, for files that the configuration names. Fails the test if
// something cannot be had.
void broker_prepare(struct broker *broker);

// Starts the broker and waits until it listens. `listener` follows the port's line in the
// configuration, as further lines; "allow_anonymous true" is always there.
void broker_start(struct broker *broker, const char *listener);

// Kills the broker; it can be started again on its port.
void broker_kill(struct broker *broker);

// Stops the broker's process, or lets it go on: its sockets stay open meanwhile.
void broker_freeze(const struct broker *broker, bool frozen);

// Kills the broker and removes the directory.
void broker_remove(struct broker *broker);

// A path in the broker's directory, in a static buffer of which there are four.
const char *broker_path(const struct broker *broker, const char *name);

// Writes a text file there.
void broker_write(const struct broker *broker, const char *name, const char *text);

// A port that nobody listens on just now.
int broker_free_port(void);
