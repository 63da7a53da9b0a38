// Memory for what is read and soon forgotten: it grows while it must and is rewound whole, so that
// a steady state allocates nothing.
#pragma once

#include <stdbool.h>
#include <stddef.h>

struct fact_arena_chunk;

// Zero-initialize it, rewind it with fact_arena_reset, end it with fact_arena_free.
struct fact_arena {
    struct fact_arena_chunk *first;
    struct fact_arena_chunk *now;
    size_t used; // bytes of now
};

// Everything handed out is free again; the memory stays with the arena.
void fact_arena_reset(struct fact_arena *arena);
void fact_arena_free(struct fact_arena *arena);
// Uninitialized memory, aligned for any object, good until the next reset. A size of 0 gives a
// valid pointer that may not be read through. NULL: out of memory.
void *fact_arena_alloc(struct fact_arena *arena, size_t size);
// Zeroed memory for count objects of a size; NULL also if the product overflows.
void *fact_arena_array(struct fact_arena *arena, size_t count, size_t size);
