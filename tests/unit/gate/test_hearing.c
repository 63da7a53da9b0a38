// Hearing one sensor: which word is newer, what it refreshes, how old it is, when it settles.
#include "world.h"

WORLD_TEST(never_heard_is_silent) {
    assert_point(world, POWER4, UNKNOWN, SILENT);
}

WORLD_TEST(isolated_settles_live_does_not) {
    world_hear(world, S_POWER4, MODEL_POINT_ISOLATED);
    assert_point(world, POWER4, ISOLATED, SETTLING);
    world_pass(world, WORLD_SETTLE_MS - 1);
    assert_point(world, POWER4, ISOLATED, SETTLING);
    world_pass(world, 1);
    assert_point(world, POWER4, ISOLATED, FRESH);
    world_hear(world, S_POWER4, MODEL_POINT_LIVE);
    assert_point(world, POWER4, LIVE, FRESH);
    world_hear(world, S_POWER4, MODEL_POINT_ISOLATED);
    assert_point(world, POWER4, ISOLATED, SETTLING);
}

WORLD_TEST(unheard_for_longer_than_its_age_is_stale) {
    world_hear(world, S_POWER4, MODEL_POINT_ISOLATED);
    world_pass(world, WORLD_MAX_AGE_MS);
    world_review(world);
    assert_point(world, POWER4, ISOLATED, FRESH);
    world_pass(world, 1);
    assert_point(world, POWER4, UNKNOWN, STALE);
}

WORLD_TEST(the_same_word_again_keeps_it_fresh) {
    assert_int_equal(world_hear(world, S_POWER4, MODEL_POINT_ISOLATED), GATE_HEARD_CHANGED);
    world_pass(world, WORLD_MAX_AGE_MS);
    assert_int_equal(world_hear(world, S_POWER4, MODEL_POINT_ISOLATED), GATE_HEARD_UNCHANGED);
    world_pass(world, WORLD_MAX_AGE_MS);
    assert_point(world, POWER4, ISOLATED, FRESH);
}

WORLD_TEST(a_gap_settles_anew) {
    world_hear(world, S_POWER4, MODEL_POINT_ISOLATED);
    world_pass(world, WORLD_MAX_AGE_MS + 1);
    world_hear(world, S_POWER4, MODEL_POINT_ISOLATED);
    assert_point(world, POWER4, ISOLATED, SETTLING);
    world_pass(world, WORLD_SETTLE_MS);
    assert_point(world, POWER4, ISOLATED, FRESH);
}

// The daemon was away, or busy: what grew stale meanwhile is so before the next word refreshes it.
WORLD_TEST(a_word_that_comes_too_late_leaves_a_gap) {
    world_hear(world, S_POWER4, MODEL_POINT_ISOLATED);
    world_pass(world, WORLD_SETTLE_MS);
    world->now.wall += WORLD_MAX_AGE_MS;
    world->now.mono += WORLD_MAX_AGE_MS;
    world_forget(world);
    world_hear(world, S_POWER4, MODEL_POINT_ISOLATED);
    assert_point(world, POWER4, ISOLATED, SETTLING);
    assert_int_equal(world_times_told(world, GATE_FACT_POINT_CHANGED), 2);
}

WORLD_TEST(the_age_counts_from_the_time_of_reading) {
    world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, world->now.wall - 20000);
    world_pass(world, WORLD_MAX_AGE_MS - 20000);
    assert_point(world, POWER4, ISOLATED, FRESH);
    world_pass(world, 1);
    assert_point(world, POWER4, UNKNOWN, STALE);
}

WORLD_TEST(a_word_too_old_on_arrival_is_stale) {
    world_hear_at(world, S_POWER4, MODEL_POINT_LIVE, world->now.wall - WORLD_MAX_AGE_MS - 1);
    assert_point(world, POWER4, UNKNOWN, STALE);
}

// Between words that carry a time and words that do not: the age shrinks, at once.
WORLD_TEST(a_word_dated_back_ages_sooner) {
    world_hear(world, S_POWER4, MODEL_POINT_ISOLATED);
    world_pass(world, WORLD_SETTLE_MS);
    world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, world->now.wall - 20000);
    world_pass(world, WORLD_MAX_AGE_MS - 20000 + 1);
    assert_point(world, POWER4, UNKNOWN, STALE);
}

WORLD_TEST(dated_a_little_ahead_counts_as_arrival) {
    assert_int_equal(
        world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, world->now.wall + GATE_AHEAD_MS),
        GATE_HEARD_CHANGED);
    world_pass(world, WORLD_MAX_AGE_MS);
    assert_point(world, POWER4, ISOLATED, FRESH);
    world_pass(world, 1);
    assert_point(world, POWER4, UNKNOWN, STALE);
}

WORLD_TEST(dated_far_ahead_is_bad_and_moves_no_mark) {
    world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, world->now.wall);
    assert_int_equal(
        world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, world->now.wall + GATE_AHEAD_MS + 1),
        GATE_HEARD_BAD);
    assert_point(world, POWER4, UNKNOWN, BAD_QUALITY);
    world_pass(world, 1000);
    world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, world->now.wall);
    assert_point(world, POWER4, ISOLATED, SETTLING);
}

WORLD_TEST(an_older_word_refreshes_nothing) {
    world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, world->now.wall);
    world_pass(world, 20000);
    assert_int_equal(world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, world->now.wall - 20001),
                     GATE_HEARD_OLDER);
    world_pass(world, WORLD_MAX_AGE_MS - 20000 + 1);
    assert_point(world, POWER4, UNKNOWN, STALE);
}

WORLD_TEST(a_copy_refreshes_nothing) {
    int64_t at = world->now.wall;
    world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, at);
    world_pass(world, 20000);
    assert_int_equal(world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, at), GATE_HEARD_COPY);
    world_pass(world, WORLD_MAX_AGE_MS - 20000 + 1);
    assert_point(world, POWER4, UNKNOWN, STALE);
}

WORLD_TEST(an_equal_live_after_isolated_is_taken) {
    world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, world->now.wall);
    world_hear_at(world, S_POWER4, MODEL_POINT_LIVE, world->now.wall);
    assert_point(world, POWER4, LIVE, FRESH);
    assert_int_equal(world_hear_at(world, S_POWER4, MODEL_POINT_LIVE, world->now.wall),
                     GATE_HEARD_COPY);
    assert_int_equal(world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, world->now.wall),
                     GATE_HEARD_COPY);
    assert_point(world, POWER4, LIVE, FRESH);
}

WORLD_TEST(with_a_time_on_both_the_time_alone_tells) {
    struct gate_reading first = {.state = MODEL_POINT_ISOLATED,
                                 .has_at = true,
                                 .at = world->now.wall - 2000,
                                 .has_seq = true,
                                 .seq = 10};
    world_say(world, S_POWER4, first);
    struct gate_reading older = first;
    older.at -= 1;
    older.seq = 11;
    assert_int_equal(world_say(world, S_POWER4, older), GATE_HEARD_OLDER);
    struct gate_reading newer = first;
    newer.at += 1;
    newer.seq = 9;
    newer.state = MODEL_POINT_LIVE;
    assert_int_equal(world_say(world, S_POWER4, newer), GATE_HEARD_CHANGED);
    assert_point(world, POWER4, LIVE, FRESH);
}

WORLD_TEST(else_the_number_tells) {
    world_hear_seq(world, S_POWER4, MODEL_POINT_ISOLATED, 7);
    assert_int_equal(world_hear_seq(world, S_POWER4, MODEL_POINT_ISOLATED, 7), GATE_HEARD_COPY);
    assert_int_equal(world_hear_seq(world, S_POWER4, MODEL_POINT_ISOLATED, 6), GATE_HEARD_OLDER);
    assert_int_equal(world_hear_seq(world, S_POWER4, MODEL_POINT_ISOLATED, 8),
                     GATE_HEARD_UNCHANGED);
    world_hear_seq(world, S_POWER4, MODEL_POINT_LIVE, 9);
    assert_int_equal(world_hear_seq(world, S_POWER4, MODEL_POINT_ISOLATED, 8), GATE_HEARD_OLDER);
    assert_point(world, POWER4, LIVE, FRESH);
}

static enum gate_heard say_wrapping(struct world *world, uint64_t seq) {
    return world_say(
        world, S_POWER4,
        (struct gate_reading){
            .state = MODEL_POINT_ISOLATED, .has_seq = true, .seq = seq, .modulus = 256});
}

WORLD_TEST(a_counter_that_wraps_goes_the_shorter_way) {
    say_wrapping(world, 250);
    assert_int_equal(say_wrapping(world, 3), GATE_HEARD_UNCHANGED);
    assert_int_equal(say_wrapping(world, 255), GATE_HEARD_OLDER);
    assert_int_equal(say_wrapping(world, 3 + 256), GATE_HEARD_COPY);
    assert_int_equal(say_wrapping(world, 3 + 128), GATE_HEARD_UNCHANGED);
    assert_int_equal(say_wrapping(world, 4), GATE_HEARD_OLDER);
}

WORLD_TEST(a_lower_number_is_taken_once_the_sensor_is_stale) {
    world_hear_seq(world, S_POWER4, MODEL_POINT_ISOLATED, 100);
    world_pass(world, WORLD_MAX_AGE_MS);
    assert_int_equal(world_hear_seq(world, S_POWER4, MODEL_POINT_ISOLATED, 1), GATE_HEARD_OLDER);
    world_pass(world, 1);
    assert_int_equal(world_hear_seq(world, S_POWER4, MODEL_POINT_ISOLATED, 100), GATE_HEARD_COPY);
    assert_int_equal(world_hear_seq(world, S_POWER4, MODEL_POINT_ISOLATED, 1), GATE_HEARD_CHANGED);
    assert_point(world, POWER4, ISOLATED, SETTLING);
}

// The clocks of site and daemon went back together: its time is earlier than the newest, and now.
WORLD_TEST(an_earlier_time_is_taken_once_the_sensor_is_stale) {
    world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, world->now.wall);
    world->now.wall -= 3600000;
    world_pass(world, WORLD_MAX_AGE_MS);
    assert_int_equal(world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, world->now.wall),
                     GATE_HEARD_OLDER);
    world_pass(world, 1);
    assert_int_equal(world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, world->now.wall),
                     GATE_HEARD_CHANGED);
    assert_point(world, POWER4, ISOLATED, SETTLING);
    world_pass(world, 1000);
    assert_int_equal(world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, world->now.wall),
                     GATE_HEARD_UNCHANGED);
}

WORLD_TEST(an_earlier_time_taken_is_no_younger_for_that) {
    int64_t at = world->now.wall;
    world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, at);
    world_pass(world, WORLD_MAX_AGE_MS + 1);
    world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, at - 1000);
    assert_point(world, POWER4, UNKNOWN, STALE);
}

WORLD_TEST(retained_without_a_time_is_no_evidence) {
    struct gate_reading kept = {.state = MODEL_POINT_ISOLATED, .retained = true};
    assert_int_equal(world_say(world, S_POWER4, kept), GATE_HEARD_RETAINED);
    assert_point(world, POWER4, UNKNOWN, SILENT);
    kept.has_at = true;
    kept.at = world->now.wall - 1000;
    assert_int_equal(world_say(world, S_POWER4, kept), GATE_HEARD_CHANGED);
    assert_point(world, POWER4, ISOLATED, SETTLING);
}

WORLD_TEST(bad_quality_is_at_once_and_until_a_newer_good_word) {
    int64_t at = world->now.wall - 2000;
    world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, at);
    world_pass(world, WORLD_SETTLE_MS);
    world_bad(world, S_POWER4);
    assert_point(world, POWER4, UNKNOWN, BAD_QUALITY);
    assert_int_equal(world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, at), GATE_HEARD_COPY);
    assert_point(world, POWER4, UNKNOWN, BAD_QUALITY);
    world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, at + 1);
    assert_point(world, POWER4, ISOLATED, SETTLING);
}

WORLD_TEST(a_bad_word_moves_no_mark) {
    world_hear_seq(world, S_POWER4, MODEL_POINT_ISOLATED, 5);
    struct gate_reading bad = {
        .readable = true, .state = MODEL_POINT_ISOLATED, .has_seq = true, .seq = 90};
    assert_int_equal(gate_hear(world->gate, 0, S_POWER4, &bad, world->now), GATE_HEARD_BAD);
    assert_int_equal(world_hear_seq(world, S_POWER4, MODEL_POINT_ISOLATED, 6), GATE_HEARD_CHANGED);
}

WORLD_TEST(what_cannot_be_read_is_bad) {
    struct gate_reading unreadable = {.good = true, .state = MODEL_POINT_ISOLATED};
    assert_int_equal(gate_hear(world->gate, 0, S_POWER4, &unreadable, world->now), GATE_HEARD_BAD);
    assert_point(world, POWER4, UNKNOWN, BAD_QUALITY);
    world_hear(world, S_POWER4, MODEL_POINT_LIVE);
    assert_int_equal(world_hear(world, S_POWER4, MODEL_POINT_UNKNOWN), GATE_HEARD_BAD);
    assert_point(world, POWER4, UNKNOWN, BAD_QUALITY);
}

WORLD_TEST(an_older_bad_word_is_bad_too) {
    world_hear_at(world, S_POWER4, MODEL_POINT_ISOLATED, world->now.wall);
    struct gate_reading bad = {
        .readable = true, .state = MODEL_POINT_ISOLATED, .has_at = true, .at = world->now.wall - 1};
    gate_hear(world->gate, 0, S_POWER4, &bad, world->now);
    assert_point(world, POWER4, UNKNOWN, BAD_QUALITY);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(never_heard_is_silent),
        cmocka_unit_test(isolated_settles_live_does_not),
        cmocka_unit_test(unheard_for_longer_than_its_age_is_stale),
        cmocka_unit_test(the_same_word_again_keeps_it_fresh),
        cmocka_unit_test(a_gap_settles_anew),
        cmocka_unit_test(a_word_that_comes_too_late_leaves_a_gap),
        cmocka_unit_test(the_age_counts_from_the_time_of_reading),
        cmocka_unit_test(a_word_too_old_on_arrival_is_stale),
        cmocka_unit_test(a_word_dated_back_ages_sooner),
        cmocka_unit_test(dated_a_little_ahead_counts_as_arrival),
        cmocka_unit_test(dated_far_ahead_is_bad_and_moves_no_mark),
        cmocka_unit_test(an_older_word_refreshes_nothing),
        cmocka_unit_test(a_copy_refreshes_nothing),
        cmocka_unit_test(an_equal_live_after_isolated_is_taken),
        cmocka_unit_test(with_a_time_on_both_the_time_alone_tells),
        cmocka_unit_test(else_the_number_tells),
        cmocka_unit_test(a_counter_that_wraps_goes_the_shorter_way),
        cmocka_unit_test(a_lower_number_is_taken_once_the_sensor_is_stale),
        cmocka_unit_test(an_earlier_time_is_taken_once_the_sensor_is_stale),
        cmocka_unit_test(an_earlier_time_taken_is_no_younger_for_that),
        cmocka_unit_test(retained_without_a_time_is_no_evidence),
        cmocka_unit_test(bad_quality_is_at_once_and_until_a_newer_good_word),
        cmocka_unit_test(a_bad_word_moves_no_mark),
        cmocka_unit_test(what_cannot_be_read_is_bad),
        cmocka_unit_test(an_older_bad_word_is_bad_too),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
