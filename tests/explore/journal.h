// A journal in memory: every fact as the daemon's own codec writes it, folded anew on demand.
#pragma once

#include "gate/gate.h"
#include "wire/fact_codec.h"

struct journal_line;

struct journal {
    const struct model *model;
    struct journal_line *lines;
    size_t count, capacity;
    bool failed; // a fact could not be kept
};

void journal_keep(void *user, const struct gate_fact *fact); // user: the journal
// Makes a gate of the facts. NULL: no memory, or a fact that does not read back or fit.
struct gate *journal_fold(const struct journal *journal,
                          void (*fact)(void *user, const struct gate_fact *), void *user);
// Forgets all but the first so many facts.
void journal_cut(struct journal *journal, size_t count);
void journal_clear(struct journal *journal);
// The folded state of a gate as text, times and counts included. The caller frees it; NULL: no
// memory.
char *journal_state(const struct gate *gate);
// Whether the folded journal is the state of the gate, bit for bit; prints the first line that
// differs.
bool journal_agrees(const struct journal *journal, const struct gate *gate);
