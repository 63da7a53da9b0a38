// What facts carry beside their type: whom and what they are about, and what was known then.
#include "world.h"
#include "world_journal.h"

WORLD_TEST(the_start_carries_what_was_known_of_each_point) {
    world_to_confirmed(world, "j-1");
    world_hear_all(world, MODEL_POINT_ISOLATED);
    int64_t heard = world->now.wall;
    world_pass(world, 500);
    assert_true(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    const struct gate_fact *fact = world_journal_last(GATE_FACT_WORK_STARTED);
    assert_string_equal(fact->job, "j-1");
    assert_string_equal(fact->position, "3A");
    assert_string_equal(fact->by, "t-1");
    assert_int_equal(fact->at.wall, world->now.wall);
    assert_int_equal(fact->evidence_count, 3);
    assert_string_equal(fact->evidence[0].point, "3-power");
    assert_int_equal(fact->evidence[0].heard, heard);
    for (int i = 0; i < 3; i++) {
        assert_int_equal(fact->evidence[i].state, MODEL_POINT_ISOLATED);
        assert_true(fact->evidence[i].heard != 0);
    }
    assert_int_equal(fact->evidence[2].trust, MODEL_TRUST_WITNESSED);
}

WORLD_TEST(a_point_of_one_position_names_it_and_a_point_of_several_none) {
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    const struct gate_fact *fact = world_journal_last(GATE_FACT_POINT_CHANGED);
    assert_string_equal(fact->point, "3-power");
    assert_null(fact->position);
    assert_int_equal(fact->evidence[0].state, MODEL_POINT_LIVE);
    assert_true(world_witness(world, "v-1", NULL, MODEL_POINT_LIVE));
    fact = world_journal_last(GATE_FACT_POINT_WITNESSED);
    assert_string_equal(fact->position, "3A");
    assert_string_equal(fact->person, "v-1");
    assert_false(fact->overseer);
}

WORLD_TEST(a_break_says_where_and_why) {
    world_to_working(world, "j-1");
    world_hear(world, S_VALVE3A, MODEL_POINT_LIVE);
    const struct gate_fact *broken = world_journal_last(GATE_FACT_LOCKOUT_BROKEN);
    assert_string_equal(broken->point, "3-valve");
    assert_int_equal(broken->why, MODEL_CODE_POINT_DISAGREES);
    assert_true(broken->say[0] != '\0');
    const struct gate_fact *stopped = world_journal_last(GATE_FACT_WORK_STOPPED);
    assert_int_equal(stopped->phase, MODEL_PHASE_STOPPED);
    assert_null(stopped->by);
    const struct gate_fact *raised = world_journal_last(GATE_FACT_ALARM_RAISED);
    assert_string_equal(raised->job, "j-1");
    assert_string_equal(raised->position, "3A");
    assert_string_equal(raised->point, "3-valve");
    assert_string_equal(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN)->point, "3-valve");
}

WORLD_TEST(a_tag_lifted_for_somebody_absent_says_so) {
    world_to_tagged(world, "j-1");
    assert_true(world_ask(world, (struct gate_request){.verb = GATE_VERB_LIFT_ABSENT_TAG,
                                                       .person = "s-1",
                                                       .job = "j-1",
                                                       .point = "3-power",
                                                       .member = "t-1",
                                                       .reason = "went home",
                                                       .not_on_site = true,
                                                       .contact_tried = true,
                                                       .will_be_told = true}));
    const struct gate_fact *fact = world_journal_last(GATE_FACT_TAG_LIFTED);
    assert_true(fact->absent);
    assert_string_equal(fact->person, "t-1");
    assert_string_equal(fact->by, "s-1");
    assert_string_equal(fact->reason, "went home");
}

WORLD_TEST(a_refusal_says_who_asked_what) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_false(world_verb(world, GATE_VERB_REWORK, "t-2", "j-1"));
    const struct gate_fact *fact = world_journal_last(GATE_FACT_REQUEST_REFUSED);
    assert_string_equal(fact->by, "t-2");
    assert_string_equal(fact->verb, "rework");
    assert_string_equal(fact->job, "j-1");
}

WORLD_TEST(a_position_out_says_why_and_with_whom) {
    world_hear_all(world, MODEL_POINT_LIVE);
    world_open_at(world, "j-2", "3B", "cabinet", "t-2");
    const struct gate_fact *fact = world_journal_last(GATE_FACT_POSITION_OUT_OF_SERVICE);
    assert_string_equal(fact->position, "3B");
    assert_int_equal(fact->cause, MODEL_CAUSE_JOB);
    world_forget(world);
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-2"));
    assert_int_equal(world_times_told(world, GATE_FACT_POSITION_RETURNED), 2);
}

// What a break tells comes in the order of what happened: broken, stopped, alarm.
WORLD_TEST(a_break_is_told_in_order) {
    world_to_working(world, "j-1");
    world_forget(world);
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    const enum gate_fact_type order[] = {GATE_FACT_POINT_CHANGED, GATE_FACT_LOCKOUT_BROKEN,
                                         GATE_FACT_WORK_STOPPED, GATE_FACT_HOLD_ENDED,
                                         GATE_FACT_ALARM_RAISED};
    for (size_t i = 0; i < sizeof order / sizeof *order; i++) {
        assert_int_equal(world->facts[i].type, order[i]);
    }
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(the_start_carries_what_was_known_of_each_point),
        cmocka_unit_test(a_point_of_one_position_names_it_and_a_point_of_several_none),
        cmocka_unit_test(a_break_says_where_and_why),
        cmocka_unit_test(a_tag_lifted_for_somebody_absent_says_so),
        cmocka_unit_test(a_refusal_says_who_asked_what),
        cmocka_unit_test(a_position_out_says_why_and_with_whom),
        cmocka_unit_test(a_break_is_told_in_order),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
