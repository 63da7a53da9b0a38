// Timelines from facts.
#include "report/timeline.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <string.h>

#define T0 1795624634000 // 2026-11-25T16:37:14.000Z

static bool take(struct report_timeline *timeline, const char *type, int64_t at,
                 const char *subject, const char *data, size_t length) {
    const struct report_row row = {
        .type = type, .at_ms = at, .subject = subject, .data = data, .data_length = length};
    return report_timeline_take(timeline, &row);
}

static struct model_position positions[2] = {{.position = "3A"}, {.position = "3B"}};
static const struct model_site site = {
    .site = "juniper", .positions = positions, .position_count = 2};

struct fact {
    const char *type;
    int64_t at; // ms after T0
    const char *subject, *data;
};

// A repair with a break, a test that was stopped and done again, and the neighbor held out by it.
static const struct fact repair[] = {
    {"position.returned", 1000, "3A", "{}"},
    {"position.returned", 1000, "3B", "{}"},
    {"job.opened", 5000, "3A", "{\"job\":\"J-1\"}"},
    {"position.out-of-service", 5000, "3A", "{\"job\":\"J-1\",\"cause\":\"job\"}"},
    {"position.out-of-service", 6000, "3B",
     "{\"job\":null,\"with\":\"J-1\",\"cause\":\"isolated-with\"}"},
    {"check.signed", 6500, "3A", "{\"job\":\"J-1\"}"},
    {"work.started", 7000, "3A", "{\"job\":\"J-1\"}"},
    {"work.stopped", 8000, "3A", "{\"job\":\"J-1\",\"phase\":\"stopped\"}"},
    {"work.started", 9000, "3A", "{\"job\":\"J-1\"}"},
    {"work.finished", 10000, "3A", "{\"job\":\"J-1\"}"},
    {"position.returned", 11000, "3B", "{}"},
    {"test.begun", 12000, "3A", "{\"job\":\"J-1\"}"},
    {"work.stopped", 13000, "3A", "{\"job\":\"J-1\",\"phase\":\"restoring\"}"},
    {"test.begun", 14000, "3A", "{\"job\":\"J-1\"}"},
    {"job.returned", 15000, "3A", "{\"job\":\"J-1\"}"},
    {"position.returned", 15000, "3A", "{}"},
};

static void take_all(struct report_timeline *timeline, const struct fact *facts, size_t count) {
    bool goes_on = true;
    assert_true(report_timeline_begin(timeline, T0));
    for (size_t i = 0; goes_on && i < count; i++) {
        goes_on = take(timeline, facts[i].type, T0 + facts[i].at, facts[i].subject, facts[i].data,
                       strlen(facts[i].data));
    }
    assert_false(timeline->failed);
    report_timeline_end(timeline);
}

#define TAKE(timeline, facts) take_all(timeline, facts, sizeof(facts) / sizeof(facts)[0])

// Spans as "3A 0-1000 out unknown; …", a job and "ongoing" behind them.
static void expect(struct report_timeline *timeline, const char *expected) {
    static char text[4096];
    size_t used = 0;
    for (size_t i = 0; i < timeline->count; i++) {
        const struct report_span *span = &timeline->spans[i];
        const char *cause = model_cause_name(span->view.cause);
        used += (size_t)snprintf(text + used, sizeof text - used, "%s%s %lld-%lld %s%s%s%s%s%s",
                                 i > 0 ? "; " : "", positions[span->position].position,
                                 (long long)(span->from - T0), (long long)(span->to - T0),
                                 report_span_state_name(span->view.state), cause != NULL ? " " : "",
                                 cause != NULL ? cause : "", span->view.job[0] != '\0' ? " " : "",
                                 span->view.job, span->ongoing ? " ongoing" : "");
    }
    text[used] = '\0';
    assert_string_equal(text, expected);
    report_timeline_free(timeline);
}

static void a_repair(void **state) {
    struct report_timeline timeline = {.site = &site, .from = T0 - 2000, .to = T0 + 20000};
    (void)state;
    TAKE(&timeline, repair);
    expect(&timeline, "3A -2000-0 unknown; 3A 0-1000 out unknown; 3A 1000-5000 in-service; "
                      "3A 5000-7000 out job J-1; 3A 7000-8000 working job J-1; "
                      "3A 8000-9000 stopped job J-1; 3A 9000-10000 working job J-1; "
                      "3A 10000-12000 out job J-1; 3A 12000-13000 testing job J-1; "
                      "3A 13000-14000 out job J-1; 3A 14000-15000 testing job J-1; "
                      "3A 15000-20000 in-service ongoing; "
                      "3B -2000-0 unknown; 3B 0-1000 out unknown; 3B 1000-6000 in-service; "
                      "3B 6000-11000 out isolated-with J-1; 3B 11000-20000 in-service ongoing");
}

// Spans are cut to the period and leave no gap in it.
static void cut_to_a_period(void **state) {
    struct report_timeline timeline = {.site = &site, .from = T0 + 7500, .to = T0 + 9500};
    (void)state;
    TAKE(&timeline, repair);
    expect(&timeline, "3A 7500-8000 working job J-1; 3A 8000-9000 stopped job J-1; "
                      "3A 9000-9500 working job J-1 ongoing; "
                      "3B 7500-9500 out isolated-with J-1 ongoing");
}

static void before_the_journal(void **state) {
    struct report_timeline timeline = {.site = &site, .from = T0 - 2000, .to = T0 - 1000};
    (void)state;
    TAKE(&timeline, repair);
    expect(&timeline, "3A -2000--1000 unknown ongoing; 3B -2000--1000 unknown ongoing");
}

// Cancelled after work was started: untested until it is back, also through a job that is cancelled
// before any work. A job that never worked leaves what no fact names.
static void cancelled(void **state) {
    static const struct fact facts[] = {
        {"position.returned", 1, "3A", "{}"},
        {"position.returned", 1, "3B", "{}"},
        {"job.opened", 10, "3A", "{\"job\":\"J-1\"}"},
        {"position.out-of-service", 10, "3A", "{\"job\":\"J-1\",\"cause\":\"job\"}"},
        {"work.started", 20, "3A", "{}"},
        {"work.set-aside", 30, "3A", "{}"},
        {"job.cancelled", 40, "3A", "{}"},
        {"job.opened", 50, "3A", "{\"job\":\"J-2\"}"},
        {"job.cancelled", 60, "3A", "{}"},
        {"job.opened", 70, "3B", "{\"job\":\"J-3\"}"},
        {"position.out-of-service", 70, "3B", "{\"job\":\"J-3\",\"cause\":\"job\"}"},
        {"job.cancelled", 80, "3B", "{}"},
        {"position.returned", 90, "3B", "{}"},
    };
    struct report_timeline timeline = {.site = &site, .from = T0 + 5, .to = T0 + 100};
    (void)state;
    TAKE(&timeline, facts);
    expect(&timeline, "3A 5-10 in-service; 3A 10-20 out job J-1; 3A 20-30 working job J-1; "
                      "3A 30-40 out job J-1; 3A 40-50 out untested; 3A 50-60 out job J-2; "
                      "3A 60-100 out untested ongoing; "
                      "3B 5-70 in-service; 3B 70-80 out job J-3; 3B 80-90 out unknown; "
                      "3B 90-100 in-service ongoing");
}

// What lasted for no time leaves no seam, and a clock that was set back takes nothing back.
static void seams_and_clocks(void **state) {
    static const struct fact facts[] = {
        {"position.returned", 10, "3A", "{}"},
        {"position.out-of-service", 20, "3A", "{\"cause\":\"isolated\"}"},
        {"position.returned", 20, "3A", "{}"},
        {"position.out-of-service", 50, "3A", "{\"cause\":\"isolated\"}"},
        {"position.returned", 40, "3A", "{}"},
        {"position.returned", 45, "3B", "{}"},
    };
    struct report_timeline timeline = {.site = &site, .from = T0, .to = T0 + 100};
    (void)state;
    TAKE(&timeline, facts);
    expect(&timeline, "3A 0-10 out unknown; 3A 10-100 in-service ongoing; "
                      "3B 0-50 out unknown; 3B 50-100 in-service ongoing");
}

// Facts of what is not configured any more, and of no position, are passed over.
static void others(void **state) {
    static const struct fact facts[] = {
        {"position.returned", 10, "9Z", "{}"},
        {"point.changed", 10, "", "{}"},
        {"something.new", 10, "3A", "{}"},
    };
    struct report_timeline timeline = {.site = &site, .from = T0, .to = T0 + 100};
    (void)state;
    TAKE(&timeline, facts);
    expect(&timeline, "3A 0-100 out unknown ongoing; 3B 0-100 out unknown ongoing");
}

static void a_fact_that_cannot_be_read(void **state) {
    static const char *const types[] = {"position.out-of-service", "job.opened", "work.stopped"};
    (void)state;
    for (size_t i = 0; i < 3; i++) {
        struct report_timeline timeline = {.site = &site, .from = T0, .to = T0 + 1000};
        assert_true(report_timeline_begin(&timeline, T0));
        assert_false(take(&timeline, types[i], T0 + 1, "3A", "{", 1));
        assert_true(timeline.failed);
        report_timeline_free(&timeline);
    }
}

static void too_many(void **state) {
    struct report_timeline timeline = {.site = &site, .from = T0, .to = T0 + 1000000};
    bool goes_on = true;
    int i = 1;
    (void)state;
    assert_true(report_timeline_begin(&timeline, T0));
    for (; goes_on && i < 1000000; i++) {
        goes_on = take(&timeline, i % 2 == 1 ? "position.returned" : "position.out-of-service",
                       T0 + i, "3A", "{}", 2);
    }
    assert_int_equal(i, REPORT_SPANS_MOST + 2);
    assert_true(timeline.too_many && timeline.failed);
    report_timeline_free(&timeline);
}

static void told(void **state) {
    struct report_timeline timeline = {.site = &site, .from = T0 + 4000, .to = T0 + 6000};
    struct json_out out = {0};
    (void)state;
    TAKE(&timeline, repair);
    report_timeline_csv(&timeline, &out);
    assert_string_equal(
        out.data,
        "position,from,to,seconds,ongoing,state,job,cause\r\n"
        "3A,2026-11-25T16:37:18.000Z,2026-11-25T16:37:19.000Z,1.000,false,in-service,,\r\n"
        "3A,2026-11-25T16:37:19.000Z,2026-11-25T16:37:20.000Z,1.000,true,out,J-1,job\r\n"
        "3B,2026-11-25T16:37:18.000Z,2026-11-25T16:37:20.000Z,2.000,true,in-service,,\r\n");
    json_out_reset(&out);
    report_timeline_json(&timeline, &out);
    assert_string_equal(
        out.data,
        "{\"site\":\"juniper\",\"from\":\"2026-11-25T16:37:18.000Z\","
        "\"to\":\"2026-11-25T16:37:20.000Z\",\"positions\":[{\"position\":\"3A\",\"spans\":["
        "{\"from\":\"2026-11-25T16:37:18.000Z\",\"to\":\"2026-11-25T16:37:19.000Z\","
        "\"ongoing\":false,\"state\":\"in-service\",\"job\":null,\"cause\":null},"
        "{\"from\":\"2026-11-25T16:37:19.000Z\",\"to\":\"2026-11-25T16:37:20.000Z\","
        "\"ongoing\":true,\"state\":\"out\",\"job\":\"J-1\",\"cause\":\"job\"}]},"
        "{\"position\":\"3B\",\"spans\":[{\"from\":\"2026-11-25T16:37:18.000Z\","
        "\"to\":\"2026-11-25T16:37:20.000Z\",\"ongoing\":true,\"state\":\"in-service\","
        "\"job\":null,\"cause\":null}]}]}");
    json_out_free(&out);
    report_timeline_free(&timeline);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(a_repair),
                                       cmocka_unit_test(cut_to_a_period),
                                       cmocka_unit_test(before_the_journal),
                                       cmocka_unit_test(cancelled),
                                       cmocka_unit_test(seams_and_clocks),
                                       cmocka_unit_test(others),
                                       cmocka_unit_test(a_fact_that_cannot_be_read),
                                       cmocka_unit_test(too_many),
                                       cmocka_unit_test(told)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
