// What the effects of several facts have in common.
#include "gate/fact/effect.h"

#include <stdlib.h>
#include <string.h>

#include "base/array.h"
#include "gate/find.h"
#include "gate/gate.h"
#include "gate/text.h"
#include "gate/used.h"

// --- Voids ---

void gate_void_group(struct gate_job *job, enum model_group group) {
    for (size_t i = 0; i < job->signature_count; i++) {
        if (job->signatures[i].group == group) {
            job->signatures[i].void_ = true;
        }
    }
}

// Rule (4, What voids): What voids the tests voids the finish checks. [void-tests-not-finish]
void gate_void_tests(struct gate_job *job) {
    for (size_t i = 0; i < job->test_count; i++) {
        job->tests[i].void_ = true;
    }
    gate_void_group(job, MODEL_GROUP_FINISH);
}

// Rule (4, What voids): Leave is voided by what voids clear. [void-clear-not-leave]
void gate_void_leaving(struct gate_job *job) {
    gate_void_group(job, MODEL_GROUP_CLEAR);
    gate_void_group(job, MODEL_GROUP_LEAVE);
}

// Rule (4, What voids): Rework voids every test of the job. [rework-spares-tests]
void gate_void_everything(struct gate_job *job) {
    gate_void_all_but_leave(job);
    gate_void_group(job, MODEL_GROUP_LEAVE);
}

void gate_void_all_but_leave(struct gate_job *job) {
    for (size_t i = 0; i < job->signature_count; i++) { // also of a check that is no longer asked
        job->signatures[i].void_ |= job->signatures[i].group != MODEL_GROUP_LEAVE;
    }
    gate_void_tests(job);
}

// --- Phases and crew ---

// Rule (4, hand-over): An offer ends with a change of phase. [offer-outlives-the-phase]
void gate_enter(struct gate_job *job, enum model_phase phase, struct gate_time at) {
    job->phase = phase;
    job->since = at;
    job->offered[0] = '\0'; // an offer ends with a change of phase
    job->paused_by[0] = '\0';
}

// Ended jobs leave memory after their documents' time; their ids stay used.
static void drop_ended(struct gate_site *site, struct gate_time now) {
    size_t kept = 0;
    for (size_t i = 0; i < site->job_count; i++) {
        struct gate_job *job = site->jobs[i];
        if (!gate_job_stands(job) && now.mono - job->ended.mono > GATE_KEEP_ENDED_MS) {
            gate_used_add(site, job->job, NULL);
            gate_job_free(job);
        } else {
            site->jobs[kept++] = job;
        }
    }
    site->job_count = kept;
}

void gate_job_end(struct gate_site *site, struct gate_job *job, enum model_phase phase,
                  struct gate_time at) {
    gate_enter(job, phase, at);
    job->ended = at;
    job->lockout = MODEL_LOCKOUT_UNCONFIRMED;
    job->isolation = GATE_ISOLATION_NONE;
    drop_ended(site, at);
}

bool gate_crew_add(struct gate_job *job, const char *person, struct gate_time at) {
    if (gate_member_of(job, person) != NULL) {
        return true;
    }
    if (!BASE_ARRAY_ROOM(job->crew, job->crew_count, job->crew_capacity)) {
        return false;
    }
    struct gate_member *member = &job->crew[job->crew_count++];
    *member = (struct gate_member){.joined = at, .joined_order = job->order};
    gate_id_copy(member->person, person);
    return true;
}

void gate_crew_remove(struct gate_job *job, const char *person) {
    for (size_t i = 0; i < job->crew_count; i++) {
        if (strcmp(job->crew[i].person, person) == 0) {
            memmove(&job->crew[i], &job->crew[i + 1],
                    (job->crew_count - i - 1) * sizeof *job->crew);
            job->crew_count--;
            return;
        }
    }
}

// --- What work leaves to be tested ---

// Rule (3, service): Work by a procedure that takes the dispenser is work on every position of it.
// [owed-by-one-side]
bool gate_work_covers(const struct gate_site *site, const struct gate_job *job, uint32_t position) {
    return position == job->position ||
           (job->needs->takes_dispenser && gate_same_dispenser(site, job->position, position));
}

static bool untested_add(struct gate_position *position, uint32_t from) {
    for (size_t i = 0; i < position->untested_count; i++) {
        if (position->untested_from[i] == from) {
            return true;
        }
    }
    if (!BASE_ARRAY_ROOM(position->untested_from, position->untested_count,
                         position->untested_capacity)) {
        return false;
    }
    position->untested_from[position->untested_count++] = from;
    return true;
}

bool gate_leave_untested(struct gate_site *site, const struct gate_job *job) {
    for (uint32_t p = 0; p < site->model->position_count; p++) {
        if (gate_work_covers(site, job, p) && !untested_add(&site->positions[p], job->position)) {
            return false;
        }
    }
    return true;
}

bool gate_owe_tests(struct gate_position *position, const struct gate_job *job) {
    struct model_requirements *owed = position->owed != NULL
                                          ? model_requirements_stricter(position->owed, job->needs)
                                          : model_requirements_copy(job->needs);
    if (owed == NULL) {
        return false;
    }
    free(position->owed);
    position->owed = owed;
    gate_id_copy(position->owed_by, job->job);
    return true;
}

bool gate_untest(struct gate_site *site, const struct gate_job *job) {
    for (uint32_t p = 0; p < site->model->position_count; p++) {
        if (gate_work_covers(site, job, p) && !gate_owe_tests(&site->positions[p], job)) {
            return false;
        }
    }
    return gate_leave_untested(site, job);
}

void gate_owed_clear(struct gate_position *position) {
    free(position->owed);
    position->owed = NULL;
    position->owed_by[0] = '\0';
}

// --- Words ---

void gate_statements_end(struct gate_statement *statements, size_t *count) {
    for (size_t i = 0; i < *count; i++) {
        free(statements[i].jobs);
        memset(&statements[i], 0, sizeof statements[i]);
    }
    *count = 0;
}

void gate_words_end(struct gate_point *point) {
    gate_statements_end(point->statements, &point->statement_count);
    gate_statements_end(point->live_statements, &point->live_statement_count);
}

// --- Tags ---

const char *gate_owner_of(const struct gate_fact *fact) {
    return fact->person != NULL ? fact->person : fact->badge;
}

void gate_tag_remove(struct gate_point *point, struct gate_tag *tag) {
    size_t index = (size_t)(tag - point->tags);
    memmove(tag, tag + 1, (point->tag_count - index - 1) * sizeof *tag);
    point->tag_count--;
}
