// The state of a gate: made and freed.
#include "gate/state.h"

#include <stdlib.h>

#include "gate/gate.h"

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
    free(job->causes);
    free(job->within);
    gate_day_free(&job->day);
    free(job);
}

static void site_free(struct gate_site *site) {
    for (size_t p = 0; site->points != NULL && p < site->model->point_count; p++) {
        struct gate_point *point = &site->points[p];
        for (size_t i = 0; i < point->statement_count; i++) {
            free(point->statements[i].jobs);
        }
        for (size_t i = 0; i < point->live_statement_count; i++) {
            free(point->live_statements[i].jobs);
        }
        for (size_t i = 0; i < point->distrust_count; i++) {
            free(point->distrusts[i].reason);
        }
        free(point->distrusts);
        free(point->live_statements);
        free(point->statements);
        free(point->tags);
    }
    for (size_t p = 0; site->positions != NULL && p < site->model->position_count; p++) {
        free(site->positions[p].untested_from);
        free(site->positions[p].owed);
        free(site->positions[p].failed);
        free(site->positions[p].hangs);
        free(site->positions[p].fittings);
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
    free(site->untold);
    free(site->spills);
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
    gate->subscription = 1;
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
