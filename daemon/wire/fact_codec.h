// Facts as the journal keeps them and events tell them: one JSON object of what a fact holds.
//
// Type, site, sequence number and times stand beside the object, in the journal's own columns.
#pragma once

#include "gate/fact.h"
#include "wire/fact_arena.h"
#include "json/json.h"

// Writes the fact's data: job, position (null: none), at and evidence ([]: none) first and always,
// then every other field that is set.
// False: out of memory, or a value that has no spelling; out is then of no use.
bool wire_fact_encode(const struct gate_fact *fact, const struct model *model,
                      struct json_out *out);

// Reads a fact back. data is a node of tape; type, site and at come from beside it (the text of
// `at` in the data is not read: it lacks the monotonic time). What fact points to lies in arena,
// good until that is reset; a small fact takes no memory from the heap once the arena has grown. A
// text that is null is absent. False: a field that no fact has, a value of the wrong kind, a word
// that there is not, or no memory. Nothing is guessed; fact is then of no use.
bool wire_fact_decode(const struct json_tape *tape, const struct json_node *data,
                      enum gate_fact_type type, uint32_t site, struct gate_time at,
                      struct wire_fact_arena *arena, struct gate_fact *fact);

// What a fact is about, for people who follow positions: its position; of a point that isolates
// exactly one, that. NULL: none, or a point of several. Borrowed from the fact or the model.
const char *wire_fact_subject(const struct gate_fact *fact, const struct model *model);
