// Breaking a lockout, and beginning and ending the hold that it rests on.
#pragma once

#include "gate/state.h"

// Breaks the job's lockout: stops its work, ends its hold, raises its alarm.
void gate_break(struct gate *gate, struct gate_site *site, struct gate_job *job,
                enum model_code why, uint32_t point, const char *say, struct gate_time now);
// The same with the sentence that the point and the reason make.
void gate_break_by_point(struct gate *gate, struct gate_site *site, struct gate_job *job,
                         enum model_code why, uint32_t point, struct gate_time now);
// The hold begins: relieve and verify may be signed.
void gate_hold_begin(struct gate *gate, struct gate_site *site, struct gate_job *job,
                     struct gate_time now);
// Ends the hold: what was relieved and verified is void.
void gate_hold_end(struct gate *gate, struct gate_site *site, struct gate_job *job,
                   struct gate_time now);
// A relieve or verify check outside its limits says that the energy is still there: in the cabinet
// that is a break.
void gate_break_by_check(struct gate *gate, struct gate_site *site, struct gate_job *job,
                         const struct model_check *check, struct gate_time now);
