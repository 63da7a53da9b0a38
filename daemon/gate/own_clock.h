// The daemon's own wall clock: whether what is judged by a day or a date can be judged now.
#pragma once

#include "gate/state.h"

// Looks at the clock: called with whatever time the gate is given. It is the only thing that
// changes struct gate_own_clock but for the newest time.
void gate_own_clock_look(struct gate *gate, struct gate_time now);
// Why it may be wrong now.
enum gate_own_clock_fault gate_own_clock_fault(const struct gate *gate, struct gate_time now);
// Whether an alarm is that of our own clock, and stands for a journal that is ahead of it now.
bool gate_own_clock_ahead(const struct gate *gate, const struct gate_alarm *alarm,
                          struct gate_time now);
// Mono ms at which that changes by itself; INT64_MAX: never.
int64_t gate_own_clock_due(const struct gate *gate, struct gate_time now);
// A time that the journal is to vouch for.
void gate_own_clock_tell(struct gate *gate, int64_t wall);
// Somebody has compared our clock and says that it is right: what is written from now on is the
// newest.
void gate_own_clock_right(struct gate *gate, struct gate_time now);
// After a restart: a clock that was set a moment before goes on being of that age.
void gate_own_clock_start(struct gate *gate, int64_t newest_wall, struct gate_time now);
