// Live under a counting tag, in whatever phase; what is lost, not broken, while nobody works.
#include "world.h"

WORLD_TEST(in_open_before_anything_is_signed) {
    world_to_tagged(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_job(world, "j-1", OPEN, BROKEN);
    assert_alarm(world);
    assert_int_equal(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN)->why, MODEL_CODE_POINT_LIVE);
}

WORLD_TEST(in_open_by_sensors_that_disagree) {
    world_to_tagged(world, "j-1");
    world_hear(world, S_VALVE3A, MODEL_POINT_LIVE);
    assert_job(world, "j-1", OPEN, BROKEN);
    assert_alarm(world);
}

WORLD_TEST(under_the_tag_of_another_of_the_crew) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_true(world_tag(world, "t-2", "j-1", POWER3));
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_alarm(world);
}

WORLD_TEST(of_every_job_with_a_tag_there) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_open(world, "j-2", "3B", "t-2"));
    world_isolate(world);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    assert_true(world_tag(world, "t-2", "j-2", POWER3));
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_job(world, "j-1", OPEN, BROKEN);
    assert_job(world, "j-2", OPEN, BROKEN);
    assert_int_equal(world_site(world)->alarm_count, 2);
}

WORLD_TEST(live_with_no_tag_on_it_breaks_nothing_in_open) {
    world_to_tagged(world, "j-1");
    assert_true(world_lift(world, "t-1", "j-1", POWER3));
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
}

WORLD_TEST(in_restoring_and_it_stays_broken) {
    world_to_restoring(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_job(world, "j-1", RESTORING, BROKEN);
    assert_alarm(world);
    world_isolate(world);
    world_tag_all(world, "t-1", "j-1");
    world_sign_hold(world, "t-1", "j-1");
    assert_job(world, "j-1", RESTORING, BROKEN);
}

WORLD_TEST(in_restoring_under_a_lock_left_by_the_crew) {
    world_to_tagged(world, "j-1");
    world_join_tagged(world, "t-2", "j-1");
    world_sign_hold(world, "t-1", "j-1");
    assert_true(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    world_finish(world, "j-1", "t-1");
    world_lift_all(world, "t-1", "j-1");
    assert_job(world, "j-1", RESTORING, UNCONFIRMED);
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_job(world, "j-1", RESTORING, BROKEN);
    assert_alarm(world);
}

WORLD_TEST(after_the_locks_are_off_live_is_as_it_should_be) {
    world_to_restoring(world, "j-1");
    world_lift_all(world, "t-1", "j-1");
    world_hear_all(world, MODEL_POINT_LIVE);
    assert_job(world, "j-1", RESTORING, UNCONFIRMED);
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
}

WORLD_TEST(in_testing_under_a_lock_hung_since) {
    world_to_testing(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_ISOLATED);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    assert_true(world_test(world, "t-1", "j-1", "continuity", true));
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_job(world, "j-1", RESTORING, BROKEN);
    assert_alarm(world);
    assert_true(gate_test_of(world_job(world, "j-1"), "continuity")->void_);
}

WORLD_TEST(confirmed_in_open_is_lost_when_a_point_goes_silent) {
    world_to_confirmed(world, "j-1");
    world_pass(world, WORLD_MAX_AGE_MS + 1);
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    assert_true(world_told(world, GATE_FACT_LOCKOUT_LOST));
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
}

WORLD_TEST(confirmed_in_open_is_lost_when_the_leader_lifts) {
    world_to_confirmed(world, "j-1");
    assert_true(world_lift(world, "t-1", "j-1", POWER3));
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
}

WORLD_TEST(confirmed_and_live_in_open_is_broken_until_proved_anew) {
    world_to_confirmed(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_job(world, "j-1", OPEN, BROKEN);
    world_isolate(world);
    assert_job(world, "j-1", OPEN, BROKEN);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    assert_job(world, "j-1", OPEN, BROKEN);
    world_sign_hold(world, "t-1", "j-1");
    assert_job(world, "j-1", OPEN, CONFIRMED);
}

WORLD_TEST(cancelling_ends_the_alarm) {
    world_to_tagged(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    world_lift_all(world, "t-1", "j-1");
    assert_refused(world, world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"),
                   MODEL_CODE_ALARM_OPEN);
    world_acknowledge(world);
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"));
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
    assert_job(world, "j-1", CANCELLED, UNCONFIRMED);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(in_open_before_anything_is_signed),
        cmocka_unit_test(in_open_by_sensors_that_disagree),
        cmocka_unit_test(under_the_tag_of_another_of_the_crew),
        cmocka_unit_test(of_every_job_with_a_tag_there),
        cmocka_unit_test(live_with_no_tag_on_it_breaks_nothing_in_open),
        cmocka_unit_test(in_restoring_and_it_stays_broken),
        cmocka_unit_test(in_restoring_under_a_lock_left_by_the_crew),
        cmocka_unit_test(after_the_locks_are_off_live_is_as_it_should_be),
        cmocka_unit_test(in_testing_under_a_lock_hung_since),
        cmocka_unit_test(confirmed_in_open_is_lost_when_a_point_goes_silent),
        cmocka_unit_test(confirmed_in_open_is_lost_when_the_leader_lifts),
        cmocka_unit_test(confirmed_and_live_in_open_is_broken_until_proved_anew),
        cmocka_unit_test(cancelling_ends_the_alarm),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
