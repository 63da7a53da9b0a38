// Texts for tests that need many: valid ones made at random, and mutations of any. The same seed
// gives the same texts everywhere.
#pragma once

#include <stddef.h>
#include <stdint.h>

enum { MUTATE_SIZE = 1024 };

// A random number below a bound (not 0); moves the seed on. A seed is never 0.
uint32_t mutate_random(uint64_t *seed, uint32_t bound);

// Writes a random valid JSON text, shorter than MUTATE_SIZE, and returns its length.
size_t mutate_make(uint64_t *seed, char *text);

// Changes a text of at most MUTATE_SIZE bytes in up to three places and returns its new length.
size_t mutate_change(uint64_t *seed, char *text, size_t length);
