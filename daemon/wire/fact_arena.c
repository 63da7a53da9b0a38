// The arena: a list of chunks that is kept over a reset and filled from its first one again.
#include "wire/fact_arena.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define CHUNK_SIZE (16 * 1024)
#define ALIGNMENT _Alignof(max_align_t)

struct fact_arena_chunk {
    struct fact_arena_chunk *next;
    size_t size;
    max_align_t bytes[];
};

void wire_fact_arena_reset(struct wire_fact_arena *arena) {
    arena->now = arena->first;
    arena->used = 0;
}

void wire_fact_arena_free(struct wire_fact_arena *arena) {
    struct fact_arena_chunk *chunk = arena->first;
    while (chunk != NULL) {
        struct fact_arena_chunk *next = chunk->next;
        free(chunk);
        chunk = next;
    }
    memset(arena, 0, sizeof *arena);
}

// Goes on to the next chunk if it is large enough, else puts a new one before it.
static bool next_chunk(struct wire_fact_arena *arena, size_t size) {
    struct fact_arena_chunk **link = arena->now != NULL ? &arena->now->next : &arena->first;
    if (*link == NULL || (*link)->size < size) {
        size_t bytes = size > CHUNK_SIZE ? size : CHUNK_SIZE;
        struct fact_arena_chunk *chunk = malloc(sizeof *chunk + bytes);
        if (chunk == NULL) {
            return false;
        }
        chunk->next = *link;
        chunk->size = bytes;
        *link = chunk;
    }
    arena->now = *link;
    arena->used = 0;
    return true;
}

void *wire_fact_arena_alloc(struct wire_fact_arena *arena, size_t size) {
    if (size > SIZE_MAX / 2) {
        return NULL;
    }
    size = (size + ALIGNMENT - 1) / ALIGNMENT * ALIGNMENT;
    if ((arena->now == NULL || arena->now->size - arena->used < size) && !next_chunk(arena, size)) {
        return NULL;
    }
    void *memory = (char *)arena->now->bytes + arena->used;
    arena->used += size;
    return memory;
}

void *wire_fact_arena_array(struct wire_fact_arena *arena, size_t count, size_t size) {
    if (size != 0 && count > SIZE_MAX / size) {
        return NULL;
    }
    void *memory = wire_fact_arena_alloc(arena, count * size);
    if (memory != NULL) {
        memset(memory, 0, count * size);
    }
    return memory;
}
