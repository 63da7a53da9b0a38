// Alarms: their states, who acknowledges them, and each kind that the gate raises by itself.
#include <string.h>

#include "world.h"

static enum model_alarm_state state_of(struct world *world, enum model_alarm_kind kind) {
    const struct gate_alarm *alarm = world_alarm(world, kind);
    return alarm != NULL ? alarm->state : MODEL_ALARM_GONE;
}

static bool acknowledge(struct world *world, const char *person, const char *alarm) {
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_ACKNOWLEDGE_ALARM,
                                                  .person = person,
                                                  .alarm = alarm});
}

WORLD_TEST(acknowledged_then_returned_is_gone) {
    gate_link(world->gate, false, world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_LINK_DOWN), MODEL_ALARM_UNACKNOWLEDGED);
    world_acknowledge(world);
    assert_int_equal(state_of(world, MODEL_ALARM_LINK_DOWN), MODEL_ALARM_ACKNOWLEDGED);
    gate_link(world->gate, true, world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_LINK_DOWN), MODEL_ALARM_GONE);
}

WORLD_TEST(returned_then_acknowledged_is_gone) {
    gate_link(world->gate, false, world->now);
    gate_link(world->gate, true, world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_LINK_DOWN), MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
    world_acknowledge(world);
    assert_int_equal(state_of(world, MODEL_ALARM_LINK_DOWN), MODEL_ALARM_GONE);
}

WORLD_TEST(it_comes_again_under_its_name) {
    gate_link(world->gate, false, world->now);
    char id[MODEL_ID_SIZE];
    memcpy(id, world_alarm(world, MODEL_ALARM_LINK_DOWN)->alarm, sizeof id);
    gate_link(world->gate, true, world->now);
    gate_link(world->gate, false, world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_LINK_DOWN), MODEL_ALARM_UNACKNOWLEDGED);
    assert_string_equal(world_alarm(world, MODEL_ALARM_LINK_DOWN)->alarm, id);
    assert_int_equal(world_site(world)->alarm_count, 1);
}

WORLD_TEST(a_condition_that_goes_on_raises_once) {
    gate_link(world->gate, false, world->now);
    world_acknowledge(world);
    world_forget(world);
    gate_link(world->gate, false, world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_LINK_DOWN), MODEL_ALARM_ACKNOWLEDGED);
    assert_false(world_told(world, GATE_FACT_ALARM_RAISED));
}

WORLD_TEST(who_acknowledges) {
    assert_refused(world, acknowledge(world, "m-1", "a1"), MODEL_CODE_UNKNOWN_ALARM);
    world_to_tagged(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    const char *id = "a1";
    assert_refused(world, acknowledge(world, "t-2", id), MODEL_CODE_NOT_IN_CREW);
    assert_refused(world, acknowledge(world, "v-1", id), MODEL_CODE_NOT_ALLOWED);
    assert_refused(world, acknowledge(world, "k-1", id), MODEL_CODE_NOT_ALLOWED);
    assert_accepted(world, acknowledge(world, "t-1", id));
    assert_int_equal(state_of(world, MODEL_ALARM_LOCKOUT_BROKEN), MODEL_ALARM_ACKNOWLEDGED);
    assert_accepted(world, acknowledge(world, "s-1", id));
}

// The crew of one job does not answer for another's; for one of no job any crew does.
WORLD_TEST(the_crew_of_which_job) {
    world_to_tagged(world, "j-1");
    assert_true(world_open(world, "j-4", "4A", "t-2"));
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_refused(world, acknowledge(world, "t-2", "a1"), MODEL_CODE_NOT_IN_CREW);
    gate_link(world->gate, false, world->now);
    assert_accepted(world, acknowledge(world, "t-2", "a2"));
}

WORLD_TEST(a_tag_hung_for_over_twelve_hours) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    world_pass(world, GATE_TAG_LEFT_MS);
    assert_int_equal(state_of(world, MODEL_ALARM_TAG_LEFT), MODEL_ALARM_GONE);
    world_pass(world, 1);
    assert_int_equal(state_of(world, MODEL_ALARM_TAG_LEFT), MODEL_ALARM_UNACKNOWLEDGED);
    assert_string_equal(world_alarm(world, MODEL_ALARM_TAG_LEFT)->person, "t-1");
    assert_string_equal(world_alarm(world, MODEL_ALARM_TAG_LEFT)->job, "j-1");
    world_isolate(world);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    assert_int_equal(state_of(world, MODEL_ALARM_TAG_LEFT), MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
}

WORLD_TEST(a_lock_of_nobodys_job_left_hanging) {
    world_reader(world, POWER3, "badge-77", true);
    world_pass(world, GATE_TAG_LEFT_MS + 1);
    assert_string_equal(world_alarm(world, MODEL_ALARM_TAG_LEFT)->person, "badge-77");
    world_reader(world, POWER3, "badge-77", false);
    assert_int_equal(state_of(world, MODEL_ALARM_TAG_LEFT), MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
}

WORLD_TEST(a_contested_site) {
    gate_contested(world->gate, 0, true, world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_SITE_CONTESTED), MODEL_ALARM_UNACKNOWLEDGED);
    gate_contested(world->gate, 0, false, world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_SITE_CONTESTED),
                     MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
}

WORLD_TEST(a_journal_that_does_not_write) {
    gate_journal(world->gate, false, world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_JOURNAL_DOWN), MODEL_ALARM_UNACKNOWLEDGED);
    gate_journal(world->gate, true, world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_JOURNAL_DOWN),
                     MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
}

WORLD_TEST(a_webhook_that_is_down_raises_once_and_clears) {
    size_t facts = world->gate->changes;
    gate_webhook(world->gate, 0, NULL, world->now);
    assert_int_equal(world->gate->changes, facts);
    gate_webhook(world->gate, 0, "The webhook tracker does not take events.", world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_WEBHOOK_DOWN), MODEL_ALARM_UNACKNOWLEDGED);
    facts = world->gate->changes;
    gate_webhook(world->gate, 0, "Again.", world->now);
    assert_int_equal(world->gate->changes, facts);
    assert_string_equal(world_alarm(world, MODEL_ALARM_WEBHOOK_DOWN)->say,
                        "The webhook tracker does not take events.");
    gate_webhook(world->gate, 0, NULL, world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_WEBHOOK_DOWN),
                     MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
}

// The office's records are behind; the cabinet is as safe as before.
WORLD_TEST(a_webhook_that_is_down_closes_no_gate) {
    world_to_confirmed(world, "j-1");
    gate_webhook(world->gate, 0, "The webhook tracker does not take events.", world->now);
    assert_true(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
}

// --- Left live ---

static void set_aside(struct world *world, const char *job, const char *leader) {
    world_sign_clear(world, leader, job);
    assert_true(world_sign(world, leader, job, "made-safe"));
    assert_true(world_verb(world, GATE_VERB_SET_ASIDE, leader, job));
    world_lift_all(world, leader, job);
}

WORLD_TEST(a_point_left_live_while_its_job_is_set_aside) {
    world_to_working(world, "j-1");
    set_aside(world, "j-1", "t-1");
    world_hear_all(world, MODEL_POINT_LIVE); // of both sides: the cabinet may be powered
    assert_int_equal(state_of(world, MODEL_ALARM_LEFT_LIVE), MODEL_ALARM_GONE);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_LIVE));
    assert_int_equal(state_of(world, MODEL_ALARM_LEFT_LIVE), MODEL_ALARM_UNACKNOWLEDGED);
    assert_string_equal(world_alarm(world, MODEL_ALARM_LEFT_LIVE)->point, "3A-line");
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    assert_int_equal(state_of(world, MODEL_ALARM_LEFT_LIVE), MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
}

WORLD_TEST(a_point_left_live_while_untested) {
    world_to_working(world, "j-1");
    set_aside(world, "j-1", "t-1");
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"));
    assert_true(world_witness(world, "m-1", NULL, MODEL_POINT_LIVE));
    assert_int_equal(state_of(world, MODEL_ALARM_LEFT_LIVE), MODEL_ALARM_UNACKNOWLEDGED);
    assert_true(world_open(world, "j-2", "3A", "t-1")); // somebody sees to it
    assert_int_equal(state_of(world, MODEL_ALARM_LEFT_LIVE), MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
}

WORLD_TEST(live_while_tested_is_not_left) {
    world_to_testing(world, "j-1");
    assert_point(world, LINE3A, LIVE, WITNESSED);
    assert_int_equal(state_of(world, MODEL_ALARM_LEFT_LIVE), MODEL_ALARM_GONE);
}

// The cabinet is taken by a job on its other side: 3A is its work, not left.
WORLD_TEST(not_left_while_a_job_that_took_the_cabinet_goes_on) {
    assert_true(world_witness(world, "m-1", NULL, MODEL_POINT_LIVE));
    world_work_at(world, "j-2", "3B", "cabinet", "t-2");
    assert_int_equal(state_of(world, MODEL_ALARM_LEFT_LIVE), MODEL_ALARM_GONE);
    set_aside(world, "j-2", "t-2");
    assert_int_equal(state_of(world, MODEL_ALARM_LEFT_LIVE), MODEL_ALARM_UNACKNOWLEDGED);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(acknowledged_then_returned_is_gone),
        cmocka_unit_test(returned_then_acknowledged_is_gone),
        cmocka_unit_test(it_comes_again_under_its_name),
        cmocka_unit_test(a_condition_that_goes_on_raises_once),
        cmocka_unit_test(who_acknowledges),
        cmocka_unit_test(the_crew_of_which_job),
        cmocka_unit_test(a_tag_hung_for_over_twelve_hours),
        cmocka_unit_test(a_lock_of_nobodys_job_left_hanging),
        cmocka_unit_test(a_contested_site),
        cmocka_unit_test(a_journal_that_does_not_write),
        cmocka_unit_test(a_webhook_that_is_down_raises_once_and_clears),
        cmocka_unit_test(a_webhook_that_is_down_closes_no_gate),
        cmocka_unit_test(a_point_left_live_while_its_job_is_set_aside),
        cmocka_unit_test(a_point_left_live_while_untested),
        cmocka_unit_test(live_while_tested_is_not_left),
        cmocka_unit_test(not_left_while_a_job_that_took_the_cabinet_goes_on),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
