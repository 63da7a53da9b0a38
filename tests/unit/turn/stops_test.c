// Stops: told before the disk, whatever it is doing, whatever their form, never from memory.
#include "base/time_text.h"
#include "gate/find.h"
#include "rig.h"

#include <stdio.h>
#include <string.h>

#define ALARM "forelock/juniper/alarm/"
#define STOP "{\"id\":\"s-1\",\"job\":\"J-1\",\"reason\":\"smoke\"}"

static bool says(const char *text, const char *what) {
    return strstr(text, what) != NULL;
}

static const struct gate_alarm *stop_called(const struct rig *rig) {
    const struct gate_site *site = &turn_gate(rig->turn)->sites[0];
    for (size_t i = 0; i < site->alarm_count; i++) {
        if (site->alarms[i].kind == MODEL_ALARM_STOP_CALLED) {
            return &site->alarms[i];
        }
    }
    return NULL;
}

static void to_work(struct rig *rig) {
    rig_to_confirmed(rig);
    rig_ask(rig, "t-1", "start-work", "{\"job\":\"J-1\"}");
    rig_settle(rig);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_WORKING);
    rig_forget(rig);
}

static void assert_stopped(const struct rig *rig, unsigned count) {
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_STOPPED);
    assert_int_equal(rig_job(rig, "J-1")->lockout, MODEL_LOCKOUT_UNCONFIRMED);
    assert_non_null(stop_called(rig));
    assert_int_equal(stop_called(rig)->count, count);
}

// A signature is being committed, which is not done until the disk says so.
static void begin_commit(struct rig *rig) {
    rig_ask(rig, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"tools-clear\"}");
    rig_turn(rig);
}

// --- Before the disk ---

RIG_TEST(a_stop_is_told_before_the_disk) {
    to_work(rig);
    rig_post(rig, 5, "v-1", "stop-work", STOP);
    rig_settle(rig);
    assert_order(rig, "urgent " ALARM, "urgent forelock/juniper/job/J-1", "flush", "stream-alarm",
                 "write", "answer 5 200");
    assert_true(says(rig_payload(rig, "urgent " ALARM), "stop-called"));
    assert_stopped(rig, 1);
}

RIG_TEST(while_a_commit_is_pending_it_is_told_at_once) {
    to_work(rig);
    begin_commit(rig);
    rig_post(rig, 5, "v-1", "stop-work", STOP);
    assert_order(rig, "write", "urgent " ALARM, "urgent forelock/juniper/job/J-1", "stream-alarm");
    assert_stopped(rig, 1);
    assert_int_equal(rig_count(rig, "answer"), 0);
    rig_commit(rig, TURN_WRITTEN);
    rig_settle(rig);
    assert_false(says(rig_payload(rig, "answer 5 200"), "again"));
    assert_stopped(rig, 1);
    assert_int_equal(rig_rows(rig, GATE_FACT_STOP_CALLED), 1);
}

RIG_TEST(its_answer_has_the_time_at_which_it_was_done) {
    to_work(rig);
    begin_commit(rig);
    rig_post(rig, 5, "v-1", "stop-work", STOP);
    char at[BASE_TIME_SIZE];
    base_time_format(rig->clock.wall_ms, at);
    rig_pass(rig, 40);
    rig_commit(rig, TURN_WRITTEN);
    rig_settle(rig);
    assert_true(says(rig_payload(rig, "answer 5 200"), at));
}

// What was asked before it is decided after it, and signs what it has voided.
RIG_TEST(what_waited_before_it_does_not_undo_it) {
    to_work(rig);
    begin_commit(rig);
    rig_ask(rig, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"barricade\"}");
    rig_ask(rig, "v-1", "stop-work", STOP);
    rig_commit(rig, TURN_WRITTEN);
    rig_settle(rig);
    assert_stopped(rig, 1);
    assert_true(gate_signature_of(rig_job(rig, "J-1"), "barricade")->void_);
    assert_int_equal(rig_rows(rig, GATE_FACT_STOP_CALLED), 1);
}

// Three people, of whom one gives two reasons, while a commit is pending.
static void four_stops(struct rig *rig) {
    rig_ask(rig, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"tools-clear\"}");
    rig_turn(rig);
    rig_post(rig, 5, "v-1", "stop-work", STOP);
    rig_pass(rig, 40);
    rig_post(rig, 6, "m-1", "stop-work", "{\"job\":\"J-1\",\"reason\":\"fire\"}");
    rig_pass(rig, 40);
    rig_post(rig, 7, "t-1", "stop-work", "{\"job\":\"J-1\",\"pause\":true}");
    rig_post(rig, 8, "v-1", "stop-work", "{\"job\":\"J-1\",\"reason\":\"flames\"}");
    assert_stopped(rig, 4);
}

RIG_TEST(of_many_stops_each_counts_once) {
    to_work(rig);
    four_stops(rig);
    rig_commit(rig, TURN_WRITTEN);
    rig_settle(rig);
    assert_stopped(rig, 4);
    assert_int_equal(rig_rows(rig, GATE_FACT_STOP_CALLED), 4);
    assert_int_equal(rig_count(rig, "answer "), 4);
    assert_false(says(rig_payload(rig, "answer 5 200"), "again"));
    assert_false(says(rig_payload(rig, "answer 8 200"), "again"));
}

RIG_TEST(of_many_stops_each_counts_once_though_the_commit_failed) {
    to_work(rig);
    four_stops(rig);
    rig_commit(rig, TURN_WRITTEN);
    rig_turn(rig);
    rig_commit(rig, TURN_NOT_WRITTEN); // theirs
    rig_turn(rig);
    assert_stopped(rig, 4);
    rig_pass(rig, 3000);
    rig_settle(rig);
    assert_stopped(rig, 4);
    assert_int_equal(rig_rows(rig, GATE_FACT_STOP_CALLED), 4);
}

// In one turn, and so not ahead of it.
RIG_TEST(stops_of_a_commit_that_failed_count_once) {
    to_work(rig);
    rig_post(rig, 5, "v-1", "stop-work", STOP);
    rig_post(rig, 6, "m-1", "stop-work", "{\"job\":\"J-1\",\"reason\":\"fire\"}");
    rig_turn(rig);
    rig_commit(rig, TURN_NOT_WRITTEN);
    rig_pass(rig, 3000);
    rig_settle(rig);
    assert_stopped(rig, 2);
    assert_int_equal(rig_rows(rig, GATE_FACT_STOP_CALLED), 2);
}

static void acknowledge_as(struct rig *rig, const char *person, const char *body) {
    char with[256];
    snprintf(with, sizeof with, "{\"alarm\":\"%s\",%s}", stop_called(rig)->alarm, body);
    rig_ask(rig, person, "acknowledge-alarm", with);
}

// What comes by the broker is decided before what came by HTTP: a stop that is decided after its
// own acknowledgement is not called again by that.
RIG_TEST(an_acknowledgement_between_is_not_undone) {
    to_work(rig);
    rig_ask(rig, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"tools-clear\"}");
    rig_turn(rig);
    rig_post(rig, 5, "v-1", "stop-work", STOP);
    rig_post(rig, 6, "t-2", "stop-work", "{\"job\":\"J-1\"}");
    rig_pass(rig, 2000);
    acknowledge_as(rig, "m-1", "\"note\":\"all is well\"");
    rig_commit(rig, TURN_WRITTEN);
    rig_settle(rig);
    assert_null(stop_called(rig));
    assert_int_equal(rig_rows(rig, GATE_FACT_STOP_CALLED), 2);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_STOPPED);
}

RIG_TEST(an_acknowledgement_of_before_is_of_another_cause) {
    to_work(rig);
    rig_post(rig, 5, "v-1", "stop-work", STOP);
    rig_settle(rig);
    rig_pass(rig, 2000);
    rig_ask(rig, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"tools-clear\"}");
    rig_turn(rig);
    acknowledge_as(rig, "m-1", "\"note\":\"all is well\"");
    rig_pass(rig, 40);
    rig_post(rig, 6, "t-2", "stop-work", "{\"job\":\"J-1\"}");
    rig_commit(rig, TURN_WRITTEN);
    rig_settle(rig);
    assert_true(says(rig_payload(rig, "reply"), "alarm-changed"));
    assert_stopped(rig, 2);
}

RIG_TEST(a_pause_ahead_of_its_turn_is_one) {
    to_work(rig);
    rig_ask(rig, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"tools-clear\"}");
    rig_turn(rig);
    rig_post(rig, 5, "t-1", "stop-work", "{\"job\":\"J-1\",\"pause\":true}");
    assert_null(stop_called(rig));
    rig_post(rig, 6, "v-1", "stop-work", STOP);
    rig_commit(rig, TURN_WRITTEN);
    rig_settle(rig);
    assert_stopped(rig, 1);
    assert_int_equal(rig_rows(rig, GATE_FACT_STOP_CALLED), 1);
}

#define FAILED "{\"job\":\"J-1\",\"check\":\"no-voltage\",\"value\":240,\"unit\":\"V\"}"

RIG_TEST(failed_readings_ahead_of_their_turn_count_once) {
    to_work(rig);
    size_t before = rig_rows(rig, GATE_FACT_CHECK_SIGNED) + 1; // and what is being written
    rig_ask(rig, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"tools-clear\"}");
    rig_turn(rig);
    rig_post(rig, 5, "t-1", "sign-check", FAILED);
    rig_post(rig, 6, "t-2", "sign-check", FAILED);
    rig_commit(rig, TURN_WRITTEN);
    rig_settle(rig);
    assert_int_equal(rig_rows(rig, GATE_FACT_CHECK_SIGNED), before + 2);
    assert_int_equal(rig_job(rig, "J-1")->lockout, MODEL_LOCKOUT_BROKEN);
}

RIG_TEST(what_passed_by_a_word_of_before_has_failed) {
    to_work(rig);
    rig_ask(rig, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"tools-clear\"}");
    rig_turn(rig);
    rig_ask(rig, "t-1", "sign-check",
            "{\"job\":\"J-1\",\"check\":\"no-voltage\",\"value\":0,\"unit\":\"V\"}");
    rig_ask(rig, "t-1", "hang-tag", "{\"job\":\"J-1\",\"point\":\"3-power\"}");
    rig_ask(rig, "t-1", "sign-check", FAILED);
    rig_commit(rig, TURN_WRITTEN);
    rig_settle(rig);
    assert_false(gate_signature_of(rig_job(rig, "J-1"), "no-voltage")->pass);
    const struct gate_site *site = &turn_gate(rig->turn)->sites[0];
    assert_false(gate_tag_find(site, POWER3, "J-1", "t-1")->counts);
}

RIG_TEST(a_lock_asked_for_and_lifted_meanwhile_is_off) {
    rig_to_confirmed(rig);
    rig_ask(rig, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"barricade\"}");
    rig_turn(rig);
    rig_ask(rig, "t-1", "hang-tag", "{\"job\":\"J-1\",\"point\":\"3-power\"}");
    rig_ask(rig, "t-1", "lift-tag", "{\"job\":\"J-1\",\"point\":\"3-power\"}");
    assert_int_equal(rig_job(rig, "J-1")->isolation, GATE_ISOLATION_NONE); // at once
    rig_commit(rig, TURN_WRITTEN);
    rig_settle(rig);
    assert_int_equal(turn_gate(rig->turn)->sites[0].points[POWER3].tag_count, 0);
}

RIG_TEST(what_is_refused_meanwhile_is_refused_once) {
    rig_to_confirmed(rig);
    size_t before = rig_rows(rig, GATE_FACT_REQUEST_REFUSED);
    rig_ask(rig, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"barricade\"}");
    rig_turn(rig);
    rig_ask(rig, "t-2", "lift-tag", "{\"job\":\"J-1\",\"point\":\"3-power\"}");
    rig_commit(rig, TURN_WRITTEN);
    rig_settle(rig);
    assert_int_equal(rig_rows(rig, GATE_FACT_REQUEST_REFUSED), before + 1);
    assert_true(says(rig_payload(rig, "reply"), "tag-not-yours"));
}

// --- Kept though the commit failed ---

RIG_TEST(a_stop_in_a_commit_that_failed_stands) {
    to_work(rig);
    rig_post(rig, 5, "v-1", "stop-work", STOP);
    rig_turn(rig);
    char told[MODEL_ID_SIZE];
    memcpy(told, stop_called(rig)->alarm, sizeof told);
    rig_commit(rig, TURN_NOT_WRITTEN);
    rig_turn(rig);
    assert_stopped(rig, 1);
    assert_string_equal(stop_called(rig)->alarm, told);
    assert_true(says(rig_payload(rig, "answer 5 200"), "\"accepted\":true"));
    rig_pass(rig, 3000);
    rig_settle(rig);
    assert_stopped(rig, 1);
    assert_int_equal(rig_rows(rig, GATE_FACT_STOP_CALLED), 1);
}

RIG_TEST(a_stop_during_a_commit_that_failed_stands) {
    to_work(rig);
    begin_commit(rig);
    rig_post(rig, 5, "v-1", "stop-work", STOP);
    rig_commit(rig, TURN_NOT_WRITTEN);
    rig_turn(rig);
    assert_stopped(rig, 1);
    assert_false(says(rig_payload(rig, "answer 5 200"), "again"));
    rig_pass(rig, 3000);
    rig_settle(rig);
    assert_stopped(rig, 1);
    assert_int_equal(rig_rows(rig, GATE_FACT_STOP_CALLED), 1);
}

// --- Never from memory, whatever its form ---

static const char *reply(struct rig *rig) {
    rig_settle(rig);
    return rig_payload(rig, "reply");
}

RIG_TEST(under_an_id_used_before_it_stops) {
    to_work(rig);
    rig_ask(rig, "t-1", "stop-work", "{\"id\":\"p\",\"job\":\"J-1\",\"pause\":true}");
    rig_ask(rig, "t-1", "start-work", "{\"id\":\"q\",\"job\":\"J-1\"}");
    rig_settle(rig);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_WORKING);
    rig_ask(rig, "t-1", "stop-work", "{\"id\":\"p\",\"job\":\"J-1\",\"pause\":true}");
    assert_false(says(reply(rig), "again"));
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_STOPPED);
    rig_ask(rig, "t-1", "start-work", "{\"job\":\"J-1\"}");
    rig_ask(rig, "t-1", "stop-work", "{\"id\":\"q\",\"job\":\"J-1\"}"); // another verb's
    assert_true(says(reply(rig), "\"accepted\":true"));
    assert_stopped(rig, 1);
    rig_ask(rig, "t-1", "stop-work", "{\"id\":\"q\",\"job\":\"J-1\"}");
    assert_true(says(reply(rig), "\"again\":true"));
    assert_stopped(rig, 1);
}

RIG_TEST(a_stop_is_not_refused_for_its_form) {
    to_work(rig);
    rig_ask(rig, "v-1", "stop-work",
            "{\"id\":[],\"job\":\"J-1\",\"pause\":\"yes\",\"reason\":7,\"more\":1}");
    assert_true(says(reply(rig), "\"accepted\":true"));
    assert_true(says(reply(rig), "\"id\":null"));
    assert_stopped(rig, 1);
}

RIG_TEST(one_that_stops_nothing_is) {
    rig_to_confirmed(rig);
    rig_ask(rig, "t-1", "witness-point",
            "{\"id\":5,\"job\":\"J-1\",\"point\":\"3A-line\",\"state\":\"isolated\"}");
    assert_true(says(reply(rig), "malformed"));
    rig_ask(rig, "v-1", "witness-point",
            "{\"id\":5,\"job\":\"J-9\",\"point\":\"3A-line\",\"state\":\"live\"}");
    assert_true(says(reply(rig), "\"accepted\":true"));
    rig_ask(rig, "t-1", "sign-check", "{\"id\":5,\"job\":\"J-1\",\"check\":\"barricade\"}");
    assert_true(says(reply(rig), "malformed"));
    rig_ask(rig, "t-1", "stop-work", "{\"job\":5}");
    assert_true(says(reply(rig), "malformed"));
}

static bool ends(struct rig *rig, const char *verb, const char *body) {
    const struct wire_request_in in = {
        .person = "t-1", .verb = verb, .body = body, .length = strlen(body)};
    return turn_ends(rig->turn, &in);
}

RIG_TEST(what_no_limit_holds_for) {
    rig_to_confirmed(rig);
    assert_true(ends(rig, "stop-work", "{\"job\":\"J-1\",\"reason\":5}"));
    assert_true(ends(rig, "lift-tag", "{\"job\":\"J-1\",\"point\":\"3-power\"}"));
    assert_true(ends(rig, "witness-point", "{\"point\":\"3A-line\",\"state\":\"live\"}"));
    assert_false(ends(rig, "witness-point", "{\"point\":\"3A-line\",\"state\":\"isolated\"}"));
    assert_true(ends(rig, "sign-check",
                     "{\"job\":\"J-1\",\"check\":\"no-voltage\",\"value\":240,\"unit\":\"V\"}"));
    assert_false(ends(rig, "sign-check",
                      "{\"job\":\"J-1\",\"check\":\"no-voltage\",\"value\":0,\"unit\":\"V\"}"));
    assert_false(ends(rig, "start-work", "{\"job\":\"J-1\"}"));
    assert_false(ends(rig, "stop-work", "{}"));
    assert_false(ends(rig, "open-door", "{}"));
}

// --- Locks ---

static void reader_says(struct rig *rig, const char *person, bool hung) {
    const struct turn_tagging event = {.point = POWER3,
                                       .tagging = {.hung = hung, .person = person}};
    assert_true(turn_submit_tagging(rig->turn, &event));
}

RIG_TEST(a_lock_that_its_reader_saw_lifted_is_off_while_a_commit_is_pending) {
    to_work(rig);
    begin_commit(rig);
    reader_says(rig, "t-1", false);
    assert_order(rig, "write", "urgent " ALARM, "urgent forelock/juniper/job/J-1", "stream-alarm");
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_STOPPED);
    assert_int_equal(rig_job(rig, "J-1")->lockout, MODEL_LOCKOUT_BROKEN);
    rig_commit(rig, TURN_WRITTEN);
    rig_settle(rig);
    assert_int_equal(rig_rows(rig, GATE_FACT_LOCKOUT_BROKEN), 1);
    assert_int_equal(rig_rows(rig, GATE_FACT_TAG_LIFTED), 1);
}

RIG_TEST(a_lock_that_its_reader_saw_hung_waits_for_the_commit) {
    to_work(rig);
    begin_commit(rig);
    size_t before = turn_gate(rig->turn)->sites[0].points[POWER3].tag_count;
    reader_says(rig, "t-2", true);
    assert_int_equal(turn_gate(rig->turn)->sites[0].points[POWER3].tag_count, before);
    reader_says(rig, "t-2", false); // off again, and decided in that order
    rig_commit(rig, TURN_WRITTEN);
    rig_settle(rig);
    assert_int_equal(turn_gate(rig->turn)->sites[0].points[POWER3].tag_count, before);
}

// t-2 is of the crew, and locked: by a request, or as the reader saw.
static void to_work_together(struct rig *rig, bool reader) {
    to_work(rig);
    rig_ask(rig, "t-2", "join-job", "{\"job\":\"J-1\"}");
    rig_settle(rig);
    if (reader) {
        reader_says(rig, "t-2", true);
    } else {
        rig_ask(rig, "t-2", "hang-tag", "{\"job\":\"J-1\",\"point\":\"3-power\"}");
    }
    rig_settle(rig);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_WORKING);
    rig_forget(rig);
}

RIG_TEST(a_removal_that_stops_the_work_is_told_before_the_disk) {
    to_work_together(rig, false);
    rig_ask(rig, "s-1", "lift-absent-tag",
            "{\"job\":\"J-1\",\"point\":\"3-power\",\"person\":\"t-2\",\"reason\":\"gone\","
            "\"attest\":{\"not_on_site\":true,\"contact_tried\":true,\"will_be_told\":true}}");
    rig_turn(rig);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_STOPPED);
    assert_order(rig, "urgent " ALARM, "urgent forelock/juniper/job/J-1", "flush", "stream-alarm",
                 "write");
    assert_true(says(rig_payload(rig, "urgent " ALARM), "absent-lock-removed"));
    assert_true(says(rig_payload(rig, "urgent forelock/juniper/job/J-1"), "\"stopped\""));
    rig_settle(rig);
    assert_int_equal(rig_rows(rig, GATE_FACT_WORK_STOPPED), 1);
}

RIG_TEST(work_that_stopped_for_a_lock_stays_so_though_the_commit_failed) {
    to_work_together(rig, true);
    rig_ask(rig, "s-1", "distrust-sensor",
            "{\"reader\":\"3-power\",\"hours\":1,\"reason\":\"it blinks\"}");
    rig_turn(rig);
    assert_order(rig, "urgent forelock/juniper/job/J-1", "write");
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_STOPPED);
    rig_commit(rig, TURN_NOT_WRITTEN);
    rig_turn(rig);
    assert_true(says(rig_payload(rig, "reply"), "journal-down")); // refused, and told all the same
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_STOPPED);
}

RIG_TEST(a_session_that_was_lost_stays_so_though_the_commit_failed) {
    to_work_together(rig, true);
    turn_connection(rig->turn, GATE_DURABLE, true, false);
    rig_turn(rig);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_STOPPED);
    rig_commit(rig, TURN_NOT_WRITTEN);
    rig_turn(rig);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_STOPPED);
    const struct gate_tag *tag =
        gate_tag_find(&turn_gate(rig->turn)->sites[0], POWER3, "J-1", "t-2");
    assert_non_null(tag);
    assert_false(tag->counts);
    rig_pass(rig, 3000);
    rig_settle(rig);
    rig->has_room = true;
    turn_second(rig->turn); // the journal writes again
    rig_settle(rig);
    size_t once = rig_rows(rig, GATE_FACT_TAG_DISCOUNTED);
    assert_true(once > 0);
    rig_ask(rig, "t-2", "hang-tag", "{\"job\":\"J-1\",\"point\":\"3-power\"}");
    rig_turn(rig);
    rig_commit(rig, TURN_NOT_WRITTEN);
    rig_pass(rig, 3000);
    rig_settle(rig);
    assert_int_equal(rig_rows(rig, GATE_FACT_TAG_DISCOUNTED), once); // the journal has it
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_stop_is_told_before_the_disk),
        cmocka_unit_test(while_a_commit_is_pending_it_is_told_at_once),
        cmocka_unit_test(its_answer_has_the_time_at_which_it_was_done),
        cmocka_unit_test(what_waited_before_it_does_not_undo_it),
        cmocka_unit_test(of_many_stops_each_counts_once),
        cmocka_unit_test(of_many_stops_each_counts_once_though_the_commit_failed),
        cmocka_unit_test(stops_of_a_commit_that_failed_count_once),
        cmocka_unit_test(an_acknowledgement_between_is_not_undone),
        cmocka_unit_test(an_acknowledgement_of_before_is_of_another_cause),
        cmocka_unit_test(a_pause_ahead_of_its_turn_is_one),
        cmocka_unit_test(failed_readings_ahead_of_their_turn_count_once),
        cmocka_unit_test(what_passed_by_a_word_of_before_has_failed),
        cmocka_unit_test(a_lock_asked_for_and_lifted_meanwhile_is_off),
        cmocka_unit_test(what_is_refused_meanwhile_is_refused_once),
        cmocka_unit_test(a_stop_in_a_commit_that_failed_stands),
        cmocka_unit_test(a_stop_during_a_commit_that_failed_stands),
        cmocka_unit_test(under_an_id_used_before_it_stops),
        cmocka_unit_test(a_stop_is_not_refused_for_its_form),
        cmocka_unit_test(one_that_stops_nothing_is),
        cmocka_unit_test(what_no_limit_holds_for),
        cmocka_unit_test(a_lock_that_its_reader_saw_lifted_is_off_while_a_commit_is_pending),
        cmocka_unit_test(a_lock_that_its_reader_saw_hung_waits_for_the_commit),
        cmocka_unit_test(a_removal_that_stops_the_work_is_told_before_the_disk),
        cmocka_unit_test(work_that_stopped_for_a_lock_stays_so_though_the_commit_failed),
        cmocka_unit_test(a_session_that_was_lost_stays_so_though_the_commit_failed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
