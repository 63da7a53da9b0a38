// Breaking a lockout, and beginning and ending the isolation that it rests on.
#pragma once

#include "gate/state.h"

// Breaks the job's lockout: stops its work, ends its isolation, raises its alarm.
void gate_break(struct gate *gate, struct gate_site *site, struct gate_job *job,
                enum model_code why, uint32_t point, const char *say, struct gate_time now);
// The same with the sentence that the point and the reason make.
void gate_break_by_point(struct gate *gate, struct gate_site *site, struct gate_job *job,
                         enum model_code why, uint32_t point, struct gate_time now);
// The isolation is held from now on: relieve and verify may be signed.
void gate_isolation_begin(struct gate *gate, struct gate_site *site, struct gate_job *job,
                          struct gate_time now);
// The isolation is held no longer: what was relieved and verified is void.
void gate_isolation_end(struct gate *gate, struct gate_site *site, struct gate_job *job,
                        struct gate_time now);
// A relieve or verify check outside its limits says that the energy is still there: in the cabinet
// that is a break.
void gate_break_by_check(struct gate *gate, struct gate_site *site, struct gate_job *job,
                         const struct model_check *check, struct gate_time now);
