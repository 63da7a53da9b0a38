// What the effects of several facts have in common: voids, phases, the crew, what work leaves to be
// tested. No rule is decided here, and nothing depends on time or hearing.
#pragma once

#include "gate/fact/row.h"

// --- Voids: what was signed or tested stands no longer (the contract, section 4, "What voids") ---
void gate_void_group(struct gate_job *job, enum model_group group);
void gate_void_tests(struct gate_job *job);   // and the finish checks, signed after the last test
void gate_void_leaving(struct gate_job *job); // clear and leave
void gate_void_everything(struct gate_job *job);    // back in `open`
void gate_void_all_but_leave(struct gate_job *job); // the same, and made safe

// --- Phases and crew ---
void gate_enter(struct gate_job *job, enum model_phase phase, struct gate_time at);
// Ends the job; ended jobs whose documents' time is over leave memory by it, never this one.
void gate_job_end(struct gate_site *site, struct gate_job *job, enum model_phase phase,
                  struct gate_time at);
bool gate_crew_add(struct gate_job *job, const char *person,
                   struct gate_time at); // false: no memory
void gate_crew_remove(struct gate_job *job, const char *person);

// --- What work leaves to be tested ---
// Whether the work of a job is work on a position: on its own, and by a procedure that takes the
// dispenser on every one of the cabinet.
bool gate_work_covers(const struct gate_site *site, const struct gate_job *job, uint32_t position);
// Every position that the job covers is untested from now on. False: no memory.
bool gate_leave_untested(struct gate_site *site, const struct gate_job *job);
// The tests of the job are owed by a position as well. False: no memory.
bool gate_owe_tests(struct gate_position *position, const struct gate_job *job);
// Both of every position that an ended job covers, all of whose tests are to be done anew. False:
// no memory.
bool gate_untest(struct gate_site *site, const struct gate_job *job);
// Nothing is owed there any more.
void gate_owed_clear(struct gate_position *position);

// --- Words ---
void gate_statements_end(struct gate_statement *statements, size_t *count);
void gate_words_end(struct gate_point *point); // those of isolated and of live

// --- Tags ---
// Whose tag a fact is about: the person, else the badge.
const char *gate_owner_of(const struct gate_fact *fact);
void gate_tag_remove(struct gate_point *point, struct gate_tag *tag);
