// The ids of jobs that were ever used: an open hash, because an id is never used again.
#include "gate/used.h"

#include <stdlib.h>
#include <string.h>

#include "gate/text.h"

static uint64_t id_hash(const char *id) {
    uint64_t hash = 14695981039346656037ULL; // FNV-1a, 64 bits
    for (; *id != '\0'; id++) {
        hash = (hash ^ (unsigned char)*id) * 1099511628211ULL;
    }
    return hash;
}

static struct gate_used *used_slot(struct gate_used *table, size_t capacity, const char *job) {
    size_t slot = (size_t)id_hash(job) & (capacity - 1);
    while (table[slot].job[0] != '\0' && strcmp(table[slot].job, job) != 0) {
        slot = (slot + 1) & (capacity - 1);
    }
    return &table[slot];
}

static bool used_grow(struct gate_site *site) {
    size_t capacity = site->used_capacity == 0 ? 16 : site->used_capacity * 2;
    struct gate_used *table = calloc(capacity, sizeof *table);
    if (table == NULL) {
        return false;
    }
    for (size_t i = 0; i < site->used_capacity; i++) {
        if (site->used[i].job[0] != '\0') {
            *used_slot(table, capacity, site->used[i].job) = site->used[i];
        }
    }
    free(site->used);
    site->used = table;
    site->used_capacity = capacity;
    return true;
}

bool gate_used_add(struct gate_site *site, const char *job, struct gate_job *ref) {
    if (site->used_count * 2 >= site->used_capacity && !used_grow(site)) {
        return false;
    }
    struct gate_used *slot = used_slot(site->used, site->used_capacity, job);
    if (slot->job[0] == '\0') {
        gate_id_copy(slot->job, job);
        site->used_count++;
    }
    slot->ref = ref;
    return true;
}

const struct gate_used *gate_used_find(const struct gate_site *site, const char *job) {
    if (site->used_capacity == 0 || job == NULL || job[0] == '\0') {
        return NULL;
    }
    const struct gate_used *slot = used_slot(site->used, site->used_capacity, job);
    return slot->job[0] != '\0' ? slot : NULL;
}
