// A turn and its commit: what waits for it, what does not, and in which order all is told.
#include "rig.h"

#include <stdio.h>
#include <string.h>

RIG_TEST(nothing_is_told_before_the_commit) {
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_turn(rig);
    assert_int_equal(rig_count(rig, "write"), 1);
    assert_int_equal(rig->line_count, 1);
    assert_false(turn_view(rig->turn).settled);
    assert_true(turn_view(rig->turn).pending);
}

RIG_TEST(all_is_told_after_it_in_order) {
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_turn(rig);
    rig_commit(rig, TURN_WRITTEN);
    assert_order(rig, "write", "publish forelock/juniper/job/J-1",
                 "publish forelock/juniper/position/3A", "event ", "stream-event ",
                 "reply forelock/juniper/reply/k-1", "acknowledge", "settled");
    assert_true(strstr(rig_payload(rig, "reply "), "\"accepted\":true") != NULL);
}

RIG_TEST(an_empty_turn_writes_nothing) {
    rig_turn(rig);
    assert_int_equal(rig_count(rig, "write"), 0);
    assert_int_equal(rig_count(rig, "settled"), 1);
    assert_int_equal(rig->line_count, 1);
}

RIG_TEST(what_is_asked_during_a_commit_waits) {
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_turn(rig);
    rig_post(rig, 7, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"barricade\"}");
    assert_null(gate_signature_of(rig_job(rig, "J-1"), "barricade"));
    rig_turn(rig);
    assert_null(gate_signature_of(rig_job(rig, "J-1"), "barricade"));
    assert_int_equal(rig_count(rig, "write"), 1);
    rig_commit(rig, TURN_WRITTEN);
    assert_false(turn_view(rig->turn).settled);
    rig_turn(rig);
    assert_int_equal(rig_count(rig, "answer 7"), 0); // decided, not committed
    assert_non_null(gate_signature_of(rig_job(rig, "J-1"), "barricade"));
    assert_false(turn_view(rig->turn).settled);
    rig_commit(rig, TURN_WRITTEN);
    assert_order(rig, "reply forelock/juniper/reply/k-1", "settled", "write", "answer 7 200");
}

// Else the acknowledgement would let go what was delivered and not decided.
RIG_TEST(nothing_is_acknowledged_while_something_waits) {
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_turn(rig);
    rig_ask(rig, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"barricade\"}");
    rig_commit(rig, TURN_WRITTEN);
    assert_int_equal(rig_count(rig, "acknowledge"), 0);
    rig_turn(rig);
    rig_commit(rig, TURN_WRITTEN);
    assert_int_equal(rig_count(rig, "acknowledge"), 1);
    assert_order(rig, "reply forelock/juniper/reply/t-1", "acknowledge");
}

RIG_TEST(a_refusal_is_given_once_its_request_is_acknowledged) {
    rig_ask(rig, "v-1", "open-job", RIG_OPEN);
    rig_turn(rig);
    assert_order(rig, "acknowledge", "reply forelock/juniper/reply/v-1");
    assert_int_equal(rig_count(rig, "write"), 0);
    assert_true(strstr(rig_payload(rig, "reply "), "\"accepted\":false") != NULL);
}

RIG_TEST(a_refusal_to_the_http_api_waits_for_no_acknowledgement) {
    rig_post(rig, 9, "v-1", "open-job", RIG_OPEN);
    rig_turn(rig);
    assert_int_equal(rig_count(rig, "answer 9 403"), 1);
    assert_int_equal(rig_count(rig, "acknowledge"), 0);
}

RIG_TEST(a_tag_event_waits_as_a_request_does) {
    const struct turn_tagging event = {
        .point = POWER3, .from_feed = true, .tagging = {.hung = true, .person = "t-1"}};
    rig_to_open(rig);
    rig_ask(rig, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"barricade\"}");
    rig_turn(rig);
    turn_delivered(rig->turn);
    assert_true(turn_submit_tagging(rig->turn, &event));
    assert_int_equal(turn_gate(rig->turn)->sites[0].points[POWER3].tag_count, 0);
    rig_commit(rig, TURN_WRITTEN);
    rig_turn(rig);
    assert_int_equal(turn_gate(rig->turn)->sites[0].points[POWER3].tag_count, 1);
    assert_int_equal(turn_figures(rig->turn)->taggings[GATE_HEARD_CHANGED], 1);
}

// The document published after the commit is the one rendered at its begin.
RIG_TEST(a_signal_is_heard_during_a_commit_and_told_with_the_next) {
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_turn(rig);
    rig_hear(rig, S_POWER3, MODEL_POINT_LIVE);
    rig_commit(rig, TURN_WRITTEN);
    assert_int_equal(rig_count(rig, "publish forelock/juniper/point/3-power"), 0);
    rig_turn(rig);
    rig_commit(rig, TURN_WRITTEN);
    assert_order(rig, "publish forelock/juniper/job/J-1", "write",
                 "publish forelock/juniper/point/3-power");
    assert_true(strstr(rig_payload(rig, "publish forelock/juniper/point/3-power"), "\"live\"") !=
                NULL);
}

RIG_TEST(events_are_numbered_on) {
    uint64_t next = turn_view(rig->turn).next_seq;
    char first[32];
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_settle(rig);
    snprintf(first, sizeof first, "event %llu", (unsigned long long)next);
    assert_true(rig_find(rig, first) >= 0);
    assert_int_equal(turn_view(rig->turn).next_seq, rig->row_count + 1);
    assert_true(turn_view(rig->turn).next_seq > next);
}

RIG_TEST(the_deadline_is_asked_for_once_something_changed) {
    rig->wake = 0;
    rig_hear_all(rig, MODEL_POINT_ISOLATED);
    rig_settle(rig);
    assert_true(rig->wake > 0 && rig->wake <= WORLD_SETTLE_MS);
}

// It comes once: what was heard meanwhile may have moved it without a change.
RIG_TEST(the_deadline_is_asked_for_anew_after_each_tick) {
    rig_hear_all(rig, MODEL_POINT_ISOLATED);
    rig_settle(rig);
    rig_pass(rig, WORLD_SETTLE_MS + 1);
    turn_tick(rig->turn);
    rig_settle(rig);
    rig->wake = -7;
    turn_tick(rig->turn);
    rig_turn(rig);
    assert_true(rig->wake > 0);
}

RIG_TEST(last_heard_times_go_with_what_rests_on_them) {
    rig_to_confirmed(rig);
    assert_true(rig->heard_count > 0);
    assert_int_equal(rig->heard[0].heard, RIG_WALL);
    rig->heard_count = 0;
    rig_pass(rig, 1000);
    rig_hear_all(rig, MODEL_POINT_ISOLATED);
    turn_second(rig->turn);
    rig_settle(rig);
    assert_true(rig->heard_count > 0);
    assert_int_equal(rig->heard[0].heard, rig->clock.wall_ms);
}

RIG_TEST(notes_of_webhooks_make_a_commit) {
    rig->notes_due = true;
    rig_turn(rig);
    assert_non_null(rig->pending);
    assert_true(rig->pending->notes);
    rig_commit(rig, TURN_WRITTEN);
    assert_int_equal(rig->notes_over, 1);
    rig_forget(rig);
    turn_minute(rig->turn); // something to publish, nothing to write
    rig_turn(rig);
    assert_int_equal(rig_count(rig, "write"), 0);
}

RIG_TEST(the_end_commits_what_waits_and_what_that_leads_to) {
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_turn(rig);
    rig_post(rig, 7, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"barricade\"}");
    turn_finish(rig->turn);
    assert_order(rig, "write", "reply forelock/juniper/reply/k-1", "write", "answer 7 200");
    assert_int_equal(turn_view(rig->turn).unwritten, 0);
    assert_null(rig->pending);
}

// --- What has arrived ---

static void live_arrives(struct rig *rig) {
    rig_hear(rig, S_POWER3, MODEL_POINT_LIVE);
}

RIG_TEST(what_has_arrived_is_heard_before_anything_is_permitted) {
    rig_to_confirmed(rig);
    rig_ask(rig, "t-1", "start-work", "{\"job\":\"J-1\"}");
    rig->arrives = live_arrives;
    rig_settle(rig);
    assert_non_null(strstr(rig_payload(rig, "reply"), "\"point-live\""));
    assert_int_equal(rig_rows(rig, GATE_FACT_WORK_STARTED), 0);
}

static void lift_arrives(struct rig *rig) {
    rig_ask(rig, "t-1", "lift-tag", "{\"job\":\"J-1\",\"point\":\"3-power\"}");
}

RIG_TEST(what_arrived_by_the_broker_is_decided_before_what_came_by_http) {
    rig_to_confirmed(rig);
    rig_post(rig, 1, "t-1", "start-work", "{\"job\":\"J-1\"}");
    rig->arrives = lift_arrives;
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "answer 1 409"), 1);
    assert_int_equal(rig_rows(rig, GATE_FACT_WORK_STARTED), 0);
    assert_int_equal(rig_rows(rig, GATE_FACT_TAG_LIFTED), 1);
}

RIG_TEST(what_came_by_one_way_is_decided_in_its_order) {
    rig_to_confirmed(rig);
    rig_ask(rig, "t-1", "start-work", "{\"job\":\"J-1\"}");
    rig->arrives = lift_arrives;
    rig_settle(rig);
    assert_int_equal(rig_rows(rig, GATE_FACT_WORK_STARTED), 1);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_STOPPED);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_is_told_before_the_commit),
        cmocka_unit_test(all_is_told_after_it_in_order),
        cmocka_unit_test(an_empty_turn_writes_nothing),
        cmocka_unit_test(what_is_asked_during_a_commit_waits),
        cmocka_unit_test(nothing_is_acknowledged_while_something_waits),
        cmocka_unit_test(a_refusal_is_given_once_its_request_is_acknowledged),
        cmocka_unit_test(a_refusal_to_the_http_api_waits_for_no_acknowledgement),
        cmocka_unit_test(a_tag_event_waits_as_a_request_does),
        cmocka_unit_test(a_signal_is_heard_during_a_commit_and_told_with_the_next),
        cmocka_unit_test(events_are_numbered_on),
        cmocka_unit_test(the_deadline_is_asked_for_once_something_changed),
        cmocka_unit_test(the_deadline_is_asked_for_anew_after_each_tick),
        cmocka_unit_test(last_heard_times_go_with_what_rests_on_them),
        cmocka_unit_test(notes_of_webhooks_make_a_commit),
        cmocka_unit_test(the_end_commits_what_waits_and_what_that_leads_to),
        cmocka_unit_test(what_has_arrived_is_heard_before_anything_is_permitted),
        cmocka_unit_test(what_arrived_by_the_broker_is_decided_before_what_came_by_http),
        cmocka_unit_test(what_came_by_one_way_is_decided_in_its_order),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
