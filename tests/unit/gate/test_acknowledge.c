// Acknowledging an alarm: by whom, of which raising, and with a note of what was done.
#include <string.h>

#include "gate/alarm.h"
#include "world.h"
#include "world_journal.h"

static struct gate_request of(struct world *world, const char *person, enum model_alarm_kind kind) {
    return (struct gate_request){.verb = GATE_VERB_ACKNOWLEDGE_ALARM,
                                 .person = person,
                                 .alarm = world_alarm(world, kind)->alarm,
                                 .note = "seen to"};
}

static bool seen(struct world *world, const char *person, enum model_alarm_kind kind) {
    struct gate_request request = of(world, person, kind);
    char id[MODEL_ID_SIZE];
    memcpy(id, request.alarm, sizeof id);
    request.alarm = id;
    return world_ask(world, request);
}

static void raise(struct world *world, enum model_alarm_kind kind, const char *job,
                  const char *subject, const char *by) {
    const struct gate_args args = {.by = by, .person = subject, .title = "Breaker"};
    const struct gate_alarm_about about = {.kind = kind,
                                           .job = gate_job_find(world_site(world), job),
                                           .position = MODEL_NONE,
                                           .point = MODEL_NONE,
                                           .subject = subject,
                                           .by = by,
                                           .sentence = GATE_SAY_ALARM_STOP_CALLED,
                                           .args = &args};
    gate_alarm_raise(world->gate, world_site(world), &about, true, world->now);
}

// --- By whom ---

WORLD_TEST(a_called_stop) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    raise(world, MODEL_ALARM_STOP_CALLED, "j-1", NULL, "v-1");
    assert_refused(world, seen(world, "t-1", MODEL_ALARM_STOP_CALLED), MODEL_CODE_NOT_ALLOWED);
    raise(world, MODEL_ALARM_STOP_CALLED, "j-1", NULL, "t-2");
    assert_refused(world, seen(world, "v-1", MODEL_ALARM_STOP_CALLED), MODEL_CODE_NOT_ALLOWED);
    assert_accepted(world, seen(world, "t-2", MODEL_ALARM_STOP_CALLED)); // who called it last
    assert_null(world_alarm(world, MODEL_ALARM_STOP_CALLED));
    raise(world, MODEL_ALARM_STOP_CALLED, "j-1", NULL, "t-2");
    assert_accepted(world, seen(world, "s-1", MODEL_ALARM_STOP_CALLED));
}

WORLD_TEST(a_lock_that_was_removed) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    raise(world, MODEL_ALARM_ABSENT_LOCK_REMOVED, "j-1", "t-2", "s-1");
    assert_refused(world, seen(world, "s-1", MODEL_ALARM_ABSENT_LOCK_REMOVED),
                   MODEL_CODE_NOT_ALLOWED);
    assert_refused(world, seen(world, "t-3", MODEL_ALARM_ABSENT_LOCK_REMOVED),
                   MODEL_CODE_NOT_IN_CREW);
    assert_accepted(world, seen(world, "t-1", MODEL_ALARM_ABSENT_LOCK_REMOVED));
    assert_null(world_alarm(world, MODEL_ALARM_ABSENT_LOCK_REMOVED));
    raise(world, MODEL_ALARM_ABSENT_LOCK_REMOVED, NULL, "t-2", "s-1"); // of no job
    assert_accepted(world, seen(world, "t-1", MODEL_ALARM_ABSENT_LOCK_REMOVED));
}

// Another supervisor's removal is another alarm: neither answers for both.
WORLD_TEST(two_removals_by_two) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    raise(world, MODEL_ALARM_ABSENT_LOCK_REMOVED, "j-1", "t-2", "s-1");
    raise(world, MODEL_ALARM_ABSENT_LOCK_REMOVED, "j-1", "t-2", "s-1"); // of another point
    raise(world, MODEL_ALARM_ABSENT_LOCK_REMOVED, "j-1", "t-2", "s-2");
    assert_int_equal(world_site(world)->alarm_count, 2);
    assert_int_equal(world_site(world)->alarms[0].count, 2);
}

WORLD_TEST(a_leader_who_was_not_heard_of) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    raise(world, MODEL_ALARM_CHECK_IN_OVERDUE, "j-1", "t-1", NULL);
    assert_refused(world, seen(world, "t-1", MODEL_ALARM_CHECK_IN_OVERDUE), MODEL_CODE_NOT_ALLOWED);
    assert_accepted(world, seen(world, "s-1", MODEL_ALARM_CHECK_IN_OVERDUE));
    assert_int_equal(world_alarm(world, MODEL_ALARM_CHECK_IN_OVERDUE)->state,
                     MODEL_ALARM_ACKNOWLEDGED); // it stands for what is so
}

// --- Of which raising ---

WORLD_TEST(another_cause_came_meanwhile) {
    world_to_working(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    struct gate_request request = of(world, "t-1", MODEL_ALARM_LOCKOUT_BROKEN);
    request.has_raised = true;
    request.raised = world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN)->raised.wall;
    world_pass(world, 1000);
    world_hear(world, S_VALVE3A, MODEL_POINT_LIVE);
    assert_refused(world, world_ask(world, request), MODEL_CODE_ALARM_CHANGED);
    request.raised = world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN)->raised.wall;
    request.waited = true; // which was seen is told: it may be told late
    assert_accepted(world, world_ask(world, request));
    request.has_raised = false;
    assert_refused(world, world_ask(world, request), MODEL_CODE_TOO_LATE);
}

// The second came in the same millisecond: it has a time of its own, that no one has seen yet.
WORLD_TEST(two_causes_of_one_instant) {
    world_to_working(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    struct gate_request request = of(world, "t-1", MODEL_ALARM_LOCKOUT_BROKEN);
    request.has_raised = true;
    request.raised = world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN)->raised.wall;
    world_hear(world, S_VALVE3A, MODEL_POINT_LIVE);
    assert_int_equal(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN)->count, 2);
    assert_refused(world, world_ask(world, request), MODEL_CODE_ALARM_CHANGED);
    request.raised = world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN)->raised.wall;
    assert_accepted(world, world_ask(world, request));
}

// --- With a note ---

WORLD_TEST(what_was_done_is_said) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    raise(world, MODEL_ALARM_STOP_CALLED, "j-1", NULL, "t-1");
    struct gate_request request = of(world, "m-1", MODEL_ALARM_STOP_CALLED);
    request.note = NULL;
    assert_refused(world, world_ask(world, request), MODEL_CODE_NOTE_MISSING);
    request.note = "  \t";
    assert_refused(world, world_ask(world, request), MODEL_CODE_NOTE_MISSING);
    request.note = "aired, 0 % LEL";
    assert_accepted(world, world_ask(world, request));
    assert_string_equal(world_journal_last(GATE_FACT_ALARM_ACKNOWLEDGED)->note, "aired, 0 % LEL");
    gate_link(world->gate, GATE_LIVE, false, world->now);
    request = of(world, "m-1", MODEL_ALARM_LINK_DOWN);
    request.note = NULL; // of most alarms nothing is asked
    assert_accepted(world, world_ask(world, request));
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(a_called_stop),
        cmocka_unit_test(a_lock_that_was_removed),
        cmocka_unit_test(two_removals_by_two),
        cmocka_unit_test(a_leader_who_was_not_heard_of),
        cmocka_unit_test(another_cause_came_meanwhile),
        cmocka_unit_test(two_causes_of_one_instant),
        cmocka_unit_test(what_was_done_is_said),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
