// Helpers: who of the crew lacks a credential today hangs locks, and signs nothing.
#include "gate/credential.h"
#include "gate/may.h"
#include "world.h"

#include <string.h>

static bool is_helper(struct world *world, const char *person) {
    return gate_is_helper(world->gate, world_site(world), world_job(world, "j-1"), person,
                          world->now);
}

// A job led by t-1, isolated and locked, with t-3, whose credential has expired.
static void with_helper(struct world *world) {
    world_to_tagged(world, "j-1");
    assert_accepted(world, world_verb(world, GATE_VERB_JOIN_JOB, "t-3", "j-1"));
}

WORLD_TEST(who_lacks_a_credential_joins_as_a_helper) {
    with_helper(world);
    assert_true(is_helper(world, "t-3"));
    assert_false(is_helper(world, "t-1"));
    assert_false(is_helper(world, "t-2")); // not in the crew
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_false(is_helper(world, "t-2"));
}

WORLD_TEST(who_leads_is_no_helper) {
    assert_true(world_open(world, "j-1", "3A", "t-3"));
    assert_false(is_helper(world, "t-3"));
}

WORLD_TEST(a_helper_is_protected_by_locks_and_the_start_asks_for_them) {
    with_helper(world);
    world_sign_hold(world, "t-1", "j-1");
    assert_refused(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"),
                   MODEL_CODE_TAG_MISSING);
    assert_true(world_refused(world, MODEL_CODE_TAG_MISSING, "3-power"));
    world_tag_all(world, "t-3", "j-1");
    assert_true(gate_member_of(world_job(world, "j-1"), "t-3")->protected);
    assert_accepted(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
}

WORLD_TEST(a_helper_signs_no_check) {
    with_helper(world);
    world_tag_all(world, "t-3", "j-1");
    assert_refused(world, world_sign(world, "t-3", "j-1", "no-flow"),
                   MODEL_CODE_CREDENTIAL_MISSING);
    assert_refused(world, world_sign_value(world, "t-3", "j-1", "no-voltage", 0, "V"),
                   MODEL_CODE_CREDENTIAL_MISSING);
    assert_refused(world, world_sign(world, "t-3", "j-1", "barricade"),
                   MODEL_CODE_CREDENTIAL_MISSING);
    assert_string_equal(world->answer.refusals[0].say,
                        "t-3 is here as a helper: somebody who holds vapor-a, vapor-b signs this.");
}

WORLD_TEST(a_helper_may_give_a_failed_reading) {
    with_helper(world);
    world_tag_all(world, "t-3", "j-1");
    assert_accepted(world, world_sign_value(world, "t-3", "j-1", "no-voltage", 240, "V"));
    assert_false(gate_signature_of(world_job(world, "j-1"), "no-voltage")->pass);
}

WORLD_TEST(a_failing_reading_is_no_next_step_of_a_helper) {
    with_helper(world);
    world_tag_all(world, "t-3", "j-1");
    assert_true(world_sign_value(world, "t-1", "j-1", "drained", 2, "L"));
    assert_true(world_sign(world, "t-1", "j-1", "no-flow"));
    const struct gate_job *job = world_job(world, "j-1");
    const struct model_person *person = model_person_find(world->model, "t-3");
    struct gate_may may = {0};
    struct gate_step step;
    gate_may(world->gate, 0, job, job->position, person, world->now, &may);
    gate_step(world->gate, 0, job, person, world->now, &may, &step);
    assert_string_equal(step.lacking.subject, "no-voltage");
    assert_false(step.mine);
    bool fails = false;
    for (size_t i = 0; i < may.count; i++) {
        bool is = may.choices[i].check != NULL && !strcmp(may.choices[i].check, "no-voltage");
        fails |= is && may.choices[i].fails;
        assert_false(is && !may.choices[i].fails);
    }
    assert_true(fails);
    gate_may_free(&may);
}

WORLD_TEST(a_helpers_word_of_isolated_is_refused_and_live_is_taken) {
    with_helper(world);
    assert_refused(world, world_witness(world, "t-3", "j-1", MODEL_POINT_ISOLATED),
                   MODEL_CODE_CREDENTIAL_MISSING);
    assert_accepted(world, world_witness(world, "t-3", "j-1", MODEL_POINT_LIVE));
    assert_point(world, LINE3A, LIVE, WITNESSED);
}

WORLD_TEST(a_leader_whose_credential_ended_signs_nothing) {
    assert_true(world_open(world, "j-1", "3A", "t-3"));
    assert_refused(world, world_sign(world, "t-3", "j-1", "barricade"),
                   MODEL_CODE_CREDENTIAL_EXPIRED);
    assert_refused(world, world_witness(world, "t-3", "j-1", MODEL_POINT_ISOLATED),
                   MODEL_CODE_CREDENTIAL_EXPIRED);
}

WORLD_TEST(an_unknown_check_hides_no_outsider) {
    world_to_tagged(world, "j-1");
    assert_refused(world, world_sign(world, "t-2", "j-1", "nothing-such"), MODEL_CODE_UNKNOWN_CHECK,
                   MODEL_CODE_NOT_IN_CREW);
}

// The credential of t-2 ends in ten minutes.
static void who_loses_a_credential_becomes_a_helper_that_day(void **state) {
    (void)state;
    struct world_copy copy;
    int64_t end[] = {1800000000000 + 600000};
    struct model_credential ends = {"vapor-b", {true, "2027-01-15", end}};
    world_copy(&copy);
    copy.people[4].credentials = &ends;
    struct world *world = world_new_of(&copy.model);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_false(is_helper(world, "t-2"));
    assert_int_equal(gate_deadline(world->gate), world->now.mono + 600000);
    world_pass(world, 599999);
    assert_false(is_helper(world, "t-2"));
    assert_accepted(world, world_sign(world, "t-2", "j-1", "barricade"));
    uint64_t before = world_site(world)->changes;
    world_pass(world, 1);
    assert_true(is_helper(world, "t-2"));
    assert_true(world_site(world)->changes > before); // its document is told anew
    assert_refused(world, world_sign(world, "t-2", "j-1", "barricade"),
                   MODEL_CODE_CREDENTIAL_MISSING);
    world_free(world);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(who_lacks_a_credential_joins_as_a_helper),
        cmocka_unit_test(who_leads_is_no_helper),
        cmocka_unit_test(a_helper_is_protected_by_locks_and_the_start_asks_for_them),
        cmocka_unit_test(a_helper_signs_no_check),
        cmocka_unit_test(a_helper_may_give_a_failed_reading),
        cmocka_unit_test(a_failing_reading_is_no_next_step_of_a_helper),
        cmocka_unit_test(a_helpers_word_of_isolated_is_refused_and_live_is_taken),
        cmocka_unit_test(a_leader_whose_credential_ended_signs_nothing),
        cmocka_unit_test(an_unknown_check_hides_no_outsider),
        cmocka_unit_test(who_loses_a_credential_becomes_a_helper_that_day),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
