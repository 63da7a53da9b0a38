// Breaking: every cause while working, the same again while stopped, and live under a tag in any
// phase.
#include "gate/cause.h"
#include "world.h"

// Stopped by a break for this reason, and not a moment before.
static void assert_broken(struct world *world, enum model_code why) {
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_alarm(world);
    assert_int_equal(world_fact(world, GATE_FACT_LOCKOUT_BROKEN)->why, why);
    assert_true(world_told(world, GATE_FACT_WORK_STOPPED));
    world_forget(world);
}

static void working(struct world *world) {
    world_to_working(world, "j-1");
    world_forget(world);
}

WORLD_TEST(live_stops) {
    working(world);
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_broken(world, MODEL_CODE_POINT_LIVE);
}

WORLD_TEST(a_word_of_live_stops) {
    working(world);
    assert_true(world_witness(world, "v-1", NULL, MODEL_POINT_LIVE));
    assert_broken(world, MODEL_CODE_POINT_LIVE);
}

WORLD_TEST(disagreeing_stops) {
    working(world);
    world_hear(world, S_VALVE3B, MODEL_POINT_LIVE);
    assert_broken(world, MODEL_CODE_POINT_DISAGREES);
}

WORLD_TEST(bad_quality_stops) {
    working(world);
    world_bad(world, S_VALVE3B);
    assert_broken(world, MODEL_CODE_POINT_UNKNOWN);
}

WORLD_TEST(an_offline_controller_stops) {
    working(world);
    world_controller(world, false);
    assert_broken(world, MODEL_CODE_CONTROLLER_OFFLINE);
}

WORLD_TEST(silence_stops) {
    working(world);
    world_hear_all(world, MODEL_POINT_ISOLATED);
    world_pass(world, WORLD_MAX_AGE_MS);
    assert_job(world, "j-1", WORKING, CONFIRMED);
    world_pass(world, 1);
    assert_broken(world, MODEL_CODE_POINT_STALE);
}

// Nothing was ticked meanwhile: the next word of any sensor must not heal what went by.
WORLD_TEST(a_pause_of_the_daemon_stops) {
    working(world);
    world->now.mono += WORLD_MAX_AGE_MS + 1;
    world->now.wall += WORLD_MAX_AGE_MS + 1;
    world_hear(world, S_POWER3, MODEL_POINT_ISOLATED);
    assert_broken(world, MODEL_CODE_POINT_STALE);
}

WORLD_TEST(a_word_that_has_aged_stops) {
    working(world);
    world_pass_heard(world, WORLD_WITNESS_MS - 4000);
    assert_job(world, "j-1", WORKING, CONFIRMED);
    world_pass_heard(world, 5000);
    assert_broken(world, MODEL_CODE_POINT_STALE);
}

WORLD_TEST(the_leaders_tag_lifted_stops) {
    working(world);
    assert_true(world_lift(world, "t-1", "j-1", LINE3A));
    assert_broken(world, MODEL_CODE_TAG_MISSING);
}

WORLD_TEST(the_leaders_lock_off_by_the_reader_stops) {
    working(world);
    world_reader(world, POWER3, "t-1", false);
    assert_broken(world, MODEL_CODE_TAG_MISSING);
}

WORLD_TEST(a_failed_verify_stops) {
    working(world);
    assert_true(world_sign_value(world, "t-1", "j-1", "no-voltage", 1.5, "V"));
    assert_broken(world, MODEL_CODE_CHECK_FAILED);
}

WORLD_TEST(a_failed_relieve_stops) {
    working(world);
    assert_true(world_sign_value(world, "t-1", "j-1", "drained", -1, "L"));
    assert_broken(world, MODEL_CODE_CHECK_FAILED);
}

WORLD_TEST(another_of_the_crew_who_lifts_is_unprotected_and_stops_nothing) {
    world_to_tagged(world, "j-1");
    world_join_tagged(world, "t-2", "j-1");
    world_sign_hold(world, "t-1", "j-1");
    assert_true(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    world_forget(world);
    assert_true(world_lift(world, "t-2", "j-1", POWER3));
    assert_job(world, "j-1", WORKING, CONFIRMED);
    assert_string_equal(world_fact(world, GATE_FACT_CREW_UNPROTECTED)->person, "t-2");
    assert_false(gate_member_of(world_job(world, "j-1"), "t-2")->protected);
    assert_refused(world, world_sign_value(world, "t-2", "j-1", "spout-nut", 46, "N.m"),
                   MODEL_CODE_CHECK_OUT_OF_SEASON);
    assert_true(world_tag(world, "t-2", "j-1", POWER3));
    assert_string_equal(world_fact(world, GATE_FACT_CREW_PROTECTED)->person, "t-2");
}

WORLD_TEST(who_joins_is_unprotected_at_once) {
    working(world);
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_string_equal(world_fact(world, GATE_FACT_CREW_UNPROTECTED)->person, "t-2");
    assert_job(world, "j-1", WORKING, CONFIRMED);
}

// --- The same while stopped ---

// The alarm of the first break was acknowledged: the next cause raises it again.
static void stopped_and_seen(struct world *world) {
    world_to_stopped(world, "j-1");
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
    world_forget(world);
}

static void assert_raised(struct world *world) {
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_alarm(world);
    world_acknowledge(world);
}

WORLD_TEST(while_stopped_live_raises_each_time) {
    stopped_and_seen(world);
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_raised(world);
    world_isolate(world);
    world_pass(world, GATE_CAUSE_AWAY_MS);
    world_hear(world, S_POWER3, MODEL_POINT_LIVE); // no tag counts there any more
    assert_raised(world);
}

WORLD_TEST(while_stopped_every_loss_of_a_point_raises) {
    stopped_and_seen(world);
    world_bad(world, S_VALVE3A);
    assert_raised(world);
    world_hear(world, S_VALVE3A, MODEL_POINT_ISOLATED);
    world_controller(world, false);
    assert_raised(world);
    world_controller(world, true);
    world_isolate(world);
    world_hear(world, S_VALVE3A, MODEL_POINT_LIVE);
    assert_raised(world);
    world_isolate(world);
    world_pass(world, WORLD_MAX_AGE_MS + 1);
    assert_raised(world);
}

WORLD_TEST(while_stopped_a_failed_reading_raises) {
    stopped_and_seen(world);
    assert_true(world_sign_value(world, "t-1", "j-1", "no-voltage", 1.5, "V"));
    assert_raised(world);
}

WORLD_TEST(while_stopped_the_leaders_tag_raises) {
    stopped_and_seen(world);
    assert_true(world_lift(world, "t-1", "j-1", POWER3));
    assert_raised(world);
}

WORLD_TEST(while_stopped_also_a_leaders_tag_that_did_not_count) {
    stopped_and_seen(world);
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_raised(world);
    assert_true(world_lift(world, "t-1", "j-1", POWER3));
    assert_raised(world);
}

WORLD_TEST(leaving_a_job_half_done_raises_nothing) {
    stopped_and_seen(world);
    world_sign_clear(world, "t-1", "j-1");
    assert_true(world_sign(world, "t-1", "j-1", "made-safe"));
    assert_true(world_lift(world, "t-1", "j-1", POWER3));
    assert_job(world, "j-1", STOPPED, UNCONFIRMED);
    assert_true(world_told(world, GATE_FACT_LOCKOUT_LOST));
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
}

WORLD_TEST(leaving_needs_clear_and_leave) {
    stopped_and_seen(world);
    world_sign_clear(world, "t-1", "j-1");
    assert_true(world_lift(world, "t-1", "j-1", POWER3));
    assert_raised(world);
}

WORLD_TEST(leaving_needs_every_clear_check) {
    stopped_and_seen(world);
    assert_true(world_sign(world, "t-1", "j-1", "tools-clear"));
    assert_true(world_sign(world, "t-1", "j-1", "made-safe"));
    assert_true(world_lift(world, "t-1", "j-1", POWER3));
    assert_raised(world);
}

WORLD_TEST(leaving_is_no_excuse_while_working) {
    working(world);
    world_sign_clear(world, "t-1", "j-1");
    assert_true(world_sign(world, "t-1", "j-1", "made-safe"));
    assert_true(world_lift(world, "t-1", "j-1", POWER3));
    assert_broken(world, MODEL_CODE_TAG_MISSING);
}

WORLD_TEST(the_way_back) {
    working(world);
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    world_isolate(world);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    assert_job(world, "j-1", STOPPED, BROKEN);
    world_sign_hold(world, "t-1", "j-1");
    assert_job(world, "j-1", STOPPED, CONFIRMED);
    assert_int_equal(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN)->state,
                     MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
    assert_refused(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"),
                   MODEL_CODE_ALARM_OPEN);
    world_acknowledge(world);
    assert_accepted(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
}

WORLD_TEST(a_break_that_the_journal_lacks_holds_all_the_same) {
    working(world);
    gate_break_again(world->gate, 0, "j-1", MODEL_CODE_POINT_STALE, POWER3, "Said.", world->now);
    assert_broken(world, MODEL_CODE_POINT_STALE);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    gate_break_again(world->gate, 0, "j-1", MODEL_CODE_POINT_STALE, POWER3, "Said.", world->now);
    gate_break_again(world->gate, 0, "j-9", MODEL_CODE_POINT_STALE, POWER3, "Said.", world->now);
    gate_break_again(world->gate, 0, "j-1", MODEL_CODE_POINT_LIVE, POWER3, "Said.", world->now);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

WORLD_TEST(after_a_failed_check_that_the_journal_lacks_the_locks_are_hung_again) {
    working(world);
    gate_break_again(world->gate, 0, "j-1", MODEL_CODE_CHECK_FAILED, MODEL_NONE, "Said.",
                     world->now);
    assert_broken(world, MODEL_CODE_CHECK_FAILED);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    assert_false(world_tag_of(world, LINE3A, "j-1", "t-1")->counts);
}

WORLD_TEST(a_further_break_that_the_journal_lacks_raises_again) {
    working(world);
    gate_break_again(world->gate, 0, "j-1", MODEL_CODE_POINT_STALE, POWER3, "", world->now);
    world_acknowledge(world);
    gate_break_again(world->gate, 0, "j-1", MODEL_CODE_POINT_STALE, POWER3, "", world->now);
    const struct gate_alarm *alarm = world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN);
    assert_int_equal(alarm->state, MODEL_ALARM_ACKNOWLEDGED);
    gate_break_again(world->gate, 0, "j-1", MODEL_CODE_CHECK_FAILED, MODEL_NONE, "", world->now);
    alarm = world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN);
    assert_int_equal(alarm->state, MODEL_ALARM_UNACKNOWLEDGED);
    assert_int_equal(alarm->count, 2);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(live_stops),
        cmocka_unit_test(a_further_break_that_the_journal_lacks_raises_again),
        cmocka_unit_test(a_break_that_the_journal_lacks_holds_all_the_same),
        cmocka_unit_test(after_a_failed_check_that_the_journal_lacks_the_locks_are_hung_again),
        cmocka_unit_test(a_word_of_live_stops),
        cmocka_unit_test(disagreeing_stops),
        cmocka_unit_test(bad_quality_stops),
        cmocka_unit_test(an_offline_controller_stops),
        cmocka_unit_test(silence_stops),
        cmocka_unit_test(a_pause_of_the_daemon_stops),
        cmocka_unit_test(a_word_that_has_aged_stops),
        cmocka_unit_test(the_leaders_tag_lifted_stops),
        cmocka_unit_test(the_leaders_lock_off_by_the_reader_stops),
        cmocka_unit_test(a_failed_verify_stops),
        cmocka_unit_test(a_failed_relieve_stops),
        cmocka_unit_test(another_of_the_crew_who_lifts_is_unprotected_and_stops_nothing),
        cmocka_unit_test(who_joins_is_unprotected_at_once),
        cmocka_unit_test(while_stopped_live_raises_each_time),
        cmocka_unit_test(while_stopped_every_loss_of_a_point_raises),
        cmocka_unit_test(while_stopped_a_failed_reading_raises),
        cmocka_unit_test(while_stopped_the_leaders_tag_raises),
        cmocka_unit_test(while_stopped_also_a_leaders_tag_that_did_not_count),
        cmocka_unit_test(leaving_a_job_half_done_raises_nothing),
        cmocka_unit_test(leaving_needs_clear_and_leave),
        cmocka_unit_test(leaving_needs_every_clear_check),
        cmocka_unit_test(leaving_is_no_excuse_while_working),
        cmocka_unit_test(the_way_back),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
