// Finishing, setting aside, doing again.
#include "world.h"

static bool finish(struct world *world, const char *person) {
    return world_verb(world, GATE_VERB_FINISH_WORK, person, "j-1");
}

static void ready(struct world *world) {
    world_to_working(world, "j-1");
    assert_true(world_sign_value(world, "t-1", "j-1", "spout-nut", 46, "N.m"));
    world_sign_clear(world, "t-1", "j-1");
}

WORLD_TEST(finish_holds_when_work_and_clear_are_signed) {
    ready(world);
    assert_accepted(world, finish(world, "t-1"));
    assert_job(world, "j-1", RESTORING, CONFIRMED);
}

WORLD_TEST(finish_asks_for_every_work_check_within_limits) {
    world_to_working(world, "j-1");
    world_sign_clear(world, "t-1", "j-1");
    assert_refused(world, finish(world, "t-1"), MODEL_CODE_CHECK_MISSING);
    assert_true(world_sign_value(world, "t-1", "j-1", "spout-nut", 50, "N.m"));
    world_sign_clear(world, "t-1", "j-1");
    assert_refused(world, finish(world, "t-1"), MODEL_CODE_CHECK_FAILED);
}

WORLD_TEST(finish_asks_for_every_clear_check) {
    world_to_working(world, "j-1");
    assert_true(world_sign_value(world, "t-1", "j-1", "spout-nut", 46, "N.m"));
    assert_true(world_sign(world, "t-1", "j-1", "tools-clear"));
    assert_refused(world, finish(world, "t-1"), MODEL_CODE_CHECK_MISSING);
    assert_true(world_refused(world, MODEL_CODE_CHECK_MISSING, "people-clear"));
    assert_true(world_sign(world, "t-1", "j-1", "people-clear"));
    assert_true(world_sign_value(world, "t-1", "j-1", "spout-nut", 46, "N.m"));
    assert_refused(world, finish(world, "t-1"), MODEL_CODE_CHECK_VOID);
}

WORLD_TEST(finish_is_the_leaders_and_of_working) {
    ready(world);
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    world_sign_clear(world, "t-1", "j-1");
    assert_refused(world, finish(world, "t-2"), MODEL_CODE_NOT_ASSIGNED);
    assert_true(world_pause(world, "t-1", "j-1"));
    assert_refused(world, finish(world, "t-1"), MODEL_CODE_WRONG_PHASE);
}

WORLD_TEST(a_finish_in_another_phase_says_nothing_of_points) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_refused(world, finish(world, "t-1"), MODEL_CODE_WRONG_PHASE, MODEL_CODE_CHECK_MISSING);
}

WORLD_TEST(finish_asks_for_the_journal_and_the_site_but_not_the_link) {
    ready(world);
    gate_contested(world->gate, 0, true, world->now);
    assert_refused(world, finish(world, "t-1"), MODEL_CODE_SITE_CONTESTED);
    gate_contested(world->gate, 0, false, world->now);
    gate_journal(world->gate, false, world->now);
    assert_refused(world, finish(world, "t-1"), MODEL_CODE_JOURNAL_DOWN);
    gate_journal(world->gate, true, world->now);
    gate_link(world->gate, GATE_LIVE, false, world->now);
    assert_accepted(world, finish(world, "t-1"));
}

static void finish_with_nothing_to_clear(void **state) {
    (void)state;
    struct world_copy copy;
    world_copy(&copy);
    copy.checks[1][6].group = copy.checks[1][7].group = MODEL_GROUP_LEAVE;
    struct world *world = world_new_of(&copy.model);
    world_to_working(world, "j-1");
    assert_true(world_sign_value(world, "t-1", "j-1", "spout-nut", 46, "N.m"));
    assert_refused(world, finish(world, "t-1"), MODEL_CODE_CHECK_MISSING);
    assert_true(world_refused(world, MODEL_CODE_CHECK_MISSING, "clear"));
    world_free(world);
}

// --- Set aside ---

static bool set_aside(struct world *world, const char *person) {
    return world_verb(world, GATE_VERB_SET_ASIDE, person, "j-1");
}

WORLD_TEST(set_aside_asks_for_every_clear_and_leave_check) {
    world_to_working(world, "j-1");
    assert_true(world_sign(world, "t-1", "j-1", "made-safe"));
    assert_true(world_sign(world, "t-1", "j-1", "tools-clear"));
    assert_refused(world, set_aside(world, "t-1"), MODEL_CODE_CHECK_MISSING);
    assert_true(world_refused(world, MODEL_CODE_CHECK_MISSING, "people-clear"));
    assert_true(world_sign(world, "t-1", "j-1", "people-clear"));
    assert_accepted(world, set_aside(world, "t-1"));
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    assert_true(world_job(world, "j-1")->set_aside);
}

WORLD_TEST(set_aside_asks_for_leave_too) {
    world_to_stopped(world, "j-1");
    world_sign_clear(world, "t-1", "j-1");
    assert_refused(world, set_aside(world, "t-1"), MODEL_CODE_CHECK_MISSING);
    assert_true(world_refused(world, MODEL_CODE_CHECK_MISSING, "made-safe"));
    assert_true(world_sign(world, "t-1", "j-1", "made-safe"));
    assert_accepted(world, set_aside(world, "t-1"));
}

WORLD_TEST(set_aside_is_the_leaders_and_not_of_a_contested_site) {
    world_to_stopped(world, "j-1");
    world_sign_clear(world, "t-1", "j-1");
    assert_true(world_sign(world, "t-1", "j-1", "made-safe"));
    gate_contested(world->gate, 0, true, world->now);
    assert_refused(world, set_aside(world, "t-1"), MODEL_CODE_SITE_CONTESTED);
    gate_contested(world->gate, 0, false, world->now);
    assert_refused(world, set_aside(world, "s-1"), MODEL_CODE_NOT_ALLOWED, MODEL_CODE_NOT_ASSIGNED);
    assert_accepted(world, set_aside(world, "t-1"));
    assert_refused(world, set_aside(world, "t-1"), MODEL_CODE_WRONG_PHASE, MODEL_CODE_CHECK_VOID);
}

WORLD_TEST(set_aside_ends_a_broken_lockout_and_its_alarm) {
    world_to_working(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    world_sign_clear(world, "t-1", "j-1");
    assert_true(world_sign(world, "t-1", "j-1", "made-safe"));
    assert_refused(world, set_aside(world, "t-1"), MODEL_CODE_ALARM_OPEN);
    world_acknowledge(world);
    assert_accepted(world, set_aside(world, "t-1"));
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
}

// --- Rework ---

WORLD_TEST(rework_goes_back_to_open) {
    world_to_restoring(world, "j-1");
    assert_refused(world, world_verb(world, GATE_VERB_REWORK, "s-1", "j-1"), MODEL_CODE_NOT_ALLOWED,
                   MODEL_CODE_NOT_ASSIGNED);
    assert_accepted(world, world_verb(world, GATE_VERB_REWORK, "t-1", "j-1"));
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    assert_int_equal(world_job(world, "j-1")->rework, 1);
    assert_false(world_job(world, "j-1")->set_aside);
    assert_refused(world, world_verb(world, GATE_VERB_REWORK, "t-1", "j-1"),
                   MODEL_CODE_WRONG_PHASE);
}

WORLD_TEST(rework_from_testing_too_but_not_from_working) {
    world_to_testing(world, "j-1");
    assert_accepted(world, world_verb(world, GATE_VERB_REWORK, "t-1", "j-1"));
    world_isolate(world);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    world_tag_all(world, "t-1", "j-1");
    world_sign_prepare(world, "t-1", "j-1");
    world_sign_hold(world, "t-1", "j-1");
    assert_accepted(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    assert_refused(world, world_verb(world, GATE_VERB_REWORK, "t-1", "j-1"),
                   MODEL_CODE_WRONG_PHASE);
}

WORLD_TEST(rework_ends_a_lockout_broken_after_the_finish) {
    world_to_restoring(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_job(world, "j-1", RESTORING, BROKEN);
    assert_accepted(world, world_verb(world, GATE_VERB_REWORK, "t-1", "j-1"));
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    assert_int_equal(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN)->state,
                     MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(finish_holds_when_work_and_clear_are_signed),
        cmocka_unit_test(finish_asks_for_every_work_check_within_limits),
        cmocka_unit_test(finish_asks_for_every_clear_check),
        cmocka_unit_test(finish_is_the_leaders_and_of_working),
        cmocka_unit_test(a_finish_in_another_phase_says_nothing_of_points),
        cmocka_unit_test(finish_asks_for_the_journal_and_the_site_but_not_the_link),
        cmocka_unit_test(finish_with_nothing_to_clear),
        cmocka_unit_test(set_aside_asks_for_every_clear_and_leave_check),
        cmocka_unit_test(set_aside_asks_for_leave_too),
        cmocka_unit_test(set_aside_is_the_leaders_and_not_of_a_contested_site),
        cmocka_unit_test(set_aside_ends_a_broken_lockout_and_its_alarm),
        cmocka_unit_test(rework_goes_back_to_open),
        cmocka_unit_test(rework_from_testing_too_but_not_from_working),
        cmocka_unit_test(rework_ends_a_lockout_broken_after_the_finish),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
