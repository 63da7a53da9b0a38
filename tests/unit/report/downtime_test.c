// Downtime from facts.
#include "report/downtime.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <string.h>

#define T0 1795624634000 // 2026-11-25T16:37:14.000Z

static bool take(struct report_downtime *downtime, const char *type, int64_t at,
                 const char *subject, const char *data, size_t length) {
    const struct report_row row = {
        .type = type, .at_ms = at, .subject = subject, .data = data, .data_length = length};
    return report_downtime_take(downtime, &row);
}

static struct model_position positions[2] = {{.position = "3A"}, {.position = "3B"}};
static const struct model_site site = {
    .site = "juniper", .positions = positions, .position_count = 2};

struct fact {
    const char *type;
    int64_t at; // ms after T0
    const char *subject, *data;
};

static const struct fact history[] = {
    {"position.returned", 1000, "3A", "{\"position\":\"3A\"}"},
    {"position.returned", 2000, "3B", "{\"position\":\"3B\"}"},
    {"job.opened", 5000, "3A", "{\"job\":\"J-1\"}"},
    {"position.out-of-service", 5000, "3A", "{\"job\":\"J-1\",\"cause\":\"job\"}"},
    {"position.out-of-service", 6000, "3B",
     "{\"job\":null,\"with\":\"J-1\",\"cause\":\"isolated-with\"}"},
    {"position.out-of-service", 6500, "9Z", "{\"cause\":\"job\"}"},
    {"position.returned", 8000, "3B", "{}"},
    {"position.returned", 9500, "3A", "{}"},
};

static void read_history(struct report_downtime *downtime, int64_t from, int64_t to) {
    *downtime = (struct report_downtime){.site = &site, .from = T0 + from, .to = T0 + to};
    assert_true(report_downtime_begin(downtime, T0));
    bool goes_on = true;
    for (size_t i = 0; goes_on && i < sizeof history / sizeof history[0]; i++) {
        goes_on = take(downtime, history[i].type, T0 + history[i].at, history[i].subject,
                       history[i].data, strlen(history[i].data));
    }
    assert_false(downtime->failed);
    report_downtime_end(downtime);
}

static void expect(const struct report_downtime *downtime, size_t index, uint32_t position,
                   int64_t from, int64_t to, enum model_cause cause, const char *job,
                   bool ongoing) {
    const struct report_interval *interval = &downtime->intervals[index];
    assert_int_equal(interval->position, position);
    assert_int_equal(interval->from - T0, from);
    assert_int_equal(interval->to - T0, to);
    assert_int_equal(interval->cause, cause);
    assert_string_equal(interval->job, job);
    assert_int_equal(interval->ongoing, ongoing);
}

static void the_whole(void **state) {
    (void)state;
    struct report_downtime downtime;
    read_history(&downtime, -5000, 20000);
    assert_int_equal(downtime.count, 4);
    expect(&downtime, 0, 0, 0, 1000, MODEL_CAUSE_UNKNOWN, "", false);
    expect(&downtime, 1, 0, 5000, 9500, MODEL_CAUSE_JOB, "J-1", false);
    expect(&downtime, 2, 1, 0, 2000, MODEL_CAUSE_UNKNOWN, "", false);
    expect(&downtime, 3, 1, 6000, 8000, MODEL_CAUSE_ISOLATED_WITH, "J-1", false);
    report_downtime_free(&downtime);
}

// What began before the period counts from its beginning, what ends behind it is ongoing.
static void cut_to_a_period(void **state) {
    (void)state;
    struct report_downtime downtime;
    read_history(&downtime, 6200, 7000);
    assert_int_equal(downtime.count, 2);
    expect(&downtime, 0, 0, 6200, 7000, MODEL_CAUSE_JOB, "J-1", true);
    expect(&downtime, 1, 1, 6200, 7000, MODEL_CAUSE_ISOLATED_WITH, "J-1", true);
    report_downtime_free(&downtime);
    read_history(&downtime, 3000, 4000);
    assert_int_equal(downtime.count, 0);
    report_downtime_free(&downtime);
    // A period that begins as the position comes back has nothing of it.
    read_history(&downtime, 8000, 9000);
    assert_int_equal(downtime.count, 1);
    expect(&downtime, 0, 0, 8000, 9000, MODEL_CAUSE_JOB, "J-1", true);
    report_downtime_free(&downtime);
}

// Never told to be back: out since the journal was made.
static void without_any_fact(void **state) {
    (void)state;
    struct report_downtime downtime = {.site = &site, .from = T0 - 1000, .to = T0 + 1000};
    assert_true(report_downtime_begin(&downtime, T0));
    report_downtime_end(&downtime);
    assert_int_equal(downtime.count, 2);
    expect(&downtime, 0, 0, 0, 1000, MODEL_CAUSE_UNKNOWN, "", true);
    report_downtime_free(&downtime);
}

static void a_fact_that_cannot_be_read(void **state) {
    (void)state;
    struct report_downtime downtime = {.site = &site, .from = T0, .to = T0 + 1000};
    assert_true(report_downtime_begin(&downtime, T0));
    assert_false(take(&downtime, "position.out-of-service", T0 + 1, "3A", "{", 1));
    assert_true(downtime.failed);
    report_downtime_free(&downtime);
}

static void told(void **state) {
    (void)state;
    struct report_downtime downtime;
    struct json_out out = {0};
    read_history(&downtime, 6000, 9000);
    report_downtime_csv(&downtime, &out);
    assert_string_equal(
        out.data, "position,from,to,seconds,ongoing,cause,job\r\n"
                  "3A,2026-11-25T16:37:20.000Z,2026-11-25T16:37:23.000Z,3.000,true,job,J-1\r\n"
                  "3B,2026-11-25T16:37:20.000Z,2026-11-25T16:37:22.000Z,2.000,false,isolated-with,"
                  "J-1\r\n");
    json_out_reset(&out);
    report_downtime_json(&downtime, &out);
    assert_string_equal(
        out.data,
        "{\"site\":\"juniper\",\"from\":\"2026-11-25T16:37:20.000Z\","
        "\"to\":\"2026-11-25T16:37:23.000Z\",\"positions\":["
        "{\"position\":\"3A\",\"out_s\":3,\"intervals\":[{\"from\":\"2026-11-25T16:37:20.000Z\","
        "\"to\":\"2026-11-25T16:37:23.000Z\",\"ongoing\":true,\"seconds\":3,\"cause\":\"job\","
        "\"job\":\"J-1\"}]},"
        "{\"position\":\"3B\",\"out_s\":2,\"intervals\":[{\"from\":\"2026-11-25T16:37:20.000Z\","
        "\"to\":\"2026-11-25T16:37:22.000Z\",\"ongoing\":false,\"seconds\":2,"
        "\"cause\":\"isolated-with\",\"job\":\"J-1\"}]}],"
        "\"out_s\":5,\"by_cause\":{\"job\":3,\"isolated-with\":2,\"work-beside\":0,\"isolated\":0,"
        "\"untested\":0,"
        "\"unknown\":0},\"repairs\":{\"count\":0,\"mean_s\":null,\"longest_s\":null}}");
    json_out_free(&out);
    report_downtime_free(&downtime);
}

// Only a job that ended in a return, within the period, from its opening however long ago.
static void repairs(void **state) {
    static const struct fact jobs[] = {
        {"job.opened", 1000, "3A", "{}"},    {"job.opened", 2000, "3B", "{}"},
        {"job.cancelled", 3000, "3B", "{}"}, {"job.returned", 5000, "3A", "{}"},
        {"job.opened", 5000, "3B", "{}"},    {"job.returned", 15000, "3B", "{}"},
        {"job.opened", 16000, "3A", "{}"},
    };
    struct report_downtime downtime = {.site = &site, .from = T0 + 4000, .to = T0 + 20000};
    struct json_out out = {0};
    (void)state;
    assert_true(report_downtime_begin(&downtime, T0));
    for (size_t i = 0; i < sizeof jobs / sizeof jobs[0]; i++) {
        assert_true(take(&downtime, jobs[i].type, T0 + jobs[i].at, jobs[i].subject, jobs[i].data,
                         strlen(jobs[i].data)));
    }
    report_downtime_end(&downtime);
    assert_int_equal(downtime.repairs.count, 2);
    assert_int_equal(downtime.repairs.total, 14000);
    assert_int_equal(downtime.repairs.longest, 10000);
    report_downtime_json(&downtime, &out);
    assert_non_null(strstr(out.data, "\"repairs\":{\"count\":2,\"mean_s\":7,\"longest_s\":10}"));
    json_out_free(&out);
    report_downtime_free(&downtime);
    // The first of them ended before this period, the other behind it.
    downtime = (struct report_downtime){.site = &site, .from = T0 + 6000, .to = T0 + 14000};
    assert_true(report_downtime_begin(&downtime, T0));
    for (size_t i = 0; i < 5; i++) {
        take(&downtime, jobs[i].type, T0 + jobs[i].at, jobs[i].subject, jobs[i].data,
             strlen(jobs[i].data));
    }
    assert_int_equal(downtime.repairs.count, 0);
    report_downtime_free(&downtime);
}

// More intervals than an answer holds are an error, not a smaller truth.
static void too_many(void **state) {
    struct report_downtime downtime = {.site = &site, .from = T0, .to = T0 + 1000000};
    (void)state;
    assert_true(report_downtime_begin(&downtime, T0));
    for (int i = 1; i < 2 * REPORT_INTERVALS_MOST; i += 2) {
        assert_true(take(&downtime, "position.returned", T0 + i, "3A", "{}", 2));
        assert_true(take(&downtime, "position.out-of-service", T0 + i + 1, "3A",
                         "{\"cause\":\"job\"}", 15));
    }
    assert_false(take(&downtime, "position.returned", T0 + 500000, "3A", "{}", 2));
    assert_true(downtime.too_many && downtime.failed);
    report_downtime_free(&downtime);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(the_whole),
                                       cmocka_unit_test(cut_to_a_period),
                                       cmocka_unit_test(without_any_fact),
                                       cmocka_unit_test(a_fact_that_cannot_be_read),
                                       cmocka_unit_test(told),
                                       cmocka_unit_test(repairs),
                                       cmocka_unit_test(too_many)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
