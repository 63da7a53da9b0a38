// What was told before the disk, and killed: the broker alone knows of it, and it holds all the
// same.
#include "gate/alarm.h"
#include "gate/find.h"
#include "rig.h"
#include "rig_operations.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define ALARM "forelock/juniper/alarm/"
#define JOB "forelock/juniper/job/J-1"
#define STOP "{\"job\":\"J-1\",\"reason\":\"smoke\"}"

// The daemon is killed with what is pending, and comes up again; nothing is connected yet.
static void restart(struct rig *rig, const char *boot, int64_t away) {
    struct turn_options options = {.model = world_model(), .version = "test"};
    snprintf(options.boot, sizeof options.boot, "%s", boot);
    turn_free(rig->turn);
    rig->pending = NULL;
    rig->word_count = 0;
    rig_pass(rig, away);
    rig->turn = turn_new(&options, &rig_operations, rig);
    rig_forget(rig);
    assert_int_equal(turn_open(rig->turn, true), TURN_FOLDED);
    turn_finish(rig->turn);
}

static void to_work(struct rig *rig) {
    rig_to_confirmed(rig);
    rig_ask(rig, "t-1", "start-work", "{\"job\":\"J-1\"}");
    rig_settle(rig);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_WORKING);
    rig_forget(rig);
}

// A signature is being committed, which never ends.
static void begin_commit(struct rig *rig) {
    rig_ask(rig, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"tools-clear\"}");
    rig_turn(rig);
    rig_pass(rig, 10);
}

static char *kept(const struct rig *rig, const char *topic) {
    const char *payload = rig_payload(rig, topic);
    assert_true(payload[0] != '\0');
    return strdup(payload);
}

// The broker gives what it kept on a topic; the text is freed.
static void give(struct rig *rig, const char *topic, char *payload) {
    rig_forget(rig);
    turn_retained(rig->turn, topic, payload, strlen(payload));
    free(payload);
}

static const struct gate_alarm *alarm_of(const struct rig *rig, enum model_alarm_kind kind) {
    const struct gate_site *site = &turn_gate(rig->turn)->sites[0];
    const struct gate_alarm_about about = {.kind = kind, .job = rig_job(rig, "J-1")};
    return gate_alarm_about(site, &about);
}

// --- A called stop ---

static char *stop_and_kill(struct rig *rig) {
    to_work(rig);
    begin_commit(rig);
    rig_post(rig, 5, "v-1", "stop-work", STOP);
    char *told = kept(rig, "urgent " ALARM);
    restart(rig, "boot-2", 50);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_WORKING);
    return told;
}

static void assert_stop(const struct rig *rig) {
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_STOPPED);
    const struct gate_alarm *alarm = alarm_of(rig, MODEL_ALARM_STOP_CALLED);
    assert_non_null(alarm);
    assert_string_equal(alarm->by, "v-1");
    assert_non_null(strstr(alarm->say, "smoke"));
    assert_true(gate_signature_of(rig_job(rig, "J-1"), "barricade")->void_);
}

RIG_TEST(a_stop_that_was_told_and_not_written_is_called_again) {
    char *told = stop_and_kill(rig);
    give(rig, ALARM "a9", told);
    assert_stop(rig);
    assert_order(rig, "urgent " ALARM, "empty " ALARM "a9");
    rig_settle(rig);
    assert_int_equal(rig_rows(rig, GATE_FACT_STOP_CALLED), 1);
}

RIG_TEST(under_its_own_name_it_is_not_emptied) {
    char *told = stop_and_kill(rig), topic[96];
    snprintf(topic, sizeof topic, "%sa1", ALARM);
    give(rig, topic, told);
    assert_stop(rig);
    assert_int_equal(rig_count(rig, "empty"), 0);
}

// The first time the broker was away, and the daemon was killed once more.
RIG_TEST(a_second_restart_hides_no_stop) {
    char *told = stop_and_kill(rig);
    rig_pass(rig, 100);
    restart(rig, "boot-3", 100);
    give(rig, ALARM "a9", told);
    assert_stop(rig);
}

RIG_TEST(a_stop_that_was_written_is_called_once) {
    to_work(rig);
    rig_post(rig, 5, "v-1", "stop-work", STOP);
    rig_settle(rig);
    char *told = kept(rig, "urgent " ALARM), body[96];
    snprintf(body, sizeof body, "{\"alarm\":\"%s\",\"note\":\"aired\"}",
             alarm_of(rig, MODEL_ALARM_STOP_CALLED)->alarm);
    rig_pass(rig, 1000);
    rig_ask(rig, "m-1", "acknowledge-alarm", body);
    rig_settle(rig);
    restart(rig, "boot-2", 50);
    give(rig, ALARM "a1", told);
    assert_null(alarm_of(rig, MODEL_ALARM_STOP_CALLED));
    assert_int_equal(rig_count(rig, "empty " ALARM "a1"), 1);
    assert_int_equal(rig_rows(rig, GATE_FACT_STOP_CALLED), 1);
}

// --- A break ---

RIG_TEST(a_break_that_was_told_and_not_written_holds) {
    to_work(rig);
    begin_commit(rig);
    rig_hear(rig, S_POWER3, MODEL_POINT_LIVE);
    turn_heard(rig->turn);
    char *told = kept(rig, "urgent " ALARM);
    restart(rig, "boot-2", 50);
    assert_int_equal(rig_job(rig, "J-1")->lockout, MODEL_LOCKOUT_UNPROVEN);
    give(rig, ALARM "a1", told);
    assert_int_equal(rig_job(rig, "J-1")->lockout, MODEL_LOCKOUT_BROKEN);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_STOPPED);
    assert_int_equal(alarm_of(rig, MODEL_ALARM_LOCKOUT_BROKEN)->why, MODEL_CODE_POINT_LIVE);
    const struct gate_site *site = &turn_gate(rig->turn)->sites[0];
    assert_false(gate_tag_find(site, POWER3, "J-1", "t-1")->counts);
}

#define FOUND "{\"job\":\"J-1\",\"check\":\"no-voltage\",\"value\":240,\"unit\":\"V\"}"

// The daemon was away for so long that the restart broke the lockout by itself.
RIG_TEST(a_failed_reading_is_not_hidden_by_what_the_restart_broke) {
    to_work(rig);
    begin_commit(rig);
    rig_post(rig, 5, "t-1", "sign-check", FOUND);
    char *told = kept(rig, "urgent " ALARM);
    restart(rig, "boot-2", 3600 * 1000LL);
    const struct gate_site *site = &turn_gate(rig->turn)->sites[0];
    assert_int_equal(rig_job(rig, "J-1")->lockout, MODEL_LOCKOUT_BROKEN);
    assert_true(gate_tag_find(site, POWER3, "J-1", "t-1")->counts);
    give(rig, ALARM "a1", told);
    assert_int_equal(alarm_of(rig, MODEL_ALARM_LOCKOUT_BROKEN)->why, MODEL_CODE_CHECK_FAILED);
    assert_false(gate_tag_find(site, POWER3, "J-1", "t-1")->counts);
}

// It was proved anew and went on, and the broker gives what it kept of before.
RIG_TEST(a_break_that_was_written_breaks_nothing_again) {
    to_work(rig);
    rig_hear(rig, S_POWER3, MODEL_POINT_LIVE);
    rig_settle(rig);
    char *told = kept(rig, "urgent " ALARM), body[96];
    rig_pass(rig, 1000);
    rig_prove(rig);
    snprintf(body, sizeof body, "{\"alarm\":\"%s\"}",
             alarm_of(rig, MODEL_ALARM_LOCKOUT_BROKEN)->alarm);
    rig_ask(rig, "t-1", "acknowledge-alarm", body);
    rig_ask(rig, "t-1", "start-work", "{\"job\":\"J-1\"}");
    rig_settle(rig);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_WORKING);
    restart(rig, "boot-2", 50);
    give(rig, ALARM "a1", told);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_WORKING);
    assert_int_equal(rig_job(rig, "J-1")->lockout, MODEL_LOCKOUT_UNPROVEN);
    assert_int_equal(rig_count(rig, "empty " ALARM "a1"), 1);
}

// --- Work that stopped for a lock ---

static void distrust_reader(struct rig *rig) {
    const struct turn_tagging hung = {.point = POWER3, .tagging = {.hung = true, .person = "t-2"}};
    to_work(rig);
    rig_ask(rig, "t-2", "join-job", "{\"job\":\"J-1\"}");
    rig_settle(rig);
    assert_true(turn_submit_tagging(rig->turn, &hung));
    rig_settle(rig);
    rig_forget(rig);
    rig_pass(rig, 10);
    rig_ask(rig, "s-1", "distrust-sensor",
            "{\"reader\":\"3-power\",\"hours\":1,\"reason\":\"it blinks\"}");
    rig_turn(rig);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_STOPPED);
}

RIG_TEST(work_that_was_told_to_have_stopped_does_not_go_on) {
    distrust_reader(rig);
    char *told = kept(rig, "urgent " JOB);
    restart(rig, "boot-2", 50);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_WORKING);
    give(rig, JOB, told);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_STOPPED);
    assert_int_equal(rig_count(rig, "urgent " JOB), 1);
    assert_int_equal(rig_count(rig, "empty"), 0);
}

RIG_TEST(work_that_was_started_since_is_not_stopped) {
    distrust_reader(rig);
    char *told = kept(rig, "urgent " JOB);
    rig_settle(rig); // written
    rig_pass(rig, 1000);
    rig_ask(rig, "t-2", "hang-tag", "{\"job\":\"J-1\",\"point\":\"3-power\"}");
    rig_ask(rig, "t-2", "hang-tag", "{\"job\":\"J-1\",\"point\":\"3-valve\"}");
    rig_ask(rig, "t-2", "hang-tag", "{\"job\":\"J-1\",\"point\":\"3A-line\"}");
    rig_ask(rig, "t-1", "start-work", "{\"job\":\"J-1\"}");
    rig_settle(rig);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_WORKING);
    give(rig, JOB, told);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_WORKING);
}

RIG_TEST(what_cannot_be_read_tells_nothing) {
    to_work(rig);
    give(rig, JOB, strdup("{\"job\":\"J-1\",\"phase\":\"stopped\",\"since\":5}"));
    give(rig, JOB, strdup("{\"job\":\"J-1\",\"phase\":[],"));
    give(rig, ALARM "a7", strdup("[\"stop-called\"]"));
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_WORKING);
    assert_int_equal(rig_count(rig, "empty " ALARM "a7"), 1);
}

// --- Before anything is permitted ---

RIG_TEST(it_is_asked_for_before_the_connection_can_be_proved) {
    restart(rig, "boot-2", 50);
    rig_connect(rig, GATE_LIVE);
    assert_order(rig, "survey", "say forelock/daemon/edge-1/pulse/live");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_stop_that_was_told_and_not_written_is_called_again),
        cmocka_unit_test(under_its_own_name_it_is_not_emptied),
        cmocka_unit_test(a_second_restart_hides_no_stop),
        cmocka_unit_test(a_stop_that_was_written_is_called_once),
        cmocka_unit_test(a_break_that_was_told_and_not_written_holds),
        cmocka_unit_test(a_failed_reading_is_not_hidden_by_what_the_restart_broke),
        cmocka_unit_test(a_break_that_was_written_breaks_nothing_again),
        cmocka_unit_test(work_that_was_told_to_have_stopped_does_not_go_on),
        cmocka_unit_test(work_that_was_started_since_is_not_stopped),
        cmocka_unit_test(what_cannot_be_read_tells_nothing),
        cmocka_unit_test(it_is_asked_for_before_the_connection_can_be_proved),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
