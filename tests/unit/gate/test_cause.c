// What an alarm of a broken lockout stands for: which cause raises it again, and what it then says.
#include <string.h>

#include "gate/cause.h"
#include "world.h"

static const struct gate_alarm *broken(struct world *world) {
    return world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN);
}

#define assert_says(world, times, is, because, where)                                              \
    do {                                                                                           \
        assert_int_equal(broken(world)->count, times);                                             \
        assert_int_equal(broken(world)->state, MODEL_ALARM_##is);                                  \
        assert_int_equal(broken(world)->why, MODEL_CODE_##because);                                \
        assert_string_equal(broken(world)->point, where);                                          \
    } while (0)

static bool find_wanting(struct world *world, const char *check) {
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_SIGN_CHECK,
                                                  .person = "t-1",
                                                  .job = "j-1",
                                                  .check = check,
                                                  .has_pass = true});
}

// --- Another reason, another point ---

// Who led lifted; with another leader every lock is there, until that one lifts too.
WORLD_TEST(the_locks_of_another_leader_are_there) {
    world_to_working(world, "j-1");
    world_join_tagged(world, "t-2", "j-1");
    assert_accepted(world, world_lift(world, "t-1", "j-1", POWER3));
    assert_says(world, 1, UNACKNOWLEDGED, TAG_MISSING, "3-power");
    assert_accepted(world, world_ask(world, (struct gate_request){.verb = GATE_VERB_HAND_OVER,
                                                                  .person = "t-1",
                                                                  .job = "j-1",
                                                                  .to = "t-2"}));
    assert_accepted(world, world_verb(world, GATE_VERB_ACCEPT_LEAD, "t-2", "j-1"));
    world_pass_heard(world, GATE_CAUSE_AWAY_MS);
    world_acknowledge(world);
    assert_accepted(world, world_lift(world, "t-2", "j-1", POWER3));
    assert_says(world, 2, UNACKNOWLEDGED, TAG_MISSING, "3-power");
}

WORLD_TEST(live_after_disagreeing_is_another_reason) {
    world_to_working(world, "j-1");
    world_hear(world, S_VALVE3A, MODEL_POINT_LIVE);
    assert_says(world, 1, UNACKNOWLEDGED, POINT_DISAGREES, "3-valve");
    world_acknowledge(world);
    world_hear(world, S_VALVE3B, MODEL_POINT_LIVE);
    assert_says(world, 2, UNACKNOWLEDGED, POINT_LIVE, "3-valve");
    assert_int_equal(broken(world)->told.sentence, GATE_SAY_ALARM_LIVE);
}

// No tag counts any more, and no hands are in: it was never anything but live.
WORLD_TEST(live_after_disagreeing_in_every_phase) {
    world_to_tagged(world, "j-1");
    world_hear(world, S_VALVE3A, MODEL_POINT_LIVE);
    assert_job(world, "j-1", OPEN, BROKEN);
    world_hear(world, S_VALVE3B, MODEL_POINT_LIVE);
    assert_says(world, 2, UNACKNOWLEDGED, POINT_LIVE, "3-valve");
}

// Power restored for the tests is no alarm, whichever sensor is first.
WORLD_TEST(live_after_the_locks_are_off_is_none) {
    world_to_restoring(world, "j-1");
    world_lift_all(world, "t-1", "j-1");
    world_hear(world, S_VALVE3A, MODEL_POINT_LIVE);
    world_hear(world, S_VALVE3B, MODEL_POINT_LIVE);
    assert_null(broken(world));
}

WORLD_TEST(another_point_and_the_worst_that_holds) {
    world_to_working(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    world_acknowledge(world);
    world_bad(world, S_VALVE3A);
    assert_says(world, 2, UNACKNOWLEDGED, POINT_LIVE, "3-power"); // that still is so
    world_hear(world, S_POWER3, MODEL_POINT_ISOLATED);
    world_acknowledge(world);
    assert_true(world_lift(world, "t-1", "j-1", POWER3));
    assert_says(world, 3, UNACKNOWLEDGED, POINT_UNKNOWN, "3-valve"); // live it is no more
    assert_string_equal(broken(world)->say,
                        "3-valve is no longer proved isolated. Stop, hands out, keep clear.");
}

WORLD_TEST(a_failed_check_is_worse_than_what_is_unknown) {
    world_to_working(world, "j-1");
    world_bad(world, S_POWER3);
    world_hear(world, S_POWER3, MODEL_POINT_ISOLATED);
    world_bad(world, S_VALVE3A);
    world_acknowledge(world);
    assert_true(find_wanting(world, "barricade"));
    assert_says(world, 3, UNACKNOWLEDGED, CHECK_FAILED, "");
    assert_string_equal(broken(world)->say,
                        "Area barricaded: this check failed. Stop, hands out, keep clear.");
}

WORLD_TEST(every_way_of_being_unknown_is_one_reason) {
    world_to_working(world, "j-1");
    world_bad(world, S_POWER3);
    assert_says(world, 1, UNACKNOWLEDGED, POINT_UNKNOWN, "3-power");
    world_acknowledge(world);
    world_hear(world, S_POWER3, MODEL_POINT_ISOLATED);
    world_pass(world, GATE_CAUSE_AWAY_MS - 1);
    world_controller(world, false);
    assert_point(world, POWER3, UNKNOWN, CONTROLLER_OFFLINE);
    assert_says(world, 1, ACKNOWLEDGED, POINT_UNKNOWN, "3-power");
}

// Both are unheard at once: each is a cause.
WORLD_TEST(each_point_that_is_lost_at_once) {
    world_to_working(world, "j-1");
    world_pass(world, WORLD_MAX_AGE_MS + 1);
    assert_says(world, 2, UNACKNOWLEDGED, POINT_STALE, "3-valve");
}

// --- The same that goes on, and that comes back ---

WORLD_TEST(what_goes_on_is_told_once) {
    world_to_working(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    world_acknowledge(world);
    for (int i = 0; i < 10; i++) {
        world_pass(world, 1000);
        world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    }
    assert_says(world, 1, ACKNOWLEDGED, POINT_LIVE, "3-power");
}

WORLD_TEST(the_same_is_back_after_five_seconds) {
    world_to_working(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    world_acknowledge(world);
    world_hear(world, S_POWER3, MODEL_POINT_ISOLATED);
    world_pass(world, GATE_CAUSE_AWAY_MS - 1);
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_says(world, 1, ACKNOWLEDGED, POINT_LIVE, "3-power");
    world_hear(world, S_POWER3, MODEL_POINT_ISOLATED);
    world_pass(world, GATE_CAUSE_AWAY_MS);
    int64_t back = world->now.wall;
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_says(world, 2, UNACKNOWLEDGED, POINT_LIVE, "3-power");
    assert_int_equal(broken(world)->raised.wall, back);
}

// It stops the work whatever was told before.
WORLD_TEST(a_break_in_work_is_always_told) {
    world_to_working(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    world_acknowledge(world);
    world_isolate(world);
    world_tag_all(world, "t-1", "j-1");
    world_sign_hold(world, "t-1", "j-1");
    assert_job(world, "j-1", STOPPED, CONFIRMED);
    assert_null(broken(world));
    assert_true(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_says(world, 1, UNACKNOWLEDGED, POINT_LIVE, "3-power");
}

WORLD_TEST(a_check_that_failed_and_passed_may_fail_again) {
    world_to_working(world, "j-1");
    assert_true(find_wanting(world, "barricade"));
    world_acknowledge(world);
    world_pass(world, GATE_CAUSE_AWAY_MS);
    assert_true(find_wanting(world, "barricade")); // as it was
    assert_says(world, 1, ACKNOWLEDGED, CHECK_FAILED, "");
    assert_true(world_sign(world, "t-1", "j-1", "barricade"));
    world_pass(world, GATE_CAUSE_AWAY_MS);
    assert_true(find_wanting(world, "barricade"));
    assert_says(world, 2, UNACKNOWLEDGED, CHECK_FAILED, "");
}

// --- One word ---

// A clock that went back: the word is live and makes the sensor bad, at once. That is one cause.
WORLD_TEST(one_word_is_one_cause) {
    world_to_working(world, "j-1");
    world_pass_heard(world, 20000);
    world_hear_at(world, S_POWER3, MODEL_POINT_ISOLATED, world->now.wall);
    world_pass(world, 100);
    world_hear_at(world, S_POWER3, MODEL_POINT_LIVE, world->now.wall - 10000);
    assert_point(world, POWER3, UNKNOWN, BAD_QUALITY);
    assert_says(world, 1, UNACKNOWLEDGED, POINT_LIVE, "3-power");
    world_bad(world, S_VALVE3A);
    assert_says(world, 2, UNACKNOWLEDGED, POINT_LIVE, "3-power"); // said, and not taken back
}

// --- Over a restart ---

WORLD_TEST(causes_survive_a_restart) {
    world_to_working(world, "j-1");
    world_hear(world, S_VALVE3A, MODEL_POINT_LIVE);
    world_acknowledge(world);
    world_restart(world, 2000);
    assert_says(world, 1, ACKNOWLEDGED, POINT_DISAGREES, "3-valve");
    world_controller(world, true);
    world_hear(world, S_VALVE3A, MODEL_POINT_LIVE);
    world_hear(world, S_VALVE3B, MODEL_POINT_ISOLATED);
    assert_int_equal(broken(world)->count, 1); // the same, away for less than 5 s
    world_hear(world, S_VALVE3B, MODEL_POINT_LIVE);
    assert_says(world, 2, UNACKNOWLEDGED, POINT_LIVE, "3-valve");
}

// A late live made it unknown, and that is one cause; then it read live, and its loss is one more.
WORLD_TEST(once_it_reads_live_its_loss_is_another_reason) {
    world_to_working(world, "j-1");
    world_hear_seq(world, S_POWER3, MODEL_POINT_ISOLATED, 9);
    world_hear_seq(world, S_POWER3, MODEL_POINT_LIVE, 8);
    assert_says(world, 1, UNACKNOWLEDGED, POINT_LIVE, "3-power");
    world_acknowledge(world);
    world_hear_seq(world, S_POWER3, MODEL_POINT_LIVE, 10);
    assert_says(world, 1, ACKNOWLEDGED, POINT_LIVE, "3-power");
    world_pass(world, GATE_CAUSE_AWAY_MS);
    world_bad(world, S_POWER3);
    assert_says(world, 2, UNACKNOWLEDGED, POINT_UNKNOWN, "3-power");
}

// The other sensor's live comes with the power for the tests, when every lock is off.
WORLD_TEST(live_after_disagreeing_of_a_test_is_none) {
    world_to_restoring(world, "j-1");
    world_hear(world, S_VALVE3A, MODEL_POINT_LIVE);
    assert_says(world, 1, UNACKNOWLEDGED, POINT_DISAGREES, "3-valve");
    world_acknowledge(world);
    world_lift_all(world, "t-1", "j-1");
    assert_accepted(world, world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
    world_hear(world, S_VALVE3B, MODEL_POINT_LIVE);
    assert_job(world, "j-1", TESTING, BROKEN);
    assert_says(world, 1, ACKNOWLEDGED, POINT_DISAGREES, "3-valve");
}

// Nobody vouches for its controller: that its live is said again leaves the point unknown.
WORLD_TEST(a_live_that_leaves_the_point_unknown_is_no_other_reason) {
    world_to_restoring(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    world_acknowledge(world);
    world_controller(world, false);
    world_forget(world);
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_point(world, POWER3, UNKNOWN, CONTROLLER_OFFLINE);
    assert_false(world_told(world, GATE_FACT_LOCKOUT_BROKEN));
}

// It was live all the while, as far as anybody knows; unheard it is another reason.
WORLD_TEST(what_held_at_a_restart_goes_on) {
    world_to_working(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    world_acknowledge(world);
    world_restart(world, 10000);
    world_controller(world, true);
    world_hear(world, S_VALVE3A, MODEL_POINT_ISOLATED); // of another point something is told
    world_hear(world, S_VALVE3B, MODEL_POINT_ISOLATED);
    world_pass(world, GATE_CAUSE_AWAY_MS + 1000);
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_says(world, 1, ACKNOWLEDGED, POINT_LIVE, "3-power");
    world_restart(world, 1000);
    world_controller(world, true);
    world_hear(world, S_VALVE3A, MODEL_POINT_ISOLATED);
    world_hear(world, S_VALVE3B, MODEL_POINT_ISOLATED);
    world_pass_heard(world, 20000);
    world_pass(world, 10000);
    assert_says(world, 2, UNACKNOWLEDGED, POINT_STALE, "3-power");
    world_acknowledge(world);
    world_pass(world, GATE_CAUSE_AWAY_MS);
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_says(world, 3, UNACKNOWLEDGED, POINT_LIVE, "3-power");
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(the_locks_of_another_leader_are_there),
        cmocka_unit_test(live_after_disagreeing_is_another_reason),
        cmocka_unit_test(live_after_disagreeing_in_every_phase),
        cmocka_unit_test(live_after_the_locks_are_off_is_none),
        cmocka_unit_test(another_point_and_the_worst_that_holds),
        cmocka_unit_test(a_failed_check_is_worse_than_what_is_unknown),
        cmocka_unit_test(every_way_of_being_unknown_is_one_reason),
        cmocka_unit_test(each_point_that_is_lost_at_once),
        cmocka_unit_test(what_goes_on_is_told_once),
        cmocka_unit_test(the_same_is_back_after_five_seconds),
        cmocka_unit_test(a_break_in_work_is_always_told),
        cmocka_unit_test(a_check_that_failed_and_passed_may_fail_again),
        cmocka_unit_test(one_word_is_one_cause),
        cmocka_unit_test(causes_survive_a_restart),
        cmocka_unit_test(once_it_reads_live_its_loss_is_another_reason),
        cmocka_unit_test(live_after_disagreeing_of_a_test_is_none),
        cmocka_unit_test(a_live_that_leaves_the_point_unknown_is_no_other_reason),
        cmocka_unit_test(what_held_at_a_restart_goes_on),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
