// Requests as people and trackers send them: a verb and a JSON body, over whatever transport, made
// into what the gate decides on.
//
// One table says which fields a verb takes. Fields that it does not know are ignored; null is
// absent; everything else that is wrong is said at once, each with its place in the body.
#pragma once

#include "gate/gate.h"
#include "wire/fact_arena.h"
#include "json/json.h"

// Reused from request to request, so that a steady state allocates nothing. Zero-initialize it, end
// it with request_free.
struct request {
    // What the gate decides on. The transport sets person; for record-test the caller sets result,
    // computed from the readings. Text lies in this struct until the next request_decode.
    struct gate_request gate;
    struct model_reading readings[MODEL_READINGS_MAX]; // record-test
    size_t reading_count;
    struct json_tape tape; // the body; it borrows the payload
    struct fact_arena arena;
    struct json_out rest;       // scratch of request_canonical
    struct json_tape rest_tape; // the same
};

// Reads a request. True: request is whole, as far as the body alone can say. False: answer holds
// the refusals (`unknown-verb` alone, or one `malformed` for each thing that is wrong, its subject
// the JSON Pointer), and the body's id and job where those can be read. Running out of memory is
// refused as `malformed` too; if even the refusal finds no memory, answer holds none.
// The payload must stay until the next call or request_free.
bool request_decode(struct request *request, const char *verb, const char *payload, size_t length,
                    struct gate_answer *answer);
// Writes the body, without its id, in one spelling: the same JSON gives the same bytes. Only after
// a request_decode that gave true. False: out of memory.
bool request_canonical(struct request *request, struct json_out *out);
void request_free(struct request *request);

// The kinds of fields, for people and for pages that are made of the table.
enum request_kind {
    REQUEST_ID,       // by the rule of ids
    REQUEST_TEST_ID,  // the same, or two joined by a point
    REQUEST_NAME,     // text of 1 to 64 bytes
    REQUEST_UNIT,     // text of 1 to 31 bytes
    REQUEST_NOTE,     // text of at most 500 characters
    REQUEST_REASON,   // the same, not blank
    REQUEST_NUMBER,   // finite
    REQUEST_STATE,    // "isolated" or "live"
    REQUEST_ATTEST,   // {"not_on_site","contact_tried","will_be_told"}
    REQUEST_READINGS, // numbers, booleans and strings by name
};

struct request_field {
    const char *name;
    enum request_kind kind;
    bool required;
    size_t offset; // in struct gate_request, of a kind that is text
};

// A verb's fields, ended by one without a name.
const struct request_field *request_fields(enum gate_verb verb);
