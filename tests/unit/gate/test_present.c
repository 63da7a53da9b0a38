// What waited on its way: it permits nothing, and it ends and stops all the same.
#include "world.h"

static struct gate_request late(struct gate_request request) {
    request.waited = true;
    return request;
}

static bool late_verb(struct world *world, enum gate_verb verb, const char *person,
                      const char *job) {
    return world_ask(world, late((struct gate_request){
                                .verb = verb, .person = person, .job = job, .reason = "a reason"}));
}

static bool late_check(struct world *world, const char *check, double value, const char *unit) {
    return world_ask(world, late((struct gate_request){.verb = GATE_VERB_SIGN_CHECK,
                                                       .person = "t-1",
                                                       .job = "j-1",
                                                       .check = check,
                                                       .has_value = unit != NULL,
                                                       .value = value,
                                                       .unit = unit}));
}

static bool late_word(struct world *world, enum model_point_state state) {
    return world_ask(world, late((struct gate_request){.verb = GATE_VERB_WITNESS_POINT,
                                                       .person = "t-1",
                                                       .job = "j-1",
                                                       .point = "3A-line",
                                                       .has_state = true,
                                                       .state = state}));
}

WORLD_TEST(what_waited_permits_nothing_and_says_so_alone) {
    world_to_confirmed(world, "j-1");
    size_t facts = world->fact_count;
    assert_refused(world, late_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"),
                   MODEL_CODE_TOO_LATE);
    assert_int_equal(world->fact_count, facts + 1); // that it was refused
    // Whatever else there would be to say of it.
    assert_refused(world, late_verb(world, GATE_VERB_RETURN_POSITION, "t-2", "j-1"),
                   MODEL_CODE_TOO_LATE);
    assert_refused(world, late_verb(world, GATE_VERB_START_WORK, "t-1", "j-9"),
                   MODEL_CODE_TOO_LATE);
    assert_refused(world, late_word(world, MODEL_POINT_ISOLATED), MODEL_CODE_TOO_LATE);
    assert_job(world, "j-1", OPEN, CONFIRMED);
    assert_accepted(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
}

WORLD_TEST(what_stops_is_taken_however_late) {
    world_to_working(world, "j-1");
    assert_accepted(world, late_verb(world, GATE_VERB_STOP_WORK, "t-1", "j-1"));
    assert_int_equal(world_job(world, "j-1")->phase, MODEL_PHASE_STOPPED);
    assert_accepted(world, world_ask(world, late((struct gate_request){.verb = GATE_VERB_LIFT_TAG,
                                                                       .person = "t-1",
                                                                       .job = "j-1",
                                                                       .point = "3-power"})));
}

WORLD_TEST(a_word_of_live_is_taken_however_late) {
    world_to_working(world, "j-1");
    assert_accepted(world, late_word(world, MODEL_POINT_LIVE));
    assert_job(world, "j-1", STOPPED, BROKEN);
}

WORLD_TEST(a_reading_that_failed_is_taken_however_late) {
    world_to_working(world, "j-1");
    assert_refused(world, late_check(world, "no-voltage", 0.2, "V"), MODEL_CODE_TOO_LATE);
    assert_accepted(world, late_check(world, "no-voltage", 240, "V"));
    assert_job(world, "j-1", STOPPED, BROKEN);
}

// Opening, assigning and offering are about no present.
WORLD_TEST(what_speaks_of_no_present_is_taken_however_late) {
    struct gate_request opening = {.verb = GATE_VERB_OPEN_JOB,
                                   .person = "k-1",
                                   .job = "j-1",
                                   .position = "3A",
                                   .procedure = "spout",
                                   .kit_family = "k2",
                                   .waited = true};
    assert_accepted(world, world_ask(world, opening));
    assert_refused(world, late_verb(world, GATE_VERB_JOIN_JOB, "t-1", "j-1"), MODEL_CODE_TOO_LATE);
}

WORLD_TEST(reasons_that_stand_alone_are_said_in_their_order) {
    world_to_returned(world, "j-1");
    assert_refused(world, late_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"),
                   MODEL_CODE_TOO_LATE);
    assert_refused(world, world_verb(world, GATE_VERB_START_WORK, "t-2", "j-1"),
                   MODEL_CODE_WRONG_PHASE);
    assert_refused(world, world_witness(world, "t-2", "j-1", MODEL_POINT_ISOLATED),
                   MODEL_CODE_WRONG_PHASE);
    // A reading without its unit, late, of a job that has ended: the body is looked at first.
    assert_refused(world, late_check(world, "no-voltage", 0.2, NULL), MODEL_CODE_MALFORMED);
    // By one who is not in the crew, out of its window.
    assert_refused(world, world_sign_value(world, "t-2", "j-1", "no-voltage", 0.2, "A"),
                   MODEL_CODE_MALFORMED);
}

WORLD_TEST(what_does_not_say_when_it_was_asked_is_malformed) {
    world_to_working(world, "j-1");
    struct gate_request request = {
        .verb = GATE_VERB_FINISH_WORK, .person = "t-1", .job = "j-1", .undated = true};
    assert_refused(world, world_ask(world, request), MODEL_CODE_MALFORMED);
    assert_string_equal(world->answer.refusals[0].subject, "/asked");
    request.waited = true;
    assert_refused(world, world_ask(world, request), MODEL_CODE_MALFORMED);
    request = (struct gate_request){.verb = GATE_VERB_SIGN_CHECK,
                                    .person = "t-1",
                                    .job = "j-1",
                                    .check = "no-voltage",
                                    .has_value = true,
                                    .value = 0.2,
                                    .unit = "V",
                                    .undated = true};
    assert_refused(world, world_ask(world, request), MODEL_CODE_MALFORMED);
    request.value = 240; // what stops needs no time
    assert_accepted(world, world_ask(world, request));
    assert_job(world, "j-1", STOPPED, BROKEN);
}

WORLD_TEST(a_lock_that_waited_is_listed_and_does_not_count) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    struct gate_tagging tagging = {.hung = true, .person = "t-1", .waited = true};
    gate_hear_tagging(world->gate, 0, POWER3, &tagging, world->now);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    tagging.hung = false;
    gate_hear_tagging(world->gate, 0, POWER3, &tagging, world->now);
    assert_null(world_tag_of(world, POWER3, "j-1", "t-1"));
    world_reader(world, POWER3, "t-1", true);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

WORLD_TEST(a_lock_hung_at_a_time_that_cannot_be_read_is_listed_and_does_not_count) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    const struct gate_tagging tagging = {.hung = true, .person = "t-1", .undated = true};
    gate_hear_tagging(world->gate, 0, POWER3, &tagging, world->now);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    world_reader(world, POWER3, "t-1", true);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(what_waited_permits_nothing_and_says_so_alone),
        cmocka_unit_test(what_stops_is_taken_however_late),
        cmocka_unit_test(a_word_of_live_is_taken_however_late),
        cmocka_unit_test(a_reading_that_failed_is_taken_however_late),
        cmocka_unit_test(what_speaks_of_no_present_is_taken_however_late),
        cmocka_unit_test(reasons_that_stand_alone_are_said_in_their_order),
        cmocka_unit_test(what_does_not_say_when_it_was_asked_is_malformed),
        cmocka_unit_test(a_lock_that_waited_is_listed_and_does_not_count),
        cmocka_unit_test(a_lock_hung_at_a_time_that_cannot_be_read_is_listed_and_does_not_count),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
