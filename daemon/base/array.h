// The one array that grows: a pointer to the items, how many there are, and room for how many.
//
//     struct list {
//         struct item *items;
//         size_t count, capacity;
//     };
//     ...
//     if (!BASE_ARRAY_ROOM(list->items, list->count, list->capacity)) {
//         return false; // no memory: the list is as it was
//     }
//     list->items[list->count++] = item;
//
// An empty one is all zero; free(items) ends one. Pure: memory is all it touches.
#pragma once

#include <stdbool.h>
#include <stddef.h>

// Room for one item more behind the count. False: no memory, and the array is as it was.
// `items` and `capacity` are the array's own members (their addresses are taken); the capacity is a
// size_t.
#define BASE_ARRAY_ROOM(items, count, capacity) BASE_ARRAY_RESERVE(items, count, 1, capacity)

// The same for `more` items at once. Where the items are pointers, a pointer's size is meant.
// NOLINTBEGIN(bugprone-sizeof-expression)
#define BASE_ARRAY_RESERVE(items, count, more, capacity)                                           \
    base_array_reserve(&(items), (count), (more), &(capacity), sizeof *(items))
// NOLINTEND(bugprone-sizeof-expression)

// What there is no room for yet: called by the function below. The capacity at least doubles (4 at
// first), so that n items cost O(n).
bool base_array_grow(void *items, size_t count, size_t more, size_t *capacity, size_t size);

// What the macros call. `items` is the address of the pointer to the items, whose type the function
// does not know; `size` is that of one item. False: no memory, or more than memory can be.
static inline bool base_array_reserve(void *items, size_t count, size_t more, size_t *capacity,
                                      size_t size) {
    return (more <= *capacity && count <= *capacity - more) ||
           base_array_grow(items, count, more, capacity, size);
}
