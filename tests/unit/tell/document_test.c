// Positions, points and alarms, word for word.
#include "scene.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

// --- Position ---

static void a_position_without_a_job(void **state) {
    struct bench *bench = *state;
    struct gate_position *position = &bench->site->positions[0];
    position->since = (struct gate_time){WALL - 1000, 1};
    said(bench, wire_position(&bench->out, bench->gate, 0, 0),
         "{\"position\":\"3A\",\"service\":\"out-of-service\",\"cause\":\"unknown\",\"job\":null,"
         "\"with\":null,\"phase\":null,\"lockout\":null,\"since\":\"2026-11-25T16:37:13.123Z\"}");
    position->service = MODEL_SERVICE_IN;
    position->since = (struct gate_time){0, 0};
    said(bench, wire_position(&bench->out, bench->gate, 0, 0),
         "{\"position\":\"3A\",\"service\":\"in-service\",\"cause\":null,\"job\":null,"
         "\"with\":null,\"phase\":null,\"lockout\":null,\"since\":null}");
}

// What hangs there, and a part that was fitted too often; each where there is one.
static void a_position_says_what_hangs_there(void **state) {
    struct bench *bench = *state;
    struct gate_position *position = &bench->site->positions[0];
    struct gate_part parts[] = {
        {.part = "boot", .family = "b2", .job = "J-1", .due = "2031-05-31", .fitted = {WALL, 1}},
        {.part = "hose", .serial = "S-1", .job = "J-1", .fitted = {WALL, 1}}};
    struct gate_fitting fittings[] = {
        {"boot", WALL - 2}, {"boot", WALL - 1}, {"hose", WALL}, {"boot", WALL}};
    position->hangs = parts;
    position->hang_count = 2;
    position->fittings = fittings;
    position->fitting_count = 4;
    bool good = wire_position(&bench->out, bench->gate, 0, 0);
    position->hangs = NULL;
    position->fittings = NULL;
    position->hang_count = position->fitting_count = 0;
    assert_true(good);
    assert_non_null(
        strstr(bench->out.data,
               "\"hangs\":[{\"part\":\"boot\",\"family\":\"b2\",\"serial\":null,"
               "\"fitted\":\"2026-11-25T16:37:14.123Z\",\"job\":\"J-1\",\"due\":\"2031-05-31\"},"
               "{\"part\":\"hose\",\"family\":null,\"serial\":\"S-1\","
               "\"fitted\":\"2026-11-25T16:37:14.123Z\",\"job\":\"J-1\",\"due\":null}],"
               "\"repeats\":[{\"part\":\"boot\",\"times\":3,\"days\":90}]}"));
}

static void a_position_with_a_job(void **state) {
    struct bench *bench = *state;
    struct gate_job *job = job_open(bench);
    job->phase = MODEL_PHASE_STOPPED;
    job->lockout = MODEL_LOCKOUT_BROKEN;
    bench->site->positions[0].since = now;
    said(bench, wire_position(&bench->out, bench->gate, 0, 0),
         "{\"position\":\"3A\",\"service\":\"out-of-service\",\"cause\":\"job\",\"job\":\"J-1\","
         "\"with\":null,\"phase\":\"stopped\",\"lockout\":\"broken\","
         "\"since\":\"2026-11-25T16:37:14.123Z\"}");
}

// What holds a position out is told while it is out, and not a turn before.
static void a_position_in_service_has_no_cause(void **state) {
    struct bench *bench = *state;
    job_open(bench);
    bench->site->positions[0].service = MODEL_SERVICE_IN;
    assert_true(wire_position(&bench->out, bench->gate, 0, 0));
    assert_non_null(strstr(bench->out.data, "\"service\":\"in-service\",\"cause\":null"));
}

// --- Point ---

static void a_point_that_is_silent(void **state) {
    struct bench *bench = *state;
    bench->site->points[POWER].since = (struct gate_time){0, 0};
    said(bench, wire_point(&bench->out, bench->gate, 0, POWER, now, NULL),
         "{\"point\":\"3-power\",\"energy\":\"electrical\",\"state\":\"unknown\","
         "\"trust\":\"silent\",\"tags\":[],\"distrusted\":[],\"heard\":null,\"since\":null}");
}

static void a_point_whose_sensor_is_out_of_order(void **state) {
    struct bench *bench = *state;
    struct gate_point *point = &bench->site->points[POWER];
    char reason[] = "sticks";
    struct gate_distrust distrusts[] = {
        {.sensor = 0, .by = "s-1", .reason = reason, .until = {WALL + 3600000, 1}},
        {.sensor = MODEL_NONE, .by = "s-2", .until = {WALL, 1}},
    };
    point->distrusts = distrusts;
    point->distrust_count = COUNT(distrusts);
    bool good = wire_point(&bench->out, bench->gate, 0, POWER, now, NULL);
    point->distrusts = NULL;
    point->distrust_count = 0;
    assert_true(good);
    assert_non_null(strstr(bench->out.data,
                           "\"distrusted\":[{\"sensor\":\"3-power\",\"by\":\"s-1\","
                           "\"until\":\"2026-11-25T17:37:14.123Z\",\"reason\":\"sticks\"},"
                           "{\"reader\":\"3-power\",\"by\":\"s-2\","
                           "\"until\":\"2026-11-25T16:37:14.123Z\",\"reason\":null}],"));
}

static void a_point_with_tags(void **state) {
    struct bench *bench = *state;
    struct gate_point *point = &bench->site->points[POWER];
    struct gate_tag tags[] = {
        {.person = "t-1", .job = "J-1", .since = {WALL, 1}, .counts = true},
        {.badge = "0451", .since = {WALL - 123, 1}},
        {.person = "t-2", .badge = "0452", .job = "J-2", .since = {WALL, 1}},
    };
    const struct gate_reading reading = {
        .readable = true, .good = true, .state = MODEL_POINT_ISOLATED};
    gate_hear(bench->gate, 0, 0, &reading, now);
    point->state = MODEL_POINT_ISOLATED;
    point->trust = MODEL_TRUST_FRESH;
    point->since = (struct gate_time){WALL - 2000, 1};
    point->tags = tags;
    point->tag_count = COUNT(tags);
    bool good = wire_point(&bench->out, bench->gate, 0, POWER, now, NULL);
    point->tags = NULL;
    point->tag_count = 0;
    said(bench, good,
         "{\"point\":\"3-power\",\"energy\":\"electrical\",\"state\":\"isolated\","
         "\"trust\":\"fresh\",\"tags\":["
         "{\"person\":\"t-1\",\"job\":\"J-1\",\"since\":\"2026-11-25T16:37:14.123Z\","
         "\"counts\":true},"
         "{\"person\":null,\"badge\":\"0451\",\"job\":null,\"since\":\"2026-11-25T16:37:14.000Z\","
         "\"counts\":false},"
         "{\"person\":\"t-2\",\"badge\":\"0452\",\"job\":\"J-2\","
         "\"since\":\"2026-11-25T16:37:14.123Z\",\"counts\":false}],\"distrusted\":[],"
         "\"heard\":\"2026-11-25T16:37:14.123Z\",\"since\":\"2026-11-25T16:37:12.123Z\"}");
}

static uint64_t point_hash(struct bench *bench, struct gate_time at) {
    uint64_t hash = 0;
    json_out_reset(&bench->out);
    assert_true(wire_point(&bench->out, bench->gate, 0, POWER, at, &hash));
    return hash;
}

static void heard_is_no_reason_to_publish(void **state) {
    struct bench *bench = *state;
    const struct gate_reading reading = {.readable = true, .good = true, .state = MODEL_POINT_LIVE};
    const struct gate_time later = {now.wall + 5000, now.mono + 5000};
    gate_hear(bench->gate, 0, 0, &reading, now);
    uint64_t before = point_hash(bench, now);
    char *text = strdup(bench->out.data);
    gate_hear(bench->gate, 0, 0, &reading, later);
    assert_int_equal(point_hash(bench, later), before);
    assert_string_not_equal(bench->out.data, text);
    free(text);
    // Everything else is one.
    bench->site->points[POWER].trust = MODEL_TRUST_DISAGREES;
    uint64_t other = point_hash(bench, later);
    assert_int_not_equal(other, before);
    bench->site->points[POWER].since.wall += 1;
    assert_int_not_equal(point_hash(bench, later), other);
    // What stands before the document is no part of it.
    json_out_reset(&bench->out);
    json_out_array(&bench->out);
    json_out_int(&bench->out, 7);
    uint64_t inside = 0;
    other = 0;
    assert_true(wire_point(&bench->out, bench->gate, 0, POWER, later, &inside));
    assert_true(wire_point(&bench->out, bench->gate, 0, POWER, later, &other));
    assert_int_equal(inside, other);
    assert_int_equal(inside, point_hash(bench, later));
}

static void the_hash_is_the_one_it_says(void **state) {
    (void)state;
    assert_true(wire_hash("", 0) == 0xcbf29ce484222325u);
    assert_true(wire_hash("a", 1) == 0xaf63dc4c8601ec8cu);
    assert_true(wire_hash("foobar", 6) == 0x85944171f73967e8u);
}

// --- Alarm ---

static void an_alarm_of_a_job(void **state) {
    struct bench *bench = *state;
    const struct gate_alarm alarm = {
        .alarm = "a-7",
        .kind = MODEL_ALARM_LOCKOUT_BROKEN,
        .state = MODEL_ALARM_UNACKNOWLEDGED,
        .job = "J-1",
        .point = "3-power",
        .position = 0,
        .has_why = true,
        .why = MODEL_CODE_POINT_LIVE,
        .say = "Stop: breaker \"P1\" is live.",
        .told = {.sentence = GATE_SAY_ALARM_LIVE, .args = {.title = "Breaker P1"}},
        .count = 2,
        .raised = {WALL, 1}};
    said(bench, wire_alarm(&bench->out, bench->gate, 0, &alarm),
         "{\"alarm\":\"a-7\",\"kind\":\"lockout-broken\",\"job\":\"J-1\",\"position\":\"3A\","
         "\"point\":\"3-power\",\"subject\":null,\"by\":null,\"why\":\"point-live\","
         "\"say\":\"Stop: breaker \\\"P1\\\" is live.\",\"args\":{\"say\":\"alarm.point-live\","
         "\"title\":\"Breaker P1\"},\"state\":\"unacknowledged\","
         "\"raised\":\"2026-11-25T16:37:14.123Z\",\"count\":2,\"priority\":\"urgent\","
         "\"group\":\"point/3-power\"}");
}

static void an_alarm_of_the_site(void **state) {
    struct bench *bench = *state;
    const struct gate_alarm alarm = {.alarm = "a-8",
                                     .kind = MODEL_ALARM_CLOCK,
                                     .state = MODEL_ALARM_RETURNED_UNACKNOWLEDGED,
                                     .subject = "3-power",
                                     .position = MODEL_NONE,
                                     .count = 1,
                                     .raised = {WALL, 1}};
    said(bench, wire_alarm(&bench->out, bench->gate, 0, &alarm),
         "{\"alarm\":\"a-8\",\"kind\":\"clock\",\"job\":null,\"position\":null,\"point\":null,"
         "\"subject\":\"3-power\",\"by\":null,\"why\":null,\"say\":null,\"args\":null,"
         "\"state\":\"returned-unacknowledged\",\"raised\":\"2026-11-25T16:37:14.123Z\","
         "\"count\":1,\"priority\":\"low\",\"group\":\"sensor/3-power\"}");
}

int main(void) {
#define TEST(name) cmocka_unit_test_setup_teardown(name, bench_new, bench_end)
    const struct CMUnitTest all[] = {
        TEST(a_position_without_a_job),    TEST(a_position_says_what_hangs_there),
        TEST(a_position_with_a_job),       TEST(a_position_in_service_has_no_cause),
        TEST(a_point_that_is_silent),      TEST(a_point_whose_sensor_is_out_of_order),
        TEST(a_point_with_tags),           TEST(heard_is_no_reason_to_publish),
        TEST(the_hash_is_the_one_it_says), TEST(an_alarm_of_a_job),
        TEST(an_alarm_of_the_site),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
