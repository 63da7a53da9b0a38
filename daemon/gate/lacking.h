// What the journal knows and the configuration lacks: remembered while it stands.
#pragma once

#include "gate/state.h"

// A standing job on a position or point, or a hanging tag of somebody (`who`), that is not
// configured. `what` is its position or point. False: no memory.
bool gate_lacking_add(struct gate *gate, const char *site, const char *job, const char *what,
                      const char *who);
// The inverse; what NULL: whatever of the job.
void gate_lacking_remove(struct gate *gate, const char *site, const char *job, const char *what,
                         const char *who);
