// The states seen.
#include "table.h"

#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>

static uint64_t mix(uint64_t z) { // the finalizer of splitmix64
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
    return z ^ (z >> 31);
}

// Two lanes with different seeds over eight bytes at a time. Among 2^25 states two of 2^128 digests
// meet with a chance below 10^-23: no search that ends is misled by it.
static void digest(const unsigned char *bytes, size_t length, uint64_t out[2]) {
    uint64_t a = 0x9E3779B97F4A7C15ULL ^ length, b = 0xC2B2AE3D27D4EB4FULL + length;
    for (size_t i = 0; i < length; i += 8) {
        uint64_t word = 0;
        memcpy(&word, bytes + i, length - i < 8 ? length - i : 8);
        a = mix(a ^ word) + b;
        b = mix(b + word * 0x165667B19E3779F9ULL) ^ (a << 17 | a >> 47);
    }
    out[0] = mix(a);
    out[1] = mix(b ^ a);
}

static void *reserve(size_t size) {
    void *memory = mmap(NULL, size, PROT_READ | PROT_WRITE,
                        MAP_PRIVATE | MAP_ANONYMOUS | MAP_NORESERVE, -1, 0);
    return memory != MAP_FAILED ? memory : NULL;
}

bool table_new(struct table *table, uint32_t limit) {
    size_t slots = 1024;
    while (slots < (size_t)limit * 3 / 2) {
        slots *= 2;
    }
    *table = (struct table){.limit = limit, .mask = slots - 1};
    table->states = reserve((size_t)limit * sizeof *table->states);
    table->slots = reserve(slots * sizeof *table->slots);
    return table->states != NULL && table->slots != NULL;
}

void table_free(struct table *table) {
    munmap(table->states, (size_t)table->limit * sizeof *table->states);
    munmap(table->slots, (table->mask + 1) * sizeof *table->slots);
}

uint32_t table_add(struct table *table, const unsigned char *bytes, size_t length,
                   const struct table_state *how, bool *fresh) {
    struct table_state state = *how;
    digest(bytes, length, state.digest);
    size_t slot = (size_t)state.digest[0] & table->mask;
    for (; table->slots[slot] != 0; slot = (slot + 1) & table->mask) {
        const struct table_state *there = &table->states[table->slots[slot] - 1];
        if (there->digest[0] == state.digest[0] && there->digest[1] == state.digest[1]) {
            *fresh = false;
            return table->slots[slot] - 1;
        }
    }
    *fresh = true;
    if (table->count == table->limit) {
        return TABLE_NONE;
    }
    table->states[table->count++] = state;
    table->slots[slot] = table->count;
    return table->count - 1;
}
