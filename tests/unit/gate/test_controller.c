// Controllers, points of two sensors, and clocks that disagree.
#include "gate/cause.h"
#include "world.h"

WORLD_TEST(a_controller_never_heard_is_offline) {
    world_restart(world, 1000);
    world_hear(world, S_POWER3, MODEL_POINT_ISOLATED);
    assert_point(world, POWER3, UNKNOWN, CONTROLLER_OFFLINE);
    world_controller(world, true);
    assert_point(world, POWER3, UNKNOWN, SILENT);
}

WORLD_TEST(offline_makes_its_points_unknown) {
    world_isolate(world);
    assert_point(world, POWER3, ISOLATED, FRESH);
    world_controller(world, false);
    assert_point(world, POWER3, UNKNOWN, CONTROLLER_OFFLINE);
    assert_point(world, VALVE3, ISOLATED, FRESH);
    world_hear(world, S_POWER3, MODEL_POINT_ISOLATED);
    assert_point(world, POWER3, UNKNOWN, CONTROLLER_OFFLINE);
}

WORLD_TEST(online_again_means_heard_anew) {
    world_isolate(world);
    world_controller(world, false);
    world_controller(world, true);
    assert_point(world, POWER3, UNKNOWN, SILENT);
    world_hear(world, S_POWER3, MODEL_POINT_ISOLATED);
    assert_point(world, POWER3, ISOLATED, SETTLING);
}

WORLD_TEST(a_repeated_online_means_nothing) {
    world_isolate(world);
    world_controller(world, true);
    assert_point(world, POWER3, ISOLATED, FRESH);
}

WORLD_TEST(online_again_takes_a_lower_number_but_no_copy) {
    world_hear_seq(world, S_POWER3, MODEL_POINT_ISOLATED, 50);
    assert_int_equal(world_hear_seq(world, S_POWER3, MODEL_POINT_ISOLATED, 49), GATE_HEARD_OLDER);
    world_controller(world, false);
    world_controller(world, true);
    assert_int_equal(world_hear_seq(world, S_POWER3, MODEL_POINT_ISOLATED, 50), GATE_HEARD_COPY);
    assert_int_equal(world_hear_seq(world, S_POWER3, MODEL_POINT_ISOLATED, 1), GATE_HEARD_CHANGED);
    assert_int_equal(world_hear_seq(world, S_POWER3, MODEL_POINT_ISOLATED, 0), GATE_HEARD_OLDER);
}

// The clock of its controller was put right while that was away.
WORLD_TEST(online_again_takes_an_earlier_time) {
    int64_t at = world->now.wall;
    world_hear_at(world, S_POWER3, MODEL_POINT_ISOLATED, at);
    world_controller(world, false);
    world_controller(world, true);
    assert_int_equal(world_hear_at(world, S_POWER3, MODEL_POINT_ISOLATED, at), GATE_HEARD_COPY);
    assert_int_equal(world_hear_at(world, S_POWER3, MODEL_POINT_ISOLATED, at - 5000),
                     GATE_HEARD_CHANGED);
    assert_point(world, POWER3, ISOLATED, SETTLING);
}

WORLD_TEST(a_point_is_isolated_when_all_its_sensors_say_so) {
    world_hear(world, S_VALVE3A, MODEL_POINT_ISOLATED);
    assert_point(world, VALVE3, UNKNOWN, SILENT);
    world_hear(world, S_VALVE3B, MODEL_POINT_ISOLATED);
    assert_point(world, VALVE3, ISOLATED, SETTLING);
}

WORLD_TEST(one_of_several_live_disagrees) {
    world_hear(world, S_VALVE3A, MODEL_POINT_LIVE);
    assert_point(world, VALVE3, LIVE, DISAGREES);
    world_hear(world, S_VALVE3B, MODEL_POINT_ISOLATED);
    assert_point(world, VALVE3, LIVE, DISAGREES);
    world_hear(world, S_VALVE3B, MODEL_POINT_LIVE);
    assert_point(world, VALVE3, LIVE, FRESH);
    world_bad(world, S_VALVE3B);
    assert_point(world, VALVE3, LIVE, DISAGREES);
}

WORLD_TEST(the_first_reason_of_unknown_is_told) {
    world_hear(world, S_VALVE3A, MODEL_POINT_ISOLATED);
    world_pass(world, WORLD_MAX_AGE_MS + 1);
    assert_point(world, VALVE3, UNKNOWN, SILENT);
    world_hear(world, S_VALVE3B, MODEL_POINT_ISOLATED);
    assert_point(world, VALVE3, UNKNOWN, STALE);
    world_bad(world, S_VALVE3B);
    assert_point(world, VALVE3, UNKNOWN, BAD_QUALITY);
    world_bad(world, S_POWER3);
    assert_point(world, POWER3, UNKNOWN, BAD_QUALITY);
    world_controller(world, false);
    assert_point(world, POWER3, UNKNOWN, CONTROLLER_OFFLINE);
}

WORLD_TEST(a_point_is_as_old_as_its_oldest_sensor) {
    world_hear(world, S_VALVE3A, MODEL_POINT_ISOLATED);
    int64_t first = world->now.wall;
    world_pass(world, 20000);
    world_hear(world, S_VALVE3B, MODEL_POINT_ISOLATED);
    assert_int_equal(gate_point_heard(world->gate, world_site(world), VALVE3, world->now), first);
    world_pass(world, 10000);
    assert_point(world, VALVE3, ISOLATED, FRESH);
    world_pass(world, 1);
    assert_point(world, VALVE3, UNKNOWN, STALE);
}

WORLD_TEST(a_point_has_settled_when_its_last_sensor_has) {
    world_hear(world, S_VALVE3A, MODEL_POINT_ISOLATED);
    world_pass(world, 1500);
    world_hear(world, S_VALVE3B, MODEL_POINT_ISOLATED);
    world_pass(world, 1999);
    assert_point(world, VALVE3, ISOLATED, SETTLING);
    world_pass(world, 1);
    assert_point(world, VALVE3, ISOLATED, FRESH);
}

WORLD_TEST(live_from_an_offline_controller_still_breaks) {
    world_to_tagged(world, "j-1");
    world_controller(world, false);
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_point(world, POWER3, UNKNOWN, CONTROLLER_OFFLINE);
    assert_alarm(world);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

WORLD_TEST(live_from_an_offline_controller_breaks_again_while_stopped) {
    world_to_working(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    world_controller(world, false);
    world_lift_all(world, "t-1", "j-1");
    world_acknowledge(world);
    world_pass(world, GATE_CAUSE_AWAY_MS);
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_alarm(world);
}

WORLD_TEST(a_live_that_goes_on_from_an_offline_controller_breaks_once) {
    world_to_working(world, "j-1");
    world_controller(world, false);
    world_forget(world);
    for (int i = 0; i < 10; i++) {
        world_hear(world, S_POWER3, MODEL_POINT_LIVE);
        world_pass(world, 1000);
    }
    assert_int_equal(world_times_told(world, GATE_FACT_LOCKOUT_BROKEN), 1);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

// Too old to be the state of its point, yet said of a time at which tags hung.
WORLD_TEST(a_live_too_old_for_a_state_still_breaks) {
    world_to_tagged(world, "j-1");
    world_pass_heard(world, 60000);
    world_hear_at(world, S_VALVE3A, MODEL_POINT_LIVE, world->now.wall - WORLD_MAX_AGE_MS - 1);
    assert_point(world, VALVE3, UNKNOWN, STALE);
    assert_alarm(world);
    assert_false(world_tag_of(world, VALVE3, "j-1", "t-1")->counts);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

// It came by itself, so that it is said now, whatever its date.
WORLD_TEST(a_live_too_old_for_a_state_breaks_a_lockout_whatever_its_date) {
    world_to_confirmed(world, "j-1");
    world_pass_heard(world, 1000);
    world_hear_at(world, S_POWER3, MODEL_POINT_LIVE, world->now.wall - 3600000);
    assert_point(world, POWER3, UNKNOWN, STALE);
    assert_job(world, "j-1", OPEN, BROKEN);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

WORLD_TEST(a_live_older_than_every_tag_breaks_nothing) {
    world_to_tagged(world, "j-1");
    world_pass_heard(world, 5000);
    world_hear_at(world, S_VALVE3A, MODEL_POINT_LIVE, world->now.wall - 60000);
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
    assert_true(world_tag_of(world, VALVE3, "j-1", "t-1")->counts);
}

static const struct gate_alarm *clock_alarm(struct world *world) {
    return world_alarm(world, MODEL_ALARM_CLOCK);
}

WORLD_TEST(clocks_that_disagree_raise_an_alarm) {
    world_hear_at(world, S_POWER4, MODEL_POINT_LIVE, world->now.wall + GATE_AHEAD_MS);
    assert_null(clock_alarm(world));
    world_hear_at(world, S_POWER4, MODEL_POINT_LIVE, world->now.wall + GATE_AHEAD_MS + 1);
    assert_int_equal(clock_alarm(world)->state, MODEL_ALARM_UNACKNOWLEDGED);
    world_pass(world, 6000);
    world_hear_at(world, S_POWER4, MODEL_POINT_LIVE, world->now.wall);
    assert_int_equal(clock_alarm(world)->state, MODEL_ALARM_UNACKNOWLEDGED);
    world_pass(world, GATE_CLOCK_AGREES_MS);
    world_hear_at(world, S_POWER4, MODEL_POINT_LIVE, world->now.wall);
    assert_int_equal(clock_alarm(world)->state, MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
}

WORLD_TEST(clocks_agree_again_only_after_a_minute_without_one_that_does_not) {
    world_hear_at(world, S_POWER4, MODEL_POINT_LIVE, world->now.wall + GATE_AHEAD_MS + 1);
    world_hear_at(world, S_POWER4, MODEL_POINT_LIVE, world->now.wall);
    world_pass(world, GATE_CLOCK_AGREES_MS - 1);
    world_hear_at(world, S_POWER4, MODEL_POINT_LIVE, world->now.wall + GATE_AHEAD_MS + 1);
    world_pass(world, 1);
    world_hear_at(world, S_POWER4, MODEL_POINT_LIVE, world->now.wall);
    assert_int_equal(clock_alarm(world)->state, MODEL_ALARM_UNACKNOWLEDGED);
    world_pass(world, GATE_CLOCK_AGREES_MS - 1);
    world_hear_at(world, S_POWER4, MODEL_POINT_LIVE, world->now.wall);
    assert_int_equal(clock_alarm(world)->state, MODEL_ALARM_UNACKNOWLEDGED);
    world_pass(world, 1);
    world_hear_at(world, S_POWER4, MODEL_POINT_LIVE, world->now.wall);
    assert_int_equal(clock_alarm(world)->state, MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
}

WORLD_TEST(an_older_word_tells_of_the_clock_too) {
    world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, world->now.wall);
    world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, world->now.wall - WORLD_MAX_AGE_MS - 1);
    assert_non_null(clock_alarm(world));
}

WORLD_TEST(what_is_kept_tells_of_a_clock_only_that_it_is_ahead) {
    struct gate_reading kept = {
        .state = MODEL_POINT_LIVE, .retained = true, .has_at = true, .at = world->now.wall - 90000};
    world_say(world, S_POWER4, kept);
    assert_null(clock_alarm(world));
    kept.at = world->now.wall + GATE_AHEAD_MS + 1;
    world_say(world, S_POWER4, kept);
    assert_non_null(clock_alarm(world));
    kept.at = world->now.wall;
    world_say(world, S_POWER4, kept);
    world_pass(world, GATE_CLOCK_AGREES_MS);
    kept.at = world->now.wall;
    world_say(world, S_POWER4, kept);
    assert_int_equal(clock_alarm(world)->state, MODEL_ALARM_UNACKNOWLEDGED);
}

WORLD_TEST(a_fresh_word_dated_too_old_tells_of_the_clock_too) {
    struct gate_reading kept = {
        .state = MODEL_POINT_LIVE, .retained = true, .has_at = true, .at = world->now.wall - 90000};
    world_say(world, S_POWER4, kept);
    assert_null(clock_alarm(world));
    world_hear_at(world, S_POWER4, MODEL_POINT_LIVE, world->now.wall - WORLD_MAX_AGE_MS);
    assert_null(clock_alarm(world));
    world_hear_at(world, S_VALVE4, MODEL_POINT_LIVE, world->now.wall - WORLD_MAX_AGE_MS - 1);
    assert_non_null(clock_alarm(world));
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(a_controller_never_heard_is_offline),
        cmocka_unit_test(offline_makes_its_points_unknown),
        cmocka_unit_test(online_again_means_heard_anew),
        cmocka_unit_test(a_repeated_online_means_nothing),
        cmocka_unit_test(online_again_takes_a_lower_number_but_no_copy),
        cmocka_unit_test(online_again_takes_an_earlier_time),
        cmocka_unit_test(a_point_is_isolated_when_all_its_sensors_say_so),
        cmocka_unit_test(one_of_several_live_disagrees),
        cmocka_unit_test(the_first_reason_of_unknown_is_told),
        cmocka_unit_test(a_point_is_as_old_as_its_oldest_sensor),
        cmocka_unit_test(a_point_has_settled_when_its_last_sensor_has),
        cmocka_unit_test(live_from_an_offline_controller_still_breaks),
        cmocka_unit_test(live_from_an_offline_controller_breaks_again_while_stopped),
        cmocka_unit_test(a_live_that_goes_on_from_an_offline_controller_breaks_once),
        cmocka_unit_test(a_live_too_old_for_a_state_still_breaks),
        cmocka_unit_test(a_live_too_old_for_a_state_breaks_a_lockout_whatever_its_date),
        cmocka_unit_test(a_live_older_than_every_tag_breaks_nothing),
        cmocka_unit_test(clocks_that_disagree_raise_an_alarm),
        cmocka_unit_test(clocks_agree_again_only_after_a_minute_without_one_that_does_not),
        cmocka_unit_test(an_older_word_tells_of_the_clock_too),
        cmocka_unit_test(what_is_kept_tells_of_a_clock_only_that_it_is_ahead),
        cmocka_unit_test(a_fresh_word_dated_too_old_tells_of_the_clock_too),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
