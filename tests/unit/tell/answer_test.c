// Answers and events, word for word.
#include "scene.h"

#include "wire/fact_parts.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// --- Answers ---

static void an_answer_that_accepts(void **state) {
    struct bench *bench = *state;
    const struct gate_answer answer = {.accepted = true,
                                       .job = "J-1",
                                       .has_phase = true,
                                       .phase = MODEL_PHASE_WORKING,
                                       .lockout = MODEL_LOCKOUT_CONFIRMED,
                                       .at = {WALL, 1}};
    said(bench, wire_answer(&bench->out, "r \"1\"", "start-work", &answer),
         "{\"id\":\"r \\\"1\\\"\",\"verb\":\"start-work\",\"accepted\":true,\"job\":\"J-1\","
         "\"phase\":\"working\",\"lockout\":\"confirmed\",\"at\":\"2026-11-25T16:37:14.123Z\","
         "\"refusals\":[]}");
}

static void an_answer_names_the_spill(void **state) {
    struct bench *bench = *state;
    const struct gate_answer answer = {
        .accepted = true, .at = {WALL, 1}, .has_spill = true, .spill = "s7", .report_due = WALL};
    said(bench, wire_answer(&bench->out, NULL, "record-spill", &answer),
         "{\"id\":null,\"verb\":\"record-spill\",\"accepted\":true,\"job\":null,"
         "\"phase\":null,\"lockout\":null,\"at\":\"2026-11-25T16:37:14.123Z\","
         "\"result\":{\"spill\":\"s7\",\"report_due\":\"2026-11-25T16:37:14.123Z\"},"
         "\"refusals\":[]}");
}

static void an_answer_with_a_result(void **state) {
    struct bench *bench = *state;
    const struct gate_answer answer = {
        .accepted = true,
        .job = "J-1",
        .has_phase = true,
        .phase = MODEL_PHASE_TESTING,
        .lockout = MODEL_LOCKOUT_UNCONFIRMED,
        .at = {WALL, 1},
        .has_result = true,
        .result = {.rule = "flow-rate",
                   .inputs = {{.name = "volume_gal", .kind = MODEL_READING_NUMBER, .number = 5},
                              {.name = "seconds", .kind = MODEL_READING_NUMBER, .number = 32}},
                   .input_count = 2,
                   .has_value = true,
                   .value = 9.375,
                   .limits = {.has_max = true, .max = 10},
                   .has_margin = true,
                   .margin = 0.625,
                   .has_pass = true,
                   .pass = true,
                   .formula = "60 V / t",
                   .source = "40 CFR",
                   .cautions = {{.text = "Look again."}},
                   .caution_count = 1}};
    said(bench, wire_answer(&bench->out, NULL, "record-test", &answer),
         "{\"id\":null,\"verb\":\"record-test\",\"accepted\":true,\"job\":\"J-1\","
         "\"phase\":\"testing\",\"lockout\":\"unconfirmed\",\"at\":\"2026-11-25T16:37:14.123Z\","
         "\"result\":{\"rule\":\"flow-rate\",\"inputs\":{\"volume_gal\":5,\"seconds\":32},"
         "\"value\":9.375,\"limit\":10,\"margin\":0.625,\"pass\":true,\"formula\":\"60 V / t\","
         "\"source\":\"40 CFR\",\"cautions\":[\"Look "
         "again.\"]},\"refusals\":[]}");
}

static void an_answer_to_a_signature(void **state) {
    struct bench *bench = *state;
    struct gate_answer answer = {
        .accepted = true,
        .job = "J-1",
        .has_phase = true,
        .phase = MODEL_PHASE_OPEN,
        .lockout = MODEL_LOCKOUT_BROKEN,
        .at = {WALL, 1},
        .has_signed = true,
        .signed_ = {.has_value = true,
                    .value = -240,
                    .unit = "V",
                    .limits = {.has_min = true, .has_max = true, .min = -1, .max = 1}}};
    said(bench, wire_answer(&bench->out, NULL, "sign-check", &answer),
         "{\"id\":null,\"verb\":\"sign-check\",\"accepted\":true,\"job\":\"J-1\","
         "\"phase\":\"open\",\"lockout\":\"broken\",\"at\":\"2026-11-25T16:37:14.123Z\","
         "\"result\":{\"pass\":false,\"value\":-240,\"unit\":\"V\",\"min\":-1,\"max\":1},"
         "\"refusals\":[]}");
    json_out_reset(&bench->out);
    answer.signed_ = (struct gate_signed){.pass = true};
    assert_true(wire_answer(&bench->out, NULL, "sign-check", &answer));
    assert_non_null(strstr(bench->out.data,
                           "\"result\":{\"pass\":true,\"value\":null,\"unit\":null,"
                           "\"min\":null,\"max\":null},"));
}

static void results_without_a_verdict(void **state) {
    struct bench *bench = *state;
    struct model_result result = {.rule = "torque", .limit_is_interval = true};
    wire_fact_write_result(&bench->out, &result);
    said(bench, true,
         "{\"rule\":\"torque\",\"inputs\":{},\"value\":null,\"limit\":{\"min\":null,\"max\":null},"
         "\"margin\":null,\"pass\":null,\"formula\":\"\",\"source\":\"\"}");
    result.limit_is_interval = false;
    wire_fact_write_result(&bench->out, &result);
    said(bench, true,
         "{\"rule\":\"torque\",\"inputs\":{},\"value\":null,\"limit\":null,\"margin\":null,"
         "\"pass\":null,\"formula\":\"\",\"source\":\"\"}");
    result.limits = (struct model_limits){.has_min = true, .min = 0.95};
    wire_fact_write_result(&bench->out, &result);
    said(bench, true,
         "{\"rule\":\"torque\",\"inputs\":{},\"value\":null,\"limit\":0.95,\"margin\":null,"
         "\"pass\":null,\"formula\":\"\",\"source\":\"\"}");
}

static void an_answer_that_refuses(void **state) {
    struct bench *bench = *state;
    struct gate_answer *answer = &bench->answer;
    answer->at = now;
    assert_true(gate_answer_refuse(answer, GATE_SAY_POINT_STALE, "3-power",
                                   GATE_ARGS(.point = "3-power", .title = "Breaker P1/7",
                                             .state = "isolated", .trust = "stale")));
    answer->refusals[0].age_ms = 31007;
    assert_true(gate_answer_refuse(answer, GATE_SAY_LINK_DOWN, NULL, NULL));
    assert_true(gate_answer_refuse(answer, GATE_SAY_FIELD_MISSING, "/position", NULL));
    said(
        bench, wire_answer(&bench->out, "r", "start-work", answer),
        "{\"id\":\"r\",\"verb\":\"start-work\",\"accepted\":false,\"job\":null,\"phase\":null,"
        "\"lockout\":null,\"at\":\"2026-11-25T16:37:14.123Z\",\"refusals\":["
        "{\"code\":\"point-stale\",\"subject\":\"3-power\","
        "\"need\":\"isolated, settled and trusted\",\"found\":\"isolated, stale\",\"age_s\":31.007,"
        "\"say\":\"Breaker P1/7 is not proved isolated (isolated, stale): treat it as live.\","
        "\"args\":{\"say\":\"point-stale\",\"point\":\"3-power\",\"title\":\"Breaker P1/7\","
        "\"state\":\"isolated\",\"trust\":\"stale\"}},"
        "{\"code\":\"link-down\",\"subject\":null,\"need\":\"the broker link up\","
        "\"found\":\"down\",\"age_s\":null,"
        "\"say\":\"The link to the site's hardware is down: wait until it is back.\","
        "\"args\":{\"say\":\"link-down\"}},"
        "{\"code\":\"malformed\",\"subject\":\"/position\",\"need\":\"a value\","
        "\"found\":\"nothing\",\"age_s\":null,\"say\":\"The field position is missing.\","
        "\"args\":{\"say\":\"malformed.missing\",\"field\":\"position\"}}]}");
}

static void an_answer_again(void **state) {
    struct bench *bench = *state;
    struct json_error error;
    struct json_tape tape = {0};
    struct gate_job *job = job_open(bench);
    const char *first = "{\"id\":\"r\",\"verb\":\"start-work\",\"accepted\":true,\"job\":\"J-1\","
                        "\"phase\":\"working\",\"lockout\":\"confirmed\","
                        "\"at\":\"2026-11-25T16:00:00.000Z\",\"result\":{\"phase\":1},"
                        "\"refusals\":[]}";
    assert_true(json_scan(&tape, first, strlen(first), &json_message_limits, &error));
    job->phase = MODEL_PHASE_STOPPED;
    job->lockout = MODEL_LOCKOUT_BROKEN;
    said(bench, wire_answer_now(&bench->out, &tape, job, true),
         "{\"id\":\"r\",\"verb\":\"start-work\",\"accepted\":true,\"job\":\"J-1\","
         "\"phase\":\"stopped\",\"lockout\":\"broken\",\"at\":\"2026-11-25T16:00:00.000Z\","
         "\"result\":{\"phase\":1},\"again\":true,\"refusals\":[]}");
    said(bench, wire_answer_now(&bench->out, &tape, NULL, true),
         "{\"id\":\"r\",\"verb\":\"start-work\",\"accepted\":true,\"job\":\"J-1\","
         "\"phase\":null,\"lockout\":null,\"at\":\"2026-11-25T16:00:00.000Z\","
         "\"result\":{\"phase\":1},\"again\":true,\"refusals\":[]}");
    json_tape_free(&tape);
}

// --- Events and the daemon ---

static void an_event(void **state) {
    struct bench *bench = *state;
    const char *data = "{\"job\":\"J-1\"}";
    struct wire_record record = {.seq = UINT64_MAX,
                                 .at = WALL,
                                 .site = "juniper",
                                 .type = "work.started",
                                 .subject = "3A",
                                 .data = data,
                                 .data_length = strlen(data)};
    said(
        bench, wire_event(&bench->out, &record),
        "{\"specversion\":\"1.0\",\"id\":\"18446744073709551615\",\"source\":\"/forelock/juniper\","
        "\"type\":\"forelock.work.started\",\"subject\":\"3A\","
        "\"time\":\"2026-11-25T16:37:14.123Z\",\"datacontenttype\":\"application/json\","
        "\"data\":{\"job\":\"J-1\"}}");
    record.subject = "";
    record.site = NULL;
    record.seq = 1;
    said(bench, wire_event(&bench->out, &record),
         "{\"specversion\":\"1.0\",\"id\":\"1\",\"source\":\"/forelock\","
         "\"type\":\"forelock.work.started\",\"time\":\"2026-11-25T16:37:14.123Z\","
         "\"datacontenttype\":\"application/json\",\"data\":{\"job\":\"J-1\"}}");
}

static void the_daemon(void **state) {
    struct bench *bench = *state;
    struct wire_daemon daemon = {
        .online = true, .version = "0.1.0", .boot = "b00t", .since = WALL - 123, .at = WALL};
    said(bench, wire_daemon(&bench->out, &model, &daemon),
         "{\"state\":\"online\",\"version\":\"0.1.0\",\"boot\":\"b00t\","
         "\"since\":\"2026-11-25T16:37:14.000Z\",\"at\":\"2026-11-25T16:37:14.123Z\","
         "\"sites\":[\"juniper\"]}");
    daemon.online = false;
    const struct model empty = {0};
    said(
        bench, wire_daemon(&bench->out, &empty, &daemon),
        "{\"state\":\"offline\",\"version\":\"0.1.0\",\"boot\":\"b00t\","
        "\"since\":\"2026-11-25T16:37:14.000Z\",\"at\":\"2026-11-25T16:37:14.123Z\",\"sites\":[]}");
}

int main(void) {
#define TEST(name) cmocka_unit_test_setup_teardown(name, bench_new, bench_end)
    const struct CMUnitTest all[] = {
        TEST(an_answer_that_accepts),
        TEST(an_answer_names_the_spill),
        TEST(an_answer_with_a_result),
        TEST(an_answer_to_a_signature),
        TEST(results_without_a_verdict),
        TEST(an_answer_that_refuses),
        TEST(an_answer_again),
        TEST(an_event),
        TEST(the_daemon),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
