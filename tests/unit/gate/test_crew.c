// Crew and lead: joining, leaving, assigning, handing over.
#include "gate/find.h"
#include "world.h"

static bool leave(struct world *world, const char *person, const char *whom) {
    return world_ask(
        world, (struct gate_request){
                   .verb = GATE_VERB_LEAVE_JOB, .person = person, .job = "j-1", .member = whom});
}

static bool assign(struct world *world, const char *by, const char *whom, const char *kit) {
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_ASSIGN_JOB,
                                                  .person = by,
                                                  .job = "j-1",
                                                  .technician = whom,
                                                  .kit_family = kit});
}

static bool offer(struct world *world, const char *by, const char *to) {
    return world_ask(world, (struct gate_request){
                                .verb = GATE_VERB_HAND_OVER, .person = by, .job = "j-1", .to = to});
}

static bool accept(struct world *world, const char *person) {
    return world_verb(world, GATE_VERB_ACCEPT_LEAD, person, "j-1");
}

static bool in_crew(struct world *world, const char *person) {
    return gate_member_of(world_job(world, "j-1"), person) != NULL;
}

// --- Joining and leaving ---

WORLD_TEST(any_technician_joins_a_job_that_stands) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(in_crew(world, "t-1"));
    assert_refused(world, world_verb(world, GATE_VERB_JOIN_JOB, "m-1", "j-1"),
                   MODEL_CODE_NOT_ALLOWED);
    assert_accepted(world, world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_true(in_crew(world, "t-2"));
    assert_accepted(world, world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_int_equal(world_job(world, "j-1")->crew_count, 2);
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"));
    assert_refused(world, world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"),
                   MODEL_CODE_WRONG_PHASE);
}

WORLD_TEST(who_leaves_has_no_tag_hanging_and_does_not_lead) {
    world_to_tagged(world, "j-1");
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_true(world_tag(world, "t-2", "j-1", POWER3));
    assert_refused(world, leave(world, "t-2", NULL), MODEL_CODE_TAG_HUNG);
    assert_true(world_lift(world, "t-2", "j-1", POWER3));
    assert_accepted(world, leave(world, "t-2", NULL));
    assert_false(in_crew(world, "t-2"));
    world_lift_all(world, "t-1", "j-1");
    assert_refused(world, leave(world, "t-1", NULL), MODEL_CODE_NOT_ALLOWED);
    assert_refused(world, leave(world, "t-2", NULL), MODEL_CODE_NOT_IN_CREW);
}

WORLD_TEST(the_leader_or_a_supervisor_sends_another_away) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_refused(world, leave(world, "m-1", "t-2"), MODEL_CODE_NOT_ALLOWED,
                   MODEL_CODE_NOT_ASSIGNED);
    assert_refused(world, leave(world, "t-2", "t-1"), MODEL_CODE_NOT_ASSIGNED,
                   MODEL_CODE_NOT_ALLOWED);
    assert_accepted(world, leave(world, "t-1", "t-2"));
    assert_refused(world, leave(world, "s-1", "t-2"), MODEL_CODE_NOT_IN_CREW);
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_accepted(world, leave(world, "s-1", "t-2"));
}

// --- Assigning ---

WORLD_TEST(assigning_takes_open_and_no_tag_of_the_job) {
    world_to_tagged(world, "j-1");
    assert_refused(world, assign(world, "k-1", "t-2", NULL), MODEL_CODE_TAG_HUNG);
    world_lift_all(world, "t-1", "j-1");
    assert_accepted(world, assign(world, "k-1", "t-2", NULL));
    assert_true(gate_leads(world_job(world, "j-1"), "t-2"));
    assert_false(in_crew(world, "t-1"));
    assert_true(in_crew(world, "t-2"));
}

WORLD_TEST(assigning_is_not_of_other_phases) {
    world_to_restoring(world, "j-1");
    world_lift_all(world, "t-1", "j-1");
    assert_refused(world, assign(world, "k-1", "t-2", NULL), MODEL_CODE_WRONG_PHASE);
}

WORLD_TEST(who_assigns_whom) {
    assert_true(world_open(world, "j-1", "3A", NULL));
    assert_refused(world, assign(world, "t-1", "t-1", NULL), MODEL_CODE_NOT_ALLOWED);
    assert_refused(world, assign(world, "k-1", "m-1", NULL), MODEL_CODE_NOT_ALLOWED);
    assert_refused(world, assign(world, "k-1", "t-9", NULL), MODEL_CODE_UNKNOWN_PERSON);
    assert_accepted(world, assign(world, "m-1", "t-1", NULL));
    assert_accepted(world, assign(world, "s-1", "t-2", NULL));
}

WORLD_TEST(assigning_may_name_the_kit) {
    assert_true(world_ask(world, (struct gate_request){.verb = GATE_VERB_OPEN_JOB,
                                                       .person = "k-1",
                                                       .job = "j-1",
                                                       .position = "3A",
                                                       .procedure = "spout"}));
    assert_refused(world, assign(world, "k-1", "t-1", "k4"), MODEL_CODE_PART_MISMATCH);
    assert_accepted(world, assign(world, "k-1", "t-1", "k2"));
    assert_string_equal(world_job(world, "j-1")->kit_family, "k2");
}

// --- Handing over ---

WORLD_TEST(the_lead_is_offered_within_the_crew) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_refused(world, offer(world, "t-1", "t-2"), MODEL_CODE_NOT_IN_CREW);
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_refused(world, offer(world, "t-2", "t-2"), MODEL_CODE_NOT_ASSIGNED);
    assert_refused(world, offer(world, "t-1", "t-1"), MODEL_CODE_NOT_ALLOWED);
    assert_accepted(world, offer(world, "t-1", "t-2"));
    assert_accepted(world, offer(world, "s-1", "t-2"));
    assert_accepted(world, accept(world, "t-2"));
    assert_true(gate_leads(world_job(world, "j-1"), "t-2"));
    assert_true(in_crew(world, "t-1"));
    assert_refused(world, accept(world, "t-2"), MODEL_CODE_NOT_ALLOWED);
}

WORLD_TEST(only_whom_it_was_offered_to_accepts) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_refused(world, accept(world, "t-2"), MODEL_CODE_NOT_ALLOWED);
    assert_true(offer(world, "t-1", "t-2"));
    assert_refused(world, accept(world, "t-1"), MODEL_CODE_NOT_ALLOWED);
}

WORLD_TEST(an_offer_ends_after_half_an_hour) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_true(offer(world, "t-1", "t-2"));
    world_pass(world, GATE_OFFER_MS);
    assert_refused(world, accept(world, "t-2"), MODEL_CODE_NOT_ALLOWED);
    assert_true(offer(world, "t-1", "t-2"));
    world_pass(world, GATE_OFFER_MS - 1);
    assert_accepted(world, accept(world, "t-2"));
}

WORLD_TEST(an_offer_ends_with_the_phase_and_a_new_one) {
    world_to_tagged(world, "j-1");
    world_join_tagged(world, "t-2", "j-1");
    world_sign_hold(world, "t-1", "j-1");
    assert_true(offer(world, "t-1", "t-2"));
    assert_true(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    world_sign_hold(world, "t-2", "j-1");
    assert_refused(world, accept(world, "t-2"), MODEL_CODE_NOT_ALLOWED);
    assert_true(offer(world, "t-1", "t-2"));
    assert_accepted(world, accept(world, "t-2"));
}

WORLD_TEST(an_offer_ends_with_leaving_the_crew) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_true(offer(world, "t-1", "t-2"));
    assert_true(leave(world, "t-2", NULL));
    assert_refused(world, accept(world, "t-2"), MODEL_CODE_NOT_ALLOWED);
}

WORLD_TEST(in_open_a_lock_wherever_the_leader_has_one) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_true(offer(world, "t-1", "t-2"));
    assert_refused(world, accept(world, "t-2"), MODEL_CODE_TAG_MISSING);
    assert_int_equal(world->answer.refusal_count, 1);
    assert_true(world_tag(world, "t-2", "j-1", POWER3));
    assert_accepted(world, accept(world, "t-2"));
}

WORLD_TEST(while_working_a_lock_on_every_point_and_verify_by_oneself) {
    world_to_working(world, "j-1");
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_true(offer(world, "t-1", "t-2"));
    assert_refused(world, accept(world, "t-2"), MODEL_CODE_TAG_MISSING, MODEL_CODE_CHECK_MISSING);
    assert_int_equal(world->answer.refusal_count, 3 + 2);
    world_tag_all(world, "t-2", "j-1");
    assert_true(world_sign(world, "t-2", "j-1", "no-flow"));
    assert_refused(world, accept(world, "t-2"), MODEL_CODE_CHECK_MISSING);
    assert_true(world_sign_value(world, "t-2", "j-1", "no-voltage", 0, "V"));
    assert_accepted(world, accept(world, "t-2"));
    assert_job(world, "j-1", WORKING, CONFIRMED);
    assert_true(world_lift(world, "t-1", "j-1", POWER3)); // no longer the leader's
    assert_job(world, "j-1", WORKING, CONFIRMED);
    assert_true(world_lift(world, "t-2", "j-1", POWER3));
    assert_job(world, "j-1", STOPPED, BROKEN);
}

// t-2's own no-voltage lapses; the leader's newer one does not.
static void a_verify_that_has_lapsed_takes_no_lead(void **state) {
    (void)state;
    struct world_copy copy;
    world_copy(&copy);
    struct model_check *voltage = &copy.checks[1][4];
    assert_string_equal(voltage->check, "no-voltage");
    voltage->valid_ms = 60000;
    struct world *world = world_new_of(&copy.model);
    world_to_working(world, "j-1");
    world_join_tagged(world, "t-2", "j-1");
    assert_true(world_sign(world, "t-2", "j-1", "no-flow"));
    assert_true(world_sign_value(world, "t-2", "j-1", "no-voltage", 0, "V"));
    world_pass_heard(world, 50000);
    assert_true(world_sign_value(world, "t-1", "j-1", "no-voltage", 0, "V"));
    world_pass_heard(world, 20000);
    assert_job(world, "j-1", WORKING, CONFIRMED);
    assert_true(offer(world, "t-1", "t-2"));
    assert_refused(world, accept(world, "t-2"), MODEL_CODE_CHECK_MISSING);
    assert_true(world_sign_value(world, "t-2", "j-1", "no-voltage", 0, "V"));
    assert_accepted(world, accept(world, "t-2"));
    world_free(world);
}

// What was signed before leaving and joining again is of another stay.
WORLD_TEST(verify_since_joining) {
    world_to_tagged(world, "j-1");
    world_join_tagged(world, "t-2", "j-1");
    world_sign_hold(world, "t-2", "j-1");
    assert_true(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    world_lift_all(world, "t-2", "j-1");
    assert_true(leave(world, "t-2", NULL));
    world_join_tagged(world, "t-2", "j-1");
    assert_true(offer(world, "t-1", "t-2"));
    assert_refused(world, accept(world, "t-2"), MODEL_CODE_CHECK_MISSING);
}

WORLD_TEST(who_takes_the_lead_holds_the_credentials) {
    assert_true(world_open(world, "j-1", "3A", "t-3"));
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_true(offer(world, "t-3", "t-2"));
    assert_true(accept(world, "t-2"));
    assert_true(offer(world, "t-2", "t-3"));
    assert_refused(world, accept(world, "t-3"), MODEL_CODE_CREDENTIAL_EXPIRED);
}

WORLD_TEST(no_lead_is_accepted_on_a_contested_site) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_true(offer(world, "t-1", "t-2"));
    gate_contested(world->gate, 0, true, world->now);
    assert_refused(world, accept(world, "t-2"), MODEL_CODE_SITE_CONTESTED);
}

WORLD_TEST(after_hand_over_in_open_the_hold_is_the_new_leaders) {
    world_to_tagged(world, "j-1");
    world_join_tagged(world, "t-2", "j-1");
    world_sign_hold(world, "t-1", "j-1");
    assert_true(offer(world, "t-1", "t-2"));
    assert_accepted(world, accept(world, "t-2"));
    assert_job(world, "j-1", OPEN, CONFIRMED);
    world_lift_all(world, "t-1", "j-1");
    assert_job(world, "j-1", OPEN, CONFIRMED);
    assert_true(world_lift(world, "t-2", "j-1", POWER3));
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(any_technician_joins_a_job_that_stands),
        cmocka_unit_test(who_leaves_has_no_tag_hanging_and_does_not_lead),
        cmocka_unit_test(the_leader_or_a_supervisor_sends_another_away),
        cmocka_unit_test(assigning_takes_open_and_no_tag_of_the_job),
        cmocka_unit_test(assigning_is_not_of_other_phases),
        cmocka_unit_test(who_assigns_whom),
        cmocka_unit_test(assigning_may_name_the_kit),
        cmocka_unit_test(the_lead_is_offered_within_the_crew),
        cmocka_unit_test(only_whom_it_was_offered_to_accepts),
        cmocka_unit_test(an_offer_ends_after_half_an_hour),
        cmocka_unit_test(an_offer_ends_with_the_phase_and_a_new_one),
        cmocka_unit_test(an_offer_ends_with_leaving_the_crew),
        cmocka_unit_test(in_open_a_lock_wherever_the_leader_has_one),
        cmocka_unit_test(while_working_a_lock_on_every_point_and_verify_by_oneself),
        cmocka_unit_test(a_verify_that_has_lapsed_takes_no_lead),
        cmocka_unit_test(verify_since_joining),
        cmocka_unit_test(who_takes_the_lead_holds_the_credentials),
        cmocka_unit_test(no_lead_is_accepted_on_a_contested_site),
        cmocka_unit_test(after_hand_over_in_open_the_hold_is_the_new_leaders),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
