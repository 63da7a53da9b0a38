// The start gate: holds as a whole, and each requirement alone keeps it shut.
#include "world.h"

static bool start(struct world *world, const char *person) {
    return world_verb(world, GATE_VERB_START_WORK, person, "j-1");
}

WORLD_TEST(it_holds_when_all_is_met) {
    world_to_confirmed(world, "j-1");
    world_forget(world);
    assert_accepted(world, start(world, "t-1"));
    assert_job(world, "j-1", WORKING, CONFIRMED);
    assert_true(world_told(world, GATE_FACT_WORK_STARTED));
    assert_true(world->answer.has_phase);
    assert_int_equal(world->answer.phase, MODEL_PHASE_WORKING);
}

WORLD_TEST(only_who_leads_starts) {
    world_to_tagged(world, "j-1");
    world_join_tagged(world, "t-2", "j-1");
    world_sign_hold(world, "t-1", "j-1");
    assert_refused(world, start(world, "t-2"), MODEL_CODE_NOT_ASSIGNED);
    assert_refused(world, start(world, "m-1"), MODEL_CODE_NOT_ASSIGNED, MODEL_CODE_NOT_ALLOWED);
    assert_accepted(world, start(world, "t-1"));
}

WORLD_TEST(only_in_open_and_stopped) {
    world_to_working(world, "j-1");
    assert_refused(world, start(world, "t-1"), MODEL_CODE_WRONG_PHASE);
    world_finish(world, "j-1", "t-1");
    assert_refused(world, start(world, "t-1"), MODEL_CODE_WRONG_PHASE);
}

// The leader's credential ends by configuration, when all is signed.
static void start_with_credentials(struct model_credential *held, size_t count,
                                   enum model_code code) {
    struct world_copy copy;
    world_copy(&copy);
    struct world *world = world_new_of(&copy.model);
    world_to_confirmed(world, "j-1");
    struct model_person *leader = &copy.people[3];
    assert_string_equal(leader->person, "t-1");
    leader->credentials = held;
    leader->credential_count = count;
    assert_refused(world, start(world, "t-1"), code);
    assert_true(world_refused(world, code, "t-1"));
    world_free(world);
}

static void the_leaders_credential_has_expired(void **state) {
    (void)state;
    const struct model_person *other = model_person_find(world_model(), "t-3");
    start_with_credentials(other->credentials, 1, MODEL_CODE_CREDENTIAL_EXPIRED);
}

static void the_leader_lacks_a_credential(void **state) {
    (void)state;
    start_with_credentials(NULL, 0, MODEL_CODE_CREDENTIAL_MISSING);
}

WORLD_TEST(a_lock_of_each_of_the_crew_on_each_point) {
    world_to_confirmed(world, "j-1");
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_true(world_tag(world, "t-2", "j-1", POWER3));
    assert_true(world_tag(world, "t-2", "j-1", LINE3A));
    assert_refused(world, start(world, "t-1"), MODEL_CODE_TAG_MISSING);
    assert_int_equal(world->answer.refusal_count, 1);
    assert_string_equal(world->answer.refusals[0].subject, "3-valve");
    assert_string_equal(world->answer.refusals[0].found, "none");
    assert_true(world_tag(world, "t-2", "j-1", VALVE3));
    assert_accepted(world, start(world, "t-1"));
}

WORLD_TEST(a_lock_that_does_not_count_is_missing_and_found_says_why) {
    world_to_tagged(world, "j-1");
    world_join_tagged(world, "t-2", "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    world_isolate(world);
    world_acknowledge(world);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    world_sign_hold(world, "t-1", "j-1");
    world_acknowledge(world);
    assert_refused(world, start(world, "t-1"), MODEL_CODE_TAG_MISSING);
    assert_string_not_equal(world->answer.refusals[0].found, "none");
}

WORLD_TEST(every_prepare_check) {
    world_to_confirmed(world, "j-1");
    world_pass_heard(world, 1000);
    world_job(world, "j-1")->signatures[0].at.mono -= 28800000; // barricade, of long ago
    assert_refused(world, start(world, "t-1"), MODEL_CODE_CHECK_VOID);
    assert_true(world_refused(world, MODEL_CODE_CHECK_VOID, "barricade"));
    world_job(world, "j-1")->signatures[0].at.mono += 28800000;
    assert_accepted(world, start(world, "t-1"));
}

WORLD_TEST(a_prepare_check_not_signed) {
    world_open_at(world, "j-1", "3A", "spout", "t-1");
    assert_true(world_sign(world, "t-1", "j-1", "barricade"));
    world_isolate(world);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    world_tag_all(world, "t-1", "j-1");
    assert_refused(world, start(world, "t-1"), MODEL_CODE_CHECK_MISSING);
    assert_true(world_refused(world, MODEL_CODE_CHECK_MISSING, "site-told"));
}

WORLD_TEST(every_relieve_check) {
    world_to_tagged(world, "j-1");
    assert_true(world_sign(world, "t-1", "j-1", "no-flow"));
    assert_true(world_sign_value(world, "t-1", "j-1", "no-voltage", 0, "V"));
    assert_refused(world, start(world, "t-1"), MODEL_CODE_CHECK_MISSING);
    assert_true(world_refused(world, MODEL_CODE_CHECK_MISSING, "drained"));
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
}

WORLD_TEST(every_verify_check_within_its_limits) {
    world_to_tagged(world, "j-1");
    world_sign_hold(world, "t-1", "j-1");
    assert_true(world_sign_value(world, "t-1", "j-1", "no-voltage", 1.01, "V"));
    world_tag_all(world, "t-1", "j-1"); // after what was found
    world_acknowledge(world);
    assert_refused(world, start(world, "t-1"), MODEL_CODE_CHECK_VOID);
    assert_job(world, "j-1", OPEN, BROKEN);
    world_sign_hold(world, "t-1", "j-1");
    assert_true(world_sign_value(world, "t-1", "j-1", "no-voltage", 1, "V"));
    assert_accepted(world, start(world, "t-1"));
}

WORLD_TEST(a_kit_named_that_matches_the_nozzle) {
    assert_true(world_ask(world, (struct gate_request){.verb = GATE_VERB_OPEN_JOB,
                                                       .person = "k-1",
                                                       .job = "j-1",
                                                       .position = "3A",
                                                       .procedure = "spout",
                                                       .technician = "t-1"}));
    world_sign_prepare(world, "t-1", "j-1");
    world_isolate(world);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    world_tag_all(world, "t-1", "j-1");
    world_sign_hold(world, "t-1", "j-1");
    assert_refused(world, start(world, "t-1"), MODEL_CODE_PART_MISMATCH);
}

WORLD_TEST(the_broker_link_is_up) {
    world_to_confirmed(world, "j-1");
    gate_link(world->gate, GATE_LIVE, false, world->now);
    assert_refused(world, start(world, "t-1"), MODEL_CODE_LINK_DOWN);
    gate_link(world->gate, GATE_LIVE, true, world->now);
    assert_accepted(world, start(world, "t-1"));
}

WORLD_TEST(the_journal_writes) {
    world_to_confirmed(world, "j-1");
    gate_journal(world->gate, false, world->now);
    assert_refused(world, start(world, "t-1"), MODEL_CODE_JOURNAL_DOWN);
    gate_journal(world->gate, true, world->now);
    assert_accepted(world, start(world, "t-1"));
}

WORLD_TEST(the_site_is_not_contested) {
    world_to_confirmed(world, "j-1");
    gate_contested(world->gate, 0, true, world->now);
    assert_refused(world, start(world, "t-1"), MODEL_CODE_SITE_CONTESTED);
    gate_contested(world->gate, 0, false, world->now);
    assert_accepted(world, start(world, "t-1"));
}

WORLD_TEST(no_alarm_of_the_job_is_unacknowledged) {
    world_to_tagged(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    world_isolate(world);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    world_sign_hold(world, "t-1", "j-1");
    assert_job(world, "j-1", OPEN, CONFIRMED);
    assert_refused(world, start(world, "t-1"), MODEL_CODE_ALARM_OPEN);
    world_acknowledge(world);
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
    assert_accepted(world, start(world, "t-1"));
}

WORLD_TEST(every_required_point) {
    world_to_confirmed(world, "j-1");
    world_bad(world, S_VALVE3B);
    assert_refused(world, start(world, "t-1"), MODEL_CODE_POINT_UNKNOWN, MODEL_CODE_CHECK_VOID);
    assert_true(world_refused(world, MODEL_CODE_POINT_UNKNOWN, "3-valve"));
    world_hear(world, S_VALVE3B, MODEL_POINT_ISOLATED);
    assert_refused(world, start(world, "t-1"), MODEL_CODE_POINT_SETTLING, MODEL_CODE_CHECK_VOID);
    world_pass_heard(world, WORLD_SETTLE_MS);
    world_sign_hold(world, "t-1", "j-1");
    assert_accepted(world, start(world, "t-1"));
}

WORLD_TEST(everything_that_lacks_is_listed_at_once) {
    assert_true(world_open(world, "j-1", "3A", "t-3"));
    world_controller(world, false);
    world_hear(world, S_VALVE3A, MODEL_POINT_LIVE);
    gate_link(world->gate, GATE_LIVE, false, world->now);
    gate_contested(world->gate, 0, true, world->now);
    assert_refused(world, start(world, "t-3"), MODEL_CODE_CREDENTIAL_EXPIRED,
                   MODEL_CODE_CHECK_MISSING, MODEL_CODE_CONTROLLER_OFFLINE,
                   MODEL_CODE_POINT_DISAGREES, MODEL_CODE_POINT_UNKNOWN, MODEL_CODE_TAG_MISSING,
                   MODEL_CODE_LINK_DOWN, MODEL_CODE_SITE_CONTESTED);
    assert_int_equal(world->answer.refusal_count, 1 + 2 + 3 + 3 + 3 + 2);
    assert_true(world_told(world, GATE_FACT_WORK_REFUSED));
}

WORLD_TEST(a_job_without_a_leader) {
    assert_true(world_open(world, "j-1", "3A", NULL));
    assert_false(start(world, "t-1"));
    assert_true(world_refused(world, MODEL_CODE_NOT_ASSIGNED, "j-1"));
}

// A stricter configuration asks for an energy for which nothing is known.
static void an_energy_that_no_point_isolates(void **state) {
    (void)state;
    static const char *energies[] = {"electrical", "product", "pressure"};
    struct world_copy copy;
    world_copy(&copy);
    copy.procedures[1].isolate = energies;
    copy.procedures[1].isolate_count = 3;
    struct world *world = world_new();
    world_to_confirmed(world, "j-1");
    world_restart_with(world, &copy.model, 1000);
    assert_false(start(world, "t-1"));
    assert_true(world_refused(world, MODEL_CODE_ENERGY_UNMAPPED, "pressure"));
    assert_int_equal(world_job(world, "j-1")->isolation, GATE_ISOLATION_NONE);
    world_free(world);
}

// Nothing to verify proves nothing.
static void an_empty_list_opens_no_gate(void **state) {
    (void)state;
    struct world_copy copy;
    world_copy(&copy);
    copy.checks[1][3].group = copy.checks[1][4].group = MODEL_GROUP_PREPARE;
    copy.checks[1][3].valid_ms = copy.checks[1][4].valid_ms = 28800000;
    struct world *world = world_new_of(&copy.model);
    world_to_tagged(world, "j-1");
    assert_true(world_sign(world, "t-1", "j-1", "no-flow"));
    assert_true(world_sign_value(world, "t-1", "j-1", "no-voltage", 0, "V"));
    world_sign_hold(world, "t-1", "j-1");
    assert_refused(world, start(world, "t-1"), MODEL_CODE_CHECK_MISSING);
    assert_true(world_refused(world, MODEL_CODE_CHECK_MISSING, "verify"));
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    world_free(world);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(it_holds_when_all_is_met),
        cmocka_unit_test(only_who_leads_starts),
        cmocka_unit_test(only_in_open_and_stopped),
        cmocka_unit_test(the_leaders_credential_has_expired),
        cmocka_unit_test(the_leader_lacks_a_credential),
        cmocka_unit_test(a_lock_of_each_of_the_crew_on_each_point),
        cmocka_unit_test(a_lock_that_does_not_count_is_missing_and_found_says_why),
        cmocka_unit_test(every_prepare_check),
        cmocka_unit_test(a_prepare_check_not_signed),
        cmocka_unit_test(every_relieve_check),
        cmocka_unit_test(every_verify_check_within_its_limits),
        cmocka_unit_test(a_kit_named_that_matches_the_nozzle),
        cmocka_unit_test(the_broker_link_is_up),
        cmocka_unit_test(the_journal_writes),
        cmocka_unit_test(the_site_is_not_contested),
        cmocka_unit_test(no_alarm_of_the_job_is_unacknowledged),
        cmocka_unit_test(every_required_point),
        cmocka_unit_test(everything_that_lacks_is_listed_at_once),
        cmocka_unit_test(a_job_without_a_leader),
        cmocka_unit_test(an_energy_that_no_point_isolates),
        cmocka_unit_test(an_empty_list_opens_no_gate),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
