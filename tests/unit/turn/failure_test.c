// Commits that fail: nothing of them is told, what was asked is decided again, and what ends is
// written when it can be.
#include "rig.h"
#include "rig_operations.h"

#include <stdio.h>
#include <string.h>

static bool noticed(const struct rig *rig, enum turn_notice notice) {
    char text[32];
    snprintf(text, sizeof text, "notice %d", (int)notice);
    return rig_find(rig, text) >= 0;
}

// A permit that was decided is not given: it is decided again, with the journal down.
RIG_TEST(what_may_have_permitted_is_decided_again) {
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_turn(rig);
    rig_commit(rig, TURN_NOT_WRITTEN);
    assert_int_equal(rig_count(rig, "reply"), 0);
    assert_int_equal(rig_count(rig, "event"), 0);
    assert_int_equal(rig_count(rig, "publish"), 0);
    assert_true(noticed(rig, TURN_NOTICE_NOT_PERMIT));
    assert_null(rig_job(rig, "J-1"));
    assert_false(turn_view(rig->turn).journal_up);
    rig_turn(rig);
    assert_int_equal(rig_count(rig, "acknowledge"), 1);
    assert_int_equal(rig_count(rig, "reply forelock/juniper/reply/k-1"), 1);
    assert_true(strstr(rig_payload(rig, "reply"), "\"journal-down\"") != NULL);
    assert_order(rig, "publish forelock/juniper/position/3A", "acknowledge", "reply");
    assert_int_equal(rig_count(rig, "publish forelock/juniper/job/J-1"), 0);
    assert_int_equal(rig_count(rig, "publish forelock/juniper/position/4A"), 1); // all is, anew
    rig_pass(rig, 500);
    rig_settle(rig);
    assert_int_equal(rig_rows(rig, GATE_FACT_JOB_OPENED), 0);
    assert_int_equal(rig->request_count, 0);
}

RIG_TEST(the_state_is_the_journals_after_a_failure) {
    rig_to_open(rig);
    rig_ask(rig, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"barricade\"}");
    rig_turn(rig);
    rig_commit(rig, TURN_NOT_WRITTEN);
    assert_non_null(rig_job(rig, "J-1"));
    assert_null(gate_signature_of(rig_job(rig, "J-1"), "barricade"));
}

// What came during the commit that failed was not decided yet: it is after it.
RIG_TEST(what_waited_is_decided_after_a_failure_once) {
    rig_to_open(rig);
    rig_ask(rig, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"barricade\"}");
    rig_turn(rig);
    rig_post(rig, 7, "t-1", "leave-job", "{\"job\":\"J-1\"}");
    rig_commit(rig, TURN_NOT_WRITTEN);
    rig_pass(rig, 500);
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "answer 7"), 1);
    assert_int_equal(rig_count(rig, "reply"), 1);
    assert_order(rig, "acknowledge", "reply");
}

RIG_TEST(an_answer_of_before_the_failure_is_not_given) {
    rig_to_open(rig);
    rig->up = false; // answers wait for the broker
    rig_ask(rig, "t-1", "sign-check", "{\"id\":\"r-9\",\"job\":\"J-1\",\"check\":\"barricade\"}");
    rig_turn(rig);
    rig_post(rig, 8, "v-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"site-told\"}");
    rig_commit(rig, TURN_NOT_WRITTEN);
    rig->up = true;
    rig_turn(rig);
    assert_true(strstr(rig_payload(rig, "reply"), "\"accepted\":false") != NULL);
    assert_int_equal(rig_count(rig, "reply"), 1);
}

// Stops and tags that go are decided with the journal down, told at once, written later.
RIG_TEST(what_ends_is_told_at_once_and_written_when_it_can_be) {
    rig_to_open(rig);
    rig_ask(rig, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"barricade\"}");
    rig_turn(rig);
    rig_commit(rig, TURN_NOT_WRITTEN);
    rig_turn(rig);
    rig_forget(rig);
    size_t rows = rig->row_count;
    rig_pass(rig, 500);
    rig_turn(rig);
    assert_int_equal(rig_count(rig, "write"), 1); // the daemon that came up anew, the alarm
    assert_true(turn_view(rig->turn).unwritten > 0);
    rig_commit(rig, TURN_NOT_WRITTEN);
    assert_true(noticed(rig, TURN_NOTICE_NOT_WRITTEN));
    assert_true(turn_view(rig->turn).unwritten > 0);
    rig_forget(rig);
    rig_turn(rig); // too early to try again
    assert_int_equal(rig_count(rig, "write"), 0);
    assert_true(rig->wake >= 0 && rig->wake <= 500);
    rig_pass(rig, 500);
    rig_turn(rig);
    assert_int_equal(rig_count(rig, "write"), 1);
    rig_commit(rig, TURN_WRITTEN);
    assert_true(rig->row_count > rows);
    assert_int_equal(turn_view(rig->turn).unwritten, 0);
    assert_int_equal(rig_count(rig, "event"), rig_count(rig, "stream-event"));
}

RIG_TEST(the_journal_is_up_again_when_all_is_written_and_there_is_room) {
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_turn(rig);
    rig_commit(rig, TURN_NOT_WRITTEN);
    rig_turn(rig);
    turn_second(rig->turn);
    assert_false(turn_view(rig->turn).journal_up); // something is to be written first
    rig_pass(rig, 500);
    rig_settle(rig);
    rig->has_room = false;
    turn_second(rig->turn);
    assert_false(turn_view(rig->turn).journal_up);
    rig->has_room = true;
    turn_second(rig->turn);
    assert_true(turn_view(rig->turn).journal_up);
    assert_true(noticed(rig, TURN_NOTICE_ROOM_AGAIN));
    rig_settle(rig);
    rig_forget(rig);
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_settle(rig);
    assert_true(strstr(rig_payload(rig, "reply"), "\"accepted\":true") != NULL);
}

RIG_TEST(a_commit_from_the_reserve_is_told_and_permits_no_more) {
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_turn(rig);
    rig_post(rig, 7, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"barricade\"}");
    rig_commit(rig, TURN_WRITTEN_FROM_RESERVE);
    assert_true(strstr(rig_payload(rig, "reply"), "\"accepted\":true") != NULL);
    assert_true(noticed(rig, TURN_NOTICE_RESERVE_ONLY));
    assert_false(turn_view(rig->turn).journal_up);
    rig_pass(rig, 500);
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "answer 7 503"), 1); // it waited, and the journal is down now
}

static void only_the_reserve_is_left(struct rig *rig) {
    rig_to_open(rig);
    rig_ask(rig, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"barricade\"}");
    rig_turn(rig);
    rig_commit(rig, TURN_WRITTEN_FROM_RESERVE);
    rig_turn(rig);
    if (rig->pending != NULL) { // the alarm
        rig_commit(rig, TURN_WRITTEN);
    }
    assert_false(turn_view(rig->turn).journal_up);
    rig_forget(rig);
}

#define STOP "{\"job\":\"J-1\",\"reason\":\"smoke\"}"

RIG_TEST(out_of_the_reserve_a_stop_is_written_before_it_is_answered) {
    only_the_reserve_is_left(rig);
    for (uint64_t ticket = 5; ticket < 7; ticket++) {
        rig_post(rig, ticket, ticket == 5 ? "v-1" : "t-2", "stop-work", STOP);
        rig_turn(rig);
        assert_order(rig, "urgent forelock/juniper/alarm/", "write");
        assert_int_equal(rig_count(rig, "answer"), 0);
        rig_commit(rig, TURN_WRITTEN);
        assert_int_equal(rig_count(rig, "answer"), 1);
        assert_int_equal(rig_rows(rig, GATE_FACT_STOP_CALLED), ticket - 4);
        assert_int_equal(turn_view(rig->turn).unwritten, 0);
        rig_forget(rig);
    }
}

RIG_TEST(out_of_the_reserve_what_the_hardware_says_waits) {
    only_the_reserve_is_left(rig);
    rig_hear(rig, S_POWER4, MODEL_POINT_LIVE);
    rig_turn(rig);
    assert_int_equal(rig_count(rig, "write"), 0);
    assert_true(turn_view(rig->turn).unwritten > 0);
}

RIG_TEST(where_nothing_can_be_written_a_stop_is_answered_at_once) {
    only_the_reserve_is_left(rig);
    rig_post(rig, 5, "v-1", "stop-work", STOP);
    rig_turn(rig);
    rig_commit(rig, TURN_NOT_WRITTEN);
    assert_int_equal(rig_count(rig, "answer 5 200"), 1);
    rig_forget(rig);
    rig_post(rig, 6, "t-2", "stop-work", STOP);
    rig_turn(rig);
    assert_int_equal(rig_count(rig, "write"), 0);
    assert_int_equal(rig_count(rig, "answer 6 200"), 1);
    rig_pass(rig, 500);
    rig_settle(rig);
    assert_int_equal(rig_rows(rig, GATE_FACT_STOP_CALLED), 2);
}

RIG_TEST(a_lost_disk_ends_it_without_acknowledging) {
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_turn(rig);
    rig_commit(rig, TURN_DISK_LOST);
    assert_int_equal(rig_count(rig, "stop"), 1);
    assert_int_equal(rig_count(rig, "settled"), 0);
    rig_turn(rig);
    assert_int_equal(rig_count(rig, "acknowledge"), 0);
    assert_int_equal(rig_count(rig, "reply"), 0);
    assert_int_equal(rig_count(rig, "write"), 1);
    assert_true(turn_view(rig->turn).ending);
}

RIG_TEST(a_journal_that_cannot_be_read_again_ends_it) {
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_turn(rig);
    rig->unreadable = true;
    rig_commit(rig, TURN_NOT_WRITTEN);
    assert_int_equal(rig_count(rig, "stop"), 1);
    assert_int_equal(rig_count(rig, "acknowledge"), 0);
    assert_int_equal(rig_count(rig, "settled"), 0);
    assert_non_null(turn_gate(rig->turn)); // whatever still runs looks at it
}

RIG_TEST(notes_of_a_commit_that_failed_are_taken_again) {
    rig->notes_due = true;
    rig_turn(rig);
    rig_commit(rig, TURN_NOT_WRITTEN);
    assert_int_equal(rig->notes_over, -1);
    rig->notes_due = true;
    rig_pass(rig, 500);
    rig_settle(rig);
    assert_int_equal(rig->notes_over, 1);
}

// Nothing grows younger: the time line goes on, and the link is as it was.
RIG_TEST(time_and_link_go_on_over_a_failure) {
    rig_to_open(rig);
    int64_t line = turn_now(rig->turn).mono;
    rig_ask(rig, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"barricade\"}");
    rig_turn(rig);
    rig_pass(rig, 40);
    rig->clock.wall_ms += 3600000; // set, which is no time that goes by
    rig_commit(rig, TURN_NOT_WRITTEN);
    assert_int_equal(turn_now(rig->turn).mono, line + 40);
    assert_true(turn_gate(rig->turn)->link_up);
    assert_false(turn_gate(rig->turn)->journal_up);
}

static const struct gate_alarm *journal_down(const struct rig *rig) {
    const struct gate_site *site = &turn_gate(rig->turn)->sites[0];
    for (size_t i = 0; i < site->alarm_count; i++) {
        if (site->alarms[i].kind == MODEL_ALARM_JOURNAL_DOWN) {
            return &site->alarms[i];
        }
    }
    return NULL;
}

static bool says_of_journal(const struct rig *rig, const char *what) {
    const struct gate_alarm *alarm = journal_down(rig);
    return alarm != NULL && strstr(alarm->say, what) != NULL;
}

RIG_TEST(where_room_is_wanting_it_says_how_much) {
    only_the_reserve_is_left(rig);
    rig->has_room = false;
    turn_second(rig->turn);
    assert_false(says_of_journal(rig, "MiB")); // that is not why
    rig->need = 3 << 20;
    turn_second(rig->turn);
    assert_true(noticed(rig, TURN_NOTICE_NO_ROOM));
    assert_true(says_of_journal(rig, "3 MiB must be free on its disk, 1 MiB are"));
    assert_int_equal(journal_down(rig)->count, 1);
    const struct gate_args *args = &journal_down(rig)->told.args;
    assert_true(args->has_min && args->min == 3 && args->has_value && args->value == 1);
    rig_pass(rig, 1000);
    rig_settle(rig);
    size_t raised = rig_rows(rig, GATE_FACT_ALARM_RAISED);
    rig_pass(rig, 1000);
    turn_second(rig->turn);
    rig_settle(rig);
    assert_int_equal(rig_rows(rig, GATE_FACT_ALARM_RAISED), raised); // once
    rig->has_room = true;
    rig_pass(rig, 1000);
    rig_settle(rig);
    turn_second(rig->turn);
    assert_true(turn_view(rig->turn).journal_up);
}

static void a_journal_that_is_down_at_the_start_is_an_alarm(void **state) {
    (void)state;
    struct turn_options options = {.model = world_model(), .version = "test", .boot = "boot-2"};
    struct rig *rig = rig_new();
    turn_free(rig->turn);
    rig->turn = turn_new(&options, &rig_operations, rig);
    assert_int_equal(turn_open(rig->turn, false), TURN_FOLDED);
    assert_non_null(journal_down(rig));
    rig_free(rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_may_have_permitted_is_decided_again),
        cmocka_unit_test(the_state_is_the_journals_after_a_failure),
        cmocka_unit_test(what_waited_is_decided_after_a_failure_once),
        cmocka_unit_test(an_answer_of_before_the_failure_is_not_given),
        cmocka_unit_test(what_ends_is_told_at_once_and_written_when_it_can_be),
        cmocka_unit_test(the_journal_is_up_again_when_all_is_written_and_there_is_room),
        cmocka_unit_test(a_commit_from_the_reserve_is_told_and_permits_no_more),
        cmocka_unit_test(out_of_the_reserve_a_stop_is_written_before_it_is_answered),
        cmocka_unit_test(out_of_the_reserve_what_the_hardware_says_waits),
        cmocka_unit_test(where_nothing_can_be_written_a_stop_is_answered_at_once),
        cmocka_unit_test(a_lost_disk_ends_it_without_acknowledging),
        cmocka_unit_test(where_room_is_wanting_it_says_how_much),
        cmocka_unit_test(a_journal_that_is_down_at_the_start_is_an_alarm),
        cmocka_unit_test(a_journal_that_cannot_be_read_again_ends_it),
        cmocka_unit_test(notes_of_a_commit_that_failed_are_taken_again),
        cmocka_unit_test(time_and_link_go_on_over_a_failure),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
