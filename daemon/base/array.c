// Growing an array: by doubling, and never past what a size can say.
#include "base/array.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define FIRST 4

bool base_array_grow(void *items, size_t count, size_t more, size_t *capacity, size_t size) {
    if (size == 0 || more > SIZE_MAX - count) {
        return false;
    }
    const size_t wanted = count + more;
    size_t room = *capacity > SIZE_MAX / 2 ? SIZE_MAX : *capacity * 2;
    room = room < FIRST ? FIRST : room;
    room = room < wanted ? wanted : room;
    if (room > SIZE_MAX / size) {
        return false;
    }
    void *now;
    memcpy(&now, items, sizeof now); // a struct x ** may not be read as a void **
    now = realloc(now, room * size);
    if (now == NULL) {
        return false;
    }
    memcpy(items, &now, sizeof now);
    *capacity = room;
    return true;
}
