// The journal of the one world that a test has at a time.
#pragma once

#include "world.h"

void world_journal_add(const struct gate_fact *fact); // a deep copy
void world_journal_clear(void);
void world_journal_fold(struct gate *gate); // applies every fact, asserting that each fits
// The newest fact of a type, NULL: none. Without its refusals and test result.
const struct gate_fact *world_journal_last(enum gate_fact_type type);
// The folded state of a gate as text, one line a thing, whatever order memory has. The caller frees
// it.
char *world_state_text(const struct gate *gate);
// The same of what the first edition did not have: its state is compared with a text of its own.
char *world_added_text(const struct gate *gate);
