// Memory that can be set back: while it is on, malloc and its kin (strdup too) take from one
// region, which is saved and restored as a whole. So a world is put back to where it stood without
// a word about what it is made of.
//
// Only what is linked with --wrap of these functions takes part; other memory of the C library is
// its own.
#pragma once

#include <stdbool.h>
#include <stddef.h>

// Reserves the region, or empties it if it is there. False: no memory.
bool arena_reserve(size_t bytes);
// From now on memory is taken from the region, or no longer; what was taken stays.
void arena_on(bool on);
// How large a copy is now; a copy, and the way back to it.
size_t arena_size(void);
void arena_save(void *to);
void arena_restore(const void *from, size_t size);
