// The fact that uses every field, laid out by hand beside the text it must have.
#include "whole.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static uint32_t both[] = {0, 1}, first_only[] = {0};
static struct model_position positions[] = {{.position = "3A"}, {.position = "3B"}};
static struct model_point points[] = {
    {.point = "3-power", .isolates = both, .isolates_count = 2},
    {.point = "3A-line", .isolates = first_only, .isolates_count = 1},
};
static struct model_site sites[] = {{.site = "juniper",
                                     .positions = positions,
                                     .position_count = COUNT(positions),
                                     .points = points,
                                     .point_count = COUNT(points)}};
struct model whole_model = {.sites = sites, .site_count = 1};

static const char *vapor[] = {"vapor-a", "vapor-b"}, *ladder[] = {"ladder"};
static struct model_credential_choice choices[] = {{vapor, 2}, {ladder, 1}};
static const char *energies[] = {"electrical", "product"};
static const struct model_text in_two[] = {{"en", "Barricaded?"}, {"es", "¿Cerrado?"}};
static const struct model_texts two = {in_two, COUNT(in_two)};
static struct model_check checks[] = {
    {.check = "barricade",
     .group = MODEL_GROUP_PREPARE,
     .ask = "Barricaded?",
     .asks = &two,
     .valid_ms = 28800000},
    {.check = "told",
     .group = MODEL_GROUP_PREPARE,
     .ask = "Staff told",
     .by = MODEL_ROLE_MANAGER,
     .valid_ms = 1500},
    {.check = "drained",
     .group = MODEL_GROUP_RELIEVE,
     .ask = "Drained",
     .unit = "L",
     .limits = {.has_min = true, .min = 0},
     .note = true,
     .equals_family = true},
    {.check = "no-voltage",
     .group = MODEL_GROUP_VERIFY,
     .ask = "No voltage",
     .unit = "V",
     .limits = {.has_max = true, .max = 1},
     .measure = "voltage"},
    {.check = "nut",
     .group = MODEL_GROUP_WORK,
     .ask = "Nut \"torqued\"",
     .unit = "N.m",
     .limits = {true, true, 43.8, 48.4},
     .instrument = "torque-wrench"},
    {.check = "clear", .group = MODEL_GROUP_CLEAR, .ask = "Clear"},
    {.check = "clean", .group = MODEL_GROUP_FINISH, .ask = "Clean"},
    {.check = "safe", .group = MODEL_GROUP_LEAVE, .ask = "Safe"},
};
static struct model_test tests[] = {
    {.test = "leak",
     .rule = "pass-fail",
     .title = "Leak",
     .titles = &two,
     .ask = "Dry",
     .asks = &two,
     .method = "By eye",
     .edition = "2026",
     .powered = true,
     .valid_ms = 5400000,
     .runs = 3,
     .borderline = 0.02,
     .each_product = true,
     .fails_dispenser = true,
     .notice = "told",
     .notice_ms = 259200000},
    {.test = "spout.continuity",
     .rule = "range",
     .unit = "ohm",
     .limits = {true, true, 0.5, 1e6},
     .instrument = "meter"},
};
const struct model_requirements whole_needs = {
    .procedure = "spout",
    .title = "Spout and boot",
    .titles = &two,
    .inspection = true,
    .district = "north-basin",
    .effective = "2026-07-01",
    .credentials = choices,
    .credential_count = COUNT(choices),
    .isolate = energies,
    .isolate_count = COUNT(energies),
    .match = true,
    .takes_dispenser = true,
    .takes_site = true,
    .check_in_ms = 1800000,
    .checks = checks,
    .check_count = COUNT(checks),
    .tests = tests,
    .test_count = COUNT(tests),
};
static const struct model_result result = {
    .rule = "range",
    .inputs = {{.name = "value", .kind = MODEL_READING_NUMBER, .number = 12.5},
               {.name = "dry", .kind = MODEL_READING_FLAG, .flag = true},
               {.name = "system", .kind = MODEL_READING_TEXT, .text = "balance"}},
    .input_count = 3,
    .has_value = true,
    .value = 12.5,
    .limits = {true, true, 0.5, 1e6},
    .limit_is_interval = true,
    .has_margin = true,
    .margin = 12,
    .has_pass = true,
    .pass = true,
    .formula = "min <= value <= max",
    .source = "the procedure",
    .uncertainty = 0.25,
    .decision = MODEL_DECISION_CONDITIONAL_FAIL,
    .cautions = {{.text = "One run."},
                 {.text = "A sheen.",
                  .say = "sheen",
                  .has_value = true,
                  .value = 1.5,
                  .has_min = true,
                  .min = -2,
                  .has_max = true,
                  .max = 24}},
    .caution_count = 2,
    .run = 2,
    .runs = 3,
    .reading = 12.25,
};
static const char *const any[] = {"hazmat", "volt \"600\""};
static const struct gate_refusal refusals[] = {
    {.code = MODEL_CODE_POINT_STALE,
     .subject = "3-power",
     .need = "heard within 30 s",
     .found = "isolated, stale",
     .age_ms = 31250,
     .say = "The breaker was not heard lately."},
    {.code = MODEL_CODE_LINK_DOWN, .age_ms = -1},
    // Every kind of argument, whether they go together or not.
    {.code = MODEL_CODE_CHECK_FAILED,
     .sentence = GATE_SAY_CHECK_FAILED,
     .age_ms = -1,
     .args = {.person = "t-1",
              .until = "2026-11-30",
              .has_value = true,
              .has_min = true,
              .has_max = true,
              .value = 12.5,
              .min = -1,
              .max = 1e6,
              .said = 0,
              .of = 2,
              .run = 1,
              .runs = 3,
              .line = 4,
              .column = 5,
              .phases = 1u << MODEL_PHASE_OPEN | 1u << MODEL_PHASE_STOPPED,
              .any = any,
              .any_count = 2}},
};
static const struct gate_refusal args = {
    .sentence = GATE_SAY_ALARM_TAG_LEFT,
    .args = {.person = "t-9", .title = "Breaker P1", .has_value = true, .value = 2.5}};
static const struct gate_evidence evidence[] = {
    {"3-power", MODEL_POINT_ISOLATED, MODEL_TRUST_FRESH, 1795624634000, true},
    {"3A-line", MODEL_POINT_UNKNOWN, MODEL_TRUST_SILENT, 0, false},
};
static const char *const jobs[] = {"J-1", "J-2"};
static const struct gate_fuel_of fuel[] = {
    {"regular",
     {.drawn = 5,
      .returned = 3.5,
      .kept = 1,
      .unaccounted = 0.5,
      .tolerance = 0.025974,
      .unit = "gal"}},
    {"diesel", {.drawn = 20, .kept = 20, .tolerance = 0.1, .unit = "L", .accounted = true}},
};

struct gate_fact whole_fact(void) {
    return (struct gate_fact){.site = 0,
                              .at = {1795624634123, 777},
                              .job = "J-1",
                              .position = "3A",
                              .point = "3-power",
                              .person = "t-1",
                              .by = "s-1",
                              .verb = "start-work",
                              .procedure = "spout",
                              .kit_family = "k2",
                              .part = "P/1",
                              .defect = "drips",
                              .note = "line\nbreak \"quoted\" \xc3\xa9",
                              .reason = "rain",
                              .check = "nut",
                              .test = "leak",
                              .unit = "N.m",
                              .instrument = "tw-3",
                              .badge = "0451",
                              .to = "t-2",
                              .with = "J-9",
                              .alarm = "a-1",
                              .subject = "t-9",
                              .count = 3,
                              .say = "Stop.",
                              .args = &args,
                              .boot = "b00t",
                              .version = "0.1.0",
                              .has_value = true,
                              .value = 45.25,
                              .has_pass = true,
                              .pass = false,
                              .has_counts = true,
                              .counts = true,
                              .has_overseer = true,
                              .overseer = false,
                              .takes_dispenser = true,
                              .absent = true,
                              .reader = true,
                              .adopted = true,
                              .made_safe = true,
                              .beside = true,
                              .waited = true,
                              .sensor = "3-power",
                              .has_state = true,
                              .state = MODEL_POINT_LIVE,
                              .has_trust = true,
                              .trust = MODEL_TRUST_DISAGREES,
                              .has_lockout = true,
                              .lockout = MODEL_LOCKOUT_BROKEN,
                              .has_phase = true,
                              .phase = MODEL_PHASE_STOPPED,
                              .has_why = true,
                              .why = MODEL_CODE_POINT_LIVE,
                              .has_kind = true,
                              .kind = MODEL_ALARM_TAG_LEFT,
                              .has_alarm_state = true,
                              .alarm_state = MODEL_ALARM_UNACKNOWLEDGED,
                              .has_cause = true,
                              .cause = MODEL_CAUSE_ISOLATED_WITH,
                              .hung = 1795624600000,
                              .until = 1795624700000,
                              .jobs = jobs,
                              .job_count = 2,
                              .sum = &fuel[0].sum,
                              .fuel = fuel,
                              .fuel_count = 2,
                              .requirements = &whole_needs,
                              .result = &result,
                              .refusals = refusals,
                              .refusal_count = sizeof refusals / sizeof *refusals,
                              .evidence = evidence,
                              .evidence_count = 2};
}

const char *const whole_members[] = {
    "\"job\":\"J-1\"",
    "\"position\":\"3A\"",
    "\"at\":\"2026-11-25T16:37:14.123Z\"",
    ("\"evidence\":[{\"point\":\"3-power\",\"state\":\"isolated\",\"trust\":\"fresh\","
     "\"heard\":\"2026-11-25T16:37:14.000Z\",\"distrusted\":true},{\"point\":\"3A-line\",\"state\":"
     "\"unknown\","
     "\"trust\":\"silent\",\"heard\":null}]"),
    "\"point\":\"3-power\"",
    "\"person\":\"t-1\"",
    "\"by\":\"s-1\"",
    "\"verb\":\"start-work\"",
    "\"procedure\":\"spout\"",
    "\"kit_family\":\"k2\"",
    "\"part\":\"P/1\"",
    "\"defect\":\"drips\"",
    "\"note\":\"line\\nbreak \\\"quoted\\\" \xc3\xa9\"",
    "\"check\":\"nut\"",
    "\"test\":\"leak\"",
    "\"value\":45.25",
    "\"unit\":\"N.m\"",
    "\"instrument\":\"tw-3\"",
    "\"pass\":false",
    "\"result\":{\"rule\":\"range\",\"inputs\":{\"value\":12.5,\"dry\":true,\"system\":\"balance\"}"
    ","
    "\"value\":12.5,\"limit\":{\"min\":0.5,\"max\":1000000},\"margin\":12,\"pass\":true,"
    "\"formula\":\"min <= value <= max\",\"source\":\"the procedure\","
    "\"decision\":\"conditional fail\",\"uncertainty\":0.25,"
    "\"cautions\":[\"One run.\",\"A sheen.\"],"
    "\"caution_args\":[null,{\"say\":\"sheen\",\"value\":1.5,\"min\":-2,\"max\":24}],"
    "\"runs\":{\"run\":2,\"of\":3,\"reading\":12.25,\"mean\":12.5}}",
    "\"badge\":\"0451\"",
    "\"to\":\"t-2\"",
    "\"with\":\"J-9\"",
    "\"alarm\":\"a-1\"",
    "\"kind\":\"tag-left\"",
    "\"alarm_state\":\"unacknowledged\"",
    "\"state\":\"live\"",
    "\"trust\":\"disagrees\"",
    "\"phase\":\"stopped\"",
    "\"lockout\":\"broken\"",
    "\"cause\":\"isolated-with\"",
    "\"why\":\"point-live\"",
    "\"count\":3",
    "\"subject\":\"t-9\"",
    "\"sensor\":\"3-power\"",
    "\"say\":\"Stop.\"",
    ("\"args\":{\"say\":\"alarm.tag-left\",\"person\":\"t-9\",\"title\":\"Breaker P1\","
     "\"value\":2.5}"),
    "\"reason\":\"rain\"",
    "\"counts\":true",
    "\"overseer\":false",
    "\"takes_dispenser\":true",
    "\"absent\":true",
    "\"reader\":true",
    "\"adopted\":true",
    "\"made_safe\":true",
    "\"beside\":true",
    "\"waited\":true",
    "\"hung\":\"2026-11-25T16:36:40.000Z\"",
    "\"until\":\"2026-11-25T16:38:20.000Z\"",
    "\"jobs\":[\"J-1\",\"J-2\"]",
    "\"boot\":\"b00t\"",
    "\"version\":\"0.1.0\"",
    "\"sum\":{\"drawn\":5,\"returned\":3.5,\"kept\":1,\"unaccounted\":0.5,"
    "\"tolerance\":0.025974,\"unit\":\"gal\",\"accounted\":false}",
    "\"fuel\":[{\"product\":\"regular\",\"drawn\":5,\"returned\":3.5,\"kept\":1,"
    "\"unaccounted\":0.5,\"tolerance\":0.025974,\"unit\":\"gal\",\"accounted\":false},"
    "{\"product\":\"diesel\",\"drawn\":20,\"returned\":0,\"kept\":20,\"unaccounted\":0,"
    "\"tolerance\":0.1,\"unit\":\"L\",\"accounted\":true}]",
    "\"requirements\":{\"procedure\":\"spout\",\"title\":\"Spout and boot\","
    "\"titles\":{\"en\":\"Barricaded?\",\"es\":\"¿Cerrado?\"},"
    "\"kind\":\"inspection\",\"district\":\"north-basin\",\"effective\":\"2026-07-01\","
    "\"credentials\":[[\"vapor-a\",\"vapor-b\"],[\"ladder\"]],"
    "\"isolate\":[\"electrical\",\"product\"],\"match\":\"nozzle_family\",\"takes\":\"site\","
    "\"check_in_s\":1800,"
    "\"prepare\":[{\"check\":\"barricade\",\"ask\":\"Barricaded?\","
    "\"asks\":{\"en\":\"Barricaded?\",\"es\":\"¿Cerrado?\"},\"valid_s\":28800},"
    "{\"check\":\"told\",\"ask\":\"Staff told\",\"by\":\"manager\",\"valid_s\":1.5}],"
    "\"relieve\":[{\"check\":\"drained\",\"ask\":\"Drained\",\"unit\":\"L\",\"min\":0,"
    "\"note\":true,\"equals\":\"nozzle_family\"}],"
    "\"verify\":[{\"check\":\"no-voltage\",\"ask\":\"No voltage\",\"unit\":\"V\",\"max\":1,"
    "\"measure\":\"voltage\"}],"
    "\"work\":[{\"check\":\"nut\",\"ask\":\"Nut \\\"torqued\\\"\",\"unit\":\"N.m\",\"min\":43.8,"
    "\"max\":48.4,\"instrument\":\"torque-wrench\"}],"
    "\"clear\":[{\"check\":\"clear\",\"ask\":\"Clear\"}],"
    "\"finish\":[{\"check\":\"clean\",\"ask\":\"Clean\"}],"
    "\"leave\":[{\"check\":\"safe\",\"ask\":\"Safe\"}],"
    "\"tests\":[{\"test\":\"leak\",\"rule\":\"pass-fail\",\"title\":\"Leak\","
    "\"titles\":{\"en\":\"Barricaded?\",\"es\":\"¿Cerrado?\"},\"ask\":\"Dry\",\"asks\":{\"en\":"
    "\"Barricaded?\",\"es\":\"¿Cerrado?\"},"
    "\"method\":\"By eye\",\"edition\":\"2026\",\"valid_s\":5400,\"runs\":3,"
    "\"borderline\":0.02,"
    "\"each\":\"product\",\"fails\":\"dispenser\",\"notice\":\"told\",\"notice_h\":72},{\"test\":"
    "\"spout.continuity\","
    "\"rule\":\"range\",\"unit\":\"ohm\",\"min\":0.5,\"max\":1000000,\"instrument\":\"meter\","
    "\"powered\":false}]}",
    "\"refusals\":[{\"code\":\"point-stale\",\"subject\":\"3-power\",\"need\":\"heard within 30 "
    "s\","
    "\"found\":\"isolated, stale\",\"age_s\":31.25,\"say\":\"The breaker was not heard lately.\"},"
    "{\"code\":\"link-down\",\"subject\":null,\"need\":null,\"found\":null,\"age_s\":null,"
    "\"say\":null},"
    "{\"code\":\"check-failed\",\"subject\":null,\"need\":null,\"found\":null,\"age_s\":null,"
    "\"say\":null,\"args\":{\"say\":\"check-failed\",\"person\":\"t-1\",\"until\":\"2026-11-30\","
    "\"value\":12.5,\"min\":-1,\"max\":1000000,\"said\":0,\"of\":2,\"run\":1,\"runs\":3,"
    "\"line\":4,\"column\":5,\"phases\":[\"open\",\"stopped\"],"
    "\"any\":[\"hazmat\",\"volt \\\"600\\\"\"]}}]",
};

const size_t whole_member_count = COUNT(whole_members);

const char *whole_text(void) {
    static char text[8192];
    size_t length = 0;
    for (size_t i = 0; i < COUNT(whole_members); i++) {
        length += (size_t)snprintf(text + length, sizeof text - length, "%s%s", i == 0 ? "{" : ",",
                                   whole_members[i]);
    }
    snprintf(text + length, sizeof text - length, "}");
    return text;
}

bool decode(struct bench *bench, const char *text, enum gate_fact_type type) {
    struct json_error error;
    const struct gate_time at = {1795624634123, 777};
    assert_true(json_scan(&bench->tape, text, strlen(text), &json_message_limits, &error));
    wire_fact_arena_reset(&bench->arena);
    return wire_fact_decode(&bench->tape, json_root(&bench->tape), type, 0, at, &bench->arena,
                            &bench->fact);
}

const char *encode(struct bench *bench, const struct gate_fact *fact) {
    json_out_reset(&bench->out);
    assert_true(wire_fact_encode(fact, &whole_model, &bench->out));
    return bench->out.data;
}

int bench_new(void **state) {
    *state = calloc(1, sizeof(struct bench));
    return *state == NULL;
}

int bench_end(void **state) {
    struct bench *bench = *state;
    json_tape_free(&bench->tape);
    wire_fact_arena_free(&bench->arena);
    json_out_free(&bench->out);
    free(bench);
    return 0;
}
