// Stops: somebody has seen a hazard, or who leads lets the work rest.
#include "world.h"

#include <string.h>

#define STOPS MODEL_ALARM_STOP_CALLED

static bool is_void(struct world *world, const char *check) {
    const struct gate_signature *signature = gate_signature_of(world_job(world, "j-1"), check);
    assert_non_null(signature);
    return signature->void_;
}

static unsigned count(struct world *world) {
    const struct gate_alarm *alarm = world_alarm(world, STOPS);
    return alarm != NULL ? alarm->count : 0;
}

// --- Who, and when ---

WORLD_TEST(a_stop_is_anybodys_of_the_site) {
    static const char *const anybody[] = {"t-1", "t-2", "m-1", "s-1", "k-1", "v-1"};
    world_to_working(world, "j-1");
    for (size_t i = 0; i < sizeof anybody / sizeof *anybody; i++) {
        assert_accepted(world, world_stop(world, anybody[i], "j-1", "fuel on the ground"));
        assert_false(world->answer.again);
        assert_job(world, "j-1", STOPPED, UNCONFIRMED);
        assert_string_equal(world_alarm(world, STOPS)->by, anybody[i]);
        assert_int_equal(count(world), i + 1);
    }
}

WORLD_TEST(in_open_it_stays_open_and_the_start_waits) {
    world_to_confirmed(world, "j-1");
    assert_accepted(world, world_stop(world, "t-2", "j-1", NULL));
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    assert_false(world_told(world, GATE_FACT_WORK_STOPPED));
    assert_refused(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"),
                   MODEL_CODE_CHECK_VOID, MODEL_CODE_ALARM_OPEN);
}

WORLD_TEST(a_stop_in_testing_goes_back_with_the_tests_void) {
    world_to_testing(world, "j-1");
    assert_true(world_test(world, "t-1", "j-1", "leak", true));
    assert_accepted(world, world_stop(world, "t-2", "j-1", NULL));
    assert_job(world, "j-1", RESTORING, UNCONFIRMED);
    assert_true(gate_test_of(world_job(world, "j-1"), "leak")->void_);
    assert_refused(world, world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"),
                   MODEL_CODE_ALARM_OPEN, MODEL_CODE_CHECK_VOID);
    world_acknowledge(world);
    world_sign_prepare(world, "t-1", "j-1");
    assert_accepted(world, world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
}

WORLD_TEST(in_restoring_too) {
    world_to_restoring(world, "j-1");
    world_forget(world);
    assert_accepted(world, world_stop(world, "m-1", "j-1", NULL));
    assert_job(world, "j-1", RESTORING, UNCONFIRMED);
    assert_true(world_told(world, GATE_FACT_WORK_STOPPED));
}

WORLD_TEST(of_an_ended_job_there_is_nothing_to_stop) {
    world_to_returned(world, "j-1");
    assert_refused(world, world_stop(world, "t-1", "j-1", NULL), MODEL_CODE_WRONG_PHASE);
    assert_refused(world, world_stop(world, "t-1", "j-9", NULL), MODEL_CODE_UNKNOWN_JOB);
}

WORLD_TEST(it_is_told_before_the_work_is) {
    world_to_working(world, "j-1");
    world_forget(world);
    assert_accepted(world, world_stop(world, "m-1", "j-1", "smoke"));
    assert_int_equal(world->facts[0].type, GATE_FACT_STOP_CALLED);
    assert_int_equal(world->facts[1].type, GATE_FACT_LOCKOUT_LOST);
    assert_int_equal(world->facts[2].type, GATE_FACT_WORK_STOPPED);
    assert_int_equal(world->facts[3].type, GATE_FACT_ALARM_RAISED);
    assert_int_equal(world->facts[3].has_why, false);
}

// --- What it voids ---

WORLD_TEST(it_voids_what_was_prepared_relieved_and_verified) {
    world_to_working(world, "j-1");
    assert_true(world_sign_value(world, "t-1", "j-1", "spout-nut", 46, "N.m"));
    world_sign_clear(world, "t-1", "j-1");
    assert_true(world_sign(world, "t-1", "j-1", "made-safe"));
    assert_accepted(world, world_stop(world, "t-1", "j-1", NULL));
    static const char *const gone[] = {"barricade",  "site-told",   "drained",      "no-flow",
                                       "no-voltage", "tools-clear", "people-clear", "made-safe"};
    for (size_t i = 0; i < sizeof gone / sizeof *gone; i++) {
        assert_true(is_void(world, gone[i]));
    }
    assert_false(is_void(world, "spout-nut"));
}

WORLD_TEST(in_stopped_it_voids_clear_and_leave) {
    world_to_stopped(world, "j-1");
    world_sign_clear(world, "t-1", "j-1");
    assert_true(world_sign(world, "t-1", "j-1", "made-safe"));
    assert_accepted(world, world_stop(world, "v-1", "j-1", NULL));
    assert_true(is_void(world, "tools-clear"));
    assert_true(is_void(world, "made-safe"));
}

WORLD_TEST(in_open_what_was_left_safe_stays_so) {
    world_to_stopped(world, "j-1");
    world_sign_clear(world, "t-1", "j-1");
    assert_true(world_sign(world, "t-1", "j-1", "made-safe"));
    assert_true(world_verb(world, GATE_VERB_SET_ASIDE, "t-1", "j-1"));
    assert_accepted(world, world_stop(world, "v-1", "j-1", NULL));
    assert_false(is_void(world, "made-safe"));
}

WORLD_TEST(a_broken_lockout_stays_broken) {
    world_to_working(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_accepted(world, world_stop(world, "t-2", "j-1", NULL));
    assert_job(world, "j-1", STOPPED, BROKEN);
}

WORLD_TEST(an_unproven_one_is_lost) {
    world_to_working(world, "j-1");
    world_restart(world, 1000);
    assert_job(world, "j-1", WORKING, UNPROVEN);
    assert_accepted(world, world_stop(world, "t-2", "j-1", NULL));
    assert_job(world, "j-1", STOPPED, UNCONFIRMED);
}

WORLD_TEST(the_way_back_is_all_of_it_again) {
    world_to_working(world, "j-1");
    assert_accepted(world, world_stop(world, "t-2", "j-1", "a car inside the barricade"));
    assert_refused(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"),
                   MODEL_CODE_CHECK_VOID, MODEL_CODE_ALARM_OPEN);
    world_acknowledge(world);
    world_sign_prepare(world, "t-1", "j-1");
    world_sign_hold(world, "t-1", "j-1");
    assert_job(world, "j-1", STOPPED, CONFIRMED);
    assert_accepted(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
}

// --- Again ---

WORLD_TEST(the_same_again_counts_once) {
    world_to_working(world, "j-1");
    assert_accepted(world, world_stop(world, "t-2", "j-1", "smoke"));
    world_forget(world);
    assert_accepted(world, world_stop(world, "t-2", "j-1", "smoke"));
    assert_true(world->answer.again);
    assert_int_equal(world->fact_count, 0);
    assert_int_equal(count(world), 1);
    assert_accepted(world, world_stop(world, "t-2", "j-1", "and fire"));
    assert_false(world->answer.again);
    assert_int_equal(count(world), 2);
    assert_accepted(world, world_stop(world, "t-1", "j-1", "and fire"));
    assert_false(world->answer.again);
    assert_int_equal(count(world), 3);
}

WORLD_TEST(what_was_signed_since_is_void_by_the_next) {
    world_to_stopped(world, "j-1");
    assert_accepted(world, world_stop(world, "t-2", "j-1", NULL));
    assert_true(world_sign(world, "t-1", "j-1", "barricade"));
    assert_accepted(world, world_stop(world, "t-2", "j-1", NULL));
    assert_false(world->answer.again);
    assert_true(is_void(world, "barricade"));
    assert_int_equal(count(world), 2);
}

WORLD_TEST(after_it_was_seen_to_it_is_called_anew) {
    world_to_stopped(world, "j-1");
    assert_accepted(world, world_stop(world, "t-2", "j-1", "smoke"));
    world_acknowledge(world);
    assert_null(world_alarm(world, STOPS));
    assert_accepted(world, world_stop(world, "t-2", "j-1", "smoke"));
    assert_false(world->answer.again);
    assert_non_null(world_alarm(world, STOPS));
}

WORLD_TEST(a_reason_may_follow) {
    world_to_working(world, "j-1");
    assert_accepted(world, world_stop(world, "t-2", "j-1", NULL));
    assert_non_null(strstr(world_alarm(world, STOPS)->say, "no reason given"));
    world_forget(world);
    assert_accepted(world, world_stop(world, "t-2", "j-1", "smoke"));
    assert_true(world->answer.again);
    assert_int_equal(count(world), 1);
    assert_non_null(strstr(world_alarm(world, STOPS)->say, "smoke"));
    assert_false(world_told(world, GATE_FACT_STOP_CALLED));
    assert_true(world_told(world, GATE_FACT_STOP_EXPLAINED));
    world_forget(world);
    assert_accepted(world, world_stop(world, "t-2", "j-1", "smoke"));
    assert_true(world->answer.again);
    assert_int_equal(world->fact_count, 0);
    assert_accepted(world, world_stop(world, "t-2", "j-1", NULL)); // another than the one explained
    assert_int_equal(count(world), 2);
}

WORLD_TEST(anothers_reason_is_another_stop) {
    world_to_working(world, "j-1");
    assert_accepted(world, world_stop(world, "t-2", "j-1", NULL));
    assert_accepted(world, world_stop(world, "v-1", "j-1", "smoke"));
    assert_false(world->answer.again);
    assert_int_equal(count(world), 2);
}

// --- Pausing ---

WORLD_TEST(the_leader_lets_the_work_rest) {
    world_to_working(world, "j-1");
    assert_accepted(world, world_pause(world, "t-1", "j-1"));
    assert_job(world, "j-1", STOPPED, CONFIRMED);
    assert_null(world_alarm(world, STOPS));
    assert_false(is_void(world, "barricade"));
    assert_accepted(world, world_pause(world, "t-1", "j-1"));
    assert_true(world->answer.again);
    assert_job(world, "j-1", STOPPED, CONFIRMED);
    assert_accepted(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
}

WORLD_TEST(with_a_reason_too) {
    const struct gate_request rest = {.verb = GATE_VERB_STOP_WORK,
                                      .person = "t-1",
                                      .job = "j-1",
                                      .reason = "lunch",
                                      .pause = true};
    world_to_working(world, "j-1");
    assert_accepted(world, world_ask(world, rest));
    assert_accepted(world, world_ask(world, rest));
    assert_true(world->answer.again);
    assert_job(world, "j-1", STOPPED, CONFIRMED);
    assert_null(world_alarm(world, STOPS));
}

WORLD_TEST(a_pause_of_another_is_a_stop) {
    world_to_working(world, "j-1");
    assert_accepted(world, world_pause(world, "s-1", "j-1"));
    assert_job(world, "j-1", STOPPED, UNCONFIRMED);
    assert_non_null(world_alarm(world, STOPS));
}

WORLD_TEST(a_pause_of_what_does_not_go_on_is_a_stop) {
    world_to_confirmed(world, "j-1");
    assert_accepted(world, world_pause(world, "t-1", "j-1"));
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    assert_non_null(world_alarm(world, STOPS));
}

WORLD_TEST(a_pause_after_a_stop_is_a_stop) {
    world_to_stopped(world, "j-1");
    assert_accepted(world, world_stop(world, "v-1", "j-1", NULL));
    assert_accepted(world, world_pause(world, "t-1", "j-1"));
    assert_false(world->answer.again);
    assert_int_equal(count(world), 2);
}

WORLD_TEST(a_pause_of_who_leads_no_longer_is_a_stop) {
    world_to_working(world, "j-1");
    world_join_tagged(world, "t-2", "j-1");
    assert_accepted(world, world_pause(world, "t-1", "j-1"));
    assert_true(world_ask(
        world, (struct gate_request){
                   .verb = GATE_VERB_HAND_OVER, .person = "t-1", .job = "j-1", .to = "t-2"}));
    assert_true(world_verb(world, GATE_VERB_ACCEPT_LEAD, "t-2", "j-1"));
    assert_accepted(world, world_pause(world, "t-2", "j-1")); // who leads did not pause it
    assert_false(world->answer.again);
    assert_non_null(world_alarm(world, STOPS));
}

// --- Without the journal ---

WORLD_TEST(a_stop_that_was_told_holds_though_it_was_not_written) {
    world_to_working(world, "j-1");
    gate_stop_again(world->gate, 0, "j-1", "v-1", "smoke", world->now);
    assert_job(world, "j-1", STOPPED, UNCONFIRMED);
    assert_int_equal(count(world), 1);
    gate_stop_again(world->gate, 0, "j-1", "v-1", "smoke", world->now);
    assert_int_equal(count(world), 1);
    gate_stop_again(world->gate, 0, "j-9", "v-1", "smoke", world->now); // a job of no journal
}

WORLD_TEST(it_is_taken_while_the_journal_cannot_write) {
    world_to_working(world, "j-1");
    gate_journal(world->gate, false, world->now);
    assert_accepted(world, world_stop(world, "v-1", "j-1", NULL));
    assert_job(world, "j-1", STOPPED, UNCONFIRMED);
}

// --- Other stops ---

WORLD_TEST(a_lock_that_does_not_hang_is_lifted_all_the_same) {
    world_to_tagged(world, "j-1");
    assert_true(world_lift(world, "t-1", "j-1", POWER3));
    world_forget(world);
    assert_accepted(world, world_lift(world, "t-1", "j-1", POWER3));
    assert_true(world->answer.again);
    assert_int_equal(world->fact_count, 0);
    assert_refused(world, world_lift(world, "t-2", "j-1", VALVE3), MODEL_CODE_TAG_NOT_YOURS);
}

WORLD_TEST(a_lock_lifted_ahead_of_its_turn_was_lifted) {
    world_to_tagged(world, "j-1");
    world_join_tagged(world, "t-2", "j-1");
    struct gate_request lift = {
        .verb = GATE_VERB_LIFT_TAG, .person = "t-1", .job = "j-1", .point = "3-power"};
    gate_decide_early(world->gate, 0, &lift, world->now, &world->answer);
    assert_true(world->answer.accepted && !world->answer.again);
    lift.done = true;
    assert_accepted(world, world_ask(world, lift));
    lift.done = false;
    assert_refused(world, world_ask(world, lift), MODEL_CODE_TAG_NOT_YOURS);
}

WORLD_TEST(a_lift_said_again_found_its_lock_off) {
    world_to_tagged(world, "j-1");
    world_join_tagged(world, "t-2", "j-1");
    struct gate_request lift = {.verb = GATE_VERB_LIFT_TAG,
                                .person = "t-1",
                                .job = "j-1",
                                .point = "3-power",
                                .before = true};
    assert_accepted(world, world_ask(world, lift)); // done again, whatever its id
    assert_false(world->answer.again);
    assert_accepted(world, world_ask(world, lift));
    assert_true(world->answer.again);
}

WORLD_TEST(what_was_lifted_before_the_jobs_end_was_lifted) {
    world_to_returned(world, "j-1");
    struct gate_request lift = {
        .verb = GATE_VERB_LIFT_TAG, .person = "t-1", .job = "j-1", .point = "3-power"};
    assert_refused(world, world_ask(world, lift), MODEL_CODE_WRONG_PHASE);
    lift.done = true;
    assert_accepted(world, world_ask(world, lift));
    assert_true(world->answer.again);
    lift.done = false;
    lift.before = true;
    assert_accepted(world, world_ask(world, lift));
    assert_true(world->answer.again);
}

static unsigned breaks(struct world *world) {
    const struct gate_alarm *alarm = world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN);
    return alarm != NULL ? alarm->count : 0;
}

static bool volts(struct world *world, const char *person, double value) {
    return world_sign_value(world, person, "j-1", "no-voltage", value, "V");
}

WORLD_TEST(a_reading_that_failed_counts_once) {
    world_to_working(world, "j-1");
    assert_accepted(world, volts(world, "t-1", 240));
    assert_false(world->answer.again);
    world_forget(world);
    assert_accepted(world, volts(world, "t-1", 240));
    assert_true(world->answer.again);
    assert_true(world->answer.has_signed && !world->answer.signed_.pass);
    assert_int_equal(world->fact_count, 0);
    assert_accepted(world, volts(world, "t-1", 230)); // another reading
    assert_false(world->answer.again);
    assert_accepted(world, volts(world, "m-1", 230)); // another's
    assert_false(world->answer.again);
    assert_int_equal(world_times_told(world, GATE_FACT_CHECK_SIGNED), 2);
}

WORLD_TEST(a_reading_that_fails_after_it_was_seen_counts) {
    world_to_working(world, "j-1");
    assert_accepted(world, volts(world, "t-1", 240));
    world_acknowledge(world);
    assert_accepted(world, volts(world, "t-1", 240));
    assert_false(world->answer.again);
}

WORLD_TEST(a_reading_that_fails_after_something_was_signed_counts) {
    world_to_working(world, "j-1");
    assert_accepted(world, volts(world, "t-1", 240));
    assert_true(world_sign(world, "t-1", "j-1", "barricade"));
    assert_accepted(world, volts(world, "t-1", 240));
    assert_false(world->answer.again);
}

WORLD_TEST(a_reading_that_fails_under_a_lock_hung_anew_counts) {
    world_to_working(world, "j-1");
    assert_accepted(world, volts(world, "t-1", 240));
    world_tag_all(world, "t-1", "j-1");
    assert_accepted(world, volts(world, "t-1", 240));
    assert_false(world->answer.again);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

WORLD_TEST(a_word_of_live_counts_once) {
    world_to_working(world, "j-1");
    assert_accepted(world, world_witness(world, "v-1", NULL, MODEL_POINT_LIVE));
    assert_false(world->answer.again);
    world_forget(world);
    assert_accepted(world, world_witness(world, "v-1", NULL, MODEL_POINT_LIVE));
    assert_true(world->answer.again);
    assert_int_equal(world->fact_count, 0);
    assert_int_equal(breaks(world), 1);
    assert_accepted(world, world_witness(world, "k-1", NULL, MODEL_POINT_LIVE)); // another's word
    assert_false(world->answer.again);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(a_stop_is_anybodys_of_the_site),
        cmocka_unit_test(in_open_it_stays_open_and_the_start_waits),
        cmocka_unit_test(a_stop_in_testing_goes_back_with_the_tests_void),
        cmocka_unit_test(in_restoring_too),
        cmocka_unit_test(of_an_ended_job_there_is_nothing_to_stop),
        cmocka_unit_test(it_is_told_before_the_work_is),
        cmocka_unit_test(it_voids_what_was_prepared_relieved_and_verified),
        cmocka_unit_test(in_stopped_it_voids_clear_and_leave),
        cmocka_unit_test(in_open_what_was_left_safe_stays_so),
        cmocka_unit_test(a_broken_lockout_stays_broken),
        cmocka_unit_test(an_unproven_one_is_lost),
        cmocka_unit_test(the_way_back_is_all_of_it_again),
        cmocka_unit_test(the_same_again_counts_once),
        cmocka_unit_test(what_was_signed_since_is_void_by_the_next),
        cmocka_unit_test(after_it_was_seen_to_it_is_called_anew),
        cmocka_unit_test(a_reason_may_follow),
        cmocka_unit_test(anothers_reason_is_another_stop),
        cmocka_unit_test(the_leader_lets_the_work_rest),
        cmocka_unit_test(with_a_reason_too),
        cmocka_unit_test(a_pause_of_another_is_a_stop),
        cmocka_unit_test(a_pause_of_what_does_not_go_on_is_a_stop),
        cmocka_unit_test(a_pause_after_a_stop_is_a_stop),
        cmocka_unit_test(a_pause_of_who_leads_no_longer_is_a_stop),
        cmocka_unit_test(a_stop_that_was_told_holds_though_it_was_not_written),
        cmocka_unit_test(it_is_taken_while_the_journal_cannot_write),
        cmocka_unit_test(a_lock_that_does_not_hang_is_lifted_all_the_same),
        cmocka_unit_test(a_lock_lifted_ahead_of_its_turn_was_lifted),
        cmocka_unit_test(a_lift_said_again_found_its_lock_off),
        cmocka_unit_test(what_was_lifted_before_the_jobs_end_was_lifted),
        cmocka_unit_test(a_reading_that_failed_counts_once),
        cmocka_unit_test(a_reading_that_fails_after_it_was_seen_counts),
        cmocka_unit_test(a_reading_that_fails_after_something_was_signed_counts),
        cmocka_unit_test(a_reading_that_fails_under_a_lock_hung_anew_counts),
        cmocka_unit_test(a_word_of_live_counts_once),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
