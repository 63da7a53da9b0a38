// A prepare, relieve or verify check that fails: where it breaks, where it is only recorded, and
// what is to be done anew after it.
#include "world.h"

static bool failed(struct world *world, const char *person, const char *check) {
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_SIGN_CHECK,
                                                  .person = person,
                                                  .job = "j-1",
                                                  .check = check,
                                                  .has_pass = true,
                                                  .pass = false});
}

static const struct gate_signature *signed_as(struct world *world, const char *check) {
    return gate_signature_of(world_job(world, "j-1"), check);
}

static bool counts(struct world *world, enum world_point point, const char *who) {
    return world_tag_of(world, point, "j-1", who)->counts;
}

WORLD_TEST(a_failed_prepare_stops_the_work) {
    world_to_working(world, "j-1");
    assert_true(failed(world, "t-1", "barricade"));
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_alarm(world);
    assert_int_equal(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN)->why, MODEL_CODE_CHECK_FAILED);
    assert_true(signed_as(world, "no-flow")->void_);
    assert_true(counts(world, POWER3, "t-1")); // no energy was found
}

WORLD_TEST(a_failed_verify_in_open_breaks_and_no_tag_counts) {
    world_to_tagged(world, "j-1");
    world_join_tagged(world, "t-2", "j-1");
    world_forget(world);
    assert_true(world_sign_value(world, "t-1", "j-1", "no-voltage", 240, "V"));
    assert_job(world, "j-1", OPEN, BROKEN);
    assert_alarm(world);
    for (enum world_point p = POWER3; p <= LINE3A; p++) {
        assert_false(counts(world, p, "t-1"));
        assert_false(counts(world, p, "t-2"));
    }
    assert_int_equal(world_times_told(world, GATE_FACT_CREW_UNPROTECTED), 2);
    assert_refused(world, world_sign_value(world, "t-1", "j-1", "no-voltage", 0, "V"),
                   MODEL_CODE_CHECK_OUT_OF_SEASON);
}

WORLD_TEST(the_way_back_is_locks_relieve_and_verify_anew) {
    world_to_tagged(world, "j-1");
    assert_true(world_sign_value(world, "t-1", "j-1", "no-voltage", 240, "V"));
    world_tag_all(world, "t-1", "j-1");
    assert_job(world, "j-1", OPEN, BROKEN);
    world_sign_hold(world, "t-1", "j-1");
    assert_job(world, "j-1", OPEN, CONFIRMED);
    assert_refused(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"),
                   MODEL_CODE_ALARM_OPEN);
    world_acknowledge(world);
    assert_accepted(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
}

WORLD_TEST(under_the_lock_of_another_of_the_crew) {
    world_to_tagged(world, "j-1");
    world_join_tagged(world, "t-2", "j-1");
    world_lift_all(world, "t-1", "j-1");
    assert_true(failed(world, "t-2", "barricade"));
    assert_job(world, "j-1", OPEN, BROKEN);
    assert_alarm(world);
}

WORLD_TEST(with_no_tag_in_open_it_is_recorded_alone) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(failed(world, "t-1", "barricade"));
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    assert_false(signed_as(world, "barricade")->pass);
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
}

WORLD_TEST(a_relieve_that_never_passed_in_open_is_draining) {
    world_to_tagged(world, "j-1");
    assert_true(world_sign_value(world, "t-1", "j-1", "drained", -1, "L"));
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    assert_false(signed_as(world, "drained")->pass);
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
    assert_true(world_sign_value(world, "t-1", "j-1", "drained", 4, "L"));
    assert_true(world_sign_value(world, "t-1", "j-1", "drained", -1, "L"));
    assert_job(world, "j-1", OPEN, BROKEN); // it had been drained
    assert_alarm(world);
    assert_true(counts(world, POWER3, "t-1"));
    assert_true(world_sign_value(world, "t-1", "j-1", "drained", -1, "L")); // in a new hold
    world_acknowledge(world);
    assert_int_equal(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN)->state,
                     MODEL_ALARM_ACKNOWLEDGED);
}

WORLD_TEST(a_failed_relieve_confirms_nothing) {
    world_to_tagged(world, "j-1");
    assert_true(world_sign_value(world, "t-1", "j-1", "drained", -1, "L"));
    assert_true(world_sign(world, "t-1", "j-1", "no-flow"));
    assert_true(world_sign_value(world, "t-1", "j-1", "no-voltage", 0, "V"));
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
}

WORLD_TEST(a_relieve_that_passed_before_a_restart_passed_in_this_hold) {
    world_to_tagged(world, "j-1");
    assert_true(world_sign_value(world, "t-1", "j-1", "drained", 4, "L"));
    world_restart(world, 1000);
    world_controller(world, true);
    world_isolate(world);
    assert_true(world_sign_value(world, "t-1", "j-1", "drained", -1, "L"));
    assert_job(world, "j-1", OPEN, BROKEN);
}

WORLD_TEST(in_testing_it_goes_back_to_restoring_with_the_tests_void) {
    world_to_testing(world, "j-1");
    assert_true(world_test(world, "t-1", "j-1", "leak", true));
    assert_true(failed(world, "t-1", "barricade"));
    assert_job(world, "j-1", RESTORING, BROKEN);
    assert_alarm(world);
    assert_true(gate_test_of(world_job(world, "j-1"), "leak")->void_);
}

WORLD_TEST(in_restoring_it_breaks_while_a_tag_hangs) {
    world_to_restoring(world, "j-1");
    assert_true(failed(world, "t-1", "barricade"));
    assert_job(world, "j-1", RESTORING, BROKEN);
    assert_alarm(world);
}

WORLD_TEST(in_restoring_without_tags_it_is_recorded_alone) {
    world_to_restoring(world, "j-1");
    world_lift_all(world, "t-1", "j-1");
    assert_true(failed(world, "t-1", "barricade"));
    assert_job(world, "j-1", RESTORING, UNCONFIRMED);
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
    assert_refused(world, world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"),
                   MODEL_CODE_CHECK_FAILED);
    assert_true(world_sign(world, "t-1", "j-1", "barricade"));
    assert_accepted(world, world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
}

WORLD_TEST(the_test_gate_asks_for_prepare_checks_that_are_valid) {
    world_to_restoring(world, "j-1");
    world_lift_all(world, "t-1", "j-1");
    world_pass_heard(world, 28800001);
    assert_refused(world, world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"),
                   MODEL_CODE_CHECK_VOID, MODEL_CODE_CHECK_VOID);
    world_sign_prepare(world, "t-1", "j-1");
    assert_accepted(world, world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
}

WORLD_TEST(while_stopped_it_raises_again_with_no_tag_left) {
    world_to_working(world, "j-1");
    assert_true(world_pause(world, "t-1", "j-1"));
    world_sign_clear(world, "t-1", "j-1");
    assert_true(world_sign(world, "t-1", "j-1", "made-safe"));
    world_lift_all(world, "t-1", "j-1");
    assert_job(world, "j-1", STOPPED, UNCONFIRMED);
    assert_true(failed(world, "t-1", "barricade"));
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_alarm(world);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_failed_prepare_stops_the_work),
        cmocka_unit_test(a_failed_verify_in_open_breaks_and_no_tag_counts),
        cmocka_unit_test(the_way_back_is_locks_relieve_and_verify_anew),
        cmocka_unit_test(under_the_lock_of_another_of_the_crew),
        cmocka_unit_test(with_no_tag_in_open_it_is_recorded_alone),
        cmocka_unit_test(a_relieve_that_never_passed_in_open_is_draining),
        cmocka_unit_test(a_failed_relieve_confirms_nothing),
        cmocka_unit_test(a_relieve_that_passed_before_a_restart_passed_in_this_hold),
        cmocka_unit_test(in_testing_it_goes_back_to_restoring_with_the_tests_void),
        cmocka_unit_test(in_restoring_it_breaks_while_a_tag_hangs),
        cmocka_unit_test(in_restoring_without_tags_it_is_recorded_alone),
        cmocka_unit_test(the_test_gate_asks_for_prepare_checks_that_are_valid),
        cmocka_unit_test(while_stopped_it_raises_again_with_no_tag_left),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
