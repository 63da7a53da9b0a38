// The memory of a model: one arena of chunks. A model lives from one configuration to the next and
// is never changed in between, so nothing in it is freed alone.
#include "model/model.h"

#include <stdalign.h>
#include <stdlib.h>
#include <string.h>

#define CHUNK_SIZE (64u * 1024u)
// What is larger gets a chunk of its own, so that at most this much of a chunk's end is wasted.
#define CHUNK_SHARED_MAX (CHUNK_SIZE / 8)

struct arena_chunk {
    struct arena_chunk *next;
    size_t size, used;
    alignas(8) unsigned char data[];
};

struct model_arena {
    struct arena_chunk *first; // the one being filled
    size_t bytes;
};

static struct arena_chunk *chunk_new(struct model_arena *arena, size_t size) {
    if (size > SIZE_MAX - sizeof(struct arena_chunk)) {
        return NULL;
    }
    struct arena_chunk *chunk = calloc(1, sizeof(*chunk) + size);
    if (chunk != NULL) {
        chunk->size = size;
        arena->bytes += sizeof(*chunk) + size;
    }
    return chunk;
}

// A chunk of its own goes behind the one being filled, which stays in use.
static void *chunk_alone(struct model_arena *arena, size_t size) {
    struct arena_chunk *chunk = chunk_new(arena, size);
    if (chunk == NULL) {
        return NULL;
    }
    chunk->used = size;
    if (arena->first == NULL) {
        arena->first = chunk;
    } else {
        chunk->next = arena->first->next;
        arena->first->next = chunk;
    }
    return chunk->data;
}

static void *arena_take(struct model_arena *arena, size_t size, size_t align) {
    if (size > CHUNK_SHARED_MAX) {
        return chunk_alone(arena, size);
    }
    struct arena_chunk *chunk = arena->first;
    size_t at = chunk != NULL ? (chunk->used + align - 1) / align * align : 0;
    if (chunk == NULL || at > chunk->size || size > chunk->size - at) {
        chunk = chunk_new(arena, CHUNK_SIZE);
        if (chunk == NULL) {
            return NULL;
        }
        chunk->next = arena->first;
        arena->first = chunk;
        at = 0;
    }
    chunk->used = at + size;
    return chunk->data + at;
}

struct model *model_new(void) {
    struct model *model = calloc(1, sizeof(*model));
    if (model == NULL) {
        return NULL;
    }
    model->arena = calloc(1, sizeof(*model->arena));
    if (model->arena == NULL) {
        free(model);
        return NULL;
    }
    model->arena->bytes = sizeof(*model) + sizeof(*model->arena);
    return model;
}

void model_free(struct model *model) {
    if (model == NULL) {
        return;
    }
    struct arena_chunk *chunk = model->arena->first;
    while (chunk != NULL) {
        struct arena_chunk *next = chunk->next;
        free(chunk);
        chunk = next;
    }
    free(model->arena);
    free(model);
}

void *model_alloc(struct model *model, size_t size) {
    return arena_take(model->arena, size, 8);
}

void *model_array(struct model *model, size_t count, size_t size) {
    size_t bytes;
    if (__builtin_mul_overflow(count, size, &bytes)) {
        return NULL;
    }
    return arena_take(model->arena, bytes, size % 8 == 0 ? 8 : size % 4 == 0 ? 4 : 1);
}

const char *model_text(struct model *model, const char *text, size_t length) {
    char *copy = arena_take(model->arena, length + 1, 1);
    if (copy != NULL && length > 0) {
        memcpy(copy, text, length);
    }
    return copy;
}

size_t model_memory(const struct model *model) {
    return model->arena->bytes;
}
