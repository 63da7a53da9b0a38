// Breaks: told before everything else, before the disk and whatever it is doing.
#include "rig.h"

#include <string.h>

#define ALARM "forelock/juniper/alarm/"

RIG_TEST(a_break_is_told_before_the_disk) {
    rig_to_confirmed(rig);
    rig_hear(rig, S_POWER3, MODEL_POINT_LIVE);
    assert_order(rig, "urgent " ALARM, "urgent forelock/juniper/job/J-1", "flush", "stream-alarm");
    assert_int_equal(rig_count(rig, "write"), 0);
    assert_true(strstr(rig_payload(rig, "urgent forelock/juniper/job/J-1"), "\"broken\"") != NULL);
    rig_turn(rig);
    rig_commit(rig, TURN_WRITTEN);
    assert_order(rig, "stream-alarm", "write", "publish forelock/juniper/point/3-power", "event");
    // What was told at once is not told again.
    assert_int_equal(rig_count(rig, "publish " ALARM), 0);
    assert_int_equal(rig_count(rig, "publish forelock/juniper/job/J-1"), 0);
}

RIG_TEST(a_break_during_a_commit_is_told_at_once) {
    rig_to_confirmed(rig);
    rig_ask(rig, "t-1", "start-work", "{\"job\":\"J-1\"}");
    rig_turn(rig);
    rig_hear(rig, S_POWER3, MODEL_POINT_LIVE);
    assert_order(rig, "write", "urgent " ALARM, "urgent forelock/juniper/job/J-1", "flush",
                 "stream-alarm");
    rig_commit(rig, TURN_WRITTEN);
    // The document rendered at the commit's begin says that all is well: it is not told any more.
    assert_int_equal(rig_count(rig, "publish forelock/juniper/job/J-1"), 0);
    assert_int_equal(rig_count(rig, "reply"), 1); // the start stands, and ended at once
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_STOPPED);
}

// The fold takes back what was told, and the break is told again.
RIG_TEST(a_break_in_a_commit_that_failed_still_stands) {
    rig_to_confirmed(rig);
    rig_ask(rig, "t-1", "start-work", "{\"job\":\"J-1\"}");
    rig_turn(rig);
    rig_hear(rig, S_POWER3, MODEL_POINT_LIVE);
    rig_forget(rig);
    rig_commit(rig, TURN_NOT_WRITTEN);
    rig_turn(rig);
    assert_int_not_equal(rig_job(rig, "J-1")->lockout, MODEL_LOCKOUT_CONFIRMED);
    assert_int_not_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_WORKING);
    assert_true(strstr(rig_payload(rig, "reply"), "\"accepted\":false") != NULL);
    rig_hear(rig, S_POWER3, MODEL_POINT_LIVE); // said again, as sensors do
    rig_turn(rig);
    assert_int_equal(rig_job(rig, "J-1")->lockout, MODEL_LOCKOUT_BROKEN);
    assert_true(rig_find(rig, "urgent " ALARM) >= 0);
    rig_pass(rig, 500);
    rig_settle(rig);
    assert_int_equal(rig_rows(rig, GATE_FACT_LOCKOUT_BROKEN), 1); // not also as it was first
    assert_int_equal(rig_rows(rig, GATE_FACT_WORK_STARTED), 0);
}

static void to_work(struct rig *rig) {
    rig_to_confirmed(rig);
    rig_ask(rig, "t-1", "start-work", "{\"job\":\"J-1\"}");
    rig_settle(rig);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_WORKING);
    rig_forget(rig);
}

static void assert_stopped(struct rig *rig) {
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_STOPPED);
    assert_int_equal(rig_job(rig, "J-1")->lockout, MODEL_LOCKOUT_BROKEN);
}

RIG_TEST(a_live_said_once_stops_though_its_commit_failed) {
    to_work(rig);
    rig_hear(rig, S_POWER3, MODEL_POINT_LIVE);
    rig_turn(rig);
    rig_hear(rig, S_POWER3, MODEL_POINT_ISOLATED); // nobody says it again
    rig_commit(rig, TURN_NOT_WRITTEN);
    rig_turn(rig);
    assert_stopped(rig);
    rig_hear_all(rig, MODEL_POINT_ISOLATED);
    rig_pass(rig, 3000);
    rig_settle(rig);
    rig_hear_all(rig, MODEL_POINT_ISOLATED);
    rig_settle(rig);
    assert_stopped(rig);
    assert_int_equal(rig_rows(rig, GATE_FACT_LOCKOUT_BROKEN), 1);
    assert_int_equal(rig_rows(rig, GATE_FACT_WORK_STOPPED), 1);
    // Locks that hung when it was live do not count: it is the whole way back.
    assert_true(rig_rows(rig, GATE_FACT_TAG_DISCOUNTED) > 0);
    rig_ask(rig, "t-1", "start-work", "{\"job\":\"J-1\"}");
    rig_settle(rig);
    assert_stopped(rig);
}

RIG_TEST(a_break_during_a_commit_that_failed_stands) {
    to_work(rig);
    rig_ask(rig, "t-2", "stop-work", "{\"job\":\"nothing\"}");
    rig_ask(rig, "t-1", "hang-tag", "{\"job\":\"J-1\",\"point\":\"3-power\"}");
    rig_turn(rig); // begins a commit
    rig_hear(rig, S_POWER3, MODEL_POINT_LIVE);
    rig_hear(rig, S_POWER3, MODEL_POINT_ISOLATED);
    rig_commit(rig, TURN_NOT_WRITTEN);
    rig_turn(rig);
    assert_stopped(rig);
    rig_pass(rig, 3000);
    rig_settle(rig);
    assert_stopped(rig);
    assert_int_equal(rig_rows(rig, GATE_FACT_LOCKOUT_BROKEN), 1);
}

RIG_TEST(a_break_that_is_written_is_not_told_again) {
    to_work(rig);
    rig_hear(rig, S_POWER3, MODEL_POINT_LIVE);
    rig_settle(rig);
    assert_stopped(rig);
    rig_prove(rig);
    rig_ask(rig, "t-1", "rework", "{\"job\":\"J-1\",\"reason\":\"x\"}"); // refused, but a fact
    rig_turn(rig);
    rig_commit(rig, TURN_NOT_WRITTEN);
    rig_pass(rig, 3000);
    rig_settle(rig);
    assert_int_equal(rig_job(rig, "J-1")->lockout, MODEL_LOCKOUT_UNPROVEN); // read back
    assert_int_equal(rig_rows(rig, GATE_FACT_LOCKOUT_BROKEN), 1);
    assert_int_equal(rig_count(rig, "urgent " ALARM), 0);
}

RIG_TEST(a_break_by_request_is_told_ahead_of_its_answer) {
    rig_to_confirmed(rig);
    rig_ask(rig, "t-1", "start-work", "{\"job\":\"J-1\"}");
    rig_settle(rig);
    rig_forget(rig);
    rig_post(rig, 5, "t-2", "witness-point",
             "{\"job\":\"J-1\",\"point\":\"3A-line\",\"state\":\"live\"}");
    rig_turn(rig);
    assert_order(rig, "urgent " ALARM, "flush", "stream-alarm", "write");
    rig_settle(rig);
    assert_order(rig, "stream-alarm", "write", "answer 5 200");
}

RIG_TEST(without_a_broker_the_streams_are_told) {
    rig_to_confirmed(rig);
    rig->up = false;
    rig_hear(rig, S_POWER3, MODEL_POINT_LIVE);
    assert_int_equal(rig_count(rig, "urgent"), 0);
    assert_int_equal(rig_count(rig, "flush"), 0);
    assert_int_equal(rig_count(rig, "stream-alarm"), 1);
    rig_settle(rig);
    rig->up = true;
    rig_connect(rig, GATE_LIVE);
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "publish " ALARM), 2); // of the break, and of the link
}

RIG_TEST(a_break_that_could_not_be_sent_goes_with_the_commit) {
    rig_to_confirmed(rig);
    rig->deaf = true;
    rig_hear(rig, S_POWER3, MODEL_POINT_LIVE);
    rig->deaf = false;
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "publish " ALARM), 1);
    assert_int_equal(rig_count(rig, "publish forelock/juniper/job/J-1"), 1);
}

// Time breaks a lockout too: what was not heard is not known.
RIG_TEST(a_break_by_time_is_told_before_the_disk) {
    rig_to_confirmed(rig);
    rig_ask(rig, "t-1", "start-work", "{\"job\":\"J-1\"}");
    rig_settle(rig);
    rig_forget(rig);
    rig_pass(rig, WORLD_MAX_AGE_MS + 1);
    turn_tick(rig->turn);
    rig_turn(rig);
    assert_order(rig, "urgent " ALARM, "flush", "write");
}

// It was accepted, and everybody was told of the break before the answer could go.
RIG_TEST(an_answer_overtaken_by_a_break_says_what_the_job_is_now) {
    rig_to_confirmed(rig);
    rig_ask(rig, "t-1", "start-work", "{\"job\":\"J-1\"}");
    rig_post(rig, 1, "t-1", "sign-check",
             "{\"job\":\"J-1\",\"check\":\"spout-nut\",\"value\":46,\"unit\":\"N.m\","
             "\"instrument\":\"tw-3\"}");
    rig_turn(rig);
    rig_hear(rig, S_POWER3, MODEL_POINT_LIVE);
    rig_commit(rig, TURN_WRITTEN);
    const char *answer = rig_payload(rig, "reply");
    assert_non_null(strstr(answer, "\"accepted\":true"));
    assert_non_null(strstr(answer, "\"phase\":\"stopped\""));
    assert_non_null(strstr(answer, "\"lockout\":\"broken\""));
    assert_null(strstr(answer, "\"again\""));
    assert_non_null(strstr(rig_payload(rig, "answer 1"), "\"phase\":\"stopped\""));
    rig_settle(rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_break_is_told_before_the_disk),
        cmocka_unit_test(a_break_during_a_commit_is_told_at_once),
        cmocka_unit_test(a_break_in_a_commit_that_failed_still_stands),
        cmocka_unit_test(a_live_said_once_stops_though_its_commit_failed),
        cmocka_unit_test(a_break_during_a_commit_that_failed_stands),
        cmocka_unit_test(a_break_that_is_written_is_not_told_again),
        cmocka_unit_test(a_break_by_request_is_told_ahead_of_its_answer),
        cmocka_unit_test(without_a_broker_the_streams_are_told),
        cmocka_unit_test(a_break_that_could_not_be_sent_goes_with_the_commit),
        cmocka_unit_test(a_break_by_time_is_told_before_the_disk),
        cmocka_unit_test(an_answer_overtaken_by_a_break_says_what_the_job_is_now),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
