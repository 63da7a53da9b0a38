// While the journal cannot write: what ends or stops is taken, what permits is refused.
#include "world.h"

static void down(struct world *world) {
    gate_journal(world->gate, false, world->now);
    world_forget(world);
}

WORLD_TEST(what_ends_or_stops_is_taken) {
    world_to_working(world, "j-1");
    down(world);
    assert_accepted(world, world_pause(world, "t-1", "j-1"));
    assert_job(world, "j-1", STOPPED, CONFIRMED);
    assert_accepted(world, world_lift(world, "t-1", "j-1", POWER3));
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_accepted(world, world_witness(world, "v-1", NULL, MODEL_POINT_LIVE));
    assert_point(world, LINE3A, LIVE, WITNESSED);
    world_reader(world, VALVE3, "t-1", false);
    assert_null(world_tag_of(world, VALVE3, "j-1", "t-1"));
}

WORLD_TEST(a_failed_reading_is_taken_and_a_passed_one_is_not) {
    world_to_working(world, "j-1");
    down(world);
    assert_refused(world, world_sign_value(world, "t-1", "j-1", "no-voltage", 0, "V"),
                   MODEL_CODE_JOURNAL_DOWN);
    assert_accepted(world, world_sign_value(world, "t-1", "j-1", "no-voltage", 9, "V"));
    assert_job(world, "j-1", STOPPED, BROKEN);
}

WORLD_TEST(a_live_point_stops_and_an_absent_owners_tag_ends) {
    world_to_working(world, "j-1");
    down(world);
    assert_accepted(world, world_ask(world, (struct gate_request){.verb = GATE_VERB_LIFT_ABSENT_TAG,
                                                                  .person = "s-1",
                                                                  .job = "j-1",
                                                                  .point = "3-valve",
                                                                  .member = "t-1",
                                                                  .reason = "went home",
                                                                  .not_on_site = true,
                                                                  .contact_tried = true,
                                                                  .will_be_told = true}));
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_non_null(world_alarm(world, MODEL_ALARM_ABSENT_LOCK_REMOVED));
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_alarm(world);
}

static void assert_down(struct world *world, struct gate_request request) {
    assert_false(world_ask(world, request));
    if (!world_refused(world, MODEL_CODE_JOURNAL_DOWN, NULL)) {
        fail_msg("%s is not refused while the journal is down", gate_verb_name(request.verb));
    }
}

WORLD_TEST(every_verb_that_permits_is_refused) {
    world_to_tagged(world, "j-1");
    down(world);
    struct model_result result = {.has_pass = true, .pass = true};
    const struct gate_request permits[] = {
        {.verb = GATE_VERB_OPEN_JOB,
         .person = "k-1",
         .job = "j-2",
         .position = "3B",
         .procedure = "spout"},
        {.verb = GATE_VERB_ASSIGN_JOB, .person = "k-1", .job = "j-1", .technician = "t-1"},
        {.verb = GATE_VERB_JOIN_JOB, .person = "t-2", .job = "j-1"},
        {.verb = GATE_VERB_LEAVE_JOB, .person = "t-1", .job = "j-1"},
        {.verb = GATE_VERB_WITNESS_POINT,
         .person = "t-1",
         .job = "j-1",
         .point = "3A-line",
         .has_state = true,
         .state = MODEL_POINT_ISOLATED},
        {.verb = GATE_VERB_HANG_TAG, .person = "t-1", .job = "j-1", .point = "3-power"},
        {.verb = GATE_VERB_SIGN_CHECK, .person = "t-1", .job = "j-1", .check = "barricade"},
        {.verb = GATE_VERB_START_WORK, .person = "t-1", .job = "j-1"},
        {.verb = GATE_VERB_FINISH_WORK, .person = "t-1", .job = "j-1"},
        {.verb = GATE_VERB_BEGIN_TEST, .person = "t-1", .job = "j-1"},
        {.verb = GATE_VERB_RECORD_TEST,
         .person = "t-1",
         .job = "j-1",
         .test = "leak",
         .result = &result},
        {.verb = GATE_VERB_REWORK, .person = "t-1", .job = "j-1"},
        {.verb = GATE_VERB_SET_ASIDE, .person = "t-1", .job = "j-1"},
        {.verb = GATE_VERB_RETURN_POSITION, .person = "t-1", .job = "j-1"},
        {.verb = GATE_VERB_HAND_OVER, .person = "t-1", .job = "j-1", .to = "t-1"},
        {.verb = GATE_VERB_ACCEPT_LEAD, .person = "t-1", .job = "j-1"},
        {.verb = GATE_VERB_CANCEL_JOB, .person = "k-1", .job = "j-1"},
        {.verb = GATE_VERB_ACKNOWLEDGE_ALARM, .person = "m-1", .alarm = "a1"},
        {.verb = GATE_VERB_CHECK_IN, .person = "t-1", .job = "j-1"},
        {.verb = GATE_VERB_CONFIRM_TOLD, .person = "t-1"},
        {.verb = GATE_VERB_DISTRUST_SENSOR,
         .person = "s-1",
         .sensor = "3-power",
         .hours = 1,
         .reason = "dead"},
        {.verb = GATE_VERB_TRUST_SENSOR, .person = "s-1", .sensor = "3-power"},
        {.verb = GATE_VERB_RECORD_FUEL,
         .person = "t-1",
         .job = "j-1",
         .product = "regular",
         .unit = "gal",
         .drawn = {true, 5}},
        {.verb = GATE_VERB_FIT_PART, .person = "t-1", .job = "j-1", .part = "boot"},
        {.verb = GATE_VERB_RECORD_SPILL,
         .person = "t-1",
         .position = "3A",
         .product = "regular",
         .unit = "gal",
         .quantity = {true, 1}},
        {.verb = GATE_VERB_REPORT_SPILL, .person = "m-1", .spill = "s1", .reference = "r"},
        {.verb = GATE_VERB_REPORT_FAULT, .person = "v-1", .position = "3A", .text = "drips"},
        {.verb = GATE_VERB_EXPECT_BACK, .person = "t-1", .job = "j-1", .back = 1},
        {.verb = GATE_VERB_ATTACH,
         .person = "t-1",
         .job = "j-1",
         .url = "https://files.example/1",
         .sha256 = "0",
         .title = "a picture"},
    };
    bool asked[GATE_VERB_COUNT] = {false};
    for (size_t i = 0; i < sizeof permits / sizeof *permits; i++) {
        assert_down(world, permits[i]);
        asked[permits[i].verb] = true;
    }
    for (int verb = 0; verb < GATE_VERB_COUNT; verb++) {
        if (gate_verb_row((enum gate_verb)verb)->permits && !asked[verb]) {
            fail_msg("%s permits and is not tried", gate_verb_name((enum gate_verb)verb));
        }
    }
    assert_int_equal(world->fact_count, 0); // nor is any refusal written
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(what_ends_or_stops_is_taken),
        cmocka_unit_test(a_failed_reading_is_taken_and_a_passed_one_is_not),
        cmocka_unit_test(a_live_point_stops_and_an_absent_owners_tag_ends),
        cmocka_unit_test(every_verb_that_permits_is_refused),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
