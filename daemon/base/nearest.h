// The nearest of some names to one that may be misspelled. Pure.
#pragma once

#include <stddef.h>

// Longer names are near to nothing. [bytes]
#define BASE_NAME_COMPARED 40

// The nearest of the names, however far; NULL where there are none.
const char *base_closest(const char *name, const char *const *names, size_t count);
// The nearest of the names that a misspelled one may have meant, or NULL.
const char *base_nearest(const char *name, const char *const *names, size_t count);
