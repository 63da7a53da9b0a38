// A job of the past as the gate has it; see fold.h.
#include "report/fold.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static uint32_t here[] = {0}; // the one position, as the points isolate it

static void take_position(struct report_fold *fold, const struct model_site *site, const char *id) {
    uint32_t index = model_position_find(site, id);
    if (index != MODEL_NONE) {
        fold->position = site->positions[index];
    } else {
        snprintf(fold->position.position, sizeof fold->position.position, "%s", id);
    }
    fold->position.points = NULL;
    fold->position.point_count = 0;
}

static void add_point(struct report_fold *fold, const struct model_site *site, const char *id) {
    uint32_t index = model_point_find(site, id);
    struct model_point *point = &fold->points[fold->site.point_count];
    if (model_point_find(&fold->site, id) != MODEL_NONE) {
        return;
    }
    if (index != MODEL_NONE) {
        *point = site->points[index];
    } else {
        snprintf(point->point, sizeof point->point, "%s", id);
        point->energy = "";
    }
    point->isolates = here;
    point->isolates_count = 1;
    point->controller = MODEL_NONE;
    point->sensors = NULL;
    point->sensor_count = 0;
    fold->site.point_count++;
}

// The points that the opening named, and those that isolate the position by the configuration.
static bool take_points(struct report_fold *fold, const struct model_site *site,
                        const struct gate_fact *opened) {
    uint32_t index = model_position_find(site, opened->position);
    const struct model_position *now = index != MODEL_NONE ? &site->positions[index] : NULL;
    size_t most = opened->evidence_count + (now != NULL ? now->point_count : 0);
    fold->points = calloc(most + 1, sizeof *fold->points);
    if (fold->points == NULL) {
        return false;
    }
    fold->site.points = fold->points;
    for (size_t i = 0; i < opened->evidence_count; i++) {
        add_point(fold, site, opened->evidence[i].point);
    }
    for (uint32_t i = 0; now != NULL && i < now->point_count; i++) {
        add_point(fold, site, site->points[now->points[i]].point);
    }
    return true;
}

static void ignore(void *user, const struct gate_fact *fact) {
    (void)user;
    (void)fact;
}

bool report_fold_open(struct report_fold *fold, const struct model *model,
                      const struct model_site *site, const struct gate_fact *opened) {
    if (opened->type != GATE_FACT_JOB_OPENED || opened->position == NULL) {
        return false;
    }
    // The rules of the site by day are kept: they say what group a check is of that came later.
    fold->site = (struct model_site){.index = REPORT_FOLD_SITE,
                                     .zone = site->zone,
                                     .district = site->district,
                                     .positions = &fold->position,
                                     .position_count = 1,
                                     .requirements = site->requirements,
                                     .rules = site->rules,
                                     .rule_count = site->rule_count};
    snprintf(fold->site.site, sizeof fold->site.site, "%s", site->site);
    fold->model = *model;
    fold->model.sites = &fold->site;
    fold->model.site_count = 1;
    fold->model.site_hash = (struct model_hash){0};
    take_position(fold, site, opened->position);
    if (!take_points(fold, site, opened)) {
        return false;
    }
    fold->gate = gate_new(&fold->model, ignore, NULL);
    return fold->gate != NULL && report_fold_apply(fold, opened);
}

bool report_fold_apply(struct report_fold *fold, const struct gate_fact *fact) {
    char what[160];
    bool applied = gate_apply(fold->gate, fact, what, sizeof what);
    if (applied && fold->job == NULL) {
        fold->job = gate_job_find(&fold->gate->sites[REPORT_FOLD_SITE], fact->job);
    }
    return applied && fold->job != NULL;
}

const struct gate_job *report_fold_job(const struct report_fold *fold) {
    return fold->job;
}

void report_fold_free(struct report_fold *fold) {
    gate_free(fold->gate);
    free(fold->points);
    *fold = (struct report_fold){0};
}
