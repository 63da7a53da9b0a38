// The gate itself: made, started, told of link and journal, ticked, asked what comes next.
#include "gate/internal.h"

#include <stdlib.h>

static void site_free(struct gate_site *site) {
    for (size_t p = 0; site->points != NULL && p < site->model->point_count; p++) {
        struct gate_point *point = &site->points[p];
        for (size_t i = 0; i < point->word_count; i++) {
            free(point->words[i].jobs);
        }
        free(point->live_word.jobs);
        free(point->words);
        free(point->tags);
    }
    for (size_t p = 0; site->positions != NULL && p < site->model->position_count; p++) {
        free(site->positions[p].untested_from);
        free(site->positions[p].owed);
        free(site->positions[p].failed);
    }
    for (size_t p = 0; site->hearing != NULL && p < site->model->point_count; p++) {
        free(site->hearing[p].marks);
    }
    for (size_t i = 0; i < site->job_count; i++) {
        gate_job_free(site->jobs[i]);
    }
    free(site->points);
    free(site->positions);
    free(site->jobs);
    free(site->alarms);
    free(site->used);
    free(site->sensors);
    free(site->measures);
    free(site->controllers);
    free(site->hearing);
}

static bool site_new(struct gate_site *site, const struct model_site *model) {
    site->model = model;
    site->points = calloc(model->point_count + 1, sizeof *site->points);
    site->positions = calloc(model->position_count + 1, sizeof *site->positions);
    site->sensors = calloc(model->sensor_count + 1, sizeof *site->sensors);
    site->measures = calloc(model->measure_count + 1, sizeof *site->measures);
    site->controllers = calloc(model->controller_count + 1, sizeof *site->controllers);
    site->hearing = calloc(model->point_count + 1, sizeof *site->hearing);
    site->deadline = INT64_MAX;
    if (site->points == NULL || site->positions == NULL || site->sensors == NULL ||
        site->measures == NULL || site->controllers == NULL || site->hearing == NULL) {
        return false;
    }
    for (size_t p = 0; p < model->point_count; p++) {
        site->points[p].trust = MODEL_TRUST_SILENT;
    }
    return true;
}

struct gate *gate_new(const struct model *model, void (*fact)(void *user, const struct gate_fact *),
                      void *user) {
    struct gate *gate = calloc(1, sizeof *gate);
    if (gate == NULL) {
        return NULL;
    }
    gate->model = model;
    gate->fact = fact;
    gate->user = user;
    gate->journal_up = true;
    gate->sites = calloc(model->site_count + 1, sizeof *gate->sites);
    bool made = gate->sites != NULL;
    for (size_t s = 0; made && s < model->site_count; s++) {
        made = site_new(&gate->sites[s], &model->sites[s]);
    }
    if (!made) {
        gate_free(gate);
        return NULL;
    }
    return gate;
}

void gate_free(struct gate *gate) {
    if (gate == NULL) {
        return;
    }
    for (size_t s = 0; gate->sites != NULL && s < gate->model->site_count; s++) {
        if (gate->sites[s].model != NULL) {
            site_free(&gate->sites[s]);
        }
    }
    free(gate->sites);
    free(gate->lacking);
    free(gate->evidence);
    free(gate);
}

// --- Start ---

void gate_heard_before(struct gate *gate, uint32_t site, uint32_t point, int64_t heard_wall,
                       struct gate_time now) {
    gate->sites[site].hearing[point].heard_before = now.line - (now.wall - heard_wall);
}

static int64_t least_max_age(const struct gate_site *site, const struct gate_job *job) {
    int64_t least = INT64_MAX;
    for (size_t i = 0; i < job->required_count; i++) {
        const struct model_point *point = &site->model->points[job->required[i]];
        if (point->sensor_count > 0 && point->max_age_ms < least) {
            least = point->max_age_ms;
        }
    }
    return least;
}

// The clock tells that the gap cannot be judged: it stands behind the journal, or past what any
// point may be unheard.
static bool gap_too_long(const struct gate_site *site, const struct gate_job *job,
                         int64_t newest_wall, struct gate_time now) {
    int64_t least = least_max_age(site, job);
    return now.wall < newest_wall - 1000 || (least != INT64_MAX && now.wall - newest_wall > least);
}

static void start_job(struct gate *gate, struct gate_site *site, struct gate_job *job,
                      int64_t newest_wall, struct gate_time now) {
    if (job->lockout == MODEL_LOCKOUT_CONFIRMED) {
        struct gate_fact fact = gate_fact_of_job(gate, site, job, GATE_FACT_LOCKOUT_LOST, now);
        fact.has_lockout = true;
        fact.lockout = MODEL_LOCKOUT_UNPROVEN;
        gate_emit(gate, &fact);
    }
    if (job->hold != GATE_HOLD_UNPROVEN || !gap_too_long(site, job, newest_wall, now)) {
        return;
    }
    if (job->lockout == MODEL_LOCKOUT_UNPROVEN) {
        gate_break(gate, site, job, MODEL_CODE_POINT_STALE, MODEL_NONE,
                   "The daemon was away too long to vouch for the lockout. Stop, keep clear.", now);
    } else {
        gate_hold_end(gate, site, job, now);
    }
}

void gate_start(struct gate *gate, const char *boot, const char *version, int64_t newest_wall,
                struct gate_time now) {
    struct gate_fact fact = gate_fact_new(gate, NULL, GATE_FACT_DAEMON_STARTED, now);
    fact.boot = boot;
    fact.version = version;
    gate_emit(gate, &fact);
    for (size_t s = 0; s < gate->model->site_count; s++) {
        struct gate_site *site = &gate->sites[s];
        for (size_t i = 0; i < site->job_count; i++) {
            if (gate_job_stands(site->jobs[i])) {
                start_job(gate, site, site->jobs[i], newest_wall, now);
            }
        }
        gate_review(gate, site, now);
    }
}

// --- What the gate is told beside readings and requests ---

static void follow_everywhere(struct gate *gate, enum model_alarm_kind kind, enum model_code why,
                              const char *say, bool stands, struct gate_time now) {
    struct gate_alarm_about about = {.kind = kind,
                                     .position = MODEL_NONE,
                                     .point = MODEL_NONE,
                                     .has_why = true,
                                     .why = why,
                                     .say = say};
    for (size_t s = 0; s < gate->model->site_count; s++) {
        if (stands) {
            gate_alarm_raise(gate, &gate->sites[s], &about, false, now);
        } else {
            gate_alarm_clear(gate, &gate->sites[s], &about, now);
        }
        gate_review(gate, &gate->sites[s], now);
    }
}

void gate_link(struct gate *gate, bool up, struct gate_time now) {
    gate->link_up = up;
    follow_everywhere(gate, MODEL_ALARM_LINK_DOWN, MODEL_CODE_LINK_DOWN,
                      "The link to the site's hardware is down: nothing is permitted.", !up, now);
}

void gate_journal(struct gate *gate, bool writes, struct gate_time now) {
    gate->journal_up = writes;
    follow_everywhere(gate, MODEL_ALARM_JOURNAL_DOWN, MODEL_CODE_JOURNAL_DOWN,
                      "The journal cannot be written: nothing is permitted.", !writes, now);
}

void gate_contested(struct gate *gate, uint32_t site, bool contested, struct gate_time now) {
    gate->sites[site].contested = contested;
    gate_review(gate, &gate->sites[site], now);
}

// It is about the office's records and closes no gate.
void gate_webhook(struct gate *gate, uint32_t site, const char *say, struct gate_time now) {
    struct gate_alarm_about about = {
        .kind = MODEL_ALARM_WEBHOOK_DOWN, .position = MODEL_NONE, .point = MODEL_NONE, .say = say};
    if (say != NULL) {
        gate_alarm_raise(gate, &gate->sites[site], &about, false, now);
    } else {
        gate_alarm_clear(gate, &gate->sites[site], &about, now);
    }
}

void gate_tick(struct gate *gate, struct gate_time now) {
    for (size_t s = 0; s < gate->model->site_count; s++) {
        gate_review_due(gate, &gate->sites[s], now);
    }
}

int64_t gate_deadline(const struct gate *gate) {
    int64_t next = INT64_MAX;
    for (size_t s = 0; s < gate->model->site_count; s++) {
        if (gate->sites[s].deadline < next) {
            next = gate->sites[s].deadline;
        }
    }
    return next;
}

// --- What others ask of the gate ---

struct model_requirements *gate_test_definition(const struct gate *gate, uint32_t site_index,
                                                const char *job_id, const char *test,
                                                const struct model_test **definition) {
    const struct gate_site *site = &gate->sites[site_index];
    const struct gate_job *job = gate_job_find(site, job_id);
    struct model_requirements *tests =
        job != NULL && gate_job_stands(job) ? gate_tests_of(site, job) : NULL;
    *definition = NULL;
    for (size_t i = 0; tests != NULL && i < tests->test_count; i++) {
        if (strcmp(tests->tests[i].test, test) == 0) {
            *definition = &tests->tests[i];
        }
    }
    return tests;
}

void gate_each_watched(const struct gate *gate, struct gate_time now,
                       void (*each)(void *user, const char *site, const char *point, int64_t heard),
                       void *user) {
    for (size_t s = 0; s < gate->model->site_count; s++) {
        const struct gate_site *site = &gate->sites[s];
        for (size_t i = 0; i < site->job_count; i++) {
            const struct gate_job *job = site->jobs[i];
            for (size_t r = 0; job->hold != GATE_HOLD_NONE && r < job->required_count; r++) {
                int64_t heard = gate_point_heard(gate, site, job->required[r], now);
                if (heard != 0) {
                    each(user, site->model->site, site->model->points[job->required[r]].point,
                         heard);
                }
            }
        }
    }
}

bool gate_is_watching(const struct gate *gate) {
    for (size_t s = 0; s < gate->model->site_count; s++) {
        for (size_t i = 0; i < gate->sites[s].job_count; i++) {
            if (gate->sites[s].jobs[i]->hold != GATE_HOLD_NONE) {
                return true;
            }
        }
    }
    return false;
}
