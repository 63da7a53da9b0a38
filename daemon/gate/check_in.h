// Checking in: while work goes on, who leads says in time that all is well.
#pragma once

#include "gate/state.h"

// The mono ms by which the leader is to check in; INT64_MAX: nobody asks, or nobody works.
int64_t gate_check_in_due(const struct gate_job *job);
// All is well: the alarm that the leader was overdue is seen to by it, and over.
void gate_check_in_seen(struct gate *gate, struct gate_site *site, const struct gate_job *job,
                        const char *by, struct gate_time now);
// Raises and clears that alarm; *next is lowered to when time alone raises it.
void gate_review_check_ins(struct gate *gate, struct gate_site *site, struct gate_time now,
                           int64_t *next);
