// The states seen: a compact open-addressing table of 128-bit digests, with how each was reached.
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define TABLE_NONE UINT32_MAX

struct table_state {
    uint64_t digest[2];
    uint32_t from; // the state before; TABLE_NONE: the first
    uint16_t step; // index in the world's list of steps
    uint16_t depth;
};

struct table {
    struct table_state *states;
    uint32_t count;
    uint32_t limit;  // of states
    uint32_t *slots; // index + 1; 0: free
    size_t mask;
};

// Reserves room for that many states. False: no memory.
bool table_new(struct table *table, uint32_t limit);
void table_free(struct table *table);
// The index of a state by its normal form; *fresh tells whether it was new. TABLE_NONE: it is new
// and there is no room left.
uint32_t table_add(struct table *table, const unsigned char *bytes, size_t length,
                   const struct table_state *how, bool *fresh);
