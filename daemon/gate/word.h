// What people say of a point: which words stand, for whom they count, what they prove.
#pragma once

#include "gate/view.h"

// On what terms people speak for a point.
struct gate_speech {
    bool spoken;        // it has no sensor that counts: people say what it is
    unsigned witnesses; // how many different people must have said isolated
    unsigned provers;   // and how many live, to prove that
    int64_t valid_ms;   // how long a word stands
    int64_t until;      // mono ms at which no word stands any more; INT64_MAX
};
struct gate_speech gate_speech_of(const struct gate_site *site, uint32_t point);

// The mono ms at which a statement about the point is over, and whether it stands still.
int64_t gate_word_ends(const struct gate_site *site, uint32_t point,
                       const struct gate_statement *statement);
bool gate_word_stands(const struct gate_site *site, uint32_t point,
                      const struct gate_statement *statement, struct gate_time now);
// Whether a statement of isolated counts for a job; NULL: for the point as such.
bool gate_word_counts(const struct gate_site *site, uint32_t point,
                      const struct gate_statement *statement, const struct gate_job *job);
// What the words make of the point for a job (NULL: as such). *next as gate_point_derive.
struct gate_view gate_words_view(const struct gate_site *site, uint32_t point,
                                 const struct gate_job *job, struct gate_time now, int64_t *next);
// Whether a statement of live proves that, for the return of a job; NULL: for the service of the
// positions that the point isolates.
bool gate_word_proves(const struct gate_site *site, uint32_t point,
                      const struct gate_statement *statement, const struct gate_job *job);
// How many of the words that stand prove the point live, for that job or service.
unsigned gate_words_proving(const struct gate_site *site, uint32_t point,
                            const struct gate_job *job, struct gate_time now);
// The job that last required the point: of those that stand none, so that its crew speaks for the
// point; NULL: another stands that requires it, or none is remembered.
const struct gate_job *gate_last_to_require(const struct gate_site *site, uint32_t point);
