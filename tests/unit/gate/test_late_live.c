// A late live: dated or counted before the newest word, and yet not too late to stop.
#include "world.h"

// The newest word of 3-power is of now; then it is said to have been live at `at`.
static void late_live(struct world *world, int64_t at) {
    world_hear_at(world, S_POWER3, MODEL_POINT_ISOLATED, world->now.wall);
    world_hear_at(world, S_POWER3, MODEL_POINT_LIVE, at);
}

WORLD_TEST(a_late_live_stops_the_work) {
    world_to_working(world, "j-1");
    world_pass_heard(world, 10000);
    late_live(world, world->now.wall - 5000);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_alarm(world);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    assert_true(world_tag_of(world, VALVE3, "j-1", "t-1")->counts);
    assert_point(world, POWER3, ISOLATED, FRESH);
}

WORLD_TEST(one_from_before_the_tags_and_signatures_does_not) {
    world_to_working(world, "j-1");
    int64_t hung = world_tag_of(world, POWER3, "j-1", "t-1")->since.wall;
    world_pass_heard(world, 10000);
    late_live(world, hung - 1);
    assert_job(world, "j-1", WORKING, CONFIRMED);
    late_live(world, hung);
    assert_job(world, "j-1", STOPPED, BROKEN);
}

WORLD_TEST(a_tag_hung_after_it_still_counts) {
    world_to_working(world, "j-1");
    world_pass_heard(world, 10000);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    late_live(world, world->now.wall - 5000);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

// All tags are renewed; what rests on the time before are the signatures.
WORLD_TEST(the_oldest_signature_is_enough_to_break) {
    world_to_working(world, "j-1");
    world_pass_heard(world, 10000);
    world_tag_all(world, "t-1", "j-1");
    late_live(world, world->now.wall - 5000);
    assert_job(world, "j-1", STOPPED, BROKEN);
}

// The lock on its own point was renewed, and what was signed was signed after: the lock on another
// point is what rests on the time before.
WORLD_TEST(the_oldest_tag_is_enough_to_break) {
    world_to_tagged(world, "j-1");
    world_pass_heard(world, 10000);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    world_sign_hold(world, "t-1", "j-1");
    assert_true(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    late_live(world, world->now.wall - 5000);
    assert_job(world, "j-1", STOPPED, BROKEN);
}

WORLD_TEST(with_only_a_number_to_tell_no_tag_counts) {
    world_to_working(world, "j-1");
    world_hear_seq(world, S_POWER3, MODEL_POINT_ISOLATED, 10);
    world_tag_all(world, "t-1", "j-1");
    world_hear_seq(world, S_POWER3, MODEL_POINT_LIVE, 9);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

WORLD_TEST(a_late_isolated_is_nothing) {
    world_to_working(world, "j-1");
    world_hear_seq(world, S_POWER3, MODEL_POINT_ISOLATED, 10);
    assert_int_equal(world_hear_seq(world, S_POWER3, MODEL_POINT_ISOLATED, 9), GATE_HEARD_OLDER);
    assert_job(world, "j-1", WORKING, CONFIRMED);
}

WORLD_TEST(it_raises_the_alarm_under_a_tag_in_open) {
    world_to_tagged(world, "j-1");
    world_pass_heard(world, 10000);
    late_live(world, world->now.wall - 5000);
    assert_job(world, "j-1", OPEN, BROKEN);
    assert_alarm(world);
}

WORLD_TEST(it_ends_a_hold_that_only_signatures_date_before) {
    world_to_tagged(world, "j-1");
    world_sign_hold(world, "t-1", "j-1");
    assert_true(world_sign_value(world, "t-1", "j-1", "no-voltage", 2, "V"));
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    world_pass_heard(world, 10000);
    world_tag_all(world, "t-1", "j-1");
    late_live(world, world->now.wall - 5000);
    assert_true(gate_signature_of(world_job(world, "j-1"), "no-flow")->void_);
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
}

WORLD_TEST(a_reader_event_from_before_it_does_not_count) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    world_pass_heard(world, 20000);
    late_live(world, world->now.wall - 3000);
    world_reader_at(world, POWER3, "t-1", true, world->now.wall - 3000);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    world_reader_at(world, POWER3, "t-1", true, world->now.wall - 2999);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

WORLD_TEST(it_raises_again_while_stopped) {
    world_to_stopped(world, "j-1");
    world_pass_heard(world, 10000);
    late_live(world, world->now.wall - 5000);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_alarm(world);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(a_late_live_stops_the_work),
        cmocka_unit_test(one_from_before_the_tags_and_signatures_does_not),
        cmocka_unit_test(a_tag_hung_after_it_still_counts),
        cmocka_unit_test(the_oldest_signature_is_enough_to_break),
        cmocka_unit_test(the_oldest_tag_is_enough_to_break),
        cmocka_unit_test(with_only_a_number_to_tell_no_tag_counts),
        cmocka_unit_test(a_late_isolated_is_nothing),
        cmocka_unit_test(it_raises_the_alarm_under_a_tag_in_open),
        cmocka_unit_test(it_ends_a_hold_that_only_signatures_date_before),
        cmocka_unit_test(a_reader_event_from_before_it_does_not_count),
        cmocka_unit_test(it_raises_again_while_stopped),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
