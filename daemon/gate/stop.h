// Calling a stop: somebody has seen a hazard.
#pragma once

#include "gate/state.h"

// Whether a stop called now by this person with this reason (NULL: none) says what the newest one
// says already, and that one still stands: its alarm is not acknowledged, and nothing was signed
// since. adds: it gives that one the reason that it lacks.
bool gate_stop_stands(const struct gate_site *site, const struct gate_job *job, const char *by,
                      const char *reason, bool *adds);
// Calls it: what was prepared, relieved and verified is void, the lockout is confirmed no longer,
// nobody works or tests any more, and an alarm stands.
void gate_stop_call(struct gate *gate, struct gate_site *site, struct gate_job *job, const char *by,
                    const char *reason, struct gate_time now);
// Gives the newest stop the reason that it lacks.
void gate_stop_explain(struct gate *gate, struct gate_site *site, struct gate_job *job,
                       const char *by, const char *reason, struct gate_time now);
// Whether a stop was called on the job at a time or later.
bool gate_stop_called_since(const struct gate_job *job, struct gate_time since);
// What was signed since the newest stop is void as well: it was asked before. False: nothing was.
bool gate_stop_uphold(struct gate *gate, struct gate_site *site, struct gate_job *job,
                      const char *by, struct gate_time now);
