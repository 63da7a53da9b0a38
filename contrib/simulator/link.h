// The link: a connection to the broker (MQTT 5), driven by poll(2) in the caller's thread.
#pragma once

#include "simulator/world.h"

struct sim_link;

struct sim_link_options {
    const char *host;
    int port;
    const char *username; // NULL: none
    const char *password; // NULL: none
};

// Connects and waits until the broker has accepted, at most `patience` ms; tries again while nobody
// answers at that port. NULL, with the reason in the note, when that fails.
struct sim_link *sim_link_open(const struct sim_link_options *options, int patience,
                               struct sim_note *note);

// Says good-bye and frees the link. NULL is allowed.
void sim_link_close(struct sim_link *link);

// Publishes with QoS 1. False: not connected, and the message is gone.
bool sim_link_send(void *link, const struct sim_message *message);

// Waits at most `timeout` ms for the broker and for `input` (a descriptor, -1: none), handles what
// the broker sent, and connects again once a second after a loss. True if `input` can be read.
bool sim_link_wait(struct sim_link *link, int input, int timeout);

// Waits until the broker has taken every message, at most `patience` ms. False with the reason: it
// refused some (since the last call), the time is over, or the connection is down.
bool sim_link_flush(struct sim_link *link, int patience, struct sim_note *note);
