// What ends or stops while the end of its job is being written: for all the world the job stands.
#include "gate/alarm.h"
#include "rig.h"

#include <string.h>

static void ask_all(struct rig *rig, const char *const (*steps)[2]) {
    for (; (*steps)[0] != NULL; steps++) {
        rig_ask(rig, "t-1", (*steps)[0], (*steps)[1]);
        rig_settle(rig);
    }
}

static void to_passed(struct rig *rig) {
    static const char *const down[][2] = {
        {"start-work", "{\"job\":\"J-1\"}"},
        {"sign-check", "{\"job\":\"J-1\",\"check\":\"spout-nut\",\"value\":45,\"unit\":\"N.m\","
                       "\"instrument\":\"tw-3\"}"},
        {"sign-check", "{\"job\":\"J-1\",\"check\":\"tools-clear\"}"},
        {"sign-check", "{\"job\":\"J-1\",\"check\":\"people-clear\"}"},
        {"finish-work", "{\"job\":\"J-1\"}"},
        {"lift-tag", "{\"job\":\"J-1\",\"point\":\"3-power\"}"},
        {"lift-tag", "{\"job\":\"J-1\",\"point\":\"3-valve\"}"},
        {"lift-tag", "{\"job\":\"J-1\",\"point\":\"3A-line\"}"},
        {"witness-point", "{\"job\":\"J-1\",\"point\":\"3A-line\",\"state\":\"live\"}"},
        {NULL},
    };
    static const char *const up[][2] = {
        {"begin-test", "{\"job\":\"J-1\"}"},
        {"record-test", "{\"job\":\"J-1\",\"test\":\"leak\",\"readings\":{\"pass\":true}}"},
        {"record-test", "{\"job\":\"J-1\",\"test\":\"continuity\",\"readings\":{\"value\":5}}"},
        {"sign-check", "{\"job\":\"J-1\",\"check\":\"barricade-removed\"}"},
        {NULL},
    };
    rig_to_confirmed(rig);
    ask_all(rig, down);
    rig_hear_all(rig, MODEL_POINT_LIVE);
    rig_settle(rig);
    ask_all(rig, up);
    rig_forget(rig);
}

static void assert_untested(struct rig *rig, enum model_phase phase) {
    const struct gate_site *site = &turn_gate(rig->turn)->sites[0];
    char with[MODEL_ID_SIZE];
    rig_settle(rig);
    assert_int_equal(rig_job(rig, "J-1")->phase, phase);
    assert_int_equal(gate_position_cause(turn_gate(rig->turn), site, 0, with),
                     MODEL_CAUSE_UNTESTED);
    assert_non_null(site->positions[0].owed);
    for (size_t i = 0; i < rig->line_count; i++) {
        assert_false(strcmp(rig->lines[i].text, "publish forelock/juniper/position/3A") == 0 &&
                     strstr(rig->lines[i].payload, "\"in-service\"") != NULL);
    }
}

#define RETURN_IT "{\"job\":\"J-1\"}"

RIG_TEST(a_stop_while_the_return_is_written_leaves_the_position_untested) {
    to_passed(rig);
    rig_ask(rig, "t-1", "return-position", RETURN_IT);
    rig_turn(rig);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_RETURNED);
    rig_post(rig, 5, "v-1", "stop-work", RETURN_IT);
    assert_order(rig, "write", "urgent forelock/juniper/alarm/");
    rig_commit(rig, TURN_WRITTEN);
    assert_untested(rig, MODEL_PHASE_RETURNED);
    assert_int_equal(rig_rows(rig, GATE_FACT_STOP_CALLED), 1);
    assert_int_equal(rig_count(rig, "answer 5 200"), 1);
}

RIG_TEST(a_stop_in_the_turn_of_the_return_does) {
    to_passed(rig);
    rig_ask(rig, "t-1", "return-position", RETURN_IT);
    rig_ask(rig, "v-1", "stop-work", RETURN_IT);
    assert_untested(rig, MODEL_PHASE_RETURNED);
    assert_int_equal(rig_rows(rig, GATE_FACT_STOP_CALLED), 1);
    rig_ask(rig, "v-1", "stop-work", "{\"job\":\"J-1\",\"reason\":\"late\"}");
    rig_settle(rig); // the return is written
    assert_true(strstr(rig_payload(rig, "reply"), "wrong-phase") != NULL);
}

RIG_TEST(where_the_return_could_not_be_written_the_stop_goes_back) {
    to_passed(rig);
    rig_ask(rig, "t-1", "return-position", RETURN_IT);
    rig_turn(rig);
    rig_post(rig, 5, "v-1", "stop-work", RETURN_IT);
    rig_commit(rig, TURN_NOT_WRITTEN);
    rig_turn(rig);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_RESTORING);
    assert_int_equal(rig_count(rig, "answer 5 200"), 1);
}

// --- A reading that failed, while the return is written ---

// Of a prepare check: gas.
#define FAILED "{\"job\":\"J-1\",\"check\":\"barricade\",\"pass\":false}"

static const struct gate_alarm *broken(const struct rig *rig) {
    const struct gate_site *site = &turn_gate(rig->turn)->sites[0];
    const struct gate_alarm_about about = {.kind = MODEL_ALARM_LOCKOUT_BROKEN,
                                           .job = rig_job(rig, "J-1")};
    return gate_alarm_about(site, &about);
}

static void assert_failed(struct rig *rig) {
    assert_untested(rig, MODEL_PHASE_RETURNED);
    assert_int_equal(rig_rows(rig, GATE_FACT_LOCKOUT_BROKEN), 1);
    assert_non_null(broken(rig));
    assert_int_equal(broken(rig)->why, MODEL_CODE_CHECK_FAILED);
    // The job is over: nobody has to prove it anew, somebody has to have seen it.
    assert_int_equal(broken(rig)->state, MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
}

RIG_TEST(a_failed_reading_while_the_return_is_written_leaves_the_position_untested) {
    to_passed(rig);
    rig_ask(rig, "t-1", "return-position", RETURN_IT);
    rig_turn(rig);
    rig_post(rig, 5, "t-2", "sign-check", FAILED);
    assert_order(rig, "write", "urgent forelock/juniper/alarm/");
    rig_commit(rig, TURN_WRITTEN);
    assert_failed(rig);
    const char *answer = rig_payload(rig, "answer 5 200");
    assert_true(strstr(answer, "\"accepted\":true") != NULL);
    assert_true(strstr(answer, "\"pass\":false") != NULL);
    assert_null(strstr(answer, "\"again\""));
}

RIG_TEST(a_failed_reading_in_the_turn_of_the_return_does) {
    to_passed(rig);
    rig_ask(rig, "t-1", "return-position", RETURN_IT);
    rig_ask(rig, "t-2", "sign-check", FAILED);
    assert_failed(rig);
    rig_ask(rig, "t-2", "sign-check", FAILED);
    rig_settle(rig); // the return is written
    assert_true(strstr(rig_payload(rig, "reply"), "wrong-phase") != NULL);
}

RIG_TEST(one_that_passed_is_of_no_season) {
    to_passed(rig);
    rig_ask(rig, "t-1", "return-position", RETURN_IT);
    rig_ask(rig, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"barricade\"}");
    rig_settle(rig);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_RETURNED);
    assert_true(strstr(rig_payload(rig, "reply"), "wrong-phase") != NULL);
}

RIG_TEST(a_lock_that_is_off_is_no_reason_to_refuse) {
    to_passed(rig);
    rig_ask(rig, "t-1", "return-position", RETURN_IT);
    rig_turn(rig);
    rig_post(rig, 5, "t-1", "lift-tag", "{\"job\":\"J-1\",\"point\":\"3-power\"}");
    rig_settle(rig);
    assert_true(strstr(rig_payload(rig, "answer 5 200"), "\"again\":true") != NULL);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_RETURNED);
}

// --- Where what ended it is written, and what came after it is not ---

static void overtaken(struct rig *rig, const char *person, const char *verb, const char *body) {
    to_passed(rig);
    rig_ask(rig, "t-1", "return-position", RETURN_IT);
    rig_turn(rig);
    rig_post(rig, 5, person, verb, body);
    rig_commit(rig, TURN_WRITTEN);
    rig_turn(rig);
    rig_commit(rig, TURN_NOT_WRITTEN);
    assert_false(turn_view(rig->turn).journal_up);
    rig_turn(rig);
    assert_int_equal(rig_count(rig, "answer 5 200"), 1);
    rig_pass(rig, 3000);
}

RIG_TEST(a_stop_after_a_return_that_was_written_stands) {
    overtaken(rig, "v-1", "stop-work", RETURN_IT);
    assert_untested(rig, MODEL_PHASE_RETURNED);
    assert_int_equal(rig_rows(rig, GATE_FACT_STOP_CALLED), 1);
}

RIG_TEST(a_failed_reading_after_a_return_that_was_written_stands) {
    overtaken(rig, "t-2", "sign-check", FAILED);
    assert_untested(rig, MODEL_PHASE_RETURNED);
    assert_non_null(broken(rig));
}

// --- While the cancellation is written ---

#define CANCEL "{\"job\":\"J-1\",\"reason\":\"wrong pump\"}"

RIG_TEST(a_stop_while_the_cancellation_is_written_leaves_the_position_untested) {
    rig_to_open(rig);
    rig_hear_all(rig, MODEL_POINT_LIVE);
    rig_settle(rig);
    rig_forget(rig);
    rig_ask(rig, "k-1", "cancel-job", CANCEL);
    rig_turn(rig);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_CANCELLED);
    rig_post(rig, 5, "v-1", "stop-work", RETURN_IT);
    assert_order(rig, "write", "urgent forelock/juniper/alarm/");
    rig_commit(rig, TURN_WRITTEN);
    assert_untested(rig, MODEL_PHASE_CANCELLED);
    assert_int_equal(rig_rows(rig, GATE_FACT_STOP_CALLED), 1);
    assert_int_equal(rig_count(rig, "answer 5 200"), 1);
}

RIG_TEST(a_failed_reading_while_the_cancellation_is_written_is_recorded) {
    rig_to_open(rig);
    size_t before = rig_rows(rig, GATE_FACT_CHECK_SIGNED);
    rig_ask(rig, "k-1", "cancel-job", CANCEL);
    rig_turn(rig);
    rig_post(rig, 5, "t-2", "sign-check", FAILED);
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "answer 5 200"), 1);
    assert_int_equal(rig_rows(rig, GATE_FACT_CHECK_SIGNED), before + 1);
    assert_int_equal(rig_rows(rig, GATE_FACT_LOCKOUT_BROKEN), 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_stop_while_the_return_is_written_leaves_the_position_untested),
        cmocka_unit_test(a_stop_in_the_turn_of_the_return_does),
        cmocka_unit_test(where_the_return_could_not_be_written_the_stop_goes_back),
        cmocka_unit_test(a_failed_reading_while_the_return_is_written_leaves_the_position_untested),
        cmocka_unit_test(a_failed_reading_in_the_turn_of_the_return_does),
        cmocka_unit_test(one_that_passed_is_of_no_season),
        cmocka_unit_test(a_lock_that_is_off_is_no_reason_to_refuse),
        cmocka_unit_test(a_stop_after_a_return_that_was_written_stands),
        cmocka_unit_test(a_failed_reading_after_a_return_that_was_written_stands),
        cmocka_unit_test(a_stop_while_the_cancellation_is_written_leaves_the_position_untested),
        cmocka_unit_test(a_failed_reading_while_the_cancellation_is_written_is_recorded),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
