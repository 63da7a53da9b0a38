// The broker: gone and back, slow and full, keeping what is no longer true.
#include "rig.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SIGN "{\"job\":\"J-1\",\"check\":\"barricade\"}"

static void back(struct rig *rig) {
    rig->up = true;
    rig_connect(rig, GATE_LIVE);
}

RIG_TEST(documents_go_on_change_only) {
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "publish forelock/juniper/position/3A"), 1);
    assert_int_equal(rig_count(rig, "publish forelock/juniper/position/4A"), 0);
    rig_forget(rig);
    rig_ask(rig, "t-1", "sign-check", SIGN);
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "publish"), 1);
    assert_int_equal(rig_count(rig, "publish forelock/juniper/job/J-1"), 1);
}

// A sensor that says the same again is heard, and nothing is told of it.
RIG_TEST(a_time_of_hearing_is_no_change) {
    rig_hear_all(rig, MODEL_POINT_ISOLATED);
    rig_pass(rig, WORLD_SETTLE_MS + 1);
    turn_tick(rig->turn);
    rig_settle(rig);
    rig_forget(rig);
    rig_pass(rig, 1000);
    rig_hear_all(rig, MODEL_POINT_ISOLATED);
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "publish"), 0);
}

// What the broker kept counts until a word comes by itself, after each subscription anew.
RIG_TEST(after_each_subscription_what_is_kept_is_heard) {
    const struct gate_reading kept = {
        .readable = true, .state = MODEL_POINT_LIVE, .retained = true}; // of bad quality
    rig_hear(rig, S_POWER4, MODEL_POINT_ISOLATED);
    assert_int_equal(gate_hear(turn_gate(rig->turn), 0, S_POWER4, &kept, turn_now(rig->turn)),
                     GATE_HEARD_RETAINED);
    turn_subscribed(rig->turn);
    assert_int_equal(gate_hear(turn_gate(rig->turn), 0, S_POWER4, &kept, turn_now(rig->turn)),
                     GATE_HEARD_BAD);
    turn_heard(rig->turn);
    assert_int_equal(turn_gate(rig->turn)->sites[0].points[POWER4].trust, MODEL_TRUST_BAD_QUALITY);
}

RIG_TEST(an_alarm_that_is_gone_is_emptied) {
    rig_to_open(rig);
    rig_disconnect(rig, GATE_LIVE);
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "publish forelock/juniper/alarm/"), 1);
    char body[MODEL_ID_SIZE + 16];
    snprintf(body, sizeof body, "{\"alarm\":\"%s\"}",
             turn_gate(rig->turn)->sites[0].alarms[0].alarm);
    rig_forget(rig);
    rig_connect(rig, GATE_LIVE);
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "empty"), 0); // it is over, and nobody has seen it yet
    rig_pass(rig, 1000);                          // they saw it
    rig_ask(rig, "s-1", "acknowledge-alarm", body);
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "empty forelock/juniper/alarm/"), 1);
}

RIG_TEST(a_broker_that_is_back_is_told_everything_then_online) {
    rig_to_open(rig);
    rig->up = false;
    rig_disconnect(rig, GATE_LIVE);
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "publish"), 0);
    back(rig);
    rig_settle(rig);
    assert_order(rig, "survey", "publish forelock/juniper/job/J-1",
                 "publish forelock/juniper/point/3-power", "publish forelock/juniper/position/3A",
                 "publish forelock/daemon/edge-1");
    assert_int_equal(rig_count(rig, "publish forelock/juniper/point/"), WORLD_POINTS);
    assert_int_equal(rig_count(rig, "publish forelock/juniper/position/"), 3);
    assert_int_equal(rig_count(rig, "publish forelock/daemon/edge-1"), 1);
}

RIG_TEST(events_missed_are_told_first_and_in_order) {
    uint64_t first = turn_view(rig->turn).next_seq;
    rig->up = false;
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_settle(rig);
    rig_ask(rig, "t-1", "sign-check", SIGN);
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "event"), 0);
    back(rig);
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "event"), rig_count(rig, "stream-event"));
    uint64_t last = first - 1;
    for (int at = 0; (at = rig_find_from(rig, at, "event ")) >= 0; at++) {
        uint64_t number = strtoull(rig->lines[at].text + strlen("event "), NULL, 10);
        assert_true(number > last);
        last = number;
    }
    assert_true(last < turn_view(rig->turn).next_seq);
}

RIG_TEST(an_event_that_was_not_taken_is_told_with_the_next) {
    rig->room = 0;
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_turn(rig);
    rig_commit(rig, TURN_WRITTEN);
    assert_int_equal(rig_count(rig, "event"), 0);
    rig->room = SIZE_MAX;
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "event"), rig_count(rig, "stream-event"));
}

RIG_TEST(what_is_published_is_counted_by_what_is_confirmed) {
    rig_to_open(rig);
    assert_int_equal(turn_published(rig->turn), rig->row_count);
    rig->oldest = 3;
    assert_int_equal(turn_published(rig->turn), 2);
    rig_ask(rig, "t-1", "sign-check", SIGN);
    rig_settle(rig);
    assert_int_equal(rig->published, 2);
}

// The answer would speak of a job that nobody can see yet.
RIG_TEST(answers_wait_for_the_documents_they_tell_of) {
    rig->up = false;
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "reply"), 0);
    assert_int_equal(rig_count(rig, "acknowledge"), 1); // it is done and kept
    rig->room = 1;                                      // one site at a time
    back(rig);
    rig_settle(rig);
    assert_order(rig, "publish forelock/juniper/position/3A", "reply forelock/juniper/reply/k-1");
    assert_int_equal(rig_count(rig, "reply"), 1);
}

RIG_TEST(documents_wait_for_room_and_answers_for_them) {
    rig->room = 0;
    rig_connect(rig, GATE_LIVE);
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "publish"), 0);
    assert_int_equal(rig_count(rig, "reply"), 0);
    rig->room = SIZE_MAX;
    rig_settle(rig);
    assert_order(rig, "publish forelock/juniper/job/J-1", "publish forelock/daemon/edge-1",
                 "reply");
}

RIG_TEST(a_document_that_was_not_taken_goes_again) {
    rig->deaf = true;
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_turn(rig);
    rig_commit(rig, TURN_WRITTEN);
    assert_true(rig_find(rig, "notice") >= 0); // the answer: it stands, and is given again
    rig->deaf = false;
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "publish forelock/juniper/job/J-1"), 1);
    assert_int_equal(rig_count(rig, "publish forelock/juniper/position/3A"), 1);
}

RIG_TEST(the_http_api_waits_for_no_broker) {
    rig->up = false;
    rig_post(rig, 4, "k-1", "open-job", RIG_OPEN);
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "answer 4 200"), 1);
}

RIG_TEST(answers_that_wait_are_bounded) {
    rig->up = false;
    for (int i = 0; i < 1001; i++) {
        rig_ask_undated(rig, "v-1", "open-job", "{}");
    }
    rig_settle(rig);
    assert_true(rig_count(rig, "notice") >= 1000);
}

// --- What the broker keeps ---

RIG_TEST(what_is_no_longer_true_is_emptied) {
    rig_to_open(rig);
    turn_retained(rig->turn, "forelock/juniper/job/J-1", "{}", 2);
    turn_retained(rig->turn, "forelock/juniper/position/3A", "{}", 2);
    turn_retained(rig->turn, "forelock/juniper/point/3-power", "{}", 2);
    turn_retained(rig->turn, "forelock/elsewhere/job/J-9", "{}", 2);
    assert_int_equal(rig_count(rig, "empty"), 0);
    turn_retained(rig->turn, "forelock/juniper/job/J-9", "{}", 2);
    turn_retained(rig->turn, "forelock/juniper/position/9Z", "{}", 2);
    turn_retained(rig->turn, "forelock/juniper/point/9-power", "{}", 2);
    turn_retained(rig->turn, "forelock/juniper/alarm/A-1", "{}", 2);
    assert_int_equal(rig_count(rig, "empty"), 4);
}

RIG_TEST(a_survey_that_was_cut_is_made_again) {
    turn_surveyed(rig->turn, true);
    turn_second(rig->turn);
    assert_int_equal(rig_count(rig, "survey"), 0);
    turn_surveyed(rig->turn, false);
    rig->up = false;
    turn_second(rig->turn);
    assert_int_equal(rig_count(rig, "survey"), 0);
    rig->up = true;
    turn_second(rig->turn);
    assert_int_equal(rig_count(rig, "survey"), 1);
}

static void the_link_may_take_a_while_at_the_start(void **state) {
    (void)state;
    struct rig *rig = rig_new_down();
    turn_second(rig->turn);
    assert_int_equal(turn_gate(rig->turn)->sites[0].alarm_count, 0);
    rig_pass(rig, 10001);
    turn_second(rig->turn); // neither connection
    assert_int_equal(turn_gate(rig->turn)->sites[0].alarm_count, 2);
    rig_free(rig);
}

// --- The daemon about itself ---

RIG_TEST(online_is_said_each_minute) {
    turn_minute(rig->turn);
    rig_turn(rig);
    assert_int_equal(rig_count(rig, "publish forelock/daemon/edge-1"), 1);
    rig_turn(rig);
    assert_int_equal(rig_count(rig, "publish forelock/daemon/edge-1"), 1);
}

RIG_TEST(our_own_late_will_is_answered) {
    static const char will[] = "{\"state\":\"offline\",\"boot\":\"boot-1\"}";
    turn_hear_daemon(rig->turn, "edge-1", will, sizeof will - 1, false);
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "publish forelock/daemon/edge-1"), 1);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(documents_go_on_change_only),
        cmocka_unit_test(a_time_of_hearing_is_no_change),
        cmocka_unit_test(after_each_subscription_what_is_kept_is_heard),
        cmocka_unit_test(an_alarm_that_is_gone_is_emptied),
        cmocka_unit_test(a_broker_that_is_back_is_told_everything_then_online),
        cmocka_unit_test(events_missed_are_told_first_and_in_order),
        cmocka_unit_test(an_event_that_was_not_taken_is_told_with_the_next),
        cmocka_unit_test(what_is_published_is_counted_by_what_is_confirmed),
        cmocka_unit_test(answers_wait_for_the_documents_they_tell_of),
        cmocka_unit_test(documents_wait_for_room_and_answers_for_them),
        cmocka_unit_test(a_document_that_was_not_taken_goes_again),
        cmocka_unit_test(the_http_api_waits_for_no_broker),
        cmocka_unit_test(answers_that_wait_are_bounded),
        cmocka_unit_test(what_is_no_longer_true_is_emptied),
        cmocka_unit_test(a_survey_that_was_cut_is_made_again),
        cmocka_unit_test(the_link_may_take_a_while_at_the_start),
        cmocka_unit_test(online_is_said_each_minute),
        cmocka_unit_test(our_own_late_will_is_answered),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
