// The document of a job, word for word, and memory that fails.
#include "scene.h"

#include "failing_memory.h"
#include "wire/fact_parts.h"
#include "wire/fact_refusal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static struct model_test owed_tests[] = {{.test = "shutoff", .rule = "pass-fail", .powered = true}};
static const struct model_requirements owed = {
    .procedure = "other", .title = "Other", .tests = owed_tests, .test_count = 1};

// --- Job ---

static void what_is_out_of_order_is_said_of_its_job(void **state) {
    struct bench *bench = *state;
    struct gate_job *job = job_open(bench);
    struct gate_point *point = &bench->site->points[POWER];
    char reason[] = "sticks";
    struct gate_distrust distrust = {
        .sensor = 0, .by = "s-1", .reason = reason, .until = {WALL, now.mono + 1}};
    assert_true(wire_job(&bench->out, bench->gate, 0, job, false, now));
    assert_null(strstr(bench->out.data, "distrusted"));
    json_out_reset(&bench->out);
    point->distrusts = &distrust;
    point->distrust_count = 1;
    bool good = wire_job(&bench->out, bench->gate, 0, job, false, now);
    point->distrusts = NULL;
    point->distrust_count = 0;
    assert_true(good);
    assert_non_null(strstr(bench->out.data,
                           "\"distrusted\":[{\"point\":\"3-power\",\"sensor\":\"3-power\","
                           "\"by\":\"s-1\",\"until\":\"2026-11-25T16:37:14.123Z\","
                           "\"reason\":\"sticks\"}]"));
}

static void an_ended_job_with_all_that_was_signed(void **state) {
    struct bench *bench = *state;
    struct gate_job *job = job_open(bench);
    struct gate_member crew[] = {{.person = "t-1", .protected = true}, {.person = "t-2"}};
    struct gate_signature signatures[] = {
        {.check = "no-voltage", .by = "t-1", .at = {WALL - 9000, 1}, .has_value = true, .value = 9},
        {.check = "no-voltage",
         .by = "t-2",
         .at = {WALL - 5000, 1},
         .group = MODEL_GROUP_VERIFY,
         .pass = true,
         .void_ = true,
         .has_value = true,
         .value = 0.25,
         .unit = "V",
         .instrument = "meter-1"},
        {.check = "barricade",
         .by = "t-1",
         .at = {WALL - 50000, now.mono - 50000},
         .group = MODEL_GROUP_PREPARE,
         .pass = true},
    };
    struct gate_test_record records[] = {
        {.test = "leak", .by = "t-1", .at = {WALL, 1}, .pass = true},
        {.test = "flow",
         .by = "t-1",
         .at = {WALL, 1},
         .has_value = true,
         .value = 10.5,
         .void_ = true},
    };
    const struct gate_job kept = *job;
    job->phase = MODEL_PHASE_RETURNED;
    job->lockout = MODEL_LOCKOUT_CONFIRMED;
    job->crew = crew;
    job->crew_count = COUNT(crew);
    job->signatures = signatures;
    job->signature_count = COUNT(signatures);
    job->tests = records;
    job->test_count = COUNT(records);
    job->rework = 2;
    job->since.wall = WALL + 1;
    bool good = wire_job(&bench->out, bench->gate, 0, job, false, now);
    *job = kept;
    said(bench, good,
         "{\"job\":\"J-1\",\"position\":\"3A\",\"procedure\":\"spout\",\"phase\":\"returned\","
         "\"lockout\":\"confirmed\",\"technician\":\"t-1\","
         "\"crew\":[{\"person\":\"t-1\",\"protected\":true,\"helper\":false},"
         "{\"person\":\"t-2\",\"protected\":false,\"helper\":false}],\"offered\":null,"
         "\"opened\":\"2026-11-25T16:37:14.123Z\",\"since\":\"2026-11-25T16:37:14.124Z\","
         "\"rework\":2,\"expected\":null,\"checks\":["
         "{\"check\":\"barricade\",\"group\":\"prepare\",\"by\":\"t-1\","
         "\"at\":\"2026-11-25T16:36:24.123Z\",\"value\":null,\"unit\":null,\"instrument\":null,"
         "\"pass\":true,\"void\":false,\"until\":\"2026-11-25T16:37:24.123Z\"},"
         "{\"check\":\"no-voltage\",\"group\":\"verify\",\"by\":\"t-2\","
         "\"at\":\"2026-11-25T16:37:09.123Z\",\"value\":0.25,\"unit\":\"V\","
         "\"instrument\":\"meter-1\",\"pass\":true,\"void\":true,\"until\":null},"
         "{\"check\":\"clear\",\"group\":\"clear\",\"by\":null,\"at\":null,\"value\":null,"
         "\"unit\":null,\"instrument\":null,\"pass\":null,\"void\":false,\"until\":null},"
         "{\"check\":\"made-safe\",\"group\":\"leave\",\"by\":null,\"at\":null,\"value\":null,"
         "\"unit\":null,\"instrument\":null,\"pass\":null,\"void\":false,\"until\":null}],"
         "\"tests\":["
         "{\"test\":\"leak\",\"by\":\"t-1\",\"at\":\"2026-11-25T16:37:14.123Z\",\"value\":null,"
         "\"pass\":true,\"void\":false,\"until\":null},"
         "{\"test\":\"flow\",\"by\":\"t-1\",\"at\":\"2026-11-25T16:37:14.123Z\",\"value\":10.5,"
         "\"pass\":false,\"void\":true,\"until\":null}],\"missing\":[]}");
}

// The document holds a text; the rest of it is tested elsewhere.
static void job_says(struct bench *bench, const struct gate_job *job, struct gate_time at,
                     const char *part, bool yes) {
    json_out_reset(&bench->out);
    assert_true(wire_job(&bench->out, bench->gate, 0, job, false, at));
    if ((strstr(bench->out.data, part) != NULL) != yes) {
        fail_msg("%s %s in %s", part, yes ? "is not" : "is", bench->out.data);
    }
}

// What is told of the day around it.
static void a_job_says_what_its_day_brought(void **state) {
    struct bench *bench = *state;
    struct gate_job *job = job_open(bench);
    const struct gate_day kept = job->day;
    char note[] = "half seated", url[] = "https://x/1", title[] = "Boot";
    struct gate_fuel fuel = {.product = "regular",
                             .unit = "gal",
                             .drawn = 5,
                             .returned = 3,
                             .has_before = true,
                             .before = 12.5,
                             .tank = "1"};
    struct gate_attachment attached = {.check = "barricade",
                                       .by = "t-1",
                                       .at = {WALL, 1},
                                       .sha256 = "ab",
                                       .url = url,
                                       .title = title};
    job->day = (struct gate_day){.expected = {.at = WALL, .by = "m-1", .moved = 2},
                                 .shift = {.note = note,
                                           .by = "t-1",
                                           .to = "t-2",
                                           .at = {WALL, 1},
                                           .signed_by = "t-2",
                                           .signed_at = {WALL, 2}},
                                 .fuel = &fuel,
                                 .fuel_count = 1,
                                 .attachments = &attached,
                                 .attachment_count = 1};
    job_says(bench, job, now,
             "\"expected\":{\"at\":\"2026-11-25T16:37:14.123Z\",\"by\":\"m-1\",\"moved\":2}", true);
    job_says(bench, job, now,
             "\"shift_note\":{\"note\":\"half seated\",\"by\":\"t-1\",\"to\":\"t-2\","
             "\"at\":\"2026-11-25T16:37:14.123Z\",\"signed_by\":\"t-2\","
             "\"signed\":\"2026-11-25T16:37:14.123Z\"}",
             true);
    job_says(bench, job, now,
             "\"attachments\":[{\"title\":\"Boot\",\"url\":\"https://x/1\",\"sha256\":\"ab\","
             "\"check\":\"barricade\",\"test\":null,\"alarm\":null,\"by\":\"t-1\","
             "\"at\":\"2026-11-25T16:37:14.123Z\"}]",
             true);
    job_says(bench, job, now,
             "\"fuel\":[{\"product\":\"regular\",\"drawn\":5,\"returned\":3,\"kept\":0,"
             "\"unaccounted\":2,\"tolerance\":0.025974,\"unit\":\"gal\",\"accounted\":false,"
             "\"totalizer_before\":12.5,\"totalizer_after\":null,\"tank\":\"1\"}]",
             true);
    job->day = kept;
}

static void a_prepare_check_ages(void **state) {
    struct bench *bench = *state;
    struct gate_job *job = job_open(bench);
    struct gate_signature signature = {
        .check = "barricade", .by = "t-1", .at = now, .group = MODEL_GROUP_PREPARE, .pass = true};
    job->signatures = &signature;
    job->signature_count = 1;
    job_says(bench, job, (struct gate_time){now.wall + 60000, now.mono + 60000},
             "\"pass\":true,\"void\":false", true);
    job_says(bench, job, (struct gate_time){now.wall + 60001, now.mono + 60001},
             "\"pass\":true,\"void\":true", true);
    job->signatures = NULL;
    job->signature_count = 0;
}

static void an_offer_lapses(void **state) {
    struct bench *bench = *state;
    struct gate_job *job = job_open(bench);
    snprintf(job->offered, sizeof job->offered, "t-2");
    job->offered_at = now;
    job_says(bench, job, (struct gate_time){0, now.mono + GATE_OFFER_MS - 1}, "\"offered\":\"t-2\"",
             true);
    job_says(bench, job, (struct gate_time){0, now.mono + GATE_OFFER_MS}, "\"offered\":null", true);
}

// Signed by hardware: by nobody, and yet at some time.
static void a_measure_signs_in_nobodys_name(void **state) {
    struct bench *bench = *state;
    struct gate_job *job = job_open(bench);
    struct gate_signature signature = {.check = "no-voltage",
                                       .at = {WALL, 1},
                                       .group = MODEL_GROUP_VERIFY,
                                       .pass = true,
                                       .has_value = true,
                                       .value = 0.25,
                                       .unit = "V"};
    job->signatures = &signature;
    job->signature_count = 1;
    job_says(bench, job, now,
             "{\"check\":\"no-voltage\",\"group\":\"verify\",\"by\":null,"
             "\"at\":\"2026-11-25T16:37:14.123Z\",\"value\":0.25,\"unit\":\"V\","
             "\"instrument\":null,\"pass\":true,\"void\":false,\"until\":null}",
             true);
    job->signatures = NULL;
    job->signature_count = 0;
}

static void a_borderline_run_has_no_verdict(void **state) {
    struct bench *bench = *state;
    struct gate_job *job = job_open(bench);
    struct gate_test_record record = {.test = "leak",
                                      .by = "t-1",
                                      .at = {WALL, 1},
                                      .has_value = true,
                                      .value = 0.955,
                                      .run = 2,
                                      .runs = 3,
                                      .reading = 0.96,
                                      .waits = true};
    job->tests = &record;
    job->test_count = 1;
    job_says(bench, job, now,
             "\"value\":0.955,\"pass\":null,\"void\":false,\"until\":null,"
             "\"runs\":{\"run\":2,\"of\":3,\"reading\":0.96}}",
             true);
    job->tests = NULL;
    job->test_count = 0;
}

static void a_job_of_nobody(void **state) {
    struct bench *bench = *state;
    struct gate_job *job = job_open(bench);
    job->leader[0] = '\0';
    job_says(bench, job, now, "\"technician\":null", true);
}

static void owed_tests_are_listed(void **state) {
    struct bench *bench = *state;
    struct gate_job *job = job_open(bench);
    const char *part = "{\"test\":\"shutoff\",\"by\":null,\"at\":null,\"value\":null,\"pass\":null,"
                       "\"void\":false,\"until\":null}]";
    job_says(bench, job, now, part, false);
    bench->site->positions[0].owed = model_requirements_copy(&owed);
    assert_non_null(bench->site->positions[0].owed);
    job_says(bench, job, now, part, true);
}

// `missing` is what the gate says of its next gate, one by one.
static void expect_missing(struct bench *bench, const struct gate_job *job, bool ages,
                           struct gate_time at) {
    struct gate_list list = {.unmet_only = true};
    struct json_out expected = {0};
    gate_next(bench->gate, 0, job, at, &list);
    assert_true(list.count > 0);
    json_out_array(&expected);
    for (size_t i = 0; i < list.count; i++) {
        assert_false(list.items[i].met);
        wire_fact_write_refusal(&expected, &list.items[i].refusal, ages);
    }
    json_out_array_end(&expected);
    json_out_reset(&bench->out);
    assert_true(wire_job(&bench->out, bench->gate, 0, job, ages, at));
    const char *missing = strstr(bench->out.data, "\"missing\":");
    assert_non_null(missing);
    assert_memory_equal(missing + 10, expected.data, expected.length);
    assert_string_equal(missing + 10 + expected.length, "}");
    json_out_free(&expected);
    gate_list_free(&list);
}

static void what_is_missing_is_what_the_gate_lacks(void **state) {
    struct bench *bench = *state;
    const struct gate_reading reading = {.readable = true, .good = true, .state = MODEL_POINT_LIVE};
    struct gate_job *job = job_open(bench);
    gate_hear(bench->gate, 0, 0, &reading, now);
    expect_missing(bench, job, false, now);
    assert_non_null(strstr(bench->out.data, "\"code\":\"point-live\",\"subject\":\"3-power\""));
    assert_non_null(
        strstr(bench->out.data, "\"code\":\"check-missing\",\"subject\":\"barricade\""));
    expect_missing(bench, job, true, now);
}

static void age_is_no_reason_to_publish(void **state) {
    struct bench *bench = *state;
    const struct gate_reading reading = {.readable = true, .good = true, .state = MODEL_POINT_LIVE};
    const struct gate_time later = {now.wall + 4000, now.mono + 4000};
    struct gate_job *job = job_open(bench);
    gate_hear(bench->gate, 0, 0, &reading, now);
    assert_true(wire_job(&bench->out, bench->gate, 0, job, false, now));
    char *text = strdup(bench->out.data);
    json_out_reset(&bench->out);
    assert_true(wire_job(&bench->out, bench->gate, 0, job, false, later));
    assert_string_equal(bench->out.data, text);
    free(text);
}

// --- Memory ---

static void memory_that_fails_is_said(void **state) {
    struct bench *bench = *state;
    struct gate_job *job = job_open(bench);
    assert_true(wire_job(&bench->out, bench->gate, 0, job, false, now));
    char *whole = strdup(bench->out.data);
    bool good = false;
    long failures = 0;
    for (; !good; failures += !good) {
        uint64_t hash;
        json_out_free(&bench->out);
        failing_memory_left = failures;
        good = wire_job(&bench->out, bench->gate, 0, job, false, now);
        failing_memory_left = -1;
        assert_true(good || failures < 1000);
        assert_true(!good || strcmp(bench->out.data, whole) == 0);
        struct json_out point = {0};
        failing_memory_left = 0;
        assert_false(wire_point(&point, bench->gate, 0, POWER, now, &hash));
        failing_memory_left = -1;
    }
    assert_true(failures >= 3);
    free(whole);
}

int main(void) {
#define TEST(name) cmocka_unit_test_setup_teardown(name, bench_new, bench_end)
    const struct CMUnitTest all[] = {
        TEST(what_is_out_of_order_is_said_of_its_job),
        TEST(an_ended_job_with_all_that_was_signed),
        TEST(a_job_says_what_its_day_brought),
        TEST(a_prepare_check_ages),
        TEST(an_offer_lapses),
        TEST(a_measure_signs_in_nobodys_name),
        TEST(a_borderline_run_has_no_verdict),
        TEST(a_job_of_nobody),
        TEST(owed_tests_are_listed),
        TEST(what_is_missing_is_what_the_gate_lacks),
        TEST(age_is_no_reason_to_publish),
        TEST(memory_that_fails_is_said),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
