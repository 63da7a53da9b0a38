// The forecourt of world.h as a model, laid out by hand; and copies of it to be changed.
#include "world.h"

#include <stdlib.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static int64_t far_future[] = {INT64_MAX};
static int64_t long_past[] = {1};

static const char *families[] = {"vapor-a", "vapor-b"};
static struct model_credential_choice choices[] = {{families, COUNT(families)}};
static const char *energies[] = {"electrical", "product"};

static struct model_check checks[] = {
    {.check = "barricade",
     .group = MODEL_GROUP_PREPARE,
     .ask = "Area barricaded",
     .valid_ms = 28800000},
    {.check = "site-told",
     .group = MODEL_GROUP_PREPARE,
     .ask = "Site staff told",
     .by = MODEL_ROLE_MANAGER,
     .valid_ms = 28800000},
    {.check = "drained",
     .group = MODEL_GROUP_RELIEVE,
     .ask = "Liquid drained",
     .unit = "L",
     .limits = {.has_min = true, .min = 0}},
    {.check = "no-flow", .group = MODEL_GROUP_VERIFY, .ask = "Nothing flows"},
    {.check = "no-voltage",
     .group = MODEL_GROUP_VERIFY,
     .ask = "Absence of voltage",
     .unit = "V",
     .limits = {.has_max = true, .max = 1}},
    {.check = "spout-nut",
     .group = MODEL_GROUP_WORK,
     .ask = "Spout nut torqued",
     .unit = "N.m",
     .limits = {true, true, 43.8, 48.4},
     .instrument = "torque-wrench"},
    {.check = "tools-clear", .group = MODEL_GROUP_CLEAR, .ask = "Tools removed"},
    {.check = "people-clear", .group = MODEL_GROUP_CLEAR, .ask = "Everyone clear"},
    {.check = "barricade-removed", .group = MODEL_GROUP_FINISH, .ask = "Barricade removed"},
    {.check = "made-safe", .group = MODEL_GROUP_LEAVE, .ask = "Hose capped"},
};
static struct model_test tests[] = {
    {.test = "leak", .rule = "pass-fail", .powered = true},
    {.test = "continuity",
     .rule = "range",
     .unit = "ohm",
     .limits = {.has_max = true, .max = 1000000},
     .powered = false},
};
// spout: on one position; cabinet: takes the dispenser.
static struct model_requirements procedures[] = {
    {.procedure = "cabinet",
     .title = "Whole cabinet",
     .credentials = choices,
     .credential_count = 1,
     .isolate = energies,
     .isolate_count = 2,
     .takes_dispenser = true,
     .checks = checks,
     .check_count = COUNT(checks),
     .tests = tests,
     .test_count = COUNT(tests)},
    {.procedure = "spout",
     .title = "Spout and boot",
     .credentials = choices,
     .credential_count = 1,
     .isolate = energies,
     .isolate_count = 2,
     .match = true,
     .checks = checks,
     .check_count = COUNT(checks),
     .tests = tests,
     .test_count = COUNT(tests)},
};
static const struct model_requirements *const at_site[] = {&procedures[0], &procedures[1]};

static uint32_t points_3a[] = {POWER3, VALVE3, LINE3A}, points_3b[] = {POWER3, VALVE3},
                points_4a[] = {POWER4, VALVE4};
static struct model_position positions[] = {
    {"3A", "3", "Dispenser 3, side A", NULL, NULL, 0, "k2", points_3a, COUNT(points_3a)},
    {"3B", "3", "Dispenser 3, side B", NULL, NULL, 0, "k2", points_3b, COUNT(points_3b)},
    {"4A", "4", "Dispenser 4, side A", NULL, NULL, 0, "k4", points_4a, COUNT(points_4a)},
};
static uint32_t on_3[] = {P3A, P3B}, on_3a[] = {P3A}, on_4[] = {P4A};
static uint32_t power_3[] = {S_POWER3}, valve_3[] = {S_VALVE3A, S_VALVE3B}, power_4[] = {S_POWER4},
                valve_4[] = {S_VALVE4};
#define SENSED(id, what, on, by, panel)                                                            \
    {                                                                                              \
        .point = id, .energy = what, .title = id, .isolates = on, .isolates_count = COUNT(on),     \
        .sensors = by, .sensor_count = COUNT(by), .controller = panel,                             \
        .max_age_ms = WORLD_MAX_AGE_MS, .settle_ms = WORLD_SETTLE_MS                               \
    }
static struct model_point points[] = {
    SENSED("3-power", "electrical", on_3, power_3, 0),
    SENSED("3-valve", "product", on_3, valve_3, MODEL_NONE),
    {.point = "3A-line",
     .energy = "product",
     .title = "3A-line",
     .isolates = on_3a,
     .isolates_count = 1,
     .controller = MODEL_NONE,

     .witnesses = 1,
     .witness_valid_ms = WORLD_WITNESS_MS},
    SENSED("4-power", "electrical", on_4, power_4, MODEL_NONE),
    SENSED("4-valve", "product", on_4, valve_4, MODEL_NONE),
};
static struct model_sensor sensors[] = {
    {"3-power", POWER3, false}, {"3-valve-a", VALVE3, false}, {"3-valve-b", VALVE3, false},
    {"4-power", POWER4, false}, {"4-valve", VALVE4, false},
};
static char controllers[][MODEL_ID_SIZE] = {"panel-1"};
static struct model_site sites[] = {{
    .site = "juniper",
    .title = "Juniper Crossing",
    .time_zone = "UTC",
    .positions = positions,
    .position_count = COUNT(positions),
    .points = points,
    .point_count = COUNT(points),
    .sensors = sensors,
    .sensor_count = COUNT(sensors),
    .controllers = controllers,
    .controller_count = 1,
    .requirements = at_site,
}};
static struct model_credential valid[] = {{"vapor-b", {true, "2027-03-31", far_future}}};
static struct model_credential expired[] = {{"vapor-b", {true, "2020-03-31", long_past}}};
#define PERSON(id, role, held, count)                                                              \
    {                                                                                              \
        .person = id, .title = id, .roles = role, .every_site = true, .credentials = held,         \
        .credential_count = count                                                                  \
    }
static struct model_person people[] = {
    PERSON("k-1", MODEL_ROLE_TRACKER, NULL, 0),
    PERSON("m-1", MODEL_ROLE_MANAGER, NULL, 0),
    PERSON("s-1", MODEL_ROLE_SUPERVISOR, NULL, 0),
    PERSON("t-1", MODEL_ROLE_TECHNICIAN, valid, 1),
    PERSON("t-2", MODEL_ROLE_TECHNICIAN, valid, 1),
    PERSON("t-3", MODEL_ROLE_TECHNICIAN, expired, 1),
    PERSON("v-1", MODEL_ROLE_VIEWER, NULL, 0),
};
static struct model_instrument instruments[] = {
    {.instrument = "gauge-1",
     .kind = "gauge",
     .calibrated_until = {true, "2027-01-31", far_future},
     .uncertainty = 150000,
     .uncertainty_unit = "ohm"},
    {.instrument = "tw-3",
     .kind = "torque-wrench",
     .calibrated_until = {true, "2027-01-31", far_future}},
    {.instrument = "tw-old",
     .kind = "torque-wrench",
     .calibrated_until = {true, "2020-01-31", long_past}},
};
static const char *zones[] = {"UTC"};
static struct model model = {
    .instance = "edge-1",
    .root = "forelock",
    .sites = sites,
    .site_count = 1,
    .people = people,
    .person_count = COUNT(people),
    .instruments = instruments,
    .instrument_count = COUNT(instruments),
    .procedures = procedures,
    .procedure_count = COUNT(procedures),
    .zones = zones,
    .zone_count = 1,
};

struct model *world_model(void) {
    return &model;
}

void world_copy(struct world_copy *copy) {
    copy->model = model;
    copy->site = sites[0];
    memcpy(copy->positions, positions, sizeof positions);
    memcpy(copy->points, points, sizeof points);
    memcpy(copy->people, people, sizeof people);
    memcpy(copy->procedures, procedures, sizeof procedures);
    for (size_t p = 0; p < COUNT(procedures); p++) {
        memcpy(copy->checks[p], checks, sizeof checks);
        memcpy(copy->tests[p], tests, sizeof tests);
        copy->procedures[p].checks = copy->checks[p];
        copy->procedures[p].tests = copy->tests[p];
        copy->at_site[p] = &copy->procedures[p];
    }
    copy->model.sites = &copy->site;
    copy->model.people = copy->people;
    copy->model.procedures = copy->procedures;
    copy->site.positions = copy->positions;
    copy->site.points = copy->points;
    copy->site.requirements = copy->at_site;
}

void world_copy_drop_person(struct world_copy *copy, const char *person) {
    size_t kept = 0;
    for (size_t i = 0; i < copy->model.person_count; i++) {
        if (strcmp(copy->people[i].person, person) != 0) {
            copy->people[kept++] = copy->people[i];
        }
    }
    copy->model.person_count = kept;
}

void world_copy_drop_position_4a(struct world_copy *copy) {
    copy->site.position_count = P4A;
    copy->points[POWER4].isolates_count = copy->points[VALVE4].isolates_count = 0;
}

void world_copy_drop_valve_4(struct world_copy *copy) {
    copy->site.point_count = VALVE4;
    copy->site.sensor_count = S_VALVE4;
    copy->positions[P4A].point_count = 1;
}
