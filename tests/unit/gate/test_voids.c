// What voids a signature or a test.
#include "world.h"

static bool is_void(struct world *world, const char *job, const char *check) {
    const struct gate_signature *signature = gate_signature_of(world_job(world, job), check);
    return gate_signature_void(world_job(world, job), signature, world->now);
}

static bool test_void(struct world *world, const char *job, const char *test) {
    return gate_test_of(world_job(world, job), test)->void_;
}

WORLD_TEST(prepare_goes_void_by_its_time) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_sign(world, "t-1", "j-1", "barricade"));
    world_pass(world, 28800000);
    assert_false(is_void(world, "j-1", "barricade"));
    world_pass(world, 1);
    assert_true(is_void(world, "j-1", "barricade"));
    assert_true(world_sign(world, "t-1", "j-1", "barricade"));
    assert_false(is_void(world, "j-1", "barricade"));
}

WORLD_TEST(other_signatures_do_not_age) {
    world_to_confirmed(world, "j-1");
    world_pass_heard(world, 30000);
    assert_false(is_void(world, "j-1", "no-flow"));
    assert_job(world, "j-1", OPEN, CONFIRMED);
}

WORLD_TEST(relieve_and_verify_go_with_the_hold) {
    world_to_confirmed(world, "j-1");
    assert_true(world_lift(world, "t-1", "j-1", LINE3A));
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    assert_true(is_void(world, "j-1", "drained"));
    assert_true(is_void(world, "j-1", "no-flow"));
    assert_false(is_void(world, "j-1", "barricade"));
    assert_true(world_tag(world, "t-1", "j-1", LINE3A));
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    world_sign_hold(world, "t-1", "j-1");
    assert_job(world, "j-1", OPEN, CONFIRMED);
}

WORLD_TEST(verify_older_than_the_newest_relieve_is_void) {
    world_to_confirmed(world, "j-1");
    assert_true(world_sign_value(world, "t-1", "j-1", "drained", 3, "L"));
    assert_true(is_void(world, "j-1", "no-flow"));
    assert_true(is_void(world, "j-1", "no-voltage"));
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    assert_true(world_sign(world, "t-1", "j-1", "no-flow"));
    assert_true(world_sign_value(world, "t-1", "j-1", "no-voltage", 0, "V"));
    assert_job(world, "j-1", OPEN, CONFIRMED);
}

WORLD_TEST(a_relieve_while_working_counts_for_the_next_start) {
    world_to_working(world, "j-1");
    assert_true(world_sign_value(world, "t-1", "j-1", "drained", 1, "L"));
    assert_job(world, "j-1", WORKING, CONFIRMED);
    assert_false(is_void(world, "j-1", "no-flow"));
    assert_true(world_pause(world, "t-1", "j-1"));
    assert_true(is_void(world, "j-1", "no-flow"));
    assert_job(world, "j-1", STOPPED, UNCONFIRMED);
    assert_refused(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"),
                   MODEL_CODE_CHECK_VOID);
    assert_true(world_sign(world, "t-1", "j-1", "no-flow"));
    assert_true(world_sign_value(world, "t-1", "j-1", "no-voltage", 0, "V"));
    assert_accepted(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
}

// A verify signed after that relieve, still while working, stands.
WORLD_TEST(a_verify_after_the_relieve_stands_through_a_stop) {
    world_to_working(world, "j-1");
    world_sign_hold(world, "t-1", "j-1");
    assert_true(world_pause(world, "t-1", "j-1"));
    assert_job(world, "j-1", STOPPED, CONFIRMED);
    assert_accepted(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
}

WORLD_TEST(a_stop_alone_voids_nothing) {
    world_to_working(world, "j-1");
    assert_true(world_sign_value(world, "t-1", "j-1", "spout-nut", 46, "N.m"));
    assert_true(world_pause(world, "t-1", "j-1"));
    assert_job(world, "j-1", STOPPED, CONFIRMED);
    assert_accepted(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    assert_false(is_void(world, "j-1", "spout-nut"));
}

WORLD_TEST(a_break_voids_relieve_and_verify) {
    world_to_working(world, "j-1");
    assert_true(world_sign_value(world, "t-1", "j-1", "spout-nut", 46, "N.m"));
    world_bad(world, S_POWER3);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_true(is_void(world, "j-1", "drained"));
    assert_true(is_void(world, "j-1", "no-flow"));
    assert_false(is_void(world, "j-1", "spout-nut"));
}

// A failed verify leaves the hold as it was; it is the break that voids.
WORLD_TEST(a_break_by_a_failed_reading_voids_them_too) {
    world_to_stopped(world, "j-1");
    assert_true(world_sign_value(world, "t-1", "j-1", "no-voltage", 40, "V"));
    assert_true(is_void(world, "j-1", "drained"));
    assert_true(is_void(world, "j-1", "no-flow"));
}

WORLD_TEST(clear_and_leave_go_with_a_start_a_work_signature_and_a_join) {
    const char *both[] = {"tools-clear", "made-safe"};
    world_to_working(world, "j-1");
    for (int i = 0; i < 2; i++) {
        assert_true(world_sign(world, "t-1", "j-1", both[i]));
        assert_false(is_void(world, "j-1", both[i]));
    }
    assert_true(world_sign_value(world, "t-1", "j-1", "spout-nut", 46, "N.m"));
    for (int i = 0; i < 2; i++) {
        assert_true(is_void(world, "j-1", both[i]));
        assert_true(world_sign(world, "t-1", "j-1", both[i]));
    }
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    for (int i = 0; i < 2; i++) {
        assert_true(is_void(world, "j-1", both[i]));
        assert_true(world_sign(world, "t-1", "j-1", both[i]));
    }
    world_tag_all(world, "t-2", "j-1");
    assert_true(world_pause(world, "t-1", "j-1"));
    assert_false(is_void(world, "j-1", both[0]));
    assert_accepted(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    for (int i = 0; i < 2; i++) {
        assert_true(is_void(world, "j-1", both[i]));
    }
}

WORLD_TEST(tests_go_with_the_next_begin) {
    world_to_testing(world, "j-1");
    assert_true(world_test(world, "t-1", "j-1", "leak", true));
    assert_true(world_sign(world, "t-1", "j-1", "barricade-removed"));
    assert_false(test_void(world, "j-1", "leak"));
    assert_true(world_stop(world, "t-1", "j-1", NULL));
    assert_true(test_void(world, "j-1", "leak"));
    assert_true(is_void(world, "j-1", "barricade-removed"));
    assert_job(world, "j-1", RESTORING, UNCONFIRMED);
    world_acknowledge(world);
    world_sign_prepare(world, "t-1", "j-1");
    assert_true(world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
    assert_true(test_void(world, "j-1", "leak"));
}

WORLD_TEST(tests_go_with_a_lock_of_anybody_on_a_required_point) {
    world_to_testing(world, "j-1");
    assert_true(world_test(world, "t-1", "j-1", "leak", true));
    assert_true(world_sign(world, "t-1", "j-1", "barricade-removed"));
    world_reader(world, POWER4, "badge-77", true);
    assert_false(test_void(world, "j-1", "leak"));
    world_forget(world);
    world_reader(world, POWER3, "badge-77", true);
    assert_true(test_void(world, "j-1", "leak"));
    assert_true(is_void(world, "j-1", "barricade-removed"));
    assert_false(world_told(world, GATE_FACT_TESTS_VOIDED)); // the lock's own fact says it
}

WORLD_TEST(a_lock_on_any_point_of_the_dispenser_voids_the_tests) {
    world_work_at(world, "j-2", "3B", "spout", "t-2");
    world_finish(world, "j-2", "t-2");
    world_lift_all(world, "t-2", "j-2");
    assert_true(world_verb(world, GATE_VERB_BEGIN_TEST, "t-2", "j-2"));
    assert_true(world_sign(world, "t-2", "j-2", "barricade-removed"));
    world_reader(world, LINE3A, "badge-77", true); // of the other side alone
    assert_true(is_void(world, "j-2", "barricade-removed"));
    world_reader(world, LINE3A, "badge-77", false);
    assert_true(world_test(world, "t-2", "j-2", "continuity", true));
    world_reader(world, POWER4, "badge-77", true); // of another dispenser
    assert_false(test_void(world, "j-2", "continuity"));
    world_reader(world, LINE3A, "badge-77", true);
    assert_true(test_void(world, "j-2", "continuity"));
}

WORLD_TEST(tests_go_with_a_tag_of_another_job) {
    world_to_testing(world, "j-1");
    assert_true(world_test(world, "t-1", "j-1", "leak", true));
    assert_true(world_open(world, "j-2", "3B", "t-2"));
    world_isolate(world);
    assert_true(world_tag(world, "t-2", "j-2", VALVE3));
    assert_true(test_void(world, "j-1", "leak"));
}

WORLD_TEST(finish_is_older_than_no_test) {
    world_to_testing(world, "j-1");
    assert_true(world_test(world, "t-1", "j-1", "leak", true));
    assert_true(world_sign(world, "t-1", "j-1", "barricade-removed"));
    assert_true(world_test(world, "t-1", "j-1", "continuity", true));
    assert_true(is_void(world, "j-1", "barricade-removed"));
    assert_false(test_void(world, "j-1", "leak"));
}

static const char *const signed_checks[] = {"barricade",  "site-told",   "drained",     "no-flow",
                                            "no-voltage", "tools-clear", "people-clear"};

WORLD_TEST(rework_voids_every_signature) {
    world_to_testing(world, "j-1");
    assert_true(world_test(world, "t-1", "j-1", "leak", true));
    assert_true(world_verb(world, GATE_VERB_REWORK, "t-1", "j-1"));
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    for (size_t i = 0; i < sizeof signed_checks / sizeof *signed_checks; i++) {
        assert_true(is_void(world, "j-1", signed_checks[i]));
    }
    assert_true(is_void(world, "j-1", "spout-nut"));
    assert_true(test_void(world, "j-1", "leak"));
}

WORLD_TEST(set_aside_voids_every_signature) {
    world_to_working(world, "j-1");
    assert_true(world_sign_value(world, "t-1", "j-1", "spout-nut", 46, "N.m"));
    world_sign_clear(world, "t-1", "j-1");
    assert_true(world_sign(world, "t-1", "j-1", "made-safe"));
    assert_true(world_verb(world, GATE_VERB_SET_ASIDE, "t-1", "j-1"));
    for (size_t i = 0; i < sizeof signed_checks / sizeof *signed_checks; i++) {
        assert_true(is_void(world, "j-1", signed_checks[i]));
    }
    assert_true(is_void(world, "j-1", "spout-nut"));
    assert_true(is_void(world, "j-1", "tools-clear"));
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(prepare_goes_void_by_its_time),
        cmocka_unit_test(other_signatures_do_not_age),
        cmocka_unit_test(relieve_and_verify_go_with_the_hold),
        cmocka_unit_test(verify_older_than_the_newest_relieve_is_void),
        cmocka_unit_test(a_relieve_while_working_counts_for_the_next_start),
        cmocka_unit_test(a_verify_after_the_relieve_stands_through_a_stop),
        cmocka_unit_test(a_stop_alone_voids_nothing),
        cmocka_unit_test(a_break_voids_relieve_and_verify),
        cmocka_unit_test(a_break_by_a_failed_reading_voids_them_too),
        cmocka_unit_test(clear_and_leave_go_with_a_start_a_work_signature_and_a_join),
        cmocka_unit_test(tests_go_with_the_next_begin),
        cmocka_unit_test(tests_go_with_a_lock_of_anybody_on_a_required_point),
        cmocka_unit_test(a_lock_on_any_point_of_the_dispenser_voids_the_tests),
        cmocka_unit_test(tests_go_with_a_tag_of_another_job),
        cmocka_unit_test(finish_is_older_than_no_test),
        cmocka_unit_test(rework_voids_every_signature),
        cmocka_unit_test(set_aside_voids_every_signature),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
