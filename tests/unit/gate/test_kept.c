// What the broker sends of its store because we subscribed, beside what comes by itself.
#include "gate/point.h"
#include "world.h"

static enum gate_heard keep(struct world *world, enum world_sensor sensor,
                            enum model_point_state state) {
    return world_say(world, sensor, (struct gate_reading){.state = state, .retained = true});
}

WORLD_TEST(a_live_without_a_time_is_kept_and_proves_nothing) {
    assert_int_equal(keep(world, S_POWER4, MODEL_POINT_LIVE), GATE_HEARD_CHANGED);
    assert_point(world, POWER4, LIVE, KEPT);
    assert_false(gate_point_proved_live(world->gate, world_site(world), POWER4, NULL, world->now));
    world_hear(world, S_POWER4, MODEL_POINT_LIVE);
    assert_point(world, POWER4, LIVE, FRESH);
    assert_true(gate_point_proved_live(world->gate, world_site(world), POWER4, NULL, world->now));
}

WORLD_TEST(it_ends_with_a_word_that_comes_by_itself) {
    keep(world, S_POWER4, MODEL_POINT_LIVE);
    world_hear(world, S_POWER4, MODEL_POINT_ISOLATED);
    assert_point(world, POWER4, ISOLATED, SETTLING);
}

WORLD_TEST(it_grows_stale) {
    keep(world, S_POWER4, MODEL_POINT_LIVE);
    world_pass(world, WORLD_MAX_AGE_MS + 1);
    assert_point(world, POWER4, UNKNOWN, STALE);
}

WORLD_TEST(it_breaks) {
    world_to_working(world, "j-1");
    gate_subscribed(world->gate);
    assert_int_equal(keep(world, S_POWER3, MODEL_POINT_LIVE), GATE_HEARD_CHANGED);
    assert_point(world, POWER3, LIVE, KEPT);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_alarm(world);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

WORLD_TEST(it_breaks_though_its_controller_is_offline) {
    world_to_tagged(world, "j-1");
    world_controller(world, false);
    gate_subscribed(world->gate);
    keep(world, S_POWER3, MODEL_POINT_LIVE);
    assert_point(world, POWER3, UNKNOWN, CONTROLLER_OFFLINE);
    assert_alarm(world);
}

WORLD_TEST(live_counts_whatever_its_flag_after_a_word_of_its_own) {
    world_hear(world, S_POWER4, MODEL_POINT_LIVE);
    assert_int_equal(keep(world, S_POWER4, MODEL_POINT_ISOLATED), GATE_HEARD_RETAINED);
    assert_point(world, POWER4, LIVE, FRESH);
    world_hear(world, S_POWER4, MODEL_POINT_ISOLATED);
    assert_int_equal(keep(world, S_POWER4, MODEL_POINT_LIVE), GATE_HEARD_CHANGED);
    assert_point(world, POWER4, LIVE, KEPT);
}

WORLD_TEST(live_by_its_own_word_stays_so_beside_what_is_kept) {
    world_hear(world, S_POWER4, MODEL_POINT_LIVE);
    gate_subscribed(world->gate);
    assert_int_equal(keep(world, S_POWER4, MODEL_POINT_LIVE), GATE_HEARD_RETAINED);
    assert_point(world, POWER4, LIVE, FRESH);
    world_pass(world, WORLD_MAX_AGE_MS + 1);
    assert_int_equal(keep(world, S_POWER4, MODEL_POINT_LIVE), GATE_HEARD_CHANGED);
    assert_point(world, POWER4, LIVE, KEPT);
}

WORLD_TEST(of_bad_quality_it_is_bad) {
    const struct gate_reading bad = {
        .readable = true, .state = MODEL_POINT_ISOLATED, .retained = true};
    world_hear(world, S_POWER4, MODEL_POINT_ISOLATED);
    assert_int_equal(gate_hear(world->gate, 0, S_POWER4, &bad, world->now), GATE_HEARD_RETAINED);
    gate_subscribed(world->gate);
    assert_int_equal(gate_hear(world->gate, 0, S_POWER4, &bad, world->now), GATE_HEARD_BAD);
    assert_point(world, POWER4, UNKNOWN, BAD_QUALITY);
}

WORLD_TEST(it_moves_no_mark) {
    world_hear_seq(world, S_POWER4, MODEL_POINT_ISOLATED, 5);
    gate_subscribed(world->gate);
    struct gate_reading kept = {
        .state = MODEL_POINT_LIVE, .retained = true, .has_seq = true, .seq = 90};
    world_say(world, S_POWER4, kept);
    assert_point(world, POWER4, LIVE, KEPT);
    world_hear_seq(world, S_POWER4, MODEL_POINT_ISOLATED, 6);
    assert_point(world, POWER4, ISOLATED, SETTLING);
}

// The number is that of the newest isolated: of a live it is taken, of what is kept it makes no
// copy.
WORLD_TEST(an_equal_live_after_it_is_taken) {
    world_hear_seq(world, S_POWER4, MODEL_POINT_ISOLATED, 5);
    gate_subscribed(world->gate);
    keep(world, S_POWER4, MODEL_POINT_LIVE);
    assert_int_equal(world_hear_seq(world, S_POWER4, MODEL_POINT_LIVE, 5), GATE_HEARD_CHANGED);
    assert_point(world, POWER4, LIVE, FRESH);
}

WORLD_TEST(a_mark_of_isolated_is_no_mark_of_a_live) {
    world_hear_seq(world, S_POWER4, MODEL_POINT_ISOLATED, 5);
    gate_subscribed(world->gate);
    keep(world, S_POWER4, MODEL_POINT_LIVE);
    world_hear_seq(world, S_POWER4, MODEL_POINT_ISOLATED, 6);
    assert_int_equal(world_hear_seq(world, S_POWER4, MODEL_POINT_LIVE, 5), GATE_HEARD_CHANGED);
    assert_point(world, POWER4, UNKNOWN, BAD_QUALITY);
}

WORLD_TEST(of_two_sensors_all_that_there_is_must_be_kept) {
    keep(world, S_VALVE3A, MODEL_POINT_LIVE);
    assert_point(world, VALVE3, LIVE, KEPT);
    world_hear(world, S_VALVE3B, MODEL_POINT_LIVE);
    assert_point(world, VALVE3, LIVE, DISAGREES);
    world_hear(world, S_VALVE3B, MODEL_POINT_ISOLATED);
    assert_point(world, VALVE3, LIVE, DISAGREES);
    world_hear(world, S_VALVE3A, MODEL_POINT_ISOLATED);
    assert_point(world, VALVE3, ISOLATED, SETTLING);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(a_live_without_a_time_is_kept_and_proves_nothing),
        cmocka_unit_test(it_ends_with_a_word_that_comes_by_itself),
        cmocka_unit_test(it_grows_stale),
        cmocka_unit_test(it_breaks),
        cmocka_unit_test(it_breaks_though_its_controller_is_offline),
        cmocka_unit_test(live_counts_whatever_its_flag_after_a_word_of_its_own),
        cmocka_unit_test(live_by_its_own_word_stays_so_beside_what_is_kept),
        cmocka_unit_test(of_bad_quality_it_is_bad),
        cmocka_unit_test(it_moves_no_mark),
        cmocka_unit_test(an_equal_live_after_it_is_taken),
        cmocka_unit_test(a_mark_of_isolated_is_no_mark_of_a_live),
        cmocka_unit_test(of_two_sensors_all_that_there_is_must_be_kept),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
