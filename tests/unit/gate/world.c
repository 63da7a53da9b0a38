// The forecourt of world.h: its model by hand, its journal as a list of copied facts.
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
    {"3A", "3", "Dispenser 3, side A", NULL, 0, "k2", points_3a, COUNT(points_3a)},
    {"3B", "3", "Dispenser 3, side B", NULL, 0, "k2", points_3b, COUNT(points_3b)},
    {"4A", "4", "Dispenser 4, side A", NULL, 0, "k4", points_4a, COUNT(points_4a)},
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
     .max_age_ms = WORLD_MAX_AGE_MS,
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
    {"gauge-1", "gauge", {true, "2027-01-31", far_future}},
    {"tw-3", "torque-wrench", {true, "2027-01-31", far_future}},
    {"tw-old", "torque-wrench", {true, "2020-01-31", long_past}},
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

// --- The journal: facts with all that they point to copied, so that they can be folded again ---

struct entry {
    struct gate_fact fact;
    struct gate_evidence evidence[16];
    char names[16][MODEL_ID_SIZE];
    const char *jobs[8];
};

struct journal {
    struct entry *entries[20000];
    size_t count;
};

static struct journal journals[1];

static const char *keep(const char *text) {
    return text != NULL ? strdup(text) : NULL;
}

static void keep_texts(struct gate_fact *fact) {
    const char **texts[] = {&fact->job,   &fact->position, &fact->point,     &fact->person,
                            &fact->by,    &fact->verb,     &fact->procedure, &fact->kit_family,
                            &fact->part,  &fact->defect,   &fact->note,      &fact->reason,
                            &fact->check, &fact->test,     &fact->unit,      &fact->instrument,
                            &fact->badge, &fact->to,       &fact->with,      &fact->alarm,
                            &fact->say,   &fact->boot,     &fact->version};
    for (size_t i = 0; i < COUNT(texts); i++) {
        *texts[i] = keep(*texts[i]);
    }
}

static void free_texts(struct gate_fact *fact) {
    const char *texts[] = {fact->job,   fact->position, fact->point,     fact->person,
                           fact->by,    fact->verb,     fact->procedure, fact->kit_family,
                           fact->part,  fact->defect,   fact->note,      fact->reason,
                           fact->check, fact->test,     fact->unit,      fact->instrument,
                           fact->badge, fact->to,       fact->with,      fact->alarm,
                           fact->say,   fact->boot,     fact->version};
    for (size_t i = 0; i < COUNT(texts); i++) {
        free((void *)(uintptr_t)texts[i]);
    }
}

static void record(const struct gate_fact *fact) {
    struct journal *journal = &journals[0];
    assert_true(journal->count < COUNT(journal->entries));
    struct entry *entry = calloc(1, sizeof *entry);
    assert_non_null(entry);
    entry->fact = *fact;
    keep_texts(&entry->fact);
    for (size_t i = 0; i < fact->evidence_count; i++) {
        entry->evidence[i] = fact->evidence[i];
        strncpy(entry->names[i], fact->evidence[i].point, MODEL_ID_SIZE - 1);
        entry->evidence[i].point = entry->names[i];
    }
    entry->fact.evidence = entry->evidence;
    for (size_t i = 0; i < fact->job_count; i++) {
        entry->jobs[i] = keep(fact->jobs[i]);
    }
    entry->fact.jobs = entry->jobs;
    entry->fact.refusals = NULL;
    entry->fact.refusal_count = 0;
    entry->fact.result = NULL;
    journal->entries[journal->count++] = entry;
}

static void forget_journal(void) {
    struct journal *journal = &journals[0];
    for (size_t i = 0; i < journal->count; i++) {
        struct entry *entry = journal->entries[i];
        free_texts(&entry->fact);
        for (size_t j = 0; j < entry->fact.job_count; j++) {
            free((void *)(uintptr_t)entry->jobs[j]);
        }
        free(entry);
    }
    journal->count = 0;
}

static void on_fact(void *user, const struct gate_fact *fact) {
    struct world *world = user;
    record(fact);
    assert_true(world->fact_count < COUNT(world->facts));
    struct world_fact *told = &world->facts[world->fact_count++];
    *told = (struct world_fact){.type = fact->type,
                                .why = fact->why,
                                .has_why = fact->has_why,
                                .counts = fact->counts,
                                .pass = fact->pass,
                                .cause = fact->cause};
    const char *from[] = {fact->job, fact->position, fact->point, fact->person, fact->alarm};
    char *to[] = {told->job, told->position, told->point, told->person, told->alarm};
    for (size_t i = 0; i < COUNT(from); i++) {
        strncpy(to[i], from[i] != NULL ? from[i] : "", MODEL_ID_SIZE - 1);
    }
}

// --- Making and restarting ---

static void come_up(struct world *world) {
    char what[256];
    world->gate = gate_new(world->model, on_fact, world);
    assert_non_null(world->gate);
    for (size_t i = 0; i < journals[0].count; i++) {
        assert_true(gate_apply(world->gate, &journals[0].entries[i]->fact, what, sizeof what));
    }
    assert_true(gate_fits(world->gate, what, sizeof what));
}

struct world *world_new(void) {
    struct world *world = calloc(1, sizeof *world);
    assert_non_null(world);
    forget_journal();
    world->model = world_model();
    world->now = (struct gate_time){1800000000000, 1800000000000};
    come_up(world);
    gate_start(world->gate, "boot-1", "test", 0, world->now);
    gate_link(world->gate, true, world->now);
    world_controller(world, true);
    world_forget(world);
    return world;
}

void world_free(struct world *world) {
    gate_free(world->gate);
    gate_answer_free(&world->answer);
    forget_journal();
    free(world);
}

struct heard {
    int64_t at[COUNT(points)];
};

static void note_heard(void *user, const char *site, const char *point, int64_t at) {
    struct heard *heard = user;
    (void)site;
    heard->at[model_point_find(&sites[0], point)] = at;
}

void world_restart(struct world *world, int64_t away_ms) {
    struct heard heard = {0};
    int64_t newest = world->now.wall;
    gate_each_watched(world->gate, world->now, note_heard, &heard);
    gate_free(world->gate);
    world->now.wall += away_ms;
    world->now.line += away_ms > 0 ? away_ms : 0;
    come_up(world);
    for (uint32_t p = 0; p < COUNT(points); p++) {
        if (heard.at[p] != 0) {
            gate_heard_before(world->gate, 0, p, heard.at[p], world->now);
        }
    }
    gate_start(world->gate, "boot-2", "test", newest, world->now);
    gate_link(world->gate, true, world->now);
}

// --- Time and hearing ---

void world_pass(struct world *world, int64_t ms) {
    int64_t end = world->now.line + ms;
    while (world->now.line < end) {
        int64_t next = gate_deadline(world->gate);
        int64_t to = next > world->now.line && next < end ? next : end;
        world->now.wall += to - world->now.line;
        world->now.line = to;
        gate_tick(world->gate, world->now);
    }
}

enum gate_heard world_hear(struct world *world, enum world_sensor sensor,
                           enum gate_point_state state) {
    struct gate_reading reading = {.readable = true, .good = true, .state = state};
    return gate_hear(world->gate, 0, sensor, &reading, world->now);
}

void world_pass_heard(struct world *world, int64_t ms) {
    for (int64_t gone = 0; gone < ms; gone += 1000) {
        for (int s = 0; s < (int)COUNT(sensors); s++) {
            const struct gate_sensor *sensor = &world_site(world)->sensors[s];
            if (sensor->heard != 0 && !sensor->bad) {
                world_hear(world, (enum world_sensor)s, (enum gate_point_state)sensor->state);
            }
        }
        world_pass(world, ms - gone < 1000 ? ms - gone : 1000);
    }
}

void world_hear_all(struct world *world, enum gate_point_state state) {
    world_hear(world, S_POWER3, state);
    world_hear(world, S_VALVE3A, state);
    world_hear(world, S_VALVE3B, state);
}

void world_controller(struct world *world, bool online) {
    gate_hear_controller(world->gate, 0, 0, online, world->now);
}

void world_reader(struct world *world, enum world_point point, const char *who, bool hung) {
    struct gate_tagging tagging = {.hung = hung, .person = who};
    gate_hear_tagging(world->gate, 0, point, &tagging, world->now);
}

// --- Requests ---

bool world_ask(struct world *world, struct gate_request request) {
    gate_decide(world->gate, 0, &request, world->now, &world->answer);
    return world->answer.accepted;
}

bool world_open(struct world *world, const char *job, const char *position,
                const char *technician) {
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_OPEN_JOB,
                                                  .person = "k-1",
                                                  .job = job,
                                                  .position = position,
                                                  .procedure = "spout",
                                                  .kit_family = position[0] == '4' ? "k4" : "k2",
                                                  .technician = technician});
}

bool world_verb(struct world *world, enum gate_verb verb, const char *person, const char *job) {
    return world_ask(world, (struct gate_request){
                                .verb = verb, .person = person, .job = job, .reason = "a reason"});
}

bool world_sign(struct world *world, const char *person, const char *job, const char *check) {
    return world_ask(
        world, (struct gate_request){
                   .verb = GATE_VERB_SIGN_CHECK, .person = person, .job = job, .check = check});
}

bool world_sign_value(struct world *world, const char *person, const char *job, const char *check,
                      double value, const char *unit) {
    return world_ask(world, (struct gate_request){
                                .verb = GATE_VERB_SIGN_CHECK,
                                .person = person,
                                .job = job,
                                .check = check,
                                .has_value = true,
                                .value = value,
                                .unit = unit,
                                .instrument = strcmp(check, "spout-nut") == 0 ? "tw-3" : NULL});
}

bool world_tag(struct world *world, const char *person, const char *job, enum world_point point) {
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_HANG_TAG,
                                                  .person = person,
                                                  .job = job,
                                                  .point = points[point].point});
}

bool world_lift(struct world *world, const char *person, const char *job, enum world_point point) {
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_LIFT_TAG,
                                                  .person = person,
                                                  .job = job,
                                                  .point = points[point].point});
}

bool world_witness(struct world *world, const char *person, const char *job,
                   enum gate_point_state state) {
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_WITNESS_POINT,
                                                  .person = person,
                                                  .job = job,
                                                  .point = "3A-line",
                                                  .has_state = true,
                                                  .state = state});
}

bool world_test(struct world *world, const char *person, const char *job, const char *test,
                bool pass) {
    struct model_result result = {.has_pass = true, .pass = pass};
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_RECORD_TEST,
                                                  .person = person,
                                                  .job = job,
                                                  .test = test,
                                                  .result = &result});
}

// --- The job, step by step ---

void world_isolate(struct world *world) {
    world_hear_all(world, GATE_POINT_ISOLATED);
    world_pass_heard(world, WORLD_SETTLE_MS + 1000);
}

void world_to_tagged(struct world *world, const char *job) {
    assert_true(world_open(world, job, "3A", "t-1"));
    assert_true(world_sign(world, "t-1", job, "barricade"));
    assert_true(world_sign(world, "m-1", job, "site-told"));
    world_isolate(world);
    assert_true(world_witness(world, "t-1", job, GATE_POINT_ISOLATED));
    assert_true(world_tag(world, "t-1", job, POWER3));
    assert_true(world_tag(world, "t-1", job, VALVE3));
    assert_true(world_tag(world, "t-1", job, LINE3A));
}

void world_to_confirmed(struct world *world, const char *job) {
    world_to_tagged(world, job);
    assert_true(world_sign_value(world, "t-1", job, "drained", 2, "L"));
    assert_true(world_sign(world, "t-1", job, "no-flow"));
    assert_true(world_sign_value(world, "t-1", job, "no-voltage", 0, "V"));
    assert_int_equal(world_job(world, job)->lockout, GATE_LOCKOUT_CONFIRMED);
}

void world_to_working(struct world *world, const char *job) {
    world_to_confirmed(world, job);
    assert_true(world_verb(world, GATE_VERB_START_WORK, "t-1", job));
    assert_int_equal(world_job(world, job)->phase, GATE_PHASE_WORKING);
}

void world_to_stopped(struct world *world, const char *job) {
    world_to_working(world, job);
    assert_true(world_verb(world, GATE_VERB_STOP_WORK, "t-1", job));
    assert_int_equal(world_job(world, job)->phase, GATE_PHASE_STOPPED);
}

void world_to_restoring(struct world *world, const char *job) {
    world_to_working(world, job);
    assert_true(world_sign_value(world, "t-1", job, "spout-nut", 46, "N.m"));
    assert_true(world_sign(world, "t-1", job, "tools-clear"));
    assert_true(world_sign(world, "t-1", job, "people-clear"));
    assert_true(world_verb(world, GATE_VERB_FINISH_WORK, "t-1", job));
    assert_int_equal(world_job(world, job)->phase, GATE_PHASE_RESTORING);
}

void world_to_testing(struct world *world, const char *job) {
    world_to_restoring(world, job);
    assert_true(world_lift(world, "t-1", job, POWER3));
    assert_true(world_lift(world, "t-1", job, VALVE3));
    assert_true(world_lift(world, "t-1", job, LINE3A));
    world_hear_all(world, GATE_POINT_LIVE);
    assert_true(world_witness(world, "t-1", job, GATE_POINT_LIVE));
    assert_true(world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", job));
    assert_int_equal(world_job(world, job)->phase, GATE_PHASE_TESTING);
}

void world_to_returned(struct world *world, const char *job) {
    world_to_testing(world, job);
    assert_true(world_test(world, "t-1", job, "leak", true));
    assert_true(world_test(world, "t-1", job, "continuity", true));
    assert_true(world_sign(world, "t-1", job, "barricade-removed"));
    assert_true(world_verb(world, GATE_VERB_RETURN_POSITION, "t-1", job));
    assert_int_equal(world_job(world, job)->phase, GATE_PHASE_RETURNED);
}

// --- Looking ---

struct gate_site *world_site(struct world *world) {
    return &world->gate->sites[0];
}

struct gate_job *world_job(struct world *world, const char *job) {
    struct gate_job *found = gate_job_find(world_site(world), job);
    assert_non_null(found);
    return found;
}

bool world_refused(const struct world *world, enum gate_code code, const char *subject) {
    for (size_t i = 0; i < world->answer.refusal_count; i++) {
        const struct gate_refusal *refusal = &world->answer.refusals[i];
        if (refusal->code == code && (subject == NULL || !strcmp(refusal->subject, subject))) {
            return true;
        }
    }
    return false;
}

const struct world_fact *world_fact(const struct world *world, enum gate_fact_type type) {
    for (size_t i = 0; i < world->fact_count; i++) {
        if (world->facts[i].type == type) {
            return &world->facts[i];
        }
    }
    return NULL;
}

bool world_told(const struct world *world, enum gate_fact_type type) {
    return world_fact(world, type) != NULL;
}

size_t world_times_told(const struct world *world, enum gate_fact_type type) {
    size_t times = 0;
    for (size_t i = 0; i < world->fact_count; i++) {
        times += world->facts[i].type == type;
    }
    return times;
}

const struct gate_alarm *world_alarm(struct world *world, enum gate_alarm_kind kind) {
    for (size_t i = 0; i < world_site(world)->alarm_count; i++) {
        if (world_site(world)->alarms[i].kind == kind) {
            return &world_site(world)->alarms[i];
        }
    }
    return NULL;
}

void world_forget(struct world *world) {
    world->fact_count = 0;
}
