// Memory for what is read and soon forgotten: it grows while it must and is rewound whole, so that
// a steady state allocates nothing.
#pragma once

#include <stdbool.h>
#include <stddef.h>

struct fact_arena_chunk;

// Zero-initialize it, rewind it with wire_fact_arena_reset, end it with wire_fact_arena_free.
struct wire_fact_arena {
    struct fact_arena_chunk *first;
    struct fact_arena_chunk *now;
    size_t used; // bytes of now
};

// Everything handed out is free again; the memory stays with the arena.
void wire_fact_arena_reset(struct wire_fact_arena *arena);
void wire_fact_arena_free(struct wire_fact_arena *arena);
// Uninitialized memory, aligned for any object, good until the next reset. A size of 0 gives a
// valid pointer that may not be read through. NULL: out of memory.
void *wire_fact_arena_alloc(struct wire_fact_arena *arena, size_t size);
// Zeroed memory for count objects of a size; NULL also if the product overflows.
void *wire_fact_arena_array(struct wire_fact_arena *arena, size_t count, size_t size);
