// Checking in: while work goes on, who leads says in time that all is well.
#include "world.h"

#define OVERDUE MODEL_ALARM_CHECK_IN_OVERDUE
#define OFTEN_MS 60000

static struct world_copy copy;

static struct world *asked(void) {
    world_copy(&copy);
    copy.procedures[1].check_in_ms = OFTEN_MS;
    return world_new_of(&copy.model);
}

#define CHECK_IN_TEST(name)                                                                        \
    static void name##_in(struct world *world);                                                    \
    static void name(void **state) {                                                               \
        (void)state;                                                                               \
        struct world *world = asked();                                                             \
        name##_in(world);                                                                          \
        world_free(world);                                                                         \
    }                                                                                              \
    static void name##_in(struct world *world)

static bool check_in(struct world *world, const char *person) {
    return world_verb(world, GATE_VERB_CHECK_IN, person, "j-1");
}

static bool is(struct world *world, enum model_alarm_state state) {
    const struct gate_alarm *alarm = world_alarm(world, OVERDUE);
    return alarm != NULL && alarm->state == state;
}

CHECK_IN_TEST(who_does_not_check_in_is_looked_for) {
    world_to_working(world, "j-1");
    world_pass_heard(world, OFTEN_MS);
    assert_null(world_alarm(world, OVERDUE));
    world_pass(world, 1);
    assert_true(is(world, MODEL_ALARM_UNACKNOWLEDGED));
    assert_string_equal(world_alarm(world, OVERDUE)->subject, "t-1");
    world_pass_heard(world, 3 * OFTEN_MS);
    assert_int_equal(world_alarm(world, OVERDUE)->count, 1);
    assert_job(world, "j-1", WORKING, CONFIRMED); // it stops nothing
}

CHECK_IN_TEST(in_time_nothing_is_raised) {
    world_to_working(world, "j-1");
    for (int i = 0; i < 3; i++) {
        world_pass_heard(world, OFTEN_MS - 1000);
        assert_accepted(world, check_in(world, "t-1"));
        assert_true(world_told(world, GATE_FACT_CHECKED_IN));
    }
    assert_null(world_alarm(world, OVERDUE));
    world_pass_heard(world, OFTEN_MS + 1);
    assert_non_null(world_alarm(world, OVERDUE));
}

CHECK_IN_TEST(a_check_in_ends_it_and_is_its_acknowledgement) {
    world_to_working(world, "j-1");
    world_pass_heard(world, OFTEN_MS + 1000);
    assert_accepted(world, check_in(world, "t-1"));
    assert_null(world_alarm(world, OVERDUE));
    assert_true(world_told(world, GATE_FACT_ALARM_ACKNOWLEDGED));
    world_pass_heard(world, OFTEN_MS + 1000);
    assert_true(is(world, MODEL_ALARM_UNACKNOWLEDGED));
    world_acknowledge(world);
    assert_true(is(world, MODEL_ALARM_ACKNOWLEDGED));
    world_pass_heard(world, 2 * OFTEN_MS);
    assert_true(is(world, MODEL_ALARM_ACKNOWLEDGED)); // raised once
    assert_accepted(world, check_in(world, "t-1"));
    assert_null(world_alarm(world, OVERDUE));
}

CHECK_IN_TEST(who_stops_is_no_longer_waited_for_but_the_alarm_was) {
    world_to_working(world, "j-1");
    world_pass_heard(world, OFTEN_MS + 1000);
    assert_true(world_pause(world, "t-1", "j-1"));
    assert_true(is(world, MODEL_ALARM_RETURNED_UNACKNOWLEDGED));
    world_pass_heard(world, 2 * OFTEN_MS);
    assert_refused(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"),
                   MODEL_CODE_ALARM_OPEN);
    assert_accepted(world, check_in(world, "t-1")); // also in another phase
    assert_null(world_alarm(world, OVERDUE));
    world_pass_heard(world, 30000);
    assert_accepted(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    world_pass_heard(world, OFTEN_MS);
    assert_null(world_alarm(world, OVERDUE)); // counted from the new start
    world_pass_heard(world, 1000);
    assert_non_null(world_alarm(world, OVERDUE));
}

CHECK_IN_TEST(it_is_the_leaders_while_the_job_stands) {
    world_to_working(world, "j-1");
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_refused(world, check_in(world, "t-2"), MODEL_CODE_NOT_ASSIGNED);
    assert_refused(world, check_in(world, "m-1"), MODEL_CODE_NOT_ALLOWED, MODEL_CODE_NOT_ASSIGNED);
    gate_journal(world->gate, false, world->now);
    assert_refused(world, check_in(world, "t-1"), MODEL_CODE_JOURNAL_DOWN);
}

CHECK_IN_TEST(the_time_away_counts) {
    world_to_working(world, "j-1");
    world_pass_heard(world, 40000);
    world_restart(world, 15000);
    assert_null(world_alarm(world, OVERDUE));
    world_pass(world, 5001);
    assert_non_null(world_alarm(world, OVERDUE));
    world_restart(world, 1000);
    assert_int_equal(world_alarm(world, OVERDUE)->count, 1);
}

WORLD_TEST(where_nobody_asks_nobody_is_missed) {
    world_to_working(world, "j-1");
    world_pass_heard(world, 100 * OFTEN_MS);
    assert_null(world_alarm(world, OVERDUE));
    assert_accepted(world, check_in(world, "t-1"));
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(who_does_not_check_in_is_looked_for),
        cmocka_unit_test(in_time_nothing_is_raised),
        cmocka_unit_test(a_check_in_ends_it_and_is_its_acknowledgement),
        cmocka_unit_test(who_stops_is_no_longer_waited_for_but_the_alarm_was),
        cmocka_unit_test(it_is_the_leaders_while_the_job_stands),
        cmocka_unit_test(the_time_away_counts),
        cmocka_unit_test(where_nobody_asks_nobody_is_missed),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
