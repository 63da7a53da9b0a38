// The differ: what each sink is given, and that a change is rendered once for both.
#include "scene.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "failing_memory.h"
#include "wire/tell_differ.h"

// What was given, in order: "alarm/A-1 position/3A -job/J-1 " (- stands before what is gone).
struct sheet {
    char text[1024];
    char last[2048]; // the last document
    bool refuses;
};

static bool take(void *user, const struct wire_change *change) {
    struct sheet *sheet = user;
    size_t used = strlen(sheet->text);
    assert_true((change->hash == 0) == (change->text == NULL));
    snprintf(sheet->text + used, sizeof sheet->text - used, "%s%s/%s ",
             change->text == NULL ? "-" : "", wire_kind_name(change->of.kind), change->of.id);
    snprintf(sheet->last, sizeof sheet->last, "%.*s", (int)change->length,
             change->text != NULL ? change->text : "");
    return !sheet->refuses;
}

static const char *given(struct wire_differ *differ, struct bench *bench, enum wire_sink sink) {
    static struct sheet sheet;
    sheet = (struct sheet){0};
    wire_differ_give(differ, sink, bench->gate, 0, now, take, &sheet);
    return sheet.text;
}

static const char *since(struct wire_differ *differ, struct bench *bench, uint64_t version) {
    static struct sheet sheet;
    sheet = (struct sheet){0};
    assert_true(wire_differ_give_since(differ, bench->gate, 0, version, now, take, &sheet));
    return sheet.text;
}

static void changed(struct bench *bench) {
    bench->site->changes++;
}

static struct gate_alarm *alarm_raise(struct bench *bench, const char *id) {
    struct gate_site *site = bench->site;
    site->alarms = realloc(site->alarms, (site->alarm_count + 1) * sizeof *site->alarms);
    struct gate_alarm *alarm = &site->alarms[site->alarm_count++];
    *alarm = (struct gate_alarm){.kind = MODEL_ALARM_LOCKOUT_BROKEN, .position = MODEL_NONE};
    snprintf(alarm->alarm, sizeof alarm->alarm, "%s", id);
    changed(bench);
    return alarm;
}

static void alarm_end(struct bench *bench) {
    bench->site->alarm_count--;
    changed(bench);
}

static void all_is_given_once_in_order(void **state) {
    struct bench *bench = *state;
    struct wire_differ *differ = wire_differ_new(&model);
    job_open(bench);
    alarm_raise(bench, "A-1");
    assert_false(wire_differ_is_complete(differ, TELL_BROKER, 0));
    assert_string_equal(given(differ, bench, TELL_BROKER),
                        "alarm/A-1 job/J-1 point/3-power point/3A-line position/3A ");
    assert_true(wire_differ_is_complete(differ, TELL_BROKER, 0));
    assert_true(wire_differ_is_current(differ, TELL_BROKER, bench->gate, 0));
    assert_string_equal(given(differ, bench, TELL_BROKER), "");
    changed(bench);
    assert_false(wire_differ_is_current(differ, TELL_BROKER, bench->gate, 0));
    assert_string_equal(given(differ, bench, TELL_BROKER), "");
    bench->site->points[POWER].trust = MODEL_TRUST_STALE;
    changed(bench);
    assert_string_equal(given(differ, bench, TELL_BROKER), "point/3-power ");
    wire_differ_free(differ);
}

static void what_is_gone_is_given_as_gone(void **state) {
    struct bench *bench = *state;
    struct wire_differ *differ = wire_differ_new(&model);
    alarm_raise(bench, "A-1");
    given(differ, bench, TELL_BROKER);
    alarm_end(bench);
    assert_string_equal(given(differ, bench, TELL_BROKER), "-alarm/A-1 ");
    assert_string_equal(given(differ, bench, TELL_BROKER), "");
    alarm_raise(bench, "A-1");
    assert_string_equal(given(differ, bench, TELL_BROKER), "alarm/A-1 ");
    wire_differ_free(differ);
}

// The gate's count says that nothing has changed: a look at the state would be wasted.
static void a_site_without_a_change_is_not_rendered(void **state) {
    struct bench *bench = *state;
    struct wire_differ *differ = wire_differ_new(&model);
    given(differ, bench, TELL_BROKER);
    bench->site->points[POWER].trust = MODEL_TRUST_STALE; // and no count says so
    assert_string_equal(given(differ, bench, TELL_BROKER), "");
    wire_differ_reset(differ); // another gate, whose counts may be the same
    assert_string_equal(given(differ, bench, TELL_BROKER), "point/3-power ");
    bench->gate->journal_up = !bench->gate->journal_up; // refusals speak of it
    bench->site->points[POWER].trust = MODEL_TRUST_BAD_QUALITY;
    assert_string_equal(given(differ, bench, TELL_BROKER), "point/3-power ");
    wire_differ_free(differ);
}

static void what_a_sink_does_not_take_is_given_again(void **state) {
    struct bench *bench = *state;
    struct wire_differ *differ = wire_differ_new(&model);
    struct sheet sheet = {.refuses = true};
    assert_false(wire_differ_give(differ, TELL_BROKER, bench->gate, 0, now, take, &sheet));
    assert_string_equal(sheet.text, "point/3-power point/3A-line position/3A ");
    assert_false(wire_differ_is_complete(differ, TELL_BROKER, 0));
    assert_string_equal(given(differ, bench, TELL_BROKER),
                        "point/3-power point/3A-line position/3A ");
    wire_differ_free(differ);
}

static void what_may_be_lost_is_given_again(void **state) {
    struct bench *bench = *state;
    struct wire_differ *differ = wire_differ_new(&model);
    const struct wire_document line = {.kind = TELL_POINT, .index = LINE, .id = "3A-line"};
    alarm_raise(bench, "A-1");
    given(differ, bench, TELL_BROKER);
    uint64_t hash = wire_differ_given(differ, &line);
    assert_true(hash > 1);
    wire_differ_lost(differ, &line);
    assert_true(wire_differ_given(differ, &line) != hash);
    assert_false(wire_differ_is_current(differ, TELL_BROKER, bench->gate, 0));
    assert_string_equal(given(differ, bench, TELL_BROKER), "point/3A-line ");
    assert_true(wire_differ_given(differ, &line) == hash);
    wire_differ_lost_all(differ);
    alarm_end(bench); // the broker may still have it
    assert_string_equal(given(differ, bench, TELL_BROKER),
                        "-alarm/A-1 point/3-power point/3A-line position/3A ");
    wire_differ_free(differ);
}

static void one_is_given_at_once_and_not_again(void **state) {
    struct bench *bench = *state;
    struct wire_differ *differ = wire_differ_new(&model);
    struct sheet sheet = {0};
    assert_true(wire_differ_watch(differ, bench->gate, 0, now));
    given(differ, bench, TELL_BROKER);
    const struct gate_alarm *alarm = alarm_raise(bench, "A-1");
    assert_true(
        wire_differ_give_one(differ, TELL_BROKER, bench->gate, 0, alarm, NULL, now, take, &sheet));
    assert_string_equal(sheet.text, "alarm/A-1 ");
    assert_string_equal(given(differ, bench, TELL_BROKER), "");
    assert_string_equal(given(differ, bench, TELL_STREAMS), "alarm/A-1 ");
    wire_differ_free(differ);
}

// --- Streams ---

static void what_there_is_when_a_stream_begins_counts_as_given(void **state) {
    struct bench *bench = *state;
    struct wire_differ *differ = wire_differ_new(&model);
    job_open(bench);
    assert_true(wire_differ_watch(differ, bench->gate, 0, now));
    assert_string_equal(given(differ, bench, TELL_STREAMS), "");
    assert_int_equal(wire_differ_version(differ, 0), 0);
    // The broker is another sink.
    assert_string_equal(given(differ, bench, TELL_BROKER),
                        "job/J-1 point/3-power point/3A-line position/3A ");
    wire_differ_free(differ);
}

static void a_stream_that_is_behind_is_given_what_changed_since(void **state) {
    struct bench *bench = *state;
    struct wire_differ *differ = wire_differ_new(&model);
    assert_true(wire_differ_watch(differ, bench->gate, 0, now));
    alarm_raise(bench, "A-1");
    assert_string_equal(given(differ, bench, TELL_STREAMS), "alarm/A-1 ");
    assert_int_equal(wire_differ_version(differ, 0), 1);
    bench->site->points[POWER].trust = MODEL_TRUST_STALE;
    changed(bench);
    assert_string_equal(given(differ, bench, TELL_STREAMS), "point/3-power ");
    assert_int_equal(wire_differ_version(differ, 0), 2);
    assert_string_equal(since(differ, bench, 0), "alarm/A-1 point/3-power ");
    assert_string_equal(since(differ, bench, 1), "point/3-power ");
    assert_string_equal(since(differ, bench, 2), "");
    alarm_end(bench);
    assert_string_equal(given(differ, bench, TELL_STREAMS), "-alarm/A-1 ");
    assert_string_equal(since(differ, bench, 2), "-alarm/A-1 ");
    wire_differ_all_know(differ, 0);
    assert_string_equal(since(differ, bench, 2), "");
    wire_differ_free(differ);
}

// Else an alarm that came and went behind everybody's back would be told as gone.
static void what_streams_never_had_is_not_given_as_gone(void **state) {
    struct bench *bench = *state;
    struct wire_differ *differ = wire_differ_new(&model);
    assert_true(wire_differ_watch(differ, bench->gate, 0, now));
    alarm_raise(bench, "A-1");
    given(differ, bench, TELL_BROKER);
    alarm_end(bench);
    assert_string_equal(given(differ, bench, TELL_STREAMS), "");
    assert_string_equal(given(differ, bench, TELL_BROKER), "-alarm/A-1 ");
    wire_differ_free(differ);
}

static void a_change_back_is_none(void **state) {
    struct bench *bench = *state;
    struct wire_differ *differ = wire_differ_new(&model);
    enum model_trust before = bench->site->points[POWER].trust;
    assert_true(wire_differ_watch(differ, bench->gate, 0, now));
    bench->site->points[POWER].trust = MODEL_TRUST_STALE;
    changed(bench);
    given(differ, bench, TELL_BROKER);
    bench->site->points[POWER].trust = before;
    changed(bench);
    assert_string_equal(given(differ, bench, TELL_STREAMS), "");
    wire_differ_free(differ);
}

// The second sink gets the text that was rendered for the first.
static void a_change_is_rendered_once(void **state) {
    struct bench *bench = *state;
    struct wire_differ *differ = wire_differ_new(&model);
    struct sheet first = {0}, second = {0};
    assert_true(wire_differ_watch(differ, bench->gate, 0, now));
    given(differ, bench, TELL_BROKER);
    bench->site->points[POWER].trust = MODEL_TRUST_STALE;
    changed(bench);
    wire_differ_give(differ, TELL_BROKER, bench->gate, 0, now, take, &first);
    bench->site->points[POWER].trust =
        MODEL_TRUST_BAD_QUALITY; // uncounted: rendered again, it would show
    wire_differ_give(differ, TELL_STREAMS, bench->gate, 0, now, take, &second);
    assert_string_equal(first.last, second.last);
    assert_true(strstr(second.last, "\"stale\"") != NULL);
    wire_differ_free(differ);
}

// Texts last until both sinks have had them, and no longer.
static void texts_are_kept_over_one_settling(void **state) {
    struct bench *bench = *state;
    struct wire_differ *differ = wire_differ_new(&model);
    struct sheet sheet = {0};
    assert_true(wire_differ_watch(differ, bench->gate, 0, now));
    given(differ, bench, TELL_BROKER);
    bench->site->points[POWER].trust = MODEL_TRUST_STALE;
    changed(bench);
    given(differ, bench, TELL_STREAMS);
    wire_differ_settle(differ);
    bench->site->points[POWER].trust = MODEL_TRUST_BAD_QUALITY; // uncounted
    wire_differ_give(differ, TELL_BROKER, bench->gate, 0, now, take, &sheet);
    assert_true(strstr(sheet.last, "\"stale\"") != NULL);
    wire_differ_settle(differ);
    sheet = (struct sheet){0};
    wire_differ_lost_all(differ);
    wire_differ_give(differ, TELL_BROKER, bench->gate, 0, now, take, &sheet);
    assert_string_equal(sheet.text, "point/3-power point/3A-line position/3A ");
    wire_differ_free(differ);
}

static void an_ended_job_is_rendered_once(void **state) {
    struct bench *bench = *state;
    struct wire_differ *differ = wire_differ_new(&model);
    struct gate_job *job = job_open(bench);
    given(differ, bench, TELL_BROKER);
    job->phase = MODEL_PHASE_CANCELLED;
    job->ended = now;
    changed(bench);
    assert_string_equal(given(differ, bench, TELL_BROKER), "job/J-1 position/3A ");
    job->rework = 7;
    changed(bench);
    assert_string_equal(given(differ, bench, TELL_BROKER), "");
    job->ended.mono = now.mono - GATE_KEEP_ENDED_MS - 1;
    changed(bench);
    assert_string_equal(given(differ, bench, TELL_BROKER), "-job/J-1 ");
    wire_differ_free(differ);
}

static void without_memory_it_is_given_later(void **state) {
    struct bench *bench = *state;
    job_open(bench);
    alarm_raise(bench, "A-1");
    for (long allocations = 0; allocations < 60; allocations++) {
        struct wire_differ *differ = NULL;
        struct sheet sheet = {0};
        failing_memory_left = allocations;
        differ = wire_differ_new(&model);
        bool watched = differ != NULL && wire_differ_watch(differ, bench->gate, 0, now);
        bool whole = differ != NULL &&
                     wire_differ_give(differ, TELL_BROKER, bench->gate, 0, now, take, &sheet);
        failing_memory_left = -1;
        if (differ != NULL && !whole) {
            const char *rest = given(differ, bench, TELL_BROKER);
            assert_true(strlen(rest) + strlen(sheet.text) ==
                        strlen("alarm/A-1 job/J-1 point/3-power point/3A-line position/3A "));
        }
        assert_true(!watched || wire_differ_version(differ, 0) == 0);
        wire_differ_free(differ);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(all_is_given_once_in_order, bench_new, bench_end),
        cmocka_unit_test_setup_teardown(what_is_gone_is_given_as_gone, bench_new, bench_end),
        cmocka_unit_test_setup_teardown(a_site_without_a_change_is_not_rendered, bench_new,
                                        bench_end),
        cmocka_unit_test_setup_teardown(what_a_sink_does_not_take_is_given_again, bench_new,
                                        bench_end),
        cmocka_unit_test_setup_teardown(what_may_be_lost_is_given_again, bench_new, bench_end),
        cmocka_unit_test_setup_teardown(one_is_given_at_once_and_not_again, bench_new, bench_end),
        cmocka_unit_test_setup_teardown(what_there_is_when_a_stream_begins_counts_as_given,
                                        bench_new, bench_end),
        cmocka_unit_test_setup_teardown(a_stream_that_is_behind_is_given_what_changed_since,
                                        bench_new, bench_end),
        cmocka_unit_test_setup_teardown(what_streams_never_had_is_not_given_as_gone, bench_new,
                                        bench_end),
        cmocka_unit_test_setup_teardown(a_change_back_is_none, bench_new, bench_end),
        cmocka_unit_test_setup_teardown(a_change_is_rendered_once, bench_new, bench_end),
        cmocka_unit_test_setup_teardown(texts_are_kept_over_one_settling, bench_new, bench_end),
        cmocka_unit_test_setup_teardown(an_ended_job_is_rendered_once, bench_new, bench_end),
        cmocka_unit_test_setup_teardown(without_memory_it_is_given_later, bench_new, bench_end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
