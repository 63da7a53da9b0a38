// Forecourts by plan: positions, points, sensors, people and two procedures.
#include "forecourt.h"

#include <stdio.h>
#include <string.h>

static int64_t without_end[] = {INT64_MAX};
static int64_t long_past[] = {1};
static const char *credential_any[] = {"vapor-a"};
static const char *zones[] = {"UTC"};
static char controllers[][MODEL_ID_SIZE] = {"panel-1"};

static const struct model_check every_check[FORECOURT_CHECKS] = {
    {.check = "barricade", .group = MODEL_GROUP_PREPARE, .ask = "Barricaded"},
    {.check = "site-told",
     .group = MODEL_GROUP_PREPARE,
     .ask = "Staff told",
     .by = MODEL_ROLE_MANAGER},
    {.check = "drained",
     .group = MODEL_GROUP_RELIEVE,
     .ask = "Drained",
     .unit = "L",
     .limits = {.has_min = true, .min = 0}},
    {.check = "no-voltage",
     .group = MODEL_GROUP_VERIFY,
     .ask = "No voltage",
     .unit = "V",
     .limits = {.has_min = true, .min = -1, .has_max = true, .max = 1}},
    {.check = "no-pressure",
     .group = MODEL_GROUP_VERIFY,
     .ask = "No pressure",
     .unit = "psi",
     .limits = {.has_min = true, .min = -1, .has_max = true, .max = 1}},
    {.check = "spout-nut", .group = MODEL_GROUP_WORK, .ask = "Nut torqued"},
    {.check = "tools-clear", .group = MODEL_GROUP_CLEAR, .ask = "Tools removed"},
    {.check = "people-clear", .group = MODEL_GROUP_CLEAR, .ask = "Everyone clear"},
    {.check = "area-clean", .group = MODEL_GROUP_FINISH, .ask = "Area clean"},
    {.check = "made-safe", .group = MODEL_GROUP_LEAVE, .ask = "Hose capped"},
};
static const bool is_brief[FORECOURT_CHECKS] = {true, false, true,  true, false,
                                                true, true,  false, true, true};

static void lay_sensors(struct forecourt *f, uint32_t index, unsigned count) {
    struct model_point *point = &f->points[index];
    for (unsigned i = 0; i < count; i++) {
        uint32_t sensor = (uint32_t)f->site.sensor_count++;
        snprintf(f->sensors[sensor].sensor, MODEL_ID_SIZE, "s%u", sensor);
        f->sensors[sensor].point = index;
        f->sensors_of[index][point->sensor_count++] = sensor;
    }
    point->sensors = f->sensors_of[index];
}

static void lay_point(struct forecourt *f, uint32_t index) {
    const struct forecourt_point *plan = &f->plan->point[index];
    struct model_point *point = &f->points[index];
    snprintf(point->point, MODEL_ID_SIZE, "d%u", index);
    point->title = point->point;
    point->energy = plan->electrical ? "electrical" : "product";
    point->controller = plan->controlled ? 0 : MODEL_NONE;
    point->locks_by_reader = plan->by_reader;
    point->isolates = f->isolates[index];
    for (uint32_t p = 0; p < f->plan->positions; p++) {
        if ((plan->isolates >> p & 1u) != 0) {
            f->isolates[index][point->isolates_count++] = p;
            f->of_position[p][f->positions[p].point_count++] = index;
        }
    }
    if (plan->sensors > 0) {
        point->max_age_ms = f->plan->max_age_ms;
        point->settle_ms = f->plan->settle_ms;
        lay_sensors(f, index, plan->sensors);
    } else {
        point->witnesses = plan->witnesses;
        point->witness_valid_ms = f->plan->valid_ms;
    }
}

static void lay_positions(struct forecourt *f) {
    for (uint32_t p = 0; p < f->plan->positions; p++) {
        struct model_position *position = &f->positions[p];
        snprintf(position->position, MODEL_ID_SIZE, "P%u", p);
        snprintf(position->dispenser, MODEL_ID_SIZE, "D%u", f->plan->dispenser[p]);
        position->title = position->position;
        position->nozzle_family = "k2";
        position->points = f->of_position[p];
    }
    for (uint32_t i = 0; i < f->plan->points; i++) {
        lay_point(f, i);
    }
}

// The positions that each measure speaks of: one reads some alone, some are read by two, some by
// none. The first hangs on the controller.
static const unsigned measures_of[FORECOURT_MEASURES] = {0x07, 0x18, 0x38};

static void lay_measures(struct forecourt *f) {
    for (unsigned m = 0; m < FORECOURT_MEASURES; m++) {
        struct model_measure *measure = &f->measures[m];
        snprintf(measure->measure, MODEL_ID_SIZE, "m%u", m);
        measure->kind = "pressure";
        measure->unit = "psi";
        measure->title = measure->measure;
        measure->positions = f->measured[m];
        measure->controller = m == 0 ? 0 : MODEL_NONE;
        measure->max_age_ms = f->plan->max_age_ms;
        for (uint32_t p = 0; p < f->plan->positions; p++) {
            if ((measures_of[m] >> p & 1u) != 0) {
                f->measured[m][measure->position_count++] = p;
            }
        }
    }
    f->site.measures = f->measures;
    f->site.measure_count = f->plan->measured ? FORECOURT_MEASURES : 0;
}

static void lay_person(struct forecourt *f, const char *id, unsigned roles, bool valid) {
    struct model_person *person = &f->people[f->model.person_count++];
    snprintf(person->person, MODEL_ID_SIZE, "%s", id);
    person->title = person->person;
    person->roles = roles;
    person->every_site = true;
    if ((roles & MODEL_ROLE_TECHNICIAN) != 0) {
        person->credentials = &f->held[valid ? 0 : 1];
        person->credential_count = 1;
    }
}

static void lay_people(struct forecourt *f) {
    f->held[0] = (struct model_credential){"vapor-a", {true, "2099-12-31", without_end}};
    f->held[1] = (struct model_credential){"vapor-a", {true, "1970-01-01", long_past}};
    if (f->plan->one_overseer) {
        lay_person(f, "m-1", MODEL_ROLE_MANAGER | MODEL_ROLE_SUPERVISOR | MODEL_ROLE_TRACKER,
                   false);
    } else {
        lay_person(f, "k-1", MODEL_ROLE_TRACKER, false);
        lay_person(f, "m-1", MODEL_ROLE_MANAGER, false);
        lay_person(f, "s-1", MODEL_ROLE_SUPERVISOR, false);
    }
    for (unsigned i = 1; i <= f->plan->technicians; i++) {
        char id[16];
        snprintf(id, sizeof id, "t-%u", i);
        lay_person(f, id, MODEL_ROLE_TECHNICIAN, !f->plan->late || i < f->plan->technicians);
    }
}

#define PRESSURE 4 // the check that is measured

static bool is_asked(const struct forecourt_plan *plan, size_t check) {
    enum model_group group = every_check[check].group;
    if (check == PRESSURE) {
        return plan->measured;
    }
    if (plan->bare) {
        return is_brief[check] && (group == MODEL_GROUP_VERIFY || group == MODEL_GROUP_CLEAR ||
                                   group == MODEL_GROUP_LEAVE);
    }
    return is_brief[check] || !plan->brief;
}

static void lay_checks(struct forecourt *f, struct model_requirements *first) {
    for (size_t i = 0; i < FORECOURT_CHECKS; i++) {
        if (is_asked(f->plan, i)) {
            struct model_check *check = &f->checks[first->check_count++];
            *check = every_check[i];
            check->valid_ms = check->group == MODEL_GROUP_PREPARE   ? f->plan->valid_ms
                              : check->group == MODEL_GROUP_RELIEVE ? f->plan->relieve_valid_ms
                              : check->group == MODEL_GROUP_VERIFY  ? f->plan->verify_valid_ms
                                                                    : 0;
            check->measure = i == PRESSURE ? "pressure" : NULL;
        }
    }
    first->checks = f->checks;
}

static void lay_procedures(struct forecourt *f) {
    struct model_requirements *spout = &f->procedures[0];
    f->choice = (struct model_credential_choice){credential_any, 1};
    f->isolate[0] = "electrical";
    f->isolate[1] = "product";
    f->tests[0] = (struct model_test){.test = "leak", .rule = "pass-fail", .powered = true};
    f->tests[0].fails_dispenser = f->plan->bag;
    f->tests[1] = (struct model_test){.test = "boot", .rule = "pass-fail", .powered = false};
    *spout = (struct model_requirements){.procedure = "spout",
                                         .title = "Spout",
                                         .credentials = &f->choice,
                                         .credential_count = 1,
                                         .isolate = f->isolate,
                                         .isolate_count = f->plan->product ? 2 : 1,
                                         .match = true,
                                         .check_in_ms = f->plan->check_in_ms,
                                         .tests = f->tests,
                                         .test_count = 1};
    lay_checks(f, spout);
    f->procedures[1] = *spout;
    f->procedures[1].procedure = "whole";
    f->procedures[1].takes_dispenser = true;
    f->procedures[1].test_count = 2;
    f->at_site[0] = &f->procedures[0];
    f->at_site[1] = &f->procedures[1];
    f->model.procedure_count = f->plan->whole ? 2 : 1;
}

void forecourt_lay(struct forecourt *f, const struct forecourt_plan *plan) {
    memset(f, 0, sizeof *f);
    f->plan = plan;
    lay_positions(f);
    lay_people(f);
    lay_procedures(f);
    lay_measures(f);
    f->site.title = "Juniper Crossing";
    snprintf(f->site.site, MODEL_ID_SIZE, "juniper");
    f->site.time_zone = zones[0];
    f->site.positions = f->positions;
    f->site.position_count = plan->positions;
    f->site.points = f->points;
    f->site.point_count = plan->points;
    f->site.sensors = f->sensors;
    f->site.controllers = controllers;
    f->site.controller_count = 1;
    f->site.requirements = f->at_site;
    f->model.instance = "edge-1";
    f->model.root = "forelock";
    f->model.sites = &f->site;
    f->model.site_count = 1;
    f->model.people = f->people;
    f->model.procedures = f->procedures;
    f->model.zones = zones;
    f->model.zone_count = 1;
}
