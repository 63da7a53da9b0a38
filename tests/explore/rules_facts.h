// What the two files about facts share.
#pragma once

#include "rules.h"

#define OVERSEERS (MODEL_ROLE_MANAGER | MODEL_ROLE_SUPERVISOR)

static inline unsigned rules_point_of(const struct rules *r, const struct gate_fact *fact) {
    return model_point_find(&r->forecourt->site, fact->point);
}

static inline unsigned rules_slot_of(const struct rules *r, const struct rules_job *job) {
    return job != NULL ? (unsigned)(job - r->jobs) : RULES_NO_SLOT;
}

static inline const struct model_requirements *rules_needs_of(const struct rules *r,
                                                              const struct rules_job *job) {
    return &r->forecourt->procedures[job->procedure];
}

static inline bool rules_has_role(const struct rules *r, unsigned person, unsigned roles) {
    return person < r->forecourt->model.person_count &&
           (r->forecourt->people[person].roles & roles) != 0;
}

static inline void rules_void_leaving(struct rules *r, struct rules_job *job) {
    rules_void(r, job, MODEL_GROUP_CLEAR);
    rules_void(r, job, MODEL_GROUP_LEAVE);
}

// Something is wrong with the fact unless this is met.
void rules_require(struct rules *rules, bool met, const struct gate_fact *fact, const char *what);
void rules_signed_check(struct rules *rules, struct rules_job *job, const struct gate_fact *fact);
// The job may be NULL: a lock that belongs to none.
void rules_tag_hung(struct rules *rules, struct rules_job *job, const struct gate_fact *fact);
void rules_tag_lifted(struct rules *rules, struct rules_job *job, const struct gate_fact *fact);
void rules_witnessed(struct rules *rules, const struct gate_fact *fact);
// A position came back: nothing holds it out, and its points were proved live to a daemon that
// hears, writes and is alone.
void rules_back_in_service(struct rules *rules, const struct gate_fact *fact);
