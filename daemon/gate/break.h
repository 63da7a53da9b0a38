// Breaking a lockout, and beginning and ending the isolation that it rests on.
#pragma once

#include "gate/cause.h"

// Breaks the job's lockout, in any phase: work stops, tests go back to restoring and are void, its
// isolation ends, its alarm is raised; where it stands and this is a further cause, again.
void gate_break(struct gate *gate, struct gate_site *site, struct gate_job *job,
                const struct gate_break_cause *cause, struct gate_time now);
// The work stops though the lockout holds; of testing, back to restoring.
void gate_stop_work(struct gate *gate, struct gate_site *site, struct gate_job *job,
                    enum model_code why, const char *say, struct gate_time now);
// Whether its alarm stands for this cause already.
bool gate_break_is_told(const struct gate_site *site, const struct gate_job *job,
                        const struct gate_break_cause *cause, struct gate_time now);
// A break for a reason and the point that it is about (MODEL_NONE: none).
void gate_break_by_point(struct gate *gate, struct gate_site *site, struct gate_job *job,
                         enum model_code why, uint32_t point, struct gate_time now);
// The isolation is held from now on: relieve and verify may be signed.
void gate_isolation_begin(struct gate *gate, struct gate_site *site, struct gate_job *job,
                          struct gate_time now);
// The isolation is held no longer: what was relieved and verified is void.
void gate_isolation_end(struct gate *gate, struct gate_site *site, struct gate_job *job,
                        struct gate_time now);
// Whether a failed check of the group says that people are in danger (prepare, relieve, verify).
bool gate_group_stops(enum model_group group);
// A check that failed: where people may be in danger by it that is a break, and after a verify no
// tag of the job counts until it is hung again.
void gate_break_by_check(struct gate *gate, struct gate_site *site, struct gate_job *job,
                         const struct model_check *check, struct gate_time now);
// A check on which the lockout rests has grown too old: the same without a word on tags.
void gate_break_by_age(struct gate *gate, struct gate_site *site, struct gate_job *job,
                       const struct model_check *check, struct gate_time now);
// Whether such a check that fails now says what its newest signature says already, of the same
// person and reading (has_value false: none), and that still has its effect.
bool gate_failure_stands(const struct gate_site *site, const struct gate_job *job,
                         const struct model_check *check, const char *by, bool has_value,
                         double value);
// Whether the failure that somebody gave at a time or later is in the journal and has its effect.
bool gate_failure_holds(const struct gate_site *site, const struct gate_job *job,
                        const struct model_check *check, const char *by, struct gate_time since);
// No tag of the job counts until it is hung again.
void gate_discount_tags_of(struct gate *gate, struct gate_site *site, const struct gate_job *job,
                           enum model_code why, struct gate_time now);
