// The linker puts these in front of the C library's (ld --wrap).
#include "failing_memory.h"

#include <stdbool.h>
#include <stddef.h>

void *__real_malloc(size_t size);
void *__wrap_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__real_realloc(void *memory, size_t size);
void *__wrap_realloc(void *memory, size_t size);

long failing_memory_left = -1;

static bool may_allocate(void) {
    if (failing_memory_left == 0) {
        return false;
    }
    failing_memory_left -= failing_memory_left > 0;
    return true;
}

void *__wrap_malloc(size_t size) {
    return may_allocate() ? __real_malloc(size) : NULL;
}

void *__wrap_calloc(size_t count, size_t size) {
    return may_allocate() ? __real_calloc(count, size) : NULL;
}

void *__wrap_realloc(void *memory, size_t size) {
    return may_allocate() ? __real_realloc(memory, size) : NULL;
}
