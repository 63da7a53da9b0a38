// Coming up: the journal folded, the time line continued, events that were not confirmed told.
#include "rig.h"

#include <string.h>

#include "rig_operations.h"

// The daemon dies after what is committed, and comes up again on the same journal.
static void restart(struct rig *rig) {
    struct turn_options options = {.model = world_model(), .version = "test", .boot = "boot-2"};
    turn_free(rig->turn);
    rig->pending = NULL;
    rig->turn = turn_new(&options, &rig_operations, rig);
    rig_forget(rig);
    assert_int_equal(turn_open(rig->turn, true), TURN_FOLDED);
    turn_finish(rig->turn);
}

RIG_TEST(what_is_committed_outlives_a_restart) {
    rig_to_open(rig);
    restart(rig);
    assert_non_null(rig_job(rig, "J-1"));
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_settle(rig);
    assert_true(strstr(rig_payload(rig, "reply"), "\"again\":true") != NULL);
}

RIG_TEST(what_is_not_committed_does_not) {
    rig_to_open(rig);
    rig_ask(rig, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"barricade\"}");
    rig_turn(rig);
    restart(rig);
    assert_null(gate_signature_of(rig_job(rig, "J-1"), "barricade"));
}

RIG_TEST(the_time_line_goes_on_by_what_the_wall_clock_says) {
    rig_to_open(rig);
    int64_t line = turn_now(rig->turn).mono;
    rig->clock.wall_ms += 60000; // away for a minute; the machine's own clock begins anew
    rig->clock.mono_ms = 5;
    restart(rig);
    assert_int_equal(turn_now(rig->turn).mono, line + 60000);
    rig_pass(rig, 10);
    assert_int_equal(turn_now(rig->turn).mono, line + 60010);
}

// The last fact is eight hours old, and the daemon wrote each second that it heard its points.
RIG_TEST(time_goes_on_from_the_last_instant_that_was_written) {
    rig_to_confirmed(rig);
    rig_pass(rig, 8 * 3600 * 1000LL);
    rig->clock.wall_ms += 4000; // set right meanwhile
    rig_hear_all(rig, MODEL_POINT_ISOLATED);
    turn_second(rig->turn);
    rig_settle(rig);
    int64_t line = turn_now(rig->turn).mono;
    rig->clock.wall_ms += 2000;
    rig->clock.mono_ms = 5;
    restart(rig);
    assert_int_equal(turn_now(rig->turn).mono, line + 2000);
}

// No lockout stands, and nobody says anything for a night.
RIG_TEST(time_is_written_each_minute_while_anything_ages) {
    int64_t newest = rig->newest;
    rig_pass(rig, 60000);
    turn_minute(rig->turn);
    rig_settle(rig);
    assert_int_equal(rig->newest, newest); // nothing stands
    rig_to_open(rig);
    rig_pass(rig, 8 * 3600 * 1000LL);
    turn_minute(rig->turn);
    rig_settle(rig);
    assert_int_equal(rig->kept.wall, rig->clock.wall_ms);
    assert_int_equal(rig->kept.mono, turn_now(rig->turn).mono);
    assert_int_equal(rig->newest, rig->clock.wall_ms);
}

// Nobody can say how long it was: longer than anything that was signed stands.
RIG_TEST(a_wall_clock_that_stepped_back_counts_as_a_year) {
    rig_to_open(rig);
    int64_t line = turn_now(rig->turn).mono;
    rig->clock.wall_ms -= 1000;
    restart(rig);
    assert_int_equal(turn_now(rig->turn).mono, line); // that much is borne
    rig->clock.wall_ms -= 1;
    restart(rig);
    assert_int_equal(turn_now(rig->turn).mono, line + 366 * 24 * 3600 * 1000LL);
}

static void an_empty_journal_begins_with_the_wall_clock(void **state) {
    (void)state;
    struct rig *rig = rig_new_down();
    assert_int_equal(turn_now(rig->turn).mono, RIG_WALL);
    assert_true(rig->row_count > 0); // that the daemon came up
    rig_free(rig);
}

RIG_TEST(events_that_were_not_confirmed_are_told_again) {
    rig_to_open(rig);
    rig->published = 1;
    restart(rig);
    rig_connect(rig, GATE_LIVE);
    rig_settle(rig);
    assert_true(rig_count(rig, "event ") >= 2);
    rig->published = (int64_t)rig->row_count;
    restart(rig);
    int before = rig_count(rig, "event ");
    rig_connect(rig, GATE_LIVE);
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "event ") - before <= 1, 1);
}

RIG_TEST(a_journal_that_cannot_be_read_does_not_come_up) {
    struct turn_options options = {.model = world_model(), .version = "test", .boot = "boot-2"};
    turn_free(rig->turn);
    rig->turn = turn_new(&options, &rig_operations, rig);
    rig->unreadable = true;
    assert_int_equal(turn_open(rig->turn, true), TURN_FOLD_UNREADABLE);
}

RIG_TEST(a_configuration_that_lacks_a_job_s_point_does_not_come_up) {
    static struct world_copy copy;
    struct turn_options options = {.model = &copy.model, .version = "test", .boot = "boot-2"};
    rig_ask(rig, "k-1", "open-job",
            "{\"job\":\"J-4\",\"position\":\"4A\",\"procedure\":\"spout\","
            "\"kit_family\":\"k4\",\"technician\":\"t-1\"}");
    rig_settle(rig);
    assert_non_null(rig_job(rig, "J-4"));
    world_copy(&copy);
    world_copy_drop_valve_4(&copy);
    turn_free(rig->turn);
    rig->turn = turn_new(&options, &rig_operations, rig);
    assert_int_equal(turn_open(rig->turn, true), TURN_FOLD_MISFIT);
}

RIG_TEST(it_may_come_up_with_the_journal_down) {
    struct turn_options options = {.model = world_model(), .version = "test", .boot = "boot-2"};
    turn_free(rig->turn);
    rig->turn = turn_new(&options, &rig_operations, rig);
    assert_int_equal(turn_open(rig->turn, false), TURN_FOLDED);
    assert_false(turn_gate(rig->turn)->journal_up);
    assert_false(turn_view(rig->turn).journal_up);
}

// Nobody heard what was asked and hung meanwhile, and the broker is not there yet either.
RIG_TEST(an_outage_over_a_restart_counts_from_the_journal_s_newest_time) {
    rig_to_confirmed(rig);
    rig_ask(rig, "t-1", "start-work", "{\"job\":\"J-1\"}");
    rig_settle(rig);
    rig_hear_all(rig, MODEL_POINT_ISOLATED);
    turn_second(rig->turn); // notes when the points were heard
    rig_settle(rig);
    int64_t newest = turn_now(rig->turn).mono;
    rig_pass(rig, 20000);
    restart(rig);
    rig_settle(rig);
    assert_int_equal(turn_gate(rig->turn)->outage, newest);
    rig_hear_all(rig, MODEL_POINT_ISOLATED);
    rig_pass(rig, 9900);
    rig_hear_all(rig, MODEL_POINT_ISOLATED);
    turn_tick(rig->turn);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_WORKING);
    rig_pass(rig, 200);
    turn_tick(rig->turn);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_STOPPED);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_committed_outlives_a_restart),
        cmocka_unit_test(what_is_not_committed_does_not),
        cmocka_unit_test(the_time_line_goes_on_by_what_the_wall_clock_says),
        cmocka_unit_test(time_goes_on_from_the_last_instant_that_was_written),
        cmocka_unit_test(time_is_written_each_minute_while_anything_ages),
        cmocka_unit_test(a_wall_clock_that_stepped_back_counts_as_a_year),
        cmocka_unit_test(an_empty_journal_begins_with_the_wall_clock),
        cmocka_unit_test(events_that_were_not_confirmed_are_told_again),
        cmocka_unit_test(a_journal_that_cannot_be_read_does_not_come_up),
        cmocka_unit_test(a_configuration_that_lacks_a_job_s_point_does_not_come_up),
        cmocka_unit_test(it_may_come_up_with_the_journal_down),
        cmocka_unit_test(an_outage_over_a_restart_counts_from_the_journal_s_newest_time),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
