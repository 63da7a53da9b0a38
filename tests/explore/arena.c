// A region with free lists by size, all of which lie in it: a copy of its used part is all there
// is.
#include "arena.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>

#define GRAIN 16u
#define SMALL 64u // classes of so many grains each one more
#define CLASSES (SMALL + 24)

struct block { // before what it holds
    size_t class;
    struct block *next; // while it is free
};

struct region {
    size_t used, limit;
    struct block *freed[CLASSES];
};

static struct region *region;
static bool taking;

void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *memory, size_t size);
void __real_free(void *memory);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *memory, size_t size);
void __wrap_free(void *memory);
char *__wrap_strdup(const char *text);
char *__wrap_strndup(const char *text, size_t length);

bool arena_reserve(size_t bytes) {
    if (region == NULL) {
        void *memory = mmap(NULL, bytes, PROT_READ | PROT_WRITE,
                            MAP_PRIVATE | MAP_ANONYMOUS | MAP_NORESERVE, -1, 0);
        if (memory == MAP_FAILED) {
            return false;
        }
        region = memory;
        region->limit = bytes;
    }
    memset(region->freed, 0, sizeof region->freed);
    region->used = (sizeof *region + GRAIN - 1) / GRAIN * GRAIN;
    return true;
}

void arena_on(bool on) {
    taking = on && region != NULL;
}

size_t arena_size(void) {
    return region->used;
}

void arena_save(void *to) {
    memcpy(to, region, region->used);
}

void arena_restore(const void *from, size_t size) {
    memcpy(region, from, size);
}

static bool is_ours(const void *memory) {
    uintptr_t at = (uintptr_t)memory, from = (uintptr_t)region;
    return region != NULL && at >= from && at < from + region->limit;
}

// Up to 1 KiB by grains, above by powers of two.
static size_t class_of(size_t size) {
    size_t grains = (size + GRAIN - 1) / GRAIN;
    if (grains <= SMALL) {
        return grains > 0 ? grains - 1 : 0;
    }
    size_t class = SMALL;
    while ((size_t)SMALL * 2 * GRAIN << (class - SMALL) < size) {
        class ++;
    }
    return class;
}

static size_t size_of(size_t class) {
    return class < SMALL ? (class + 1) * GRAIN : (size_t)SMALL * 2 * GRAIN << (class - SMALL);
}

static void *take(size_t size) {
    size_t class = class_of(size);
    struct block *block = class < CLASSES ? region->freed[class] : NULL;
    if (block != NULL) {
        region->freed[class] = block->next;
    } else {
        size_t whole = GRAIN + size_of(class);
        if (class >= CLASSES || whole > region->limit - region->used) {
            fprintf(stderr, "explore: the region of a world is full\n");
            exit(2);
        }
        block = (struct block *)(void *)((char *)region + region->used);
        region->used += whole;
        block->class = class;
    }
    return (char *)block + GRAIN;
}

static struct block *block_of(void *memory) {
    return (struct block *)(void *)((char *)memory - GRAIN);
}

void *__wrap_malloc(size_t size) {
    return taking ? take(size) : __real_malloc(size);
}

void *__wrap_calloc(size_t count, size_t size) {
    if (!taking) {
        return __real_calloc(count, size);
    }
    void *memory = take(count * size);
    return memset(memory, 0, count * size);
}

void __wrap_free(void *memory) {
    if (!is_ours(memory)) {
        __real_free(memory);
        return;
    }
    struct block *block = block_of(memory);
    block->next = region->freed[block->class];
    region->freed[block->class] = block;
}

void *__wrap_realloc(void *memory, size_t size) {
    if (memory == NULL) {
        return __wrap_malloc(size);
    }
    if (!is_ours(memory)) {
        return __real_realloc(memory, size);
    }
    size_t room = size_of(block_of(memory)->class);
    if (size <= room) {
        return memory;
    }
    void *more = take(size);
    memcpy(more, memory, room);
    __wrap_free(memory);
    return more;
}

char *__wrap_strndup(const char *text, size_t length) {
    size_t size = strnlen(text, length);
    char *copy = __wrap_malloc(size + 1);
    if (copy != NULL) {
        memcpy(copy, text, size);
        copy[size] = '\0';
    }
    return copy;
}

char *__wrap_strdup(const char *text) {
    return __wrap_strndup(text, strlen(text));
}
