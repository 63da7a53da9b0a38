// Other daemons that claim our sites.
#include "rig.h"

#include <stdio.h>
#include <string.h>

#include "wire/time_text.h"

static void hear(struct rig *rig, const char *instance, const char *boot, const char *state,
                 int64_t at, const char *sites) {
    char text[WIRE_TIME_SIZE], document[256];
    wire_time_format(at, text);
    int length = snprintf(document, sizeof document,
                          "{\"state\":\"%s\",\"boot\":\"%s\",\"at\":\"%s\",\"sites\":%s}", state,
                          boot, text, sites);
    turn_hear_daemon(rig->turn, instance, document, (size_t)length);
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
    turn_hear_daemon(rig->turn, "edge-2", "[]", 2);
    turn_hear_daemon(rig->turn, "edge-2", "", 0);
    assert_false(contested(rig));
}

RIG_TEST(a_claim_that_is_not_renewed_ends) {
    hear(rig, "edge-2", "b", "online", rig->clock.wall_ms, "[\"juniper\"]");
    rig_pass(rig, 180000);
    turn_second(rig->turn);
    assert_true(contested(rig));
    rig_pass(rig, 1);
    turn_second(rig->turn);
    assert_false(contested(rig));
}

RIG_TEST(a_claim_kept_from_long_ago_is_none) {
    hear(rig, "edge-2", "b", "online", rig->clock.wall_ms - 180001, "[\"juniper\"]");
    assert_false(contested(rig));
    hear(rig, "edge-2", "b", "online", rig->clock.wall_ms - 179000, "[\"juniper\"]");
    assert_true(contested(rig));
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
    turn_broker_up(rig->turn);
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
        cmocka_unit_test(a_claim_that_is_not_renewed_ends),
        cmocka_unit_test(a_claim_kept_from_long_ago_is_none),
        cmocka_unit_test(our_own_name_is_another_only_after_our_own_document),
        cmocka_unit_test(on_a_new_connection_it_is_heard_anew),
        cmocka_unit_test(after_it_all_is_published_again),
        cmocka_unit_test(a_claim_outlives_a_commit_that_failed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
