#include "base/nearest.h"

#include <stdint.h>
#include <string.h>

// How many letters must change to make one name of the other (Levenshtein).
static size_t distance(const char *a, const char *b) {
    size_t row[BASE_NAME_COMPARED + 1];
    size_t n = strlen(b);
    if (n > BASE_NAME_COMPARED || strlen(a) > BASE_NAME_COMPARED) {
        return SIZE_MAX;
    }
    for (size_t k = 0; k <= n; k++) {
        row[k] = k;
    }
    for (size_t i = 0; a[i] != '\0'; i++) {
        size_t corner = row[0];
        row[0] = i + 1;
        for (size_t k = 0; k < n; k++) {
            size_t change = corner + (a[i] != b[k]);
            size_t skip = (row[k] < row[k + 1] ? row[k] : row[k + 1]) + 1;
            corner = row[k + 1];
            row[k + 1] = change < skip ? change : skip;
        }
    }
    return row[n];
}

const char *base_closest(const char *name, const char *const *names, size_t count) {
    const char *closest = NULL;
    size_t best = 0;
    for (size_t i = 0; i < count; i++) {
        size_t far = distance(name, names[i]);
        if (closest == NULL || far < best) {
            best = far;
            closest = names[i];
        }
    }
    return closest;
}

const char *base_nearest(const char *name, const char *const *names, size_t count) {
    const char *closest = base_closest(name, names, count);
    size_t far = closest != NULL ? distance(name, closest) : SIZE_MAX;
    return far < strlen(name) / 3 + 2 && far < strlen(closest) ? closest : NULL;
}
