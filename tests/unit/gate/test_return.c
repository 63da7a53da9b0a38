// The return gate: holds as a whole, and each requirement alone keeps it shut.
#include "world.h"

static bool back(struct world *world, const char *person) {
    return world_verb(world, GATE_VERB_RETURN_POSITION, person, "j-1");
}

static void ready(struct world *world) {
    world_to_testing(world, "j-1");
    assert_true(world_test(world, "t-1", "j-1", "leak", true));
    assert_true(world_test(world, "t-1", "j-1", "continuity", true));
    assert_true(world_sign(world, "t-1", "j-1", "barricade-removed"));
}

WORLD_TEST(it_returns_when_all_is_met) {
    ready(world);
    world_forget(world);
    assert_accepted(world, back(world, "t-1"));
    assert_job(world, "j-1", RETURNED, UNCONFIRMED);
    assert_true(world_told(world, GATE_FACT_JOB_RETURNED));
    assert_int_equal(world_site(world)->positions[P3A].service, MODEL_SERVICE_IN);
    assert_refused(world, back(world, "t-1"), MODEL_CODE_WRONG_PHASE);
}

WORLD_TEST(every_test_is_recorded) {
    world_to_testing(world, "j-1");
    assert_true(world_test(world, "t-1", "j-1", "leak", true));
    assert_true(world_sign(world, "t-1", "j-1", "barricade-removed"));
    world_forget(world);
    assert_refused(world, back(world, "t-1"), MODEL_CODE_TEST_MISSING);
    assert_true(world_refused(world, MODEL_CODE_TEST_MISSING, "continuity"));
    assert_true(world_told(world, GATE_FACT_RETURN_REFUSED));
}

WORLD_TEST(the_latest_record_passes) {
    ready(world);
    assert_true(world_test(world, "t-1", "j-1", "leak", false));
    assert_true(world_sign(world, "t-1", "j-1", "barricade-removed"));
    assert_refused(world, back(world, "t-1"), MODEL_CODE_TEST_FAILED);
    assert_true(world_test(world, "t-1", "j-1", "leak", true));
    assert_true(world_sign(world, "t-1", "j-1", "barricade-removed"));
    assert_accepted(world, back(world, "t-1"));
}

WORLD_TEST(no_test_is_void) {
    ready(world);
    world_reader(world, POWER3, "badge-77", true);
    world_reader(world, POWER3, "badge-77", false);
    assert_refused(world, back(world, "t-1"), MODEL_CODE_TEST_MISSING, MODEL_CODE_CHECK_VOID);
    assert_true(world_test(world, "t-1", "j-1", "leak", true));
    assert_true(world_test(world, "t-1", "j-1", "continuity", true));
    assert_true(world_sign(world, "t-1", "j-1", "barricade-removed"));
    assert_accepted(world, back(world, "t-1"));
}

WORLD_TEST(every_finish_check_is_signed) {
    world_to_testing(world, "j-1");
    assert_true(world_test(world, "t-1", "j-1", "leak", true));
    assert_true(world_sign(world, "t-1", "j-1", "barricade-removed"));
    assert_true(world_test(world, "t-1", "j-1", "continuity", true));
    assert_refused(world, back(world, "t-1"), MODEL_CODE_CHECK_VOID);
    assert_true(world_sign(world, "t-1", "j-1", "barricade-removed"));
    assert_accepted(world, back(world, "t-1"));
}

WORLD_TEST(no_tag_of_the_job_hangs) {
    world_to_testing(world, "j-1");
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    world_reader(world, POWER3, "t-2", true);
    assert_true(world_test(world, "t-1", "j-1", "leak", true));
    assert_true(world_test(world, "t-1", "j-1", "continuity", true));
    assert_true(world_sign(world, "t-1", "j-1", "barricade-removed"));
    assert_refused(world, back(world, "t-1"), MODEL_CODE_TAG_HUNG);
    world_reader(world, POWER3, "t-2", false);
    assert_accepted(world, back(world, "t-1"));
}

WORLD_TEST(every_required_point_is_live_and_trusted) {
    ready(world);
    world_bad(world, S_VALVE3A);
    assert_refused(world, back(world, "t-1"), MODEL_CODE_POINT_NOT_RESTORED);
    assert_true(world_refused(world, MODEL_CODE_POINT_NOT_RESTORED, "3-valve"));
    world_hear(world, S_VALVE3A, MODEL_POINT_LIVE);
    world_controller(world, false);
    assert_refused(world, back(world, "t-1"), MODEL_CODE_POINT_NOT_RESTORED);
    world_controller(world, true);
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_accepted(world, back(world, "t-1"));
}

WORLD_TEST(a_point_grown_stale_is_not_restored) {
    ready(world);
    world_pass(world, WORLD_MAX_AGE_MS + 1);
    assert_refused(world, back(world, "t-1"), MODEL_CODE_POINT_NOT_RESTORED);
    world_hear_all(world, MODEL_POINT_LIVE);
    assert_accepted(world, back(world, "t-1"));
}

// A reader sees a lock while it is tested, and it is removed as an absent one's.
WORLD_TEST(an_alarm_while_testing_is_acknowledged_before_the_return) {
    world_to_testing(world, "j-1");
    world_reader(world, POWER3, "t-1", true);
    assert_true(world_ask(world, (struct gate_request){.verb = GATE_VERB_LIFT_ABSENT_TAG,
                                                       .person = "s-1",
                                                       .job = "j-1",
                                                       .point = "3-power",
                                                       .member = "t-1",
                                                       .reason = "went home",
                                                       .not_on_site = true,
                                                       .contact_tried = true,
                                                       .will_be_told = true}));
    assert_true(
        world_ask(world, (struct gate_request){.verb = GATE_VERB_CONFIRM_TOLD, .person = "t-1"}));
    assert_true(world_test(world, "t-1", "j-1", "leak", true));
    assert_true(world_test(world, "t-1", "j-1", "continuity", true));
    assert_true(world_sign(world, "t-1", "j-1", "barricade-removed"));
    assert_refused(world, back(world, "t-1"), MODEL_CODE_ALARM_OPEN);
    world_acknowledge(world);
    assert_accepted(world, back(world, "t-1"));
}

WORLD_TEST(an_alarm_after_the_finish_is_acknowledged_first) {
    world_to_restoring(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    world_lift_all(world, "t-1", "j-1");
    world_hear_all(world, MODEL_POINT_LIVE);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_LIVE));
    assert_refused(world, world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"),
                   MODEL_CODE_ALARM_OPEN);
    world_acknowledge(world);
    assert_true(world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
    assert_job(world, "j-1", TESTING, BROKEN);
    assert_true(world_test(world, "t-1", "j-1", "leak", true));
    assert_true(world_test(world, "t-1", "j-1", "continuity", true));
    assert_true(world_sign(world, "t-1", "j-1", "barricade-removed"));
    assert_non_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
    assert_accepted(world, back(world, "t-1"));
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
}

WORLD_TEST(return_asks_for_link_journal_and_site) {
    ready(world);
    gate_link(world->gate, GATE_LIVE, false, world->now);
    assert_refused(world, back(world, "t-1"), MODEL_CODE_LINK_DOWN);
    gate_link(world->gate, GATE_LIVE, true, world->now);
    gate_journal(world->gate, false, world->now);
    assert_refused(world, back(world, "t-1"), MODEL_CODE_JOURNAL_DOWN);
    gate_journal(world->gate, true, world->now);
    gate_contested(world->gate, 0, true, world->now);
    assert_refused(world, back(world, "t-1"), MODEL_CODE_SITE_CONTESTED);
}

WORLD_TEST(the_leader_returns_it) {
    ready(world);
    assert_refused(world, back(world, "s-1"), MODEL_CODE_NOT_ALLOWED, MODEL_CODE_NOT_ASSIGNED);
    assert_refused(world, back(world, "t-2"), MODEL_CODE_NOT_ASSIGNED);
    assert_accepted(world, back(world, "t-1"));
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(it_returns_when_all_is_met),
        cmocka_unit_test(every_test_is_recorded),
        cmocka_unit_test(the_latest_record_passes),
        cmocka_unit_test(no_test_is_void),
        cmocka_unit_test(every_finish_check_is_signed),
        cmocka_unit_test(no_tag_of_the_job_hangs),
        cmocka_unit_test(every_required_point_is_live_and_trusted),
        cmocka_unit_test(a_point_grown_stale_is_not_restored),
        cmocka_unit_test(an_alarm_while_testing_is_acknowledged_before_the_return),
        cmocka_unit_test(an_alarm_after_the_finish_is_acknowledged_first),
        cmocka_unit_test(return_asks_for_link_journal_and_site),
        cmocka_unit_test(the_leader_returns_it),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
