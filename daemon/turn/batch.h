// What one transaction of the journal writes: facts as they are published, and accepted requests
// with their answers. Texts lie one behind the other in one buffer and are named by their offset.
#pragma once

#include "gate/gate.h"
#include "json/json.h"

// An id of a request: 1 to 64 characters, of up to 4 bytes.
#define TURN_REQUEST_ID_SIZE (64 * 4 + 4)

// A fact to be written.
struct turn_record {
    uint32_t site; // index, or MODEL_NONE
    enum gate_fact_type type;
    struct gate_time at;
    const char *subject; // of the model, or NULL
    size_t data, length; // in turn_batch.text
};

// An accepted request with an id, to be remembered with its answer.
struct turn_remembered {
    uint32_t site; // index
    char person[MODEL_ID_SIZE];
    char id[TURN_REQUEST_ID_SIZE];
    char verb[MODEL_ID_SIZE];
    uint8_t body[32];      // digest of the body in one spelling, without its id
    int64_t at;            // wall ms
    size_t answer, length; // in turn_batch.text
};

// Zero-initialize it, end it with turn_batch_free.
struct turn_batch {
    struct json_out text; // of records and answers
    struct turn_record *records;
    size_t record_count, record_capacity;
    struct turn_remembered *remembered;
    size_t remembered_count, remembered_capacity;
};

// Adds a fact, or a request with its answer; of the entry, the text's place is filled in here.
// False: no memory, nothing was added.
bool turn_batch_record(struct turn_batch *batch, const struct turn_record *record,
                       const struct json_out *data);
bool turn_batch_remember(struct turn_batch *batch, const struct turn_remembered *remembered,
                         const struct json_out *answer);
// The entry of a request that somebody sent under that id; NULL: there is none.
const struct turn_remembered *turn_batch_find(const struct turn_batch *batch, uint32_t site,
                                              const char *person, const char *id);
// Moves everything from one behind what is in the other. False: no memory; nothing was moved.
bool turn_batch_merge(struct turn_batch *to, struct turn_batch *from);
bool turn_batch_empty(const struct turn_batch *batch);
// Empties it and keeps its memory.
void turn_batch_clear(struct turn_batch *batch);
void turn_batch_free(struct turn_batch *batch);
