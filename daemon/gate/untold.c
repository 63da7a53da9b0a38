// Who was not told yet that a lock of theirs was removed.
#include "gate/untold.h"

#include <string.h>

#include "base/array.h"
#include "gate/text.h"

const char *gate_untold_of(const struct gate_site *site, const char *person) {
    for (size_t i = 0; i < site->untold_count; i++) {
        if (strcmp(site->untold[i].person, person) == 0) {
            return site->untold[i].point;
        }
    }
    return NULL;
}

bool gate_untold_add(struct gate_site *site, const char *person, const char *point) {
    for (size_t i = 0; i < site->untold_count; i++) {
        if (strcmp(site->untold[i].person, person) == 0 &&
            strcmp(site->untold[i].point, point) == 0) {
            return true;
        }
    }
    if (!BASE_ARRAY_ROOM(site->untold, site->untold_count, site->untold_capacity)) {
        return false;
    }
    struct gate_untold *untold = &site->untold[site->untold_count++];
    memset(untold, 0, sizeof *untold);
    gate_id_copy(untold->person, person);
    gate_id_copy(untold->point, point);
    return true;
}

void gate_untold_end(struct gate_site *site, const char *person) {
    size_t kept = 0;
    for (size_t i = 0; i < site->untold_count; i++) {
        if (strcmp(site->untold[i].person, person) != 0) {
            site->untold[kept++] = site->untold[i];
        }
    }
    site->untold_count = kept;
}
