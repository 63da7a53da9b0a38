// Requests asked again: answered as they were, never done twice.
#include "rig.h"

#include <stdio.h>
#include <string.h>

static const char *reply(struct rig *rig) {
    rig_settle(rig);
    return rig_payload(rig, "reply");
}

static bool says(const char *text, const char *what) {
    return strstr(text, what) != NULL;
}

RIG_TEST(asked_again_it_is_answered_again_and_done_once) {
    rig_to_open(rig);
    size_t rows = rig->row_count;
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    const char *again = reply(rig);
    assert_true(says(again, "\"accepted\":true"));
    assert_true(says(again, "\"again\":true"));
    assert_int_equal(rig->row_count, rows);
    assert_int_equal(rig->request_count, 1);
    assert_int_equal(turn_figures(rig->turn)->requests[gate_verb_of("open-job")][TURN_AGAIN], 1);
    assert_int_equal(turn_figures(rig->turn)->requests[gate_verb_of("open-job")][TURN_ACCEPTED], 1);
}

RIG_TEST(asked_twice_in_one_turn_it_is_done_once) {
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    assert_true(says(reply(rig), "\"again\":true"));
    assert_int_equal(rig_count(rig, "reply"), 2);
    assert_int_equal(rig->request_count, 1);
}

RIG_TEST(asked_again_during_its_commit_it_is_done_once) {
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_turn(rig);
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_commit(rig, TURN_WRITTEN);
    assert_true(says(reply(rig), "\"again\":true"));
    assert_int_equal(rig->request_count, 1);
}

// Accepted with the journal down, and not written yet.
RIG_TEST(asked_again_before_it_could_be_written_it_is_done_once) {
    static const char lift[] =
        "{\"id\":\"r-5\",\"job\":\"J-1\",\"point\":\"3-power\",\"person\":\"t-1\","
        "\"reason\":\"went home\",\"attest\":{\"not_on_site\":true,\"contact_tried\":true,"
        "\"will_be_told\":true}}";
    rig_to_confirmed(rig);
    rig->notes_due = true;
    rig_turn(rig);
    rig_commit(rig, TURN_NOT_WRITTEN);
    rig_post(rig, 1, "s-1", "lift-absent-tag", lift);
    rig_turn(rig);
    assert_true(says(rig_payload(rig, "answer 1 200"), "\"accepted\":true"));
    size_t unwritten = turn_view(rig->turn).unwritten;
    rig_post(rig, 2, "s-1", "lift-absent-tag", lift);
    rig_turn(rig);
    assert_true(says(rig_payload(rig, "answer 2 200"), "\"again\":true"));
    assert_int_equal(turn_view(rig->turn).unwritten, unwritten);
}

RIG_TEST(an_id_used_for_something_else_is_refused) {
    rig_to_open(rig);
    rig_ask(rig, "k-1", "cancel-job", "{\"id\":\"r-1\",\"job\":\"J-1\",\"reason\":\"a mistake\"}");
    assert_true(says(reply(rig), "\"id-reused\""));
    rig_ask(rig, "k-1", "open-job",
            "{\"id\":\"r-1\",\"job\":\"J-2\",\"position\":\"4A\",\"procedure\":\"spout\","
            "\"kit_family\":\"k4\",\"technician\":\"t-1\"}");
    assert_true(says(reply(rig), "\"id-reused\""));
    assert_non_null(rig_job(rig, "J-1"));
    assert_null(rig_job(rig, "J-2"));
    rig_ask(rig, "t-2", "join-job", "{\"id\":\"r-7\",\"job\":\"J-1\"}");
    assert_true(says(reply(rig), "\"accepted\":true"));
    rig_ask(rig, "t-2", "leave-job", "{\"id\":\"r-7\",\"job\":\"J-1\"}"); // the same body
    assert_true(says(reply(rig), "\"id-reused\""));
    assert_non_null(gate_member_of(rig_job(rig, "J-1"), "t-2"));
}

RIG_TEST(the_same_in_another_spelling_is_the_same) {
    rig_to_open(rig);
    rig_ask(rig, "k-1", "open-job",
            "{ \"job\":\"J-1\", \"id\":\"r-1\", \"position\":\"3A\",\"procedure\":\"spout\","
            "\"kit_family\":\"k2\",\"technician\":\"t-1\"}");
    assert_true(says(reply(rig), "\"again\":true"));
}

RIG_TEST(an_id_is_its_persons_own) {
    rig_to_open(rig);
    rig_ask(rig, "t-1", "sign-check", "{\"id\":\"r-1\",\"job\":\"J-1\",\"check\":\"barricade\"}");
    const char *answer = reply(rig);
    assert_true(says(answer, "\"accepted\":true"));
    assert_false(says(answer, "\"again\""));
}

RIG_TEST(a_refusal_leaves_the_id_free) {
    rig_ask(rig, "v-1", "open-job", RIG_OPEN);
    assert_true(says(reply(rig), "\"accepted\":false"));
    assert_int_equal(rig->request_count, 0);
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    assert_true(says(reply(rig), "\"accepted\":true"));
}

// Whether it was done before is not known: it may not be done again.
RIG_TEST(with_an_unreadable_journal_nothing_is_done_twice) {
    rig_to_open(rig);
    rig->unsearchable = true;
    rig_ask(rig, "t-1", "sign-check", "{\"id\":\"r-2\",\"job\":\"J-1\",\"check\":\"barricade\"}");
    assert_true(says(reply(rig), "\"journal-down\""));
    assert_null(gate_signature_of(rig_job(rig, "J-1"), "barricade"));
}

RIG_TEST(a_person_of_nobody_is_refused) {
    rig_ask(rig, "nobody", "open-job", RIG_OPEN);
    assert_true(says(reply(rig), "\"unknown-person\""));
    assert_int_equal(rig_count(rig, "reply forelock/juniper/reply/nobody"), 1);
}

RIG_TEST(an_unknown_verb_is_refused_and_counted) {
    rig_post(rig, 3, "t-1", "open-sesame", "{}");
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "answer 3 404"), 1);
    assert_int_equal(turn_figures(rig->turn)->requests[GATE_VERB_COUNT][TURN_REFUSED], 1);
}

// --- Where an answer goes ---

static void ask_with(struct rig *rig, const char *response_topic) {
    const struct wire_request_in request = {.person = "v-1",
                                            .verb = "open-job",
                                            .body = "{}",
                                            .length = 2,
                                            .response_topic = response_topic,
                                            .correlation = "c\0d",
                                            .correlation_length = 3};
    rig_forget(rig);
    rig_ask_for(rig, &request);
    rig_settle(rig);
}

RIG_TEST(an_answer_goes_where_the_requester_may_read) {
    ask_with(rig, "forelock/juniper/reply/v-1/my/phone");
    assert_int_equal(rig_count(rig, "reply forelock/juniper/reply/v-1/my/phone"), 1);
    ask_with(rig, "forelock/juniper/reply/v-1");
    assert_int_equal(rig_count(rig, "reply forelock/juniper/reply/v-1"), 1);
}

RIG_TEST(a_foreign_response_topic_is_not_published_to) {
    static const char *const foreign[] = {"forelock/juniper/reply/v-10",
                                          "forelock/juniper/job/J-1",
                                          "forelock/juniper/reply/v-1/+",
                                          "forelock/juniper/reply/v-1/#",
                                          "elsewhere",
                                          ""};
    for (size_t i = 0; i < sizeof foreign / sizeof foreign[0]; i++) {
        ask_with(rig, foreign[i]);
        assert_int_equal(rig_count(rig, "reply"), 1);
        assert_string_equal(rig->lines[rig_find(rig, "reply")].text,
                            "reply forelock/juniper/reply/v-1");
        assert_true(rig_find(rig, "notice") >= 0);
    }
}

RIG_TEST(a_response_topic_is_not_deep_and_not_long) {
    static const char own[] = "forelock/juniper/reply/v-1";
    char topic[200];
    ask_with(rig, "forelock/juniper/reply/v-1/a/b");
    assert_string_equal(rig->lines[rig_find(rig, "reply")].text,
                        "reply forelock/juniper/reply/v-1/a/b");
    ask_with(rig, "forelock/juniper/reply/v-1/a/b/c");
    assert_string_equal(rig->lines[rig_find(rig, "reply")].text,
                        "reply forelock/juniper/reply/v-1");
    for (int length = 128; length <= 129; length++) {
        snprintf(topic, sizeof topic, "%s/%0*d", own, length - (int)sizeof own, 0);
        assert_int_equal(strlen(topic), length);
        ask_with(rig, topic);
        assert_string_equal(rig->lines[rig_find(rig, "reply")].text + strlen("reply "),
                            length == 128 ? topic : own);
    }
}

// t-1's lock on 3-power, beside that of t-2.
static void to_two_locks(struct rig *rig) {
    rig_to_confirmed(rig);
    rig_ask(rig, "t-2", "join-job", "{\"job\":\"J-1\"}");
    rig_settle(rig);
    rig_ask(rig, "t-2", "hang-tag", "{\"job\":\"J-1\",\"point\":\"3-power\"}");
    rig_settle(rig);
    rig_forget(rig);
}

RIG_TEST(a_lift_that_comes_again_was_done) {
    static const char lift[] = "{\"id\":\"l-1\",\"job\":\"J-1\",\"point\":\"3-power\"}";
    static const char other[] = "{\"id\":\"l-1\",\"job\":\"J-1\",\"point\":\"3-valve\"}";
    to_two_locks(rig);
    rig_post(rig, 1, "t-1", "lift-tag", lift);
    rig_settle(rig);
    assert_null(strstr(rig_payload(rig, "answer 1 200"), "again"));
    size_t remembered = rig->request_count;
    rig_post(rig, 2, "t-1", "lift-tag", lift);
    rig_settle(rig);
    assert_non_null(strstr(rig_payload(rig, "answer 2 200"), "\"again\":true"));
    // No id is another's: it is done.
    rig_post(rig, 3, "t-1", "lift-tag", other);
    rig_settle(rig);
    assert_null(strstr(rig_payload(rig, "answer 3 200"), "again"));
    assert_int_equal(rig->request_count, remembered);
    rig_ask(rig, "t-2", "hang-tag", "{\"job\":\"J-1\",\"point\":\"3-valve\"}");
    rig_settle(rig);
    rig_post(rig, 4, "t-1", "lift-tag", other);
    rig_settle(rig);
    assert_non_null(strstr(rig_payload(rig, "answer 4 409"), "tag-not-yours"));
    // Without an id nothing tells that it is the same.
    rig_post(rig, 5, "t-1", "lift-tag", "{\"job\":\"J-1\",\"point\":\"3-power\"}");
    rig_settle(rig);
    assert_non_null(strstr(rig_payload(rig, "answer 5 409"), "tag-not-yours"));
}

RIG_TEST(a_lift_ahead_of_the_jobs_end_was_done) {
    rig_to_confirmed(rig);
    for (int i = 0; i < 2; i++) {
        char body[64];
        snprintf(body, sizeof body, "{\"job\":\"J-1\",\"point\":\"%s\"}",
                 i == 0 ? "3-valve" : "3A-line");
        rig_ask(rig, "t-1", "lift-tag", body);
    }
    rig_settle(rig);
    rig_forget(rig);
    rig_ask(rig, "t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"barricade\"}");
    rig_turn(rig); // begins a commit
    rig_ask(rig, "k-1", "cancel-job", "{\"job\":\"J-1\",\"reason\":\"a mistake\"}");
    rig_post(rig, 7, "t-1", "lift-tag", "{\"job\":\"J-1\",\"point\":\"3-power\"}");
    rig_settle(rig);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_CANCELLED);
    assert_true(rig_find(rig, "answer 7 200") >= 0);
    assert_null(strstr(rig_payload(rig, "answer 7 200"), "again"));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(asked_again_it_is_answered_again_and_done_once),
        cmocka_unit_test(asked_twice_in_one_turn_it_is_done_once),
        cmocka_unit_test(asked_again_during_its_commit_it_is_done_once),
        cmocka_unit_test(asked_again_before_it_could_be_written_it_is_done_once),
        cmocka_unit_test(an_id_used_for_something_else_is_refused),
        cmocka_unit_test(the_same_in_another_spelling_is_the_same),
        cmocka_unit_test(an_id_is_its_persons_own),
        cmocka_unit_test(a_refusal_leaves_the_id_free),
        cmocka_unit_test(with_an_unreadable_journal_nothing_is_done_twice),
        cmocka_unit_test(a_person_of_nobody_is_refused),
        cmocka_unit_test(an_unknown_verb_is_refused_and_counted),
        cmocka_unit_test(an_answer_goes_where_the_requester_may_read),
        cmocka_unit_test(a_foreign_response_topic_is_not_published_to),
        cmocka_unit_test(a_response_topic_is_not_deep_and_not_long),
        cmocka_unit_test(a_lift_that_comes_again_was_done),
        cmocka_unit_test(a_lift_ahead_of_the_jobs_end_was_done),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
