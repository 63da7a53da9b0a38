// What hangs at a position: fitted by a job, and there since its return.
#pragma once

#include "gate/state.h"

// For how long a fitting is counted, and how many in that time are too many: a third boot in 90
// days says that something else wears it out.
#define GATE_REPEAT_MS (90 * 24 * 3600 * 1000LL)
#define GATE_REPEAT_DAYS 90
#define GATE_REPEATS 3

// The part of a kind in a list; NULL: there is none.
struct gate_part *gate_part_find(struct gate_part *parts, size_t count, const char *part);
// Puts a part in the place of the one of its kind. False: no memory.
bool gate_part_put(struct gate_part **parts, size_t *count, size_t *capacity,
                   const struct gate_part *part);
// What a job fitted hangs at its position from now on. False: no memory.
bool gate_parts_hang(struct gate_position *position, const struct gate_job *job);
// How many of a kind were fitted at a position within GATE_REPEAT_MS before the newest of them, it
// included.
unsigned gate_part_times(const struct gate_position *position, const char *part);
// The family that a kit must have there: that of the nozzle that hangs, else of the part of the
// kind that is named (NULL: none), else the configured one; NULL: it is not known.
const char *gate_part_family(const struct gate_site *site, uint32_t position, const char *part);
