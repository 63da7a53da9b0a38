// Other daemons that claim our sites.
#include "rig.h"

#include <stdio.h>
#include <string.h>

#include "base/time_text.h"

static void hear_as(struct rig *rig, const char *instance, const char *boot, const char *state,
                    int64_t at, const char *sites, bool kept) {
    char text[BASE_TIME_SIZE], document[256];
    base_time_format(at, text);
    int length = snprintf(document, sizeof document,
                          "{\"state\":\"%s\",\"boot\":\"%s\",\"at\":\"%s\",\"sites\":%s}", state,
                          boot, text, sites);
    turn_hear_daemon(rig->turn, instance, document, (size_t)length, kept);
}

static void hear(struct rig *rig, const char *instance, const char *boot, const char *state,
                 int64_t at, const char *sites) {
    hear_as(rig, instance, boot, state, at, sites, false);
}

static bool contested(const struct rig *rig) {
    return turn_gate(rig->turn)->sites[0].contested;
}

RIG_TEST(another_that_claims_a_site_closes_its_gates) {
    hear(rig, "edge-2", "b", "online", rig->clock.wall_ms, "[\"juniper\"]");
    assert_true(contested(rig));
    hear(rig, "edge-2", "b", "offline", rig->clock.wall_ms, "[\"juniper\"]");
    assert_false(contested(rig));
}

RIG_TEST(another_of_other_sites_does_not) {
    hear(rig, "edge-2", "b", "online", rig->clock.wall_ms, "[\"elsewhere\"]");
    assert_false(contested(rig));
    turn_hear_daemon(rig->turn, "edge-2", "[]", 2, false);
    turn_hear_daemon(rig->turn, "edge-2", "", 0, false);
    assert_false(contested(rig));
}

RIG_TEST(a_claim_that_has_not_changed_ends) {
    int64_t at = rig->clock.wall_ms;
    hear(rig, "edge-2", "b", "online", at, "[\"juniper\"]");
    rig_pass(rig, 180000);
    turn_second(rig->turn);
    assert_true(contested(rig));
    hear(rig, "edge-2", "b", "online", at, "[\"juniper\"]"); // the same again
    rig_pass(rig, 1);
    turn_second(rig->turn);
    assert_false(contested(rig));
    hear(rig, "edge-2", "b", "online", at, "[\"juniper\"]");
    assert_false(contested(rig));
    hear(rig, "edge-2", "b", "online", at + 1, "[\"juniper\"]");
    assert_true(contested(rig));
}

// Its clock may be years behind.
RIG_TEST(whatever_time_stands_in_it_a_change_is_a_claim) {
    hear(rig, "edge-2", "b", "online", rig->clock.wall_ms - 200000, "[\"juniper\"]");
    assert_true(contested(rig));
    rig_pass(rig, 170000);
    hear(rig, "edge-2", "b", "online", rig->clock.wall_ms - 200000, "[\"juniper\"]");
    rig_pass(rig, 170000);
    turn_second(rig->turn);
    assert_true(contested(rig));
}

RIG_TEST(what_was_kept_since_before_our_start_is_no_claim) {
    int64_t at = rig->clock.wall_ms;
    hear_as(rig, "edge-2", "b", "online", at, "[\"juniper\"]", true);
    assert_false(contested(rig));
    hear_as(rig, "edge-2", "b", "online", at, "[\"juniper\"]", true); // on another connection
    assert_false(contested(rig));
    hear(rig, "edge-2", "b", "online", at + 60000, "[\"juniper\"]");
    assert_true(contested(rig));
}

// It came while we were away from the broker.
RIG_TEST(what_is_kept_and_was_not_there_before_is_a_claim) {
    hear_as(rig, "edge-3", "c", "online", rig->clock.wall_ms, "[\"juniper\"]", true);
    assert_false(contested(rig));
    rig_connect(rig, GATE_LIVE);
    hear_as(rig, "edge-2", "b", "online", rig->clock.wall_ms, "[\"juniper\"]", true);
    assert_true(contested(rig));
}

static int own_documents(struct rig *rig) {
    rig_settle(rig);
    int count = rig_count(rig, "publish forelock/daemon/edge-1");
    rig_forget(rig);
    return count;
}

RIG_TEST(who_claims_anew_is_told_that_we_are_here) {
    hear(rig, "edge-2", "b", "online", rig->clock.wall_ms, "[\"juniper\"]");
    assert_int_equal(own_documents(rig), 1);
    hear(rig, "edge-2", "b", "online", rig->clock.wall_ms + 1, "[\"juniper\"]");
    assert_int_equal(own_documents(rig), 0);
}

RIG_TEST(what_one_of_our_own_name_left_behind_is_put_right) {
    hear(rig, "edge-1", "boot-1", "online", rig->clock.wall_ms, "[\"juniper\"]");
    hear(rig, "edge-1", "boot-2", "online", rig->clock.wall_ms, "[\"juniper\"]");
    own_documents(rig);
    hear(rig, "edge-1", "boot-2", "offline", rig->clock.wall_ms, "[\"juniper\"]");
    assert_false(contested(rig));
    assert_int_equal(own_documents(rig), 1);
}

// What an earlier start left behind is heard before what we published ourselves.
RIG_TEST(our_own_name_is_another_only_after_our_own_document) {
    hear(rig, "edge-1", "boot-0", "online", rig->clock.wall_ms, "[\"juniper\"]");
    assert_false(contested(rig));
    hear(rig, "edge-1", "boot-1", "online", rig->clock.wall_ms, "[\"juniper\"]");
    assert_false(contested(rig));
    hear(rig, "edge-1", "boot-2", "online", rig->clock.wall_ms, "[\"juniper\"]");
    assert_true(contested(rig));
}

RIG_TEST(on_a_new_connection_it_is_heard_anew) {
    hear(rig, "edge-1", "boot-1", "online", rig->clock.wall_ms, "[\"juniper\"]");
    rig_connect(rig, GATE_LIVE);
    hear(rig, "edge-1", "boot-0", "online", rig->clock.wall_ms, "[\"juniper\"]");
    assert_false(contested(rig));
}

// It may have written over our documents, and emptied what it did not know.
RIG_TEST(after_it_all_is_published_again) {
    hear(rig, "edge-2", "b", "online", rig->clock.wall_ms, "[\"juniper\"]");
    rig_settle(rig);
    rig_forget(rig);
    hear(rig, "edge-2", "b", "offline", rig->clock.wall_ms, "[]");
    rig_turn(rig);
    turn_second(rig->turn); // a commit is pending: its documents go before its answers
    assert_int_equal(rig_count(rig, "survey"), 0);
    rig_settle(rig);
    turn_second(rig->turn);
    rig_settle(rig);
    assert_int_equal(rig_count(rig, "survey"), 1);
    assert_int_equal(rig_count(rig, "publish forelock/juniper/position/4A"), 1);
}

RIG_TEST(a_claim_outlives_a_commit_that_failed) {
    hear(rig, "edge-2", "b", "online", rig->clock.wall_ms, "[\"juniper\"]");
    rig_turn(rig);
    rig_commit(rig, TURN_NOT_WRITTEN);
    assert_true(contested(rig));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(another_that_claims_a_site_closes_its_gates),
        cmocka_unit_test(another_of_other_sites_does_not),
        cmocka_unit_test(a_claim_that_has_not_changed_ends),
        cmocka_unit_test(whatever_time_stands_in_it_a_change_is_a_claim),
        cmocka_unit_test(what_was_kept_since_before_our_start_is_no_claim),
        cmocka_unit_test(what_is_kept_and_was_not_there_before_is_a_claim),
        cmocka_unit_test(who_claims_anew_is_told_that_we_are_here),
        cmocka_unit_test(what_one_of_our_own_name_left_behind_is_put_right),
        cmocka_unit_test(our_own_name_is_another_only_after_our_own_document),
        cmocka_unit_test(on_a_new_connection_it_is_heard_anew),
        cmocka_unit_test(after_it_all_is_published_again),
        cmocka_unit_test(a_claim_outlives_a_commit_that_failed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
