// A request as it came in, whichever way it came: the broker and the HTTP API both make one, and
// nothing behind them knows which it was but by where the answer goes.
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

// Everything is borrowed.
struct wire_request_in {
    uint32_t site;      // index in the model
    const char *person; // id, maybe of nobody
    const char *verb;   // any text, maybe of no verb
    const char *body;   // followed by a NUL that is not counted
    size_t length;      // [bytes]
    bool waited;        // on its way; in the broker's session the turn knows
    bool expires;       // it says of itself how long it is good for:
    int64_t until;      // mono ms
    // Where the answer goes: to the HTTP API under its ticket, or (0) to the broker, with the topic
    // and the correlation data that the requester wished for (NULL: none).
    uint64_t ticket;
    const char *response_topic;
    const void *correlation;
    size_t correlation_length; // [bytes]
};
