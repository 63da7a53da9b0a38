// Turns a host name into numeric addresses without blocking the loop.
#pragma once

#include <stddef.h>

struct loop;
struct resolve;

#define RESOLVE_ADDRESSES 8
#define RESOLVE_LENGTH 64

struct resolve_result {
    int error; // 0, or an EAI_ code for gai_strerror
    size_t count;
    char addresses[RESOLVE_ADDRESSES][RESOLVE_LENGTH];
};

// Begins to resolve `host` in a thread of its own; `done` is called once, from the loop, after
// which the handle is still to be freed. Returns NULL if memory, descriptors or threads are short.
struct resolve *mqtt_resolve_start(struct loop *loop, const char *host,
                                   void (*done)(void *user, const struct resolve_result *result),
                                   void *user);

// Frees the handle, also from within `done`; a look-up under way is left to end by itself and is
// not reported. NULL is allowed.
void mqtt_resolve_free(struct resolve *resolve);
