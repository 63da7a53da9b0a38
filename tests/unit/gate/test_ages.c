// Signatures and records that stand for a time only: what lapses when, and what that draws.
#include <stdlib.h>

#include "world.h"
#include "world_journal.h"

#define MINUTE 60000

// The forecourt whose procedure lets `drained` stand for 10 min, `no-voltage` for 5 min and the
// test `leak` for 200 s.
static struct world *ageing(void) {
    static struct world_copy copy;
    world_copy(&copy);
    struct model_requirements *spout = &copy.procedures[1];
    model_check_named(spout, "drained")->valid_ms = 10 * MINUTE;
    model_check_named(spout, "no-voltage")->valid_ms = 5 * MINUTE;
    spout->tests[0].valid_ms = 200000; // no multiple of what else is due
    return world_new_of(&copy.model);
}

#define AGES_TEST(name)                                                                            \
    static void name##_in(struct world *world);                                                    \
    static void name(void **state) {                                                               \
        (void)state;                                                                               \
        struct world *world = ageing();                                                            \
        name##_in(world);                                                                          \
        world_free(world);                                                                         \
    }                                                                                              \
    static void name##_in(struct world *world)

static const struct gate_signature *signed_as(struct world *world, const char *check) {
    return gate_signature_of(world_job(world, "j-1"), check);
}

static bool is_void(struct world *world, const char *check) {
    return gate_signature_void(world_job(world, "j-1"), signed_as(world, check), world->now);
}

static bool test_void(struct world *world, const char *test) {
    const struct gate_job *job = world_job(world, "j-1");
    return gate_test_void(world_site(world), job, gate_test_of(job, test), world->now);
}

// --- While working, stopped, and else ---

AGES_TEST(a_verify_that_lapses_stops_the_work) {
    world_to_working(world, "j-1");
    world_pass_heard(world, 5 * MINUTE - 5000);
    assert_job(world, "j-1", WORKING, CONFIRMED);
    world_pass_heard(world, 5000);
    assert_job(world, "j-1", WORKING, CONFIRMED); // for the whole of it
    world_pass(world, 1);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_alarm(world);
    assert_int_equal(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN)->why, MODEL_CODE_CHECK_VOID);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts); // nothing was found
}

AGES_TEST(a_verify_signed_again_in_time_goes_on) {
    world_to_working(world, "j-1");
    world_pass_heard(world, 4 * MINUTE);
    assert_true(world_sign_value(world, "t-1", "j-1", "no-voltage", 0, "V"));
    world_pass_heard(world, 4 * MINUTE);
    assert_job(world, "j-1", WORKING, CONFIRMED);
}

AGES_TEST(a_relieve_signed_while_working_renews_itself_and_nothing_else) {
    world_to_working(world, "j-1");
    world_pass_heard(world, 4 * MINUTE);
    assert_true(world_sign_value(world, "t-1", "j-1", "drained", 1, "L"));
    assert_true(world_sign_value(world, "t-1", "j-1", "no-voltage", 0, "V"));
    world_pass_heard(world, 4 * MINUTE);
    assert_true(world_sign_value(world, "t-1", "j-1", "no-voltage", 0, "V"));
    world_pass_heard(world, 4 * MINUTE);
    assert_job(world, "j-1", WORKING, CONFIRMED);
    assert_false(is_void(world, "drained"));
    assert_false(is_void(world, "no-flow")); // older, and void at the next stop
    assert_true(world_verb(world, GATE_VERB_STOP_WORK, "t-1", "j-1"));
    assert_true(is_void(world, "no-flow"));
}

AGES_TEST(one_that_lapses_while_stopped_raises_the_alarm) {
    world_to_working(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    world_acknowledge(world);
    world_isolate(world);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    assert_true(world_sign_value(world, "t-1", "j-1", "no-voltage", 0, "V"));
    assert_int_equal(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN)->state,
                     MODEL_ALARM_ACKNOWLEDGED);
    world_pass_heard(world, 5 * MINUTE + 1000); // not proved anew, and less than it was
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_alarm(world);
}

AGES_TEST(one_that_lapses_while_paused_breaks) {
    world_to_stopped(world, "j-1");
    world_pass_heard(world, 5 * MINUTE + 1000);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_alarm(world);
}

AGES_TEST(in_open_the_lockout_is_lost_without_alarm) {
    world_to_confirmed(world, "j-1");
    world_pass_heard(world, 5 * MINUTE + 1000);
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
    assert_refused(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"),
                   MODEL_CODE_CHECK_VOID);
    assert_true(world_sign_value(world, "t-1", "j-1", "no-voltage", 0, "V"));
    assert_job(world, "j-1", OPEN, CONFIRMED);
}

AGES_TEST(one_that_lapsed_while_the_daemon_was_away_stops_the_work) {
    world_to_working(world, "j-1");
    world_pass_heard(world, 5 * MINUTE - 5000);
    world_restart(world, 6000);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_int_equal(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN)->why, MODEL_CODE_CHECK_VOID);
}

// --- Tests ---

AGES_TEST(a_test_goes_void_by_its_time) {
    world_to_testing(world, "j-1");
    assert_true(world_test(world, "t-1", "j-1", "leak", true));
    assert_true(world_test(world, "t-1", "j-1", "continuity", true));
    assert_true(world_sign(world, "t-1", "j-1", "barricade-removed"));
    world_pass_heard(world, 200000);
    assert_false(test_void(world, "leak"));
    assert_int_equal(gate_deadline(world->gate), world->now.mono + 1);
    world_pass_heard(world, 1000);
    assert_true(test_void(world, "leak"));
    assert_false(test_void(world, "continuity"));
    assert_refused(world, world_verb(world, GATE_VERB_RETURN_POSITION, "t-1", "j-1"),
                   MODEL_CODE_TEST_MISSING);
    assert_true(world_test(world, "t-1", "j-1", "leak", true));
    assert_true(world_sign(world, "t-1", "j-1", "barricade-removed"));
    assert_accepted(world, world_verb(world, GATE_VERB_RETURN_POSITION, "t-1", "j-1"));
}

AGES_TEST(an_owed_test_stands_for_the_shorter_of_both_times) {
    world_to_testing(world, "j-1");
    struct gate_position *position = &world_site(world)->positions[P3A];
    struct model_test owed[] = {{.test = "leak", .rule = "pass-fail", .valid_ms = MINUTE},
                                {.test = "flow", .rule = "flow-rate", .valid_ms = 2 * MINUTE}};
    struct model_requirements all = {
        .procedure = "before", .title = "Before", .tests = owed, .test_count = 2};
    const struct gate_job *job = world_job(world, "j-1");
    assert_int_equal(gate_test_valid_ms(world_site(world), job, "leak"), 200000);
    position->owed = model_requirements_copy(&all);
    assert_int_equal(gate_test_valid_ms(world_site(world), job, "leak"), MINUTE);
    assert_int_equal(gate_test_valid_ms(world_site(world), job, "before.flow"), 2 * MINUTE);
    assert_int_equal(gate_test_valid_ms(world_site(world), job, "continuity"), 0);
    free(position->owed);
    position->owed = NULL;
}

// --- What is told ---

AGES_TEST(that_it_ages_is_told_once_when_a_fifth_is_left) {
    world_to_working(world, "j-1");
    int64_t until = gate_signature_until(world_job(world, "j-1"), signed_as(world, "no-voltage"));
    world_pass_heard(world, 4 * MINUTE - 1000);
    assert_false(world_told(world, GATE_FACT_CHECK_AGEING));
    world_pass_heard(world, 1000);
    assert_int_equal(world_times_told(world, GATE_FACT_CHECK_AGEING), 1);
    const struct gate_fact *fact = world_journal_last(GATE_FACT_CHECK_AGEING);
    assert_string_equal(fact->check, "no-voltage");
    assert_string_equal(fact->person, "t-1");
    assert_int_equal(fact->until, until);
    world_pass_heard(world, 10000);
    assert_int_equal(world_times_told(world, GATE_FACT_CHECK_AGEING), 1);
    world_restart(world, 1000);
    world_controller(world, true);
    world_isolate(world);
    assert_int_equal(world_times_told(world, GATE_FACT_CHECK_AGEING), 1);
    assert_true(world_sign_value(world, "t-1", "j-1", "no-voltage", 0, "V"));
    world_pass_heard(world, 4 * MINUTE); // `drained` ages too by then
    assert_int_equal(world_times_told(world, GATE_FACT_CHECK_AGEING), 3);
    assert_string_equal(world_journal_last(GATE_FACT_CHECK_AGEING)->check, "no-voltage");
}

AGES_TEST(of_what_stands_for_hours_it_is_told_half_an_hour_before) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_sign(world, "t-1", "j-1", "barricade"));
    assert_int_equal(gate_deadline(world->gate), world->now.mono + 28800000 - 30 * MINUTE);
    world_pass(world, 28800000 - 30 * MINUTE - 1);
    assert_false(world_told(world, GATE_FACT_CHECK_AGEING));
    world_pass(world, 1);
    assert_true(world_told(world, GATE_FACT_CHECK_AGEING));
    assert_int_equal(gate_deadline(world->gate), world->now.mono + 30 * MINUTE + 1);
}

AGES_TEST(of_a_failed_check_nothing_is_told) {
    world_to_tagged(world, "j-1");
    assert_true(world_sign_value(world, "t-1", "j-1", "drained", -1, "L"));
    world_pass_heard(world, 10 * MINUTE + 1000);
    assert_false(world_told(world, GATE_FACT_CHECK_AGEING));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_verify_that_lapses_stops_the_work),
        cmocka_unit_test(a_verify_signed_again_in_time_goes_on),
        cmocka_unit_test(a_relieve_signed_while_working_renews_itself_and_nothing_else),
        cmocka_unit_test(one_that_lapses_while_stopped_raises_the_alarm),
        cmocka_unit_test(one_that_lapses_while_paused_breaks),
        cmocka_unit_test(in_open_the_lockout_is_lost_without_alarm),
        cmocka_unit_test(one_that_lapsed_while_the_daemon_was_away_stops_the_work),
        cmocka_unit_test(a_test_goes_void_by_its_time),
        cmocka_unit_test(an_owed_test_stands_for_the_shorter_of_both_times),
        cmocka_unit_test(that_it_ages_is_told_once_when_a_fifth_is_left),
        cmocka_unit_test(of_what_stands_for_hours_it_is_told_half_an_hour_before),
        cmocka_unit_test(of_a_failed_check_nothing_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
