// Finding what is in the state, and comparing it: beside what state.h offers to every room. Nothing
// here changes anything.
#pragma once

#include "gate/state.h"

// The job that stands on the position, else one that took its cabinet; NULL: none does.
struct gate_job *gate_job_covering(const struct gate_site *site, uint32_t position);
bool gate_requires(const struct gate_job *job, uint32_t point);
// Two jobs share if their positions are on one dispenser, a point required by one isolates the
// other's position, or one of them takes the site.
bool gate_shares(const struct gate_site *site, const struct gate_job *a, const struct gate_job *b);
bool gate_point_isolates(const struct model_point *point, uint32_t position);
bool gate_same_dispenser(const struct gate_site *site, uint32_t a, uint32_t b);
// The first energy that the job's procedure isolates and no required point does; NULL: none lacks.
const char *gate_unmapped(const struct model_site *site, const struct model_requirements *needs,
                          uint32_t position);
bool gate_leads(const struct gate_job *job, const char *person);
bool gate_offer_stands(const struct gate_job *job, struct gate_time now);

// The tag of a person, or where that is NULL of a badge that is nobody's; job NULL or "": of none.
// NULL: there is none.
struct gate_tag *gate_tag_of(const struct gate_site *site, uint32_t point, const char *job,
                             const char *person, const char *badge);
struct gate_tag *gate_tag_find(const struct gate_site *site, uint32_t point, const char *job,
                               const char *person);
bool gate_tag_counts(const struct gate_site *site, uint32_t point, const char *job,
                     const char *person);
bool gate_protected(const struct gate_site *site, const struct gate_job *job, const char *person);
bool gate_tags_hang(const struct gate_site *site, const char *job, const char *person);

// Whether a site hears and is heard: both connections are up, and every topic is delivered.
bool gate_is_linked(const struct gate *gate, const struct gate_site *site);
bool gate_alarm_unacknowledged(const struct gate_site *site, const char *job);
