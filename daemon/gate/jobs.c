// Jobs: finding, making and comparing them.
#include "gate/internal.h"

#include <stdlib.h>

static uint64_t id_hash(const char *id) {
    uint64_t hash = 14695981039346656037ULL; // FNV-1a, 64 bits
    for (; *id != '\0'; id++) {
        hash = (hash ^ (unsigned char)*id) * 1099511628211ULL;
    }
    return hash;
}

static struct gate_used *used_slot(struct gate_used *table, size_t capacity, const char *job) {
    size_t slot = (size_t)id_hash(job) & (capacity - 1);
    while (table[slot].job[0] != '\0' && strcmp(table[slot].job, job) != 0) {
        slot = (slot + 1) & (capacity - 1);
    }
    return &table[slot];
}

static bool used_grow(struct gate_site *site) {
    size_t capacity = site->used_capacity == 0 ? 16 : site->used_capacity * 2;
    struct gate_used *table = calloc(capacity, sizeof *table);
    if (table == NULL) {
        return false;
    }
    for (size_t i = 0; i < site->used_capacity; i++) {
        if (site->used[i].job[0] != '\0') {
            *used_slot(table, capacity, site->used[i].job) = site->used[i];
        }
    }
    free(site->used);
    site->used = table;
    site->used_capacity = capacity;
    return true;
}

bool gate_used_add(struct gate_site *site, const char *job, struct gate_job *ref) {
    if (site->used_count * 2 >= site->used_capacity && !used_grow(site)) {
        return false;
    }
    struct gate_used *slot = used_slot(site->used, site->used_capacity, job);
    if (slot->job[0] == '\0') {
        gate_id_copy(slot->job, job);
        site->used_count++;
    }
    slot->ref = ref;
    return true;
}

const struct gate_used *gate_used_find(const struct gate_site *site, const char *job) {
    if (site->used_capacity == 0 || job == NULL || job[0] == '\0') {
        return NULL;
    }
    const struct gate_used *slot = used_slot(site->used, site->used_capacity, job);
    return slot->job[0] != '\0' ? slot : NULL;
}

struct gate_job *gate_job_find(const struct gate_site *site, const char *job) {
    const struct gate_used *used = gate_used_find(site, job);
    return used != NULL ? used->ref : NULL;
}

struct gate_job *gate_job_on(const struct gate_site *site, uint32_t position) {
    for (size_t i = 0; i < site->job_count; i++) {
        if (site->jobs[i]->position == position && gate_job_stands(site->jobs[i])) {
            return site->jobs[i];
        }
    }
    return NULL;
}

struct gate_job *gate_job_covering(const struct gate_site *site, uint32_t position) {
    struct gate_job *own = gate_job_on(site, position);
    for (size_t i = 0; own == NULL && i < site->job_count; i++) {
        struct gate_job *job = site->jobs[i];
        if (gate_job_stands(job) && job->needs->takes_dispenser &&
            gate_same_dispenser(site, job->position, position)) {
            return job;
        }
    }
    return own;
}

void gate_job_free(struct gate_job *job) {
    if (job == NULL) {
        return;
    }
    free(job->opening);
    free(job->needs);
    free(job->required);
    free(job->crew);
    free(job->signatures);
    free(job->tests);
    free(job);
}

bool gate_requires(const struct gate_job *job, uint32_t point) {
    for (size_t i = 0; i < job->required_count; i++) {
        if (job->required[i] == point) {
            return true;
        }
    }
    return false;
}

bool gate_point_isolates(const struct model_point *point, uint32_t position) {
    for (size_t i = 0; i < point->isolates_count; i++) {
        if (point->isolates[i] == position) {
            return true;
        }
    }
    return false;
}

bool gate_same_dispenser(const struct gate_site *site, uint32_t a, uint32_t b) {
    return strcmp(site->model->positions[a].dispenser, site->model->positions[b].dispenser) == 0;
}

static bool requires_of(const struct gate_site *site, const struct gate_job *job,
                        uint32_t position) {
    for (size_t i = 0; i < job->required_count; i++) {
        if (gate_point_isolates(&site->model->points[job->required[i]], position)) {
            return true;
        }
    }
    return false;
}

bool gate_shares(const struct gate_site *site, const struct gate_job *a, const struct gate_job *b) {
    return gate_same_dispenser(site, a->position, b->position) ||
           requires_of(site, a, b->position) || requires_of(site, b, a->position);
}

const char *gate_unmapped(const struct model_site *site, const struct model_requirements *needs,
                          uint32_t position) {
    for (size_t i = 0; i < needs->isolate_count; i++) {
        bool mapped = false;
        for (size_t p = 0; p < site->point_count && !mapped; p++) {
            mapped = gate_point_isolates(&site->points[p], position) &&
                     strcmp(site->points[p].energy, needs->isolate[i]) == 0;
        }
        if (!mapped) {
            return needs->isolate[i];
        }
    }
    return needs->isolate_count == 0 ? "" : NULL;
}

bool gate_leads(const struct gate_job *job, const char *person) {
    return job->leader[0] != '\0' && strcmp(job->leader, person) == 0;
}

bool gate_offer_stands(const struct gate_job *job, struct gate_time now) {
    return job->offered[0] != '\0' && now.line - job->offered_at.line < GATE_OFFER_MS;
}

const struct gate_signature *gate_signature_of(const struct gate_job *job, const char *check) {
    for (size_t i = job->signature_count; i-- > 0;) {
        if (strcmp(job->signatures[i].check, check) == 0) {
            return &job->signatures[i];
        }
    }
    return NULL;
}

const struct gate_test_record *gate_test_of(const struct gate_job *job, const char *test) {
    for (size_t i = job->test_count; i-- > 0;) {
        if (strcmp(job->tests[i].test, test) == 0) {
            return &job->tests[i];
        }
    }
    return NULL;
}

const struct gate_member *gate_member_of(const struct gate_job *job, const char *person) {
    for (size_t i = 0; i < job->crew_count; i++) {
        if (strcmp(job->crew[i].person, person) == 0) {
            return &job->crew[i];
        }
    }
    return NULL;
}

const struct model_check *gate_check_of(const struct gate_job *job, const char *check) {
    for (size_t i = 0; i < job->needs->check_count; i++) {
        if (strcmp(job->needs->checks[i].check, check) == 0) {
            return &job->needs->checks[i];
        }
    }
    return NULL;
}

bool gate_signature_void(const struct gate_job *job, const struct gate_signature *signature,
                         struct gate_time now) {
    if (signature->void_) {
        return true;
    }
    const struct model_check *check = gate_check_of(job, signature->check);
    return check != NULL && check->group == MODEL_GROUP_PREPARE &&
           now.line - signature->at.line > check->valid_ms;
}

struct model_requirements *gate_tests_of(const struct gate_site *site, const struct gate_job *job) {
    const struct model_requirements *owed = site->positions[job->position].owed;
    return owed != NULL ? model_requirements_stricter(job->needs, owed)
                        : model_requirements_copy(job->needs);
}
