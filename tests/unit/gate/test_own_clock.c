// The daemon's own wall clock: when it may be wrong, what is not permitted then, and the way on.
#include <string.h>

#include "gate/may.h"
#include "gate/own_clock.h"
#include "world.h"
#include "world_journal.h"

#define BEHIND_MS 1000
#define STEP_MS 5000
#define LOOKED_AT_MS 60000
#define HOUR_MS 3600000

// The wall clock is set; the other goes on.
static void set_clock(struct world *world, int64_t by) {
    world->now.wall += by;
    world_pass(world, 1);
    gate_tick(world->gate, world->now);
}

// Of the daemon itself; NULL: none stands.
static const struct gate_alarm *alarm_of(struct world *world) {
    const struct gate_site *site = world_site(world);
    for (size_t i = 0; i < site->alarm_count; i++) {
        if (site->alarms[i].kind == MODEL_ALARM_CLOCK &&
            strcmp(site->alarms[i].subject, "daemon") == 0) {
            return &site->alarms[i];
        }
    }
    return NULL;
}

static bool seen(struct world *world, const char *person, const char *note) {
    char id[MODEL_ID_SIZE];
    memcpy(id, alarm_of(world)->alarm, sizeof id);
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_ACKNOWLEDGE_ALARM,
                                                  .person = person,
                                                  .alarm = id,
                                                  .note = note});
}

static enum gate_own_clock_fault fault(struct world *world) {
    return gate_own_clock_fault(world->gate, world->now);
}

WORLD_TEST(a_clock_that_goes_on_is_right) {
    world_pass(world, 10 * HOUR_MS);
    assert_null(alarm_of(world));
    assert_int_equal(fault(world), GATE_OWN_CLOCK_RIGHT);
}

WORLD_TEST(a_step_of_five_seconds_is_borne_and_of_more_is_not) {
    set_clock(world, STEP_MS);
    assert_null(alarm_of(world));
    set_clock(world, STEP_MS + 1); // within ten seconds: together more
    assert_non_null(alarm_of(world));
    assert_int_equal(alarm_of(world)->why, MODEL_CODE_CLOCK_WRONG);
    assert_int_equal(gate_deadline(world->gate), world->now.mono + LOOKED_AT_MS);
    world_pass(world, LOOKED_AT_MS - 1);
    assert_int_equal(fault(world), GATE_OWN_CLOCK_SET);
    assert_int_equal(alarm_of(world)->state, MODEL_ALARM_UNACKNOWLEDGED);
    world_pass(world, 1);
    assert_int_equal(fault(world), GATE_OWN_CLOCK_RIGHT);
    assert_int_equal(alarm_of(world)->state, MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
}

WORLD_TEST(a_clock_that_drifts_is_not_set) {
    for (int i = 0; i < 20; i++) {
        world_pass(world, 10000);
        set_clock(world, 900);
    }
    assert_null(alarm_of(world));
}

WORLD_TEST(a_step_that_is_taken_in_pieces_is_one) {
    set_clock(world, 3000);
    world_pass(world, 1000);
    set_clock(world, 3000);
    assert_non_null(alarm_of(world));
}

// Nothing was written in the second before it, so that it is not behind what was.
WORLD_TEST(a_step_back_is_seen_as_well) {
    world_pass(world, HOUR_MS);
    set_clock(world, -STEP_MS - 10);
    assert_int_equal(fault(world), GATE_OWN_CLOCK_SET);
    assert_non_null(alarm_of(world));
}

WORLD_TEST(a_second_behind_the_journal_is_borne_and_more_is_not) {
    int64_t newest = gate_keep_time(world->gate, world->now);
    assert_int_equal(newest, world->now.wall);
    world->now.wall = newest - BEHIND_MS;
    gate_tick(world->gate, world->now);
    assert_null(alarm_of(world));
    world->now.wall -= 1;
    gate_tick(world->gate, world->now);
    assert_non_null(alarm_of(world));
    assert_int_equal(fault(world), GATE_OWN_CLOCK_BEHIND);
    assert_int_equal(gate_deadline(world->gate), world->now.mono + 1);
    world_pass(world, 1);
    assert_int_equal(fault(world), GATE_OWN_CLOCK_RIGHT);
    assert_int_equal(alarm_of(world)->state, MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
}

WORLD_TEST(every_fact_that_is_written_is_a_time) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_int_equal(gate_keep_time(world->gate, (struct gate_time){0}), world->now.wall);
}

// Years behind: an old credential would be good again.
WORLD_TEST(the_gates_are_shut) {
    world_to_confirmed(world, "j-1");
    set_clock(world, -2 * STEP_MS);
    world_isolate(world);
    assert_false(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    assert_refusals(world, MODEL_CODE_CLOCK_WRONG);
}

WORLD_TEST(the_test_gate_too) {
    world_to_restoring(world, "j-1");
    world_lift_all(world, "t-1", "j-1");
    set_clock(world, 2 * STEP_MS);
    assert_false(world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
    assert_refusals(world, MODEL_CODE_CLOCK_WRONG);
    world_pass_heard(world, LOOKED_AT_MS);
    assert_accepted(world, world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
}

WORLD_TEST(and_the_return) {
    world_to_testing(world, "j-1");
    assert_true(world_test(world, "t-1", "j-1", "leak", true));
    assert_true(world_test(world, "t-1", "j-1", "continuity", true));
    assert_true(world_sign(world, "t-1", "j-1", "barricade-removed"));
    set_clock(world, 2 * STEP_MS);
    assert_false(world_verb(world, GATE_VERB_RETURN_POSITION, "t-1", "j-1"));
    assert_refusals(world, MODEL_CODE_CLOCK_WRONG);
}

WORLD_TEST(the_gates_follow_the_condition_not_the_acknowledgement) {
    world_to_confirmed(world, "j-1");
    set_clock(world, 2 * STEP_MS);
    assert_accepted(world, seen(world, "m-1", NULL)); // of a step no note is asked
    world_pass_heard(world, 10);
    assert_false(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    assert_refusals(world, MODEL_CODE_CLOCK_WRONG);
    world_pass_heard(world, LOOKED_AT_MS);
    assert_accepted(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    assert_null(alarm_of(world));
}

WORLD_TEST(an_overseer_answers_for_the_clock) {
    set_clock(world, 2 * STEP_MS);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_refused(world, seen(world, "t-1", "compared"), MODEL_CODE_NOT_ALLOWED);
    assert_accepted(world, seen(world, "s-1", NULL));
}

// The clock was ahead for an hour, and what was written then is ahead still.
WORLD_TEST(with_a_note_what_is_written_from_now_on_is_the_newest) {
    set_clock(world, HOUR_MS);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    set_clock(world, -HOUR_MS);
    assert_int_equal(fault(world), GATE_OWN_CLOCK_BEHIND);
    assert_refused(world, seen(world, "m-1", "  "), MODEL_CODE_NOTE_MISSING);
    assert_accepted(world, seen(world, "m-1", "compared with the radio clock: it is right"));
    assert_int_equal(fault(world), GATE_OWN_CLOCK_SET); // for a minute
    assert_int_equal(gate_keep_time(world->gate, world->now), world->now.wall);
    world_pass(world, LOOKED_AT_MS);
    assert_null(alarm_of(world));
    world_restart(world, 1000); // and so after a restart
    assert_null(alarm_of(world));
}

WORLD_TEST(with_a_note_it_is_right_at_once) {
    set_clock(world, HOUR_MS);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    set_clock(world, -HOUR_MS);
    world_pass(world, LOOKED_AT_MS);
    assert_int_equal(fault(world), GATE_OWN_CLOCK_BEHIND);
    assert_accepted(world, seen(world, "m-1", "compared: it is right"));
    assert_int_equal(fault(world), GATE_OWN_CLOCK_RIGHT);
    assert_null(alarm_of(world));
}

WORLD_TEST(acknowledged_as_a_step_it_still_asks_when_it_is_behind) {
    set_clock(world, HOUR_MS);
    assert_accepted(world, seen(world, "m-1", NULL));
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world->now.wall -= HOUR_MS;
    world_pass(world, 1);
    assert_int_equal(alarm_of(world)->state, MODEL_ALARM_UNACKNOWLEDGED); // a further cause
    assert_int_equal(alarm_of(world)->count, 2);
    assert_accepted(world, seen(world, "m-1", "compared"));
    assert_int_equal(fault(world), GATE_OWN_CLOCK_SET);
}

WORLD_TEST(the_minute_goes_on_over_a_restart) {
    set_clock(world, 2 * STEP_MS);
    world_pass(world, 20000);
    world_restart(world, 10000);
    assert_int_equal(alarm_of(world)->state, MODEL_ALARM_UNACKNOWLEDGED);
    world_pass(world, LOOKED_AT_MS - 30000 - 2);
    assert_int_equal(fault(world), GATE_OWN_CLOCK_SET);
    world_pass(world, 2);
    assert_int_equal(fault(world), GATE_OWN_CLOCK_RIGHT);
    assert_int_equal(alarm_of(world)->state, MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
}

WORLD_TEST(the_minute_is_that_of_the_last_step) {
    set_clock(world, 2 * STEP_MS);
    world_pass(world, 30000);
    set_clock(world, 2 * STEP_MS);
    world_restart(world, 10000);
    world_pass(world, LOOKED_AT_MS - 10000 - 2);
    assert_int_equal(fault(world), GATE_OWN_CLOCK_SET);
    world_pass(world, 2);
    assert_int_equal(fault(world), GATE_OWN_CLOCK_RIGHT);
}

static void fall_behind(struct world *world) {
    (void)gate_keep_time(world->gate, world->now);
    world->now.wall -= BEHIND_MS + 500;
    gate_tick(world->gate, world->now);
    assert_int_equal(fault(world), GATE_OWN_CLOCK_BEHIND);
}

// It came back before the alarm had been away for 5 s, so that it is the same one still.
WORLD_TEST(the_minute_over_a_restart_is_that_of_the_last) {
    fall_behind(world);
    world_restart(world, 10000);
    world_pass(world, LOOKED_AT_MS - 10000);
    assert_int_equal(alarm_of(world)->state, MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
    world_pass(world, 3000);
    fall_behind(world);
    assert_int_equal(alarm_of(world)->count, 1);
    world_restart(world, 10000);
    world_pass(world, LOOKED_AT_MS - 10000 - 2);
    assert_int_equal(fault(world), GATE_OWN_CLOCK_SET);
    world_pass(world, 2);
    assert_int_equal(fault(world), GATE_OWN_CLOCK_RIGHT);
}

WORLD_TEST(a_start_with_a_clock_of_before_is_behind) {
    world_to_confirmed(world, "j-1");
    world_restart_clocks(world, -HOUR_MS, 0);
    assert_int_equal(fault(world), GATE_OWN_CLOCK_BEHIND);
    assert_non_null(alarm_of(world));
}

// What leads on, as one person is told: of the alarm, where an overseer can say that ours is right.
WORLD_TEST(an_overseer_is_led_to_the_clock_and_the_crew_waits) {
    world_to_confirmed(world, "j-1");
    set_clock(world, -HOUR_MS);
    world_hear_all(world, MODEL_POINT_ISOLATED);
    struct gate_step step = world_step(world, "m-1", "j-1");
    assert_true(step.mine && step.choice.verb == GATE_VERB_ACKNOWLEDGE_ALARM);
    assert_string_equal(step.choice.alarm, alarm_of(world)->alarm);
    assert_true(step.choice.note);
    step = world_step(world, "t-1", "j-1");
    assert_true(step.has_verb && step.choice.verb == GATE_VERB_ACKNOWLEDGE_ALARM);
    assert_false(step.mine || step.crew);
    assert_int_equal(step.lacking.code, MODEL_CODE_CLOCK_WRONG);
}

WORLD_TEST(a_clock_that_was_set_is_waited_for) {
    world_to_confirmed(world, "j-1");
    set_clock(world, HOUR_MS);
    struct gate_step step = world_step(world, "m-1", "j-1");
    assert_false(step.has_verb);
    assert_int_equal(step.lacking.code, MODEL_CODE_CLOCK_WRONG);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(a_clock_that_goes_on_is_right),
        cmocka_unit_test(a_step_of_five_seconds_is_borne_and_of_more_is_not),
        cmocka_unit_test(a_clock_that_drifts_is_not_set),
        cmocka_unit_test(a_step_that_is_taken_in_pieces_is_one),
        cmocka_unit_test(a_step_back_is_seen_as_well),
        cmocka_unit_test(a_second_behind_the_journal_is_borne_and_more_is_not),
        cmocka_unit_test(every_fact_that_is_written_is_a_time),
        cmocka_unit_test(the_gates_are_shut),
        cmocka_unit_test(the_test_gate_too),
        cmocka_unit_test(and_the_return),
        cmocka_unit_test(the_gates_follow_the_condition_not_the_acknowledgement),
        cmocka_unit_test(an_overseer_answers_for_the_clock),
        cmocka_unit_test(with_a_note_what_is_written_from_now_on_is_the_newest),
        cmocka_unit_test(with_a_note_it_is_right_at_once),
        cmocka_unit_test(acknowledged_as_a_step_it_still_asks_when_it_is_behind),
        cmocka_unit_test(the_minute_goes_on_over_a_restart),
        cmocka_unit_test(the_minute_is_that_of_the_last_step),
        cmocka_unit_test(the_minute_over_a_restart_is_that_of_the_last),
        cmocka_unit_test(a_start_with_a_clock_of_before_is_behind),
        cmocka_unit_test(an_overseer_is_led_to_the_clock_and_the_crew_waits),
        cmocka_unit_test(a_clock_that_was_set_is_waited_for),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
