// What waited on its way, by whatever way it came: it permits nothing, and stops all the same.
#include "rig.h"

#include <string.h>

#define JOIN "{\"job\":\"J-1\"}"

static bool is_late(struct rig *rig) {
    rig_settle(rig);
    bool late = strstr(rig_payload(rig, "reply"), "\"too-late\"") != NULL;
    rig_forget(rig);
    return late;
}

RIG_TEST(asked_long_ago_it_permits_nothing) {
    rig_to_open(rig);
    int64_t now = rig->clock.wall_ms;
    rig_ask_at(rig, "t-2", "join-job", JOIN, now - 30001);
    assert_true(is_late(rig));
    rig_ask_at(rig, "t-2", "join-job", JOIN, now - 30000);
    assert_false(is_late(rig));
    rig_ask_at(rig, "t-2", "hang-tag", "{\"job\":\"J-1\",\"point\":\"3-power\"}", now + 5001);
    assert_true(is_late(rig));
    rig_ask_at(rig, "t-2", "hang-tag", "{\"job\":\"J-1\",\"point\":\"3-power\"}", now + 5000);
    assert_false(is_late(rig));
}

RIG_TEST(what_does_not_say_when_it_was_asked_is_malformed_over_the_broker_alone) {
    rig_to_open(rig);
    rig_ask_undated(rig, "t-2", "join-job", JOIN);
    rig_settle(rig);
    assert_non_null(strstr(rig_payload(rig, "reply"), "\"malformed.missing\""));
    assert_non_null(strstr(rig_payload(rig, "reply"), "\"/asked\""));
    rig_post(rig, 1, "t-2", "join-job", JOIN);
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "answer 1 200"), 1);
}

// What comes before the connection's first pulse was kept by the broker.
RIG_TEST(from_the_session_it_permits_nothing) {
    rig_to_open(rig);
    rig_disconnect(rig, GATE_DURABLE);
    turn_connection(rig->turn, GATE_DURABLE, true, true);
    rig_ask(rig, "t-2", "join-job", JOIN);
    assert_true(is_late(rig));
    rig_ask(rig, "t-2", "join-job", JOIN);
    assert_false(is_late(rig));
}

RIG_TEST(a_lock_from_the_session_does_not_count) {
    const struct turn_tagging event = {.point = POWER3, .tagging = {.hung = true, .person = "t-1"}};
    rig_to_confirmed(rig);
    const struct gate_point *point = &turn_gate(rig->turn)->sites[0].points[POWER3];
    turn_connection(rig->turn, GATE_DURABLE, true, true);
    assert_true(turn_submit_tagging(
        rig->turn, &(struct turn_tagging){.point = POWER3, .tagging = {.person = "t-1"}}));
    assert_true(turn_submit_tagging(rig->turn, &event));
    rig_settle(rig);
    assert_int_equal(point->tag_count, 1);
    assert_false(point->tags[0].counts);
    assert_true(turn_submit_tagging(rig->turn, &event));
    rig_settle(rig);
    assert_true(point->tags[0].counts);
}

// A pulse of an earlier connection was kept with the rest, and proves nothing.
RIG_TEST(a_pulse_of_an_earlier_connection_is_no_first_one) {
    struct rig_word before;
    rig_to_open(rig);
    turn_second(rig->turn);
    before = rig->words[0];
    rig->word_count = 0;
    assert_int_equal(before.which, GATE_DURABLE);
    turn_connection(rig->turn, GATE_DURABLE, true, true);
    assert_true(turn_hear_own(rig->turn, GATE_DURABLE, before.topic, before.payload,
                              strlen(before.payload)));
    assert_false(turn_view(rig->turn).link_up);
    rig_ask(rig, "t-2", "join-job", JOIN);
    assert_true(is_late(rig));
}

// It came in time, and a commit took longer than it is good for.
RIG_TEST(what_expires_while_a_commit_is_pending_permits_nothing) {
    struct wire_request_in request = {.person = "t-2", .verb = "join-job", .expires = true};
    request.body = "{\"asked\":\"2027-01-15T08:00:00Z\",\"job\":\"J-1\"}";
    request.length = strlen(request.body);
    rig_to_open(rig);
    request.until = turn_now(rig->turn).mono + 2000;
    rig_ask(rig, "k-1", "open-job",
            "{\"job\":\"J-2\",\"position\":\"4A\",\"procedure\":\"spout\",\"kit_family\":\"k4\"}");
    rig_turn(rig);
    rig_ask_for(rig, &request);
    rig_pass(rig, 2000);
    rig_commit(rig, TURN_WRITTEN);
    assert_true(is_late(rig));
}

RIG_TEST(whose_client_hung_up_before_it_was_decided_permits_nothing) {
    rig_to_open(rig);
    rig->hung_up = 7;
    rig_post(rig, 7, "t-2", "join-job", JOIN);
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "answer 7 409"), 1);
    rig_post(rig, 8, "t-2", "join-job", JOIN);
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "answer 8 200"), 1);
}

RIG_TEST(what_stops_is_taken_however_long_ago_it_was_asked) {
    rig_to_confirmed(rig);
    rig_ask(rig, "t-1", "start-work", JOIN);
    rig_settle(rig);
    struct wire_request_in stop = {.person = "t-1", .verb = "stop-work"};
    turn_connection(rig->turn, GATE_DURABLE, true, true);
    stop.body = "{\"asked\":\"2001-01-01T00:00:00Z\",\"job\":\"J-1\",\"reason\":\"smell\"}";
    stop.length = strlen(stop.body);
    rig_ask_for(rig, &stop);
    rig_settle(rig);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_STOPPED);
}

// When it was asked is no part of what was asked.
RIG_TEST(accepted_it_is_answered_again_however_late) {
    static const char join[] = "{\"id\":\"r-2\",\"job\":\"J-1\"}";
    rig_to_open(rig);
    rig_ask(rig, "t-2", "join-job", join);
    rig_settle(rig);
    rig_ask_at(rig, "t-2", "join-job", join, rig->clock.wall_ms - 86400000);
    rig_settle(rig);
    assert_non_null(strstr(rig_payload(rig, "reply"), "\"again\":true"));
    // A body without the time is the same body.
    rig_ask_undated(rig, "t-2", "join-job", join);
    rig_settle(rig);
    assert_non_null(strstr(rig_payload(rig, "reply"), "\"again\":true"));
}

RIG_TEST(a_time_that_is_none_is_malformed) {
    rig_to_open(rig);
    rig_post(rig, 1, "t-2", "join-job", "{\"job\":\"J-1\",\"asked\":1800000000}");
    rig_post(rig, 2, "t-2", "join-job", "{\"job\":\"J-1\",\"asked\":\"yesterday\"}");
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "answer 1 400"), 1);
    assert_int_equal(rig_count(rig, "answer 2 400"), 1);
    assert_int_equal(rig_job(rig, "J-1")->crew_count, 1);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(asked_long_ago_it_permits_nothing),
        cmocka_unit_test(what_does_not_say_when_it_was_asked_is_malformed_over_the_broker_alone),
        cmocka_unit_test(from_the_session_it_permits_nothing),
        cmocka_unit_test(a_lock_from_the_session_does_not_count),
        cmocka_unit_test(a_pulse_of_an_earlier_connection_is_no_first_one),
        cmocka_unit_test(what_expires_while_a_commit_is_pending_permits_nothing),
        cmocka_unit_test(whose_client_hung_up_before_it_was_decided_permits_nothing),
        cmocka_unit_test(what_stops_is_taken_however_long_ago_it_was_asked),
        cmocka_unit_test(accepted_it_is_answered_again_however_late),
        cmocka_unit_test(a_time_that_is_none_is_malformed),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
