// Locks and tags: whose hang where, which count, what follows when one is lifted.
#include "gate/internal.h"

static bool tag_is(const struct gate_tag *tag, const char *job, const char *who) {
    const char *owner = tag->person[0] != '\0' ? tag->person : tag->badge;
    return gate_same(tag->job, job) && gate_same(owner, who);
}

struct gate_tag *gate_tag_find(const struct gate_site *site, uint32_t point, const char *job,
                               const char *who) {
    struct gate_point *state = &site->points[point];
    for (size_t i = 0; i < state->tag_count; i++) {
        if (tag_is(&state->tags[i], job, who)) {
            return &state->tags[i];
        }
    }
    return NULL;
}

bool gate_tag_counts(const struct gate_site *site, uint32_t point, const char *job,
                     const char *person) {
    const struct gate_tag *tag = gate_tag_find(site, point, job, person);
    return tag != NULL && tag->counts;
}

bool gate_protected(const struct gate_site *site, const struct gate_job *job, const char *person) {
    for (size_t i = 0; i < job->required_count; i++) {
        if (!gate_tag_counts(site, job->required[i], job->job, person)) {
            return false;
        }
    }
    return job->required_count > 0;
}

bool gate_tags_hang(const struct gate_site *site, const char *job, const char *person) {
    for (size_t p = 0; p < site->model->point_count; p++) {
        const struct gate_point *point = &site->points[p];
        for (size_t i = 0; i < point->tag_count; i++) {
            if (strcmp(point->tags[i].job, job) == 0 &&
                (person == NULL || strcmp(point->tags[i].person, person) == 0)) {
                return true;
            }
        }
    }
    return false;
}

// The leader's tag was lifted: while working that breaks the lockout; while stopped too, unless
// every clear and leave check was signed (the order in which one leaves a job half done).
static void leader_lifted(struct gate *gate, struct gate_site *site, struct gate_job *job,
                          uint32_t point, struct gate_time now) {
    bool leaving = job->phase == MODEL_PHASE_STOPPED &&
                   gate_group_signed(job, MODEL_GROUP_CLEAR, now) &&
                   gate_group_signed(job, MODEL_GROUP_LEAVE, now);
    if (job->phase == MODEL_PHASE_WORKING || (job->phase == MODEL_PHASE_STOPPED && !leaving)) {
        char say[240];
        gate_text(say, sizeof say, "The leader's lock on %s was lifted. Stop, keep out.",
                  site->model->points[point].title);
        gate_break(gate, site, job, MODEL_CODE_TAG_MISSING, point, say, now);
    }
}

void gate_tag_lift(struct gate *gate, struct gate_site *site, uint32_t point, const char *job_id,
                   const char *who, const struct gate_fact *how, struct gate_time now) {
    const struct gate_tag *tag = gate_tag_find(site, point, job_id, who);
    if (tag == NULL) {
        return;
    }
    char person[MODEL_ID_SIZE], badge[MODEL_ID_SIZE];
    gate_id_copy(person, tag->person);
    gate_id_copy(badge, tag->badge);
    struct gate_fact fact = gate_fact_of_point(gate, site, point, GATE_FACT_TAG_LIFTED, now);
    fact.job = job_id[0] != '\0' ? job_id : NULL;
    fact.person = person[0] != '\0' ? person : NULL;
    fact.badge = badge[0] != '\0' ? badge : NULL;
    fact.by = how->by;
    fact.reason = how->reason;
    fact.absent = how->absent;
    fact.reader = how->reader;
    gate_emit(gate, &fact);
    struct gate_job *job = gate_job_find(site, job_id);
    if (job != NULL && gate_leads(job, person)) {
        leader_lifted(gate, site, job, point, now);
    }
}

void gate_tags_adopt(struct gate *gate, struct gate_site *site, struct gate_job *job,
                     const char *person, struct gate_time now) {
    for (size_t i = 0; i < job->required_count; i++) {
        uint32_t point = job->required[i];
        const struct gate_tag *loose = gate_tag_find(site, point, "", person);
        if (loose == NULL || loose->person[0] == '\0') {
            continue;
        }
        char badge[MODEL_ID_SIZE];
        gate_id_copy(badge, loose->badge);
        struct gate_fact fact = gate_fact_of_point(gate, site, point, GATE_FACT_TAG_HUNG, now);
        fact.job = job->job;
        fact.person = person;
        fact.badge = badge[0] != '\0' ? badge : NULL;
        fact.reader = fact.adopted = true;
        fact.has_counts = true;
        fact.counts = loose->counts;
        fact.hung = loose->since.wall;
        gate_emit(gate, &fact);
    }
}
