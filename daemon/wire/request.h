// Requests as people and trackers send them: a verb and a JSON body, over whatever transport, made
// into what the gate decides on.
//
// The row of a verb says which fields it takes; null is absent. Fields that it does not know and
// everything else that is wrong are said at once, each with its place in the body; of what ends or
// stops they are left out.
#pragma once

#include "gate/gate.h"
#include "wire/fact_arena.h"
#include "json/json.h"

// Reused from request to request, so that a steady state allocates nothing. Zero-initialize it, end
// it with wire_request_free.
struct request {
    // What the gate decides on. The transport sets person; for record-test the caller sets result,
    // computed from the readings. Text lies in this struct until the next wire_request_decode.
    struct gate_request gate;
    struct model_reading readings[MODEL_READINGS_MAX]; // record-test
    size_t reading_count;
    struct json_tape tape; // the body; it borrows the payload
    struct wire_fact_arena arena;
    struct json_out salvaged;   // of a stop that was no JSON: what could be read of it
    struct json_out rest;       // scratch of wire_request_canonical
    struct json_tape rest_tape; // the same
};

enum wire_request_read {
    WIRE_REQUEST_UNREADABLE,
    // Everything that it must say is said; something else is wrong, and left out or cut. Whether it
    // is taken so depends on what it does (gate_ends).
    WIRE_REQUEST_IN_PART,
    WIRE_REQUEST_WHOLE,
};

// Reads a request. Whole: as far as the body alone can say. Else answer holds the refusals
// (`unknown-verb` alone, or one `malformed` for each thing that is wrong, its subject the JSON
// Pointer), and the body's id and job where those can be read. Running out of memory is refused as
// `malformed` too; if even the refusal finds no memory, answer holds none.
// What ends or stops is read though it is no JSON, as far as that goes.
// The payload must stay until the next call or wire_request_free.
enum wire_request_read wire_request_decode(struct request *request, const char *verb,
                                           const char *payload, size_t length,
                                           struct gate_answer *answer);
// Writes the body, without its id and when it was asked, in one spelling: the same JSON gives the
// same bytes. Only after a wire_request_decode that could read it. False: out of memory.
bool wire_request_canonical(struct request *request, struct json_out *out);
void wire_request_free(struct request *request);
