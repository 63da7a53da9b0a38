// The scene of these tests, laid out by hand, with a gate over it.
#include "scene.h"

#include <stdlib.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

const struct gate_time now = {WALL, 1000000};

static int64_t far_future[] = {INT64_MAX};
static const char *energies[] = {"electrical", "product"};
static struct model_check checks[] = {
    {.check = "barricade", .group = MODEL_GROUP_PREPARE, .ask = "?", .valid_ms = 60000},
    {.check = "no-voltage",
     .group = MODEL_GROUP_VERIFY,
     .ask = "?",
     .unit = "V",
     .limits = {.has_max = true, .max = 1}},
    {.check = "clear", .group = MODEL_GROUP_CLEAR, .ask = "?"},
    {.check = "made-safe", .group = MODEL_GROUP_LEAVE, .ask = "?"},
};
static struct model_test tests[] = {{.test = "leak", .rule = "pass-fail", .powered = true},
                                    {.test = "flow", .rule = "flow-rate", .powered = true}};
static struct model_requirements procedures[] = {{.procedure = "spout",
                                                  .title = "Spout",
                                                  .isolate = energies,
                                                  .isolate_count = 2,
                                                  .checks = checks,
                                                  .check_count = COUNT(checks),
                                                  .tests = tests,
                                                  .test_count = COUNT(tests)}};
static const struct model_requirements *const at_site[] = {&procedures[0]};
static uint32_t both_points[] = {POWER, LINE}, position_3a[] = {0}, sensor_0[] = {0};
static struct model_position positions[] = {
    {.position = "3A", .dispenser = "3", .title = "3A", .points = both_points, .point_count = 2}};
static struct model_point points[] = {
    {.point = "3-power",
     .energy = "electrical",
     .title = "3-power",
     .isolates = position_3a,
     .isolates_count = 1,
     .sensors = sensor_0,
     .sensor_count = 1,
     .controller = MODEL_NONE,
     .max_age_ms = 30000,
     .settle_ms = 2000},
    {.point = "3A-line",
     .energy = "product",
     .title = "3A-line",
     .isolates = position_3a,
     .isolates_count = 1,
     .controller = MODEL_NONE,
     .witnesses = 1,
     .witness_valid_ms = 28800000},
};
static struct model_sensor sensors[] = {{"3-power", POWER, false}};
static struct model_site sites[] = {{.site = "juniper",
                                     .title = "Juniper",
                                     .time_zone = "UTC",
                                     .positions = positions,
                                     .position_count = 1,
                                     .points = points,
                                     .point_count = 2,
                                     .sensors = sensors,
                                     .sensor_count = 1,
                                     .requirements = at_site}};
static struct model_credential held[] = {{"vapor-a", {true, "2027-03-31", far_future}}};
static struct model_person people[] = {
    {.person = "k-1", .title = "k-1", .roles = MODEL_ROLE_TRACKER, .every_site = true},
    {.person = "t-1",
     .title = "t-1",
     .roles = MODEL_ROLE_TECHNICIAN,
     .every_site = true,
     .credentials = held,
     .credential_count = 1}};
static const char *zones[] = {"UTC"};
struct model model = {.instance = "edge-1",
                      .root = "forelock",
                      .sites = sites,
                      .site_count = 1,
                      .people = people,
                      .person_count = 2,
                      .procedures = procedures,
                      .procedure_count = 1,
                      .zones = zones,
                      .zone_count = 1};

static void unheard(void *user, const struct gate_fact *fact) {
    (void)user;
    (void)fact;
}

int bench_new(void **state) {
    struct bench *bench = calloc(1, sizeof *bench);
    *state = bench;
    if (bench == NULL) {
        return -1;
    }
    bench->gate = gate_new(&model, unheard, NULL);
    bench->site = &bench->gate->sites[0];
    gate_start(bench->gate, "b00t", "0.1.0", 0, now);
    gate_link(bench->gate, GATE_DURABLE, true, now);
    gate_link(bench->gate, GATE_LIVE, true, now);
    return 0;
}

int bench_end(void **state) {
    struct bench *bench = *state;
    gate_free(bench->gate);
    gate_answer_free(&bench->answer);
    json_out_free(&bench->out);
    json_tape_free(&bench->tape);
    free(bench);
    return 0;
}

struct gate_job *job_open(struct bench *bench) {
    const struct gate_request request = {.verb = GATE_VERB_OPEN_JOB,
                                         .person = "k-1",
                                         .job = "J-1",
                                         .position = "3A",
                                         .procedure = "spout",
                                         .technician = "t-1"};
    gate_decide(bench->gate, 0, &request, now, &bench->answer);
    assert_true(bench->answer.accepted);
    return gate_job_find(bench->site, "J-1");
}

void said(struct bench *bench, bool good, const char *expected) {
    struct json_error error;
    assert_true(good);
    assert_string_equal(bench->out.data, expected);
    assert_true(
        json_scan(&bench->tape, bench->out.data, bench->out.length, &json_message_limits, &error));
    json_out_reset(&bench->out);
}
