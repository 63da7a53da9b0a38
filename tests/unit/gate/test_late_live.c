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
}

WORLD_TEST(one_from_before_the_tags_and_signatures_breaks_no_lockout) {
    world_to_confirmed(world, "j-1");
    int64_t hung = world_tag_of(world, POWER3, "j-1", "t-1")->since.wall;
    world_pass_heard(world, 10000);
    late_live(world, hung - 1);
    assert_job(world, "j-1", OPEN, UNCONFIRMED); // lost by what the sensor is worth now
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    world_pass(world, 1);
    late_live(world, hung);
    assert_job(world, "j-1", OPEN, BROKEN);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

// The clock of a sensor went back, and it says live now: nobody can tell that by its date.
WORLD_TEST(a_live_dated_before_all_there_is_stops_the_work_at_once) {
    world_to_working(world, "j-1");
    world_pass_heard(world, 1000);
    late_live(world, world->now.wall - 3600000);
    assert_point(world, POWER3, UNKNOWN, BAD_QUALITY);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_alarm(world);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

WORLD_TEST(it_is_of_bad_quality_until_a_newer_good_word) {
    world_isolate(world);
    int64_t newest = world->now.wall;
    late_live(world, newest - 5000);
    assert_point(world, POWER3, UNKNOWN, BAD_QUALITY);
    world_hear_at(world, S_POWER3, MODEL_POINT_ISOLATED, newest - 4000);
    assert_point(world, POWER3, UNKNOWN, BAD_QUALITY);
    world_hear_at(world, S_POWER3, MODEL_POINT_ISOLATED, newest + 1);
    assert_point(world, POWER3, ISOLATED, SETTLING);
}

WORLD_TEST(by_its_number_too) {
    world_isolate(world);
    world_hear_seq(world, S_POWER3, MODEL_POINT_ISOLATED, 10);
    assert_int_equal(world_hear_seq(world, S_POWER3, MODEL_POINT_LIVE, 9), GATE_HEARD_CHANGED);
    assert_point(world, POWER3, UNKNOWN, BAD_QUALITY);
}

// What the broker, or a bridge, delivers a second time.
WORLD_TEST(a_copy_of_the_last_live_says_nothing_new) {
    int64_t live = world->now.wall - 3000;
    world_hear_at(world, S_POWER3, MODEL_POINT_LIVE, live - 1000);
    world_hear_at(world, S_POWER3, MODEL_POINT_LIVE, live);
    world_hear_at(world, S_POWER3, MODEL_POINT_ISOLATED, live + 1000);
    assert_int_equal(world_hear_at(world, S_POWER3, MODEL_POINT_LIVE, live), GATE_HEARD_COPY);
    assert_point(world, POWER3, ISOLATED, SETTLING);
    assert_int_equal(world_hear_at(world, S_POWER3, MODEL_POINT_LIVE, live - 1000),
                     GATE_HEARD_CHANGED);
    assert_point(world, POWER3, UNKNOWN, BAD_QUALITY);
    world_hear_at(world, S_POWER3, MODEL_POINT_ISOLATED, live + 2000);
    // That one is now the last live heard.
    assert_int_equal(world_hear_at(world, S_POWER3, MODEL_POINT_LIVE, live - 1000),
                     GATE_HEARD_COPY);
    assert_point(world, POWER3, ISOLATED, SETTLING);
}

WORLD_TEST(a_copy_is_known_by_its_number) {
    world_hear_seq(world, S_POWER3, MODEL_POINT_LIVE, 8);
    world_hear_seq(world, S_POWER3, MODEL_POINT_ISOLATED, 9);
    assert_int_equal(world_hear_seq(world, S_POWER3, MODEL_POINT_LIVE, 8), GATE_HEARD_COPY);
    assert_point(world, POWER3, ISOLATED, SETTLING);
    assert_int_equal(world_hear_seq(world, S_POWER3, MODEL_POINT_LIVE, 7), GATE_HEARD_CHANGED);
    assert_point(world, POWER3, UNKNOWN, BAD_QUALITY);
}

// Its sender was restarted and counts from the beginning: by chance a live of now has the number of
// one from before.
WORLD_TEST(one_of_a_restarted_sender_is_no_copy) {
    world_hear_seq(world, S_POWER3, MODEL_POINT_LIVE, 8);
    world_hear_seq(world, S_POWER3, MODEL_POINT_ISOLATED, 50);
    world_controller(world, false);
    world_controller(world, true);
    world_hear_seq(world, S_POWER3, MODEL_POINT_ISOLATED, 1);
    world_hear_seq(world, S_POWER3, MODEL_POINT_ISOLATED, 9);
    assert_int_equal(world_hear_seq(world, S_POWER3, MODEL_POINT_LIVE, 8), GATE_HEARD_CHANGED);
    assert_point(world, POWER3, UNKNOWN, BAD_QUALITY);
}

// What it carried tells it from the last one, not what words of isolated carried meanwhile.
WORLD_TEST(a_live_that_shares_its_time_with_another_word_is_no_copy) {
    int64_t at = world->now.wall - 3000;
    world_hear_at(world, S_POWER3, MODEL_POINT_ISOLATED, at);
    world_hear(world, S_POWER3, MODEL_POINT_LIVE); // it carried no time
    world_hear_at(world, S_POWER3, MODEL_POINT_ISOLATED, at + 1000);
    assert_int_equal(world_hear_at(world, S_POWER3, MODEL_POINT_LIVE, at), GATE_HEARD_CHANGED);
    assert_point(world, POWER3, UNKNOWN, BAD_QUALITY);
}

static enum gate_heard say_live(struct world *world, int64_t at, uint64_t seq, bool retained) {
    return world_say(world, S_POWER3,
                     (struct gate_reading){.state = MODEL_POINT_LIVE,
                                           .retained = retained,
                                           .has_at = at != 0,
                                           .at = at,
                                           .has_seq = seq != 0,
                                           .seq = seq});
}

WORLD_TEST(a_copy_has_the_time_and_the_number_of_the_last_live) {
    int64_t at = world->now.wall - 3000;
    say_live(world, at, 7, false);
    world_hear_at(world, S_POWER3, MODEL_POINT_ISOLATED, at + 1000);
    assert_int_equal(say_live(world, at, 7, false), GATE_HEARD_COPY);
    assert_point(world, POWER3, ISOLATED, SETTLING);
    assert_int_equal(say_live(world, at, 6, false), GATE_HEARD_CHANGED);
    assert_point(world, POWER3, UNKNOWN, BAD_QUALITY);
}

WORLD_TEST(one_of_another_time_is_no_copy_though_its_number_is_the_same) {
    int64_t at = world->now.wall - 3000;
    say_live(world, at, 7, false);
    world_hear_at(world, S_POWER3, MODEL_POINT_ISOLATED, at + 1000);
    assert_int_equal(say_live(world, at - 1, 7, false), GATE_HEARD_CHANGED);
    assert_point(world, POWER3, UNKNOWN, BAD_QUALITY);
}

WORLD_TEST(one_that_lacks_what_the_last_live_carried_is_no_copy) {
    say_live(world, world->now.wall - 3000, 7, false);
    world_hear_seq(world, S_POWER3, MODEL_POINT_ISOLATED, 8);
    assert_int_equal(say_live(world, 0, 7, false), GATE_HEARD_CHANGED);
    assert_point(world, POWER3, UNKNOWN, BAD_QUALITY);
}

WORLD_TEST(one_that_came_by_itself_is_no_copy_of_what_the_broker_kept) {
    int64_t at = world->now.wall - 3000;
    say_live(world, at, 0, true);
    world_hear_at(world, S_POWER3, MODEL_POINT_ISOLATED, at + 1000);
    assert_int_equal(say_live(world, at, 0, true), GATE_HEARD_COPY);
    assert_point(world, POWER3, ISOLATED, SETTLING);
    assert_int_equal(say_live(world, at, 0, false), GATE_HEARD_CHANGED);
    assert_point(world, POWER3, UNKNOWN, BAD_QUALITY);
}

// It did not come now: its date alone says what it breaks.
WORLD_TEST(one_that_the_broker_kept_with_its_time_is_judged_by_that) {
    world_to_working(world, "j-1");
    world_pass_heard(world, 10000);
    world_hear_at(world, S_POWER3, MODEL_POINT_ISOLATED, world->now.wall);
    struct gate_reading kept = {.state = MODEL_POINT_LIVE,
                                .retained = true,
                                .has_at = true,
                                .at = world->now.wall - 3600000};
    world_say(world, S_POWER3, kept);
    assert_job(world, "j-1", WORKING, CONFIRMED);
    kept.at = world->now.wall - 5000;
    world_say(world, S_POWER3, kept);
    assert_job(world, "j-1", STOPPED, BROKEN);
}

WORLD_TEST(one_older_than_a_live_contradicts_nothing) {
    world_hear_at(world, S_POWER3, MODEL_POINT_LIVE, world->now.wall);
    world_hear_at(world, S_POWER3, MODEL_POINT_LIVE, world->now.wall - 1000);
    assert_point(world, POWER3, LIVE, FRESH);
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
    world_to_confirmed(world, "j-1");
    world_pass_heard(world, 10000);
    world_tag_all(world, "t-1", "j-1");
    late_live(world, world->now.wall - 5000);
    assert_job(world, "j-1", OPEN, BROKEN);
}

// The lock on its own point was renewed, and what was signed was signed after: the lock on another
// point is what rests on the time before.
WORLD_TEST(the_oldest_tag_is_enough_to_break) {
    world_to_tagged(world, "j-1");
    world_pass_heard(world, 10000);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    world_sign_hold(world, "t-1", "j-1");
    late_live(world, world->now.wall - 5000);
    assert_job(world, "j-1", OPEN, BROKEN);
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
    assert_true(world_sign_value(world, "t-1", "j-1", "drained", 2, "L"));
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    world_pass_heard(world, 10000);
    world_tag_all(world, "t-1", "j-1");
    late_live(world, world->now.wall - 5000);
    assert_true(gate_signature_of(world_job(world, "j-1"), "drained")->void_);
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
}

WORLD_TEST(a_reader_event_from_before_it_does_not_count) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    world_pass_heard(world, 20000);
    late_live(world, world->now.wall - 3000);
    world_pass(world, 1);
    world_hear_at(world, S_POWER3, MODEL_POINT_ISOLATED, world->now.wall);
    world_reader_at(world, POWER3, "t-1", true, world->now.wall - 3001);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    world_reader_at(world, POWER3, "t-1", true, world->now.wall - 3000);
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
        cmocka_unit_test(one_from_before_the_tags_and_signatures_breaks_no_lockout),
        cmocka_unit_test(a_live_dated_before_all_there_is_stops_the_work_at_once),
        cmocka_unit_test(it_is_of_bad_quality_until_a_newer_good_word),
        cmocka_unit_test(by_its_number_too),
        cmocka_unit_test(a_copy_of_the_last_live_says_nothing_new),
        cmocka_unit_test(a_copy_is_known_by_its_number),
        cmocka_unit_test(one_of_a_restarted_sender_is_no_copy),
        cmocka_unit_test(a_live_that_shares_its_time_with_another_word_is_no_copy),
        cmocka_unit_test(a_copy_has_the_time_and_the_number_of_the_last_live),
        cmocka_unit_test(one_of_another_time_is_no_copy_though_its_number_is_the_same),
        cmocka_unit_test(one_that_lacks_what_the_last_live_carried_is_no_copy),
        cmocka_unit_test(one_that_came_by_itself_is_no_copy_of_what_the_broker_kept),
        cmocka_unit_test(one_that_the_broker_kept_with_its_time_is_judged_by_that),
        cmocka_unit_test(one_older_than_a_live_contradicts_nothing),
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
