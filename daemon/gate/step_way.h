// Ways on that depend on whose a lock is, and on who may lead: what the next step (step.c) asks.
#pragma once

#include "gate/may.h"

// The verb that takes the lock off which a refusal speaks of; GATE_VERB_COUNT: no request of this
// job does (it hangs for another job, or its owner says nothing of it but at its reader).
enum gate_verb gate_step_unlock(const struct gate_job *job, const struct gate_refusal *lacking);
// Whether a choice of that verb is of that lock.
bool gate_step_unlocks(const struct gate_choice *choice, const char *asker,
                       const struct gate_refusal *lacking);
// The most urgent of the job's alarms that is not acknowledged: what keeps the gate closed. NULL:
// none.
const struct gate_alarm *gate_step_alarm(const struct gate_site *site, const struct gate_job *job);
// The alarm of our own clock, where the journal is ahead of it; NULL: none.
const struct gate_alarm *gate_step_clock(const struct gate *gate, const struct gate_site *site,
                                         struct gate_time now);
// What replaces a leader who lacks a credential once work was started.
enum gate_verb gate_step_lead(const struct gate *gate, const struct gate_site *site,
                              const struct gate_job *job, struct gate_time now);
// Whether a choice of that verb, of somebody, does.
bool gate_step_leads(const struct gate *gate, const struct gate_site *site,
                     const struct gate_job *job, const struct gate_choice *choice,
                     const char *asker, struct gate_time now);
// Says of a step which alarm it is about, and whether it is the crew's to acknowledge. NULL:
// nothing.
void gate_step_who_sees(const struct gate_alarm *alarm, struct gate_step *step);
