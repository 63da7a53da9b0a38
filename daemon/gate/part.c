// What hangs at a position.
#include "gate/part.h"

#include <string.h>

#include "base/array.h"
#include "gate/text.h"

struct gate_part *gate_part_find(struct gate_part *parts, size_t count, const char *part) {
    for (size_t i = 0; i < count; i++) {
        if (gate_same(parts[i].part, part)) {
            return &parts[i];
        }
    }
    return NULL;
}

// Rule (4, fit-part): A part takes the place of the one of its kind. [part-beside-its-like]
bool gate_part_put(struct gate_part **parts, size_t *count, size_t *capacity,
                   const struct gate_part *part) {
    struct gate_part *old = gate_part_find(*parts, *count, part->part);
    if (old == NULL) {
        if (!BASE_ARRAY_ROOM(*parts, *count, *capacity)) {
            return false;
        }
        old = &(*parts)[(*count)++];
    }
    *old = *part;
    return true;
}

// Rule (4, fit-part): Fittings are counted over 90 days. [repeats-forever]
static bool count_fitting(struct gate_position *position, const struct gate_part *part) {
    size_t kept = 0;
    for (size_t i = 0; i < position->fitting_count; i++) {
        if (part->fitted.wall - position->fittings[i].at < GATE_REPEAT_MS) {
            position->fittings[kept++] = position->fittings[i];
        }
    }
    position->fitting_count = kept;
    if (!BASE_ARRAY_ROOM(position->fittings, position->fitting_count, position->fitting_capacity)) {
        return false;
    }
    struct gate_fitting *made = &position->fittings[position->fitting_count++];
    memcpy(made->part, part->part, sizeof made->part);
    made->at = part->fitted.wall;
    return true;
}

bool gate_parts_hang(struct gate_position *position, const struct gate_job *job) {
    for (size_t i = 0; i < job->day.part_count; i++) {
        const struct gate_part *part = &job->day.parts[i];
        if (!gate_part_put(&position->hangs, &position->hang_count, &position->hang_capacity,
                           part) ||
            !count_fitting(position, part)) {
            return false;
        }
    }
    return true;
}

unsigned gate_part_times(const struct gate_position *position, const char *part) {
    int64_t newest = 0;
    unsigned times = 0;
    for (size_t i = 0; i < position->fitting_count; i++) {
        bool of = gate_same(position->fittings[i].part, part);
        newest = of && position->fittings[i].at > newest ? position->fittings[i].at : newest;
    }
    for (size_t i = 0; i < position->fitting_count; i++) {
        times += gate_same(position->fittings[i].part, part) &&
                         newest - position->fittings[i].at < GATE_REPEAT_MS
                     ? 1
                     : 0;
    }
    return times;
}

// Rule (4, fit-part; 2, match): A kit is judged by what hangs there, where that is known.
// [match-by-configuration-alone]
const char *gate_part_family(const struct gate_site *site, uint32_t position, const char *part) {
    const struct gate_position *state = &site->positions[position];
    const char *const kinds[] = {"nozzle", part};
    for (size_t i = 0; i < 2; i++) {
        const struct gate_part *hangs = gate_part_find(state->hangs, state->hang_count, kinds[i]);
        if (kinds[i] != NULL && kinds[i][0] != '\0' && hangs != NULL && hangs->family[0] != '\0') {
            return hangs->family;
        }
    }
    return site->model->positions[position].nozzle_family;
}
