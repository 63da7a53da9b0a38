// After a restart: unproven, what proves it again and what breaks it.
#include "world.h"
#include "world_journal.h"

// 1 s after the last word of every sensor, the daemon goes and is away for so long.
static void away(struct world *world, int64_t ms) {
    world_hear_all(world, MODEL_POINT_ISOLATED);
    world_pass(world, 1000);
    world_restart(world, ms);
    world_forget(world);
}

struct watched {
    size_t count;
    int64_t heard[8];
};

static void watch(void *user, const char *site, const char *point, int64_t heard) {
    struct watched *watched = user;
    assert_string_equal(site, "juniper");
    assert_true(point[0] == '3');
    watched->heard[watched->count++] = heard;
}

static void prove_sensors(struct world *world) {
    world_controller(world, true);
    world_hear_all(world, MODEL_POINT_ISOLATED);
    world_pass_heard(world, WORLD_SETTLE_MS);
}

static void prove(struct world *world) {
    world_controller(world, true);
    world_isolate(world);
}

WORLD_TEST(a_confirmed_lockout_is_unproven_and_keeps_its_phase) {
    world_to_working(world, "j-1");
    world_restart(world, 3000);
    assert_job(world, "j-1", WORKING, UNPROVEN);
    assert_true(world_told(world, GATE_FACT_LOCKOUT_LOST));
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
}

WORLD_TEST(an_unconfirmed_one_stays_so) {
    world_to_tagged(world, "j-1");
    away(world, 3000);
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    assert_false(world_told(world, GATE_FACT_LOCKOUT_LOST));
}

WORLD_TEST(nothing_is_started_signed_or_finished_until_proved) {
    world_to_working(world, "j-1");
    world_sign_clear(world, "t-1", "j-1");
    away(world, 3000);
    assert_refused(world, world_sign_value(world, "t-1", "j-1", "spout-nut", 46, "N.m"),
                   MODEL_CODE_CHECK_OUT_OF_SEASON);
    assert_refused(world, world_sign(world, "t-1", "j-1", "no-flow"),
                   MODEL_CODE_CHECK_OUT_OF_SEASON);
    assert_false(world_verb(world, GATE_VERB_FINISH_WORK, "t-1", "j-1"));
    assert_true(world_refused(world, MODEL_CODE_CONTROLLER_OFFLINE, "3-power"));
    assert_true(world_refused(world, MODEL_CODE_POINT_UNKNOWN, "3-valve"));
    prove(world);
    assert_accepted(world, world_sign_value(world, "t-1", "j-1", "spout-nut", 46, "N.m"));
}

WORLD_TEST(no_finish_though_all_is_signed_until_proved) {
    world_to_working(world, "j-1");
    assert_true(world_sign_value(world, "t-1", "j-1", "spout-nut", 46, "N.m"));
    world_sign_clear(world, "t-1", "j-1");
    away(world, 3000);
    assert_refused(world, world_verb(world, GATE_VERB_FINISH_WORK, "t-1", "j-1"),
                   MODEL_CODE_CONTROLLER_OFFLINE, MODEL_CODE_POINT_UNKNOWN);
    world_controller(world, true);
    world_hear_all(world, MODEL_POINT_ISOLATED);
    assert_refused(world, world_verb(world, GATE_VERB_FINISH_WORK, "t-1", "j-1"),
                   MODEL_CODE_POINT_SETTLING);
    world_pass_heard(world, WORLD_SETTLE_MS);
    assert_accepted(world, world_verb(world, GATE_VERB_FINISH_WORK, "t-1", "j-1"));
}

WORLD_TEST(no_start_until_proved) {
    world_to_confirmed(world, "j-1");
    away(world, 3000);
    assert_job(world, "j-1", OPEN, UNPROVEN);
    assert_refused(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"),
                   MODEL_CODE_CONTROLLER_OFFLINE, MODEL_CODE_POINT_UNKNOWN);
    prove(world);
    assert_job(world, "j-1", OPEN, CONFIRMED);
    assert_accepted(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
}

WORLD_TEST(proved_again_the_signatures_stand) {
    world_to_working(world, "j-1");
    away(world, 3000);
    prove(world);
    assert_job(world, "j-1", WORKING, CONFIRMED);
    assert_false(gate_signature_of(world_job(world, "j-1"), "no-flow")->void_);
    assert_true(world_told(world, GATE_FACT_LOCKOUT_CONFIRMED));
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
}

WORLD_TEST(one_point_left_is_not_all) {
    world_to_working(world, "j-1");
    away(world, 3000);
    world_controller(world, true);
    world_hear(world, S_POWER3, MODEL_POINT_ISOLATED);
    world_hear(world, S_VALVE3A, MODEL_POINT_ISOLATED);
    world_pass_heard(world, WORLD_SETTLE_MS);
    assert_job(world, "j-1", WORKING, UNPROVEN);
    world_hear(world, S_VALVE3B, MODEL_POINT_ISOLATED);
    world_pass_heard(world, WORLD_SETTLE_MS);
    assert_job(world, "j-1", WORKING, CONFIRMED);
}

WORLD_TEST(a_first_isolated_settles_without_breaking) {
    world_to_working(world, "j-1");
    away(world, 3000);
    world_controller(world, true);
    world_hear_all(world, MODEL_POINT_ISOLATED);
    assert_point(world, POWER3, ISOLATED, SETTLING);
    assert_job(world, "j-1", WORKING, UNPROVEN);
}

WORLD_TEST(each_is_heard_again_within_its_age_of_the_last_time) {
    world_to_working(world, "j-1");
    away(world, 9000); // 10 s since the last word
    world_controller(world, true);
    world_pass(world, WORLD_MAX_AGE_MS - 10000);
    assert_job(world, "j-1", WORKING, UNPROVEN);
    world_pass(world, 1);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_alarm(world);
    assert_int_equal(world_fact(world, GATE_FACT_LOCKOUT_BROKEN)->why, MODEL_CODE_POINT_STALE);
}

WORLD_TEST(one_point_not_heard_again_is_enough) {
    world_to_working(world, "j-1");
    away(world, 9000);
    world_controller(world, true);
    world_hear(world, S_POWER3, MODEL_POINT_ISOLATED);
    world_hear(world, S_VALVE3A, MODEL_POINT_ISOLATED);
    world_pass_heard(world, WORLD_MAX_AGE_MS - 10000 + 1);
    assert_job(world, "j-1", STOPPED, BROKEN);
}

WORLD_TEST(also_in_open_what_was_confirmed_is_broken) {
    world_to_confirmed(world, "j-1");
    away(world, 9000);
    world_pass(world, WORLD_MAX_AGE_MS - 10000 + 1);
    assert_job(world, "j-1", OPEN, BROKEN);
    assert_alarm(world);
}

WORLD_TEST(what_was_only_held_is_let_go_without_alarm) {
    world_to_tagged(world, "j-1");
    away(world, 9000);
    world_pass(world, WORLD_MAX_AGE_MS - 10000 + 1);
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    assert_int_equal(world_job(world, "j-1")->isolation, GATE_ISOLATION_NONE);
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
}

WORLD_TEST(live_breaks_at_once) {
    world_to_working(world, "j-1");
    away(world, 3000);
    world_hear(world, S_VALVE3A, MODEL_POINT_LIVE);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_alarm(world);
}

WORLD_TEST(bad_breaks_at_once) {
    world_to_working(world, "j-1");
    away(world, 3000);
    world_bad(world, S_VALVE3A);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_alarm(world);
}

WORLD_TEST(offline_breaks_at_once) {
    world_to_working(world, "j-1");
    away(world, 3000);
    world_controller(world, false);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_alarm(world);
}

// The clocks: the wall's own, against the journal's newest time.
WORLD_TEST(a_wall_clock_a_second_behind_is_borne) {
    world_to_working(world, "j-1");
    world_restart_clocks(world, -1000, 0);
    assert_job(world, "j-1", WORKING, UNPROVEN);
}

WORLD_TEST(a_wall_clock_further_behind_breaks) {
    world_to_working(world, "j-1");
    world_restart_clocks(world, -1001, 0);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_alarm(world);
}

WORLD_TEST(a_wall_clock_up_to_the_least_age_is_borne) {
    world_to_working(world, "j-1");
    world_hear_all(world, MODEL_POINT_ISOLATED);
    world_restart_clocks(world, WORLD_MAX_AGE_MS, 0);
    assert_job(world, "j-1", WORKING, UNPROVEN);
}

WORLD_TEST(a_wall_clock_past_it_by_more_breaks) {
    world_to_working(world, "j-1");
    world_restart_clocks(world, WORLD_MAX_AGE_MS + 1, 0);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_alarm(world);
}

static void no_fact(void *user, const struct gate_fact *fact) {
    (void)user;
    (void)fact;
}

// Comes up on the world's journal, whose newest time is so long ago though every point was heard
// now, and tells what has become of the job.
static void come_up_after(struct world *world, int64_t gap_ms, enum model_lockout lockout,
                          enum gate_isolation isolation) {
    struct gate *gate = gate_new(world->model, no_fact, NULL);
    world_journal_fold(gate);
    for (uint32_t p = 0; p < WORLD_POINTS; p++) {
        gate_heard_before(gate, 0, p, world->now.mono, world->now);
    }
    gate_start(gate, "boot-2", "test", world->now.wall - gap_ms, world->now);
    const struct gate_job *job = gate_job_find(&gate->sites[0], "j-1");
    assert_int_equal(job->lockout, lockout);
    assert_int_equal(job->isolation, isolation);
    gate_free(gate);
}

WORLD_TEST(a_journal_that_ends_long_ago_breaks) {
    world_to_working(world, "j-1");
    come_up_after(world, WORLD_MAX_AGE_MS, MODEL_LOCKOUT_UNPROVEN, GATE_ISOLATION_UNPROVEN);
    come_up_after(world, WORLD_MAX_AGE_MS + 1, MODEL_LOCKOUT_BROKEN, GATE_ISOLATION_NONE);
}

WORLD_TEST(what_is_only_held_is_let_go_when_the_journal_ends_long_ago) {
    world_to_tagged(world, "j-1");
    come_up_after(world, WORLD_MAX_AGE_MS, MODEL_LOCKOUT_UNCONFIRMED, GATE_ISOLATION_UNPROVEN);
    come_up_after(world, WORLD_MAX_AGE_MS + 1, MODEL_LOCKOUT_UNCONFIRMED, GATE_ISOLATION_NONE);
}

static void the_least_age_of_its_points_counts(void **state) {
    (void)state;
    struct world_copy copy;
    world_copy(&copy);
    copy.points[VALVE3].max_age_ms = 5000;
    struct world *world = world_new_of(&copy.model);
    world_to_working(world, "j-1");
    come_up_after(world, 5000, MODEL_LOCKOUT_UNPROVEN, GATE_ISOLATION_UNPROVEN);
    come_up_after(world, 5001, MODEL_LOCKOUT_BROKEN, GATE_ISOLATION_NONE);
    world_free(world);
}

WORLD_TEST(a_held_lockout_too_long_away_is_let_go) {
    world_to_tagged(world, "j-1");
    world_restart_clocks(world, WORLD_MAX_AGE_MS + 1, 0);
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    assert_int_equal(world_job(world, "j-1")->isolation, GATE_ISOLATION_NONE);
}

WORLD_TEST(again_away_before_all_was_proved) {
    world_to_working(world, "j-1");
    away(world, 9000);
    world_controller(world, true);
    world_hear(world, S_POWER3, MODEL_POINT_ISOLATED);
    world_restart(world, 1000);
    assert_job(world, "j-1", WORKING, UNPROVEN);
}

WORLD_TEST(stopped_and_unproven_breaks_again) {
    world_to_stopped(world, "j-1");
    away(world, 9000);
    assert_job(world, "j-1", STOPPED, UNPROVEN);
    world_pass(world, WORLD_MAX_AGE_MS - 10000 + 1);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_alarm(world);
}

WORLD_TEST(the_leader_may_lift_in_open_though_unproven) {
    world_to_confirmed(world, "j-1");
    away(world, 3000);
    assert_true(world_lift(world, "t-1", "j-1", POWER3));
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
}

WORLD_TEST(a_failed_reading_stops_though_unproven) {
    world_to_working(world, "j-1");
    away(world, 3000);
    assert_accepted(world, world_sign_value(world, "t-1", "j-1", "no-voltage", 3, "V"));
    assert_job(world, "j-1", STOPPED, BROKEN);
}

WORLD_TEST(words_tags_signatures_and_alarms_survive) {
    world_to_tagged(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    world_restart(world, 3000);
    assert_point(world, LINE3A, ISOLATED, WITNESSED);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    assert_true(world_tag_of(world, VALVE3, "j-1", "t-1")->counts);
    assert_true(gate_signature_of(world_job(world, "j-1"), "barricade")->pass);
    assert_alarm(world);
    assert_point(world, POWER3, UNKNOWN, CONTROLLER_OFFLINE);
    assert_point(world, VALVE3, UNKNOWN, SILENT);
}

WORLD_TEST(sequence_marks_do_not) {
    world_hear_seq(world, S_POWER4, MODEL_POINT_ISOLATED, 90);
    world_restart(world, 1000);
    assert_int_equal(world_hear_seq(world, S_POWER4, MODEL_POINT_ISOLATED, 3), GATE_HEARD_CHANGED);
}

WORLD_TEST(after_the_finish_it_is_confirmed_again_too) {
    world_to_restoring(world, "j-1");
    away(world, 3000);
    assert_job(world, "j-1", RESTORING, UNPROVEN);
    prove(world);
    assert_job(world, "j-1", RESTORING, CONFIRMED);
}

// A point that a stricter configuration adds has no lock of the leader: the work stops.
static void a_point_added_by_configuration_stops_the_work(void **state) {
    (void)state;
    static uint32_t both[] = {P4A, P3A}, points[] = {POWER3, VALVE3, LINE3A, POWER4};
    struct world_copy copy;
    world_copy(&copy);
    copy.points[POWER4].isolates = both;
    copy.points[POWER4].isolates_count = 2;
    copy.positions[P3A].points = points;
    copy.positions[P3A].point_count = 4;
    struct world *world = world_new();
    world_to_working(world, "j-1");
    world_restart_with(world, &copy.model, 1000);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_int_equal(world_job(world, "j-1")->required_count, 4);
    world_free(world);
}

// --- While stopped, where no hold stands any more ---

// Broken by the breaker, which is isolated again though not locked again; the alarm was seen.
static void stopped_and_seen(struct world *world) {
    world_to_working(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    world_hear(world, S_POWER3, MODEL_POINT_ISOLATED);
    world_pass_heard(world, WORLD_SETTLE_MS);
    world_acknowledge(world);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_int_equal(world_job(world, "j-1")->isolation, GATE_ISOLATION_NONE);
    assert_int_equal(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN)->state,
                     MODEL_ALARM_ACKNOWLEDGED);
}

WORLD_TEST(a_point_not_heard_again_while_stopped_raises_the_alarm_again) {
    stopped_and_seen(world);
    away(world, 9000);
    world_controller(world, true);
    world_pass(world, WORLD_MAX_AGE_MS - 10000);
    assert_int_equal(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN)->state,
                     MODEL_ALARM_ACKNOWLEDGED);
    world_pass(world, 1);
    assert_alarm(world);
    assert_int_equal(world_fact(world, GATE_FACT_LOCKOUT_BROKEN)->why, MODEL_CODE_POINT_STALE);
    world_forget(world);
    world_pass(world, WORLD_MAX_AGE_MS); // each of them once
    world_review(world);
    assert_false(world_told(world, GATE_FACT_LOCKOUT_BROKEN));
}

WORLD_TEST(one_heard_again_in_time_while_stopped_raises_nothing) {
    stopped_and_seen(world);
    away(world, 9000);
    world_controller(world, true);
    world_hear_all(world, MODEL_POINT_ISOLATED);
    world_pass_heard(world, WORLD_MAX_AGE_MS);
    assert_false(world_told(world, GATE_FACT_LOCKOUT_BROKEN));
    assert_false(world_point(world, VALVE3)->awaited);
    world_bad(world, S_VALVE3A); // from then on it is as it was
    assert_true(world_told(world, GATE_FACT_LOCKOUT_BROKEN));
    assert_alarm(world);
}

WORLD_TEST(a_bad_first_word_while_stopped_raises_the_alarm_again) {
    stopped_and_seen(world);
    away(world, 1000);
    world_controller(world, true);
    assert_false(world_told(world, GATE_FACT_LOCKOUT_BROKEN));
    world_bad(world, S_VALVE3A);
    assert_alarm(world);
}

// The leader's lock at a point says nothing of the point, which is waited for as before.
WORLD_TEST(a_lock_lifted_where_a_point_is_waited_for) {
    world_to_working(world, "j-1");
    away(world, 1000);
    world_controller(world, true);
    assert_accepted(world, world_lift(world, "t-1", "j-1", VALVE3));
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_true(world_point(world, VALVE3)->awaited == MODEL_POINT_ISOLATED);
    world_acknowledge(world);
    world_forget(world);
    world_bad(world, S_VALVE3A);
    assert_true(world_told(world, GATE_FACT_LOCKOUT_BROKEN));
    assert_alarm(world);
}

WORLD_TEST(away_too_long_while_stopped_raises_the_alarm_again) {
    stopped_and_seen(world);
    away(world, WORLD_MAX_AGE_MS);
    assert_alarm(world);
}

WORLD_TEST(two_restarts_wait_as_one_does) {
    stopped_and_seen(world);
    away(world, 2000);
    world_restart(world, 2000);
    world_controller(world, true);
    world_pass(world, WORLD_MAX_AGE_MS - 5000);
    assert_int_equal(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN)->state,
                     MODEL_ALARM_ACKNOWLEDGED);
    world_pass(world, 1);
    assert_alarm(world);
}

// --- The connections ---

WORLD_TEST(nothing_is_proved_before_both_connections_are_up) {
    world_to_working(world, "j-1");
    away(world, 3000);
    gate_link(world->gate, GATE_DURABLE, false, world->now);
    prove(world);
    assert_job(world, "j-1", WORKING, UNPROVEN);
    gate_link(world->gate, GATE_DURABLE, true, world->now);
    assert_job(world, "j-1", WORKING, CONFIRMED);
}

// --- Words ---

// 15 s of 20 s went by, the daemon was away for one: the word ends four seconds later.
static void a_word_grows_no_younger_by_a_restart(void **state) {
    (void)state;
    static struct world_copy copy;
    world_copy(&copy);
    copy.points[LINE3A].witness_valid_ms = 20000;
    struct world *own = world_new_of(&copy.model);
    world_to_confirmed(own, "j-1");
    assert_accepted(own, world_witness(own, "t-1", "j-1", MODEL_POINT_ISOLATED));
    int64_t said = own->now.mono;
    assert_accepted(own, world_verb(own, GATE_VERB_START_WORK, "t-1", "j-1"));
    world_pass_heard(own, 15000 - (own->now.mono - said));
    world_restart(own, 1000);
    prove_sensors(own);
    world_pass_heard(own, said + 20000 - own->now.mono);
    assert_job(own, "j-1", WORKING, CONFIRMED);
    world_pass_heard(own, 1);
    assert_job(own, "j-1", STOPPED, BROKEN);
    world_free(own);
}

// --- What is watched ---

WORLD_TEST(what_is_watched_while_stopped) {
    struct watched watched = {0};
    stopped_and_seen(world);
    assert_true(gate_is_watching(world->gate));
    gate_each_watched(world->gate, world->now, watch, &watched);
    assert_int_equal(watched.count, 3);
}

WORLD_TEST(what_ages_while_nothing_is_held) {
    assert_false(gate_is_ageing(world->gate));
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(gate_is_ageing(world->gate));
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"));
    assert_false(gate_is_ageing(world->gate));
    world_reader(world, POWER3, "t-2", true);
    assert_true(gate_is_ageing(world->gate));
    world_reader(world, POWER3, "t-2", false);
    assert_false(gate_is_ageing(world->gate));
    assert_true(world_witness(world, "s-1", NULL, MODEL_POINT_LIVE));
    assert_true(gate_is_ageing(world->gate));
}

WORLD_TEST(what_is_watched_while_a_hold_stands) {
    struct watched none = {0}, held = {0};
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    gate_each_watched(world->gate, world->now, watch, &none);
    assert_int_equal(none.count, 0);
    assert_false(gate_is_watching(world->gate));
    world_sign_prepare(world, "t-1", "j-1");
    world_isolate(world);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    world_tag_all(world, "t-1", "j-1");
    world_hear_all(world, MODEL_POINT_ISOLATED);
    assert_true(gate_is_watching(world->gate));
    int64_t heard = world->now.mono;
    world_pass(world, 700);
    gate_each_watched(world->gate, world->now, watch, &held);
    assert_int_equal(held.count, 3);
    assert_int_equal(held.heard[0], heard);
    assert_int_equal(held.heard[1], heard);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(a_point_not_heard_again_while_stopped_raises_the_alarm_again),
        cmocka_unit_test(one_heard_again_in_time_while_stopped_raises_nothing),
        cmocka_unit_test(a_bad_first_word_while_stopped_raises_the_alarm_again),
        cmocka_unit_test(a_lock_lifted_where_a_point_is_waited_for),
        cmocka_unit_test(away_too_long_while_stopped_raises_the_alarm_again),
        cmocka_unit_test(two_restarts_wait_as_one_does),
        cmocka_unit_test(nothing_is_proved_before_both_connections_are_up),
        cmocka_unit_test(a_word_grows_no_younger_by_a_restart),
        cmocka_unit_test(what_is_watched_while_stopped),
        cmocka_unit_test(what_ages_while_nothing_is_held),
        cmocka_unit_test(a_confirmed_lockout_is_unproven_and_keeps_its_phase),
        cmocka_unit_test(an_unconfirmed_one_stays_so),
        cmocka_unit_test(nothing_is_started_signed_or_finished_until_proved),
        cmocka_unit_test(no_finish_though_all_is_signed_until_proved),
        cmocka_unit_test(no_start_until_proved),
        cmocka_unit_test(proved_again_the_signatures_stand),
        cmocka_unit_test(one_point_left_is_not_all),
        cmocka_unit_test(a_first_isolated_settles_without_breaking),
        cmocka_unit_test(each_is_heard_again_within_its_age_of_the_last_time),
        cmocka_unit_test(one_point_not_heard_again_is_enough),
        cmocka_unit_test(also_in_open_what_was_confirmed_is_broken),
        cmocka_unit_test(what_was_only_held_is_let_go_without_alarm),
        cmocka_unit_test(live_breaks_at_once),
        cmocka_unit_test(bad_breaks_at_once),
        cmocka_unit_test(offline_breaks_at_once),
        cmocka_unit_test(a_wall_clock_a_second_behind_is_borne),
        cmocka_unit_test(a_wall_clock_further_behind_breaks),
        cmocka_unit_test(a_wall_clock_up_to_the_least_age_is_borne),
        cmocka_unit_test(a_wall_clock_past_it_by_more_breaks),
        cmocka_unit_test(a_journal_that_ends_long_ago_breaks),
        cmocka_unit_test(what_is_only_held_is_let_go_when_the_journal_ends_long_ago),
        cmocka_unit_test(the_least_age_of_its_points_counts),
        cmocka_unit_test(a_held_lockout_too_long_away_is_let_go),
        cmocka_unit_test(again_away_before_all_was_proved),
        cmocka_unit_test(stopped_and_unproven_breaks_again),
        cmocka_unit_test(the_leader_may_lift_in_open_though_unproven),
        cmocka_unit_test(a_failed_reading_stops_though_unproven),
        cmocka_unit_test(words_tags_signatures_and_alarms_survive),
        cmocka_unit_test(sequence_marks_do_not),
        cmocka_unit_test(after_the_finish_it_is_confirmed_again_too),
        cmocka_unit_test(a_point_added_by_configuration_stops_the_work),
        cmocka_unit_test(what_is_watched_while_a_hold_stands),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
