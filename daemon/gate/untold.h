// Who was not told yet that a lock of theirs was removed while they were absent (29 CFR
// 1910.147(e)(3)(iii)). Folded: it survives restarts.
#pragma once

#include "gate/state.h"

// Whether the person still has to confirm it. The first of the points where a lock of theirs was;
// NULL: there is none.
const char *gate_untold_of(const struct gate_site *site, const char *person);
// False: no memory.
bool gate_untold_add(struct gate_site *site, const char *person, const char *point);
void gate_untold_end(struct gate_site *site, const char *person);
