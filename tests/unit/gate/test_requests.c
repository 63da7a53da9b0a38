// Requests: opening and cancelling, what stands alone, what every answer holds.
#include <stdio.h>

#include "gate/find.h"
#include "world.h"

static struct gate_request opening(const char *job) {
    return (struct gate_request){.verb = GATE_VERB_OPEN_JOB,
                                 .person = "k-1",
                                 .job = job,
                                 .position = "3A",
                                 .procedure = "spout",
                                 .kit_family = "k2"};
}

WORLD_TEST(a_job_is_opened_by_tracker_manager_or_supervisor) {
    struct gate_request request = opening("j-1");
    request.person = "t-1";
    assert_refused(world, world_ask(world, request), MODEL_CODE_NOT_ALLOWED);
    request.person = "v-1";
    assert_refused(world, world_ask(world, request), MODEL_CODE_NOT_ALLOWED);
    request.person = "s-1";
    assert_accepted(world, world_ask(world, request));
    assert_string_equal(world->answer.job, "j-1");
    assert_int_equal(world->answer.phase, MODEL_PHASE_OPEN);
    assert_int_equal(world->answer.lockout, MODEL_LOCKOUT_UNCONFIRMED);
    assert_int_equal(world->answer.at.wall, world->now.wall);
    assert_int_equal(world_job(world, "j-1")->required_count, 3);
}

WORLD_TEST(one_job_stands_on_a_position) {
    assert_true(world_ask(world, opening("j-1")));
    assert_refused(world, world_ask(world, opening("j-2")), MODEL_CODE_POSITION_HAS_JOB);
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "m-1", "j-1"));
    assert_accepted(world, world_ask(world, opening("j-2")));
}

WORLD_TEST(an_id_is_used_once) {
    assert_true(world_ask(world, opening("j-1")));
    assert_refused(world, world_ask(world, opening("j-1")), MODEL_CODE_JOB_EXISTS,
                   MODEL_CODE_POSITION_HAS_JOB);
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "m-1", "j-1"));
    assert_refused(world, world_ask(world, opening("j-1")), MODEL_CODE_JOB_EXISTS);
}

WORLD_TEST(an_id_stays_used_after_its_job_is_forgotten) {
    assert_true(world_ask(world, opening("j-1")));
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "m-1", "j-1"));
    world_pass(world, GATE_KEEP_ENDED_MS);
    assert_true(world_ask(world, opening("j-2")));
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "m-1", "j-2"));
    assert_non_null(gate_job_find(world_site(world), "j-1"));
    world_pass(world, 1);
    assert_true(world_ask(world, opening("j-3")));
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "m-1", "j-3"));
    assert_null(gate_job_find(world_site(world), "j-1"));
    assert_refused(world, world_ask(world, opening("j-1")), MODEL_CODE_JOB_EXISTS);
}

WORLD_TEST(many_ids_are_told_apart) {
    char id[16];
    for (int i = 0; i < 100; i++) {
        snprintf(id, sizeof id, "j-%d", i);
        assert_true(world_ask(world, opening(id)));
        assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "m-1", id));
        world_forget(world);
    }
    for (int i = 0; i < 100; i++) {
        snprintf(id, sizeof id, "j-%d", i);
        assert_string_equal(world_job(world, id)->job, id);
    }
}

WORLD_TEST(what_is_opened_is_known) {
    struct gate_request request = opening("j-1");
    request.position = "9Z";
    request.procedure = "paint";
    request.technician = "t-9";
    assert_refused(world, world_ask(world, request), MODEL_CODE_UNKNOWN_POSITION,
                   MODEL_CODE_UNKNOWN_PROCEDURE, MODEL_CODE_UNKNOWN_PERSON);
    request = opening("j-1");
    request.technician = "m-1";
    assert_refused(world, world_ask(world, request), MODEL_CODE_NOT_ALLOWED);
}

WORLD_TEST(a_kit_named_at_the_opening_matches) {
    struct gate_request request = opening("j-1");
    request.kit_family = "k4";
    assert_refused(world, world_ask(world, request), MODEL_CODE_PART_MISMATCH);
    request.kit_family = NULL;
    assert_accepted(world, world_ask(world, request));
}

static void a_position_without_a_family_matches_no_kit(void **state) {
    (void)state;
    struct world_copy copy;
    world_copy(&copy);
    copy.positions[P3A].nozzle_family = NULL;
    struct world *world = world_new_of(&copy.model);
    assert_refused(world, world_ask(world, opening("j-1")), MODEL_CODE_PART_MISMATCH);
    world_free(world);
}

static void an_energy_without_a_point_is_never_nothing_to_do(void **state) {
    (void)state;
    struct world_copy copy;
    world_copy(&copy);
    copy.points[VALVE3].energy = copy.points[LINE3A].energy = "water";
    struct world *world = world_new_of(&copy.model);
    assert_refused(world, world_ask(world, opening("j-1")), MODEL_CODE_ENERGY_UNMAPPED);
    assert_true(world_refused(world, MODEL_CODE_ENERGY_UNMAPPED, "product"));
    world_free(world);
}

// Only points whose energy the procedure isolates are required.
static void other_energies_are_not_required(void **state) {
    (void)state;
    struct world_copy copy;
    world_copy(&copy);
    copy.points[LINE3A].energy = "water";
    struct world *world = world_new_of(&copy.model);
    assert_accepted(world, world_ask(world, opening("j-1")));
    assert_int_equal(world_job(world, "j-1")->required_count, 2);
    assert_false(gate_requires(world_job(world, "j-1"), LINE3A));
    world_free(world);
}

WORLD_TEST(cancelling_takes_open_and_no_tag_of_the_job) {
    world_to_tagged(world, "j-1");
    assert_refused(world, world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"),
                   MODEL_CODE_TAG_HUNG);
    assert_refused(world, world_verb(world, GATE_VERB_CANCEL_JOB, "t-1", "j-1"),
                   MODEL_CODE_TAG_HUNG, MODEL_CODE_NOT_ALLOWED);
    world_sign_hold(world, "t-1", "j-1");
    assert_true(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    assert_refused(world, world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"),
                   MODEL_CODE_TAG_HUNG, MODEL_CODE_WRONG_PHASE, MODEL_CODE_CHECK_MISSING);
}

WORLD_TEST(an_unknown_person_or_job_stands_alone) {
    assert_refused(world, world_verb(world, GATE_VERB_START_WORK, "t-9", "j-9"),
                   MODEL_CODE_UNKNOWN_PERSON);
    assert_int_equal(world->answer.refusal_count, 1);
    assert_refused(world, world_verb(world, GATE_VERB_START_WORK, "v-1", "j-9"),
                   MODEL_CODE_UNKNOWN_JOB);
    assert_int_equal(world->answer.refusal_count, 1);
    assert_refused(world, world_verb(world, GATE_VERB_START_WORK, "t-1", NULL),
                   MODEL_CODE_UNKNOWN_JOB);
    assert_false(world->answer.has_phase);
}

static void somebody_of_another_site_is_refused(void **state) {
    (void)state;
    bool nowhere[] = {false};
    struct world_copy copy;
    world_copy(&copy);
    copy.people[1].every_site = copy.people[3].every_site = false; // m-1, t-1
    copy.people[1].at_site = copy.people[3].at_site = nowhere;
    struct world *world = world_new_of(&copy.model);
    assert_refused(world, world_witness(world, "m-1", NULL, MODEL_POINT_LIVE),
                   MODEL_CODE_NOT_ALLOWED);
    struct gate_request request = opening("j-1");
    request.technician = "t-1";
    assert_refused(world, world_ask(world, request), MODEL_CODE_NOT_ALLOWED);
    world_free(world);
}

static void somebody_of_another_site_learns_of_no_job(void **state) {
    (void)state;
    bool nowhere[] = {false};
    struct world_copy copy;
    world_copy(&copy);
    copy.people[3].every_site = false; // t-1
    copy.people[3].at_site = nowhere;
    struct world *world = world_new_of(&copy.model);
    assert_true(world_ask(world, opening("j-1")));
    world_forget(world);
    for (int verb = 0; verb < GATE_VERB_COUNT; verb++) {
        const char *const jobs[] = {"j-1", "j-9", NULL};
        for (size_t i = 0; i < sizeof jobs / sizeof jobs[0]; i++) {
            assert_refused(world, world_verb(world, (enum gate_verb)verb, "t-1", jobs[i]),
                           MODEL_CODE_NOT_ALLOWED);
            assert_int_equal(world->answer.refusal_count, 1);
            assert_false(world->answer.has_phase);
        }
    }
    assert_int_equal(world->fact_count, 0);
    world_free(world);
}

WORLD_TEST(a_refusal_on_a_known_job_is_told) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_forget(world);
    assert_false(world_verb(world, GATE_VERB_FINISH_WORK, "t-1", "j-1"));
    assert_true(world_told(world, GATE_FACT_REQUEST_REFUSED));
    world_forget(world);
    assert_false(world_verb(world, GATE_VERB_FINISH_WORK, "t-1", "j-9"));
    assert_int_equal(world->fact_count, 0);
}

WORLD_TEST(an_answer_is_made_anew_each_time) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_false(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    size_t first = world->answer.refusal_count;
    assert_false(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    assert_int_equal(world->answer.refusal_count, first);
    assert_true(world_sign(world, "t-1", "j-1", "barricade"));
    assert_int_equal(world->answer.refusal_count, 0);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(a_job_is_opened_by_tracker_manager_or_supervisor),
        cmocka_unit_test(one_job_stands_on_a_position),
        cmocka_unit_test(an_id_is_used_once),
        cmocka_unit_test(an_id_stays_used_after_its_job_is_forgotten),
        cmocka_unit_test(many_ids_are_told_apart),
        cmocka_unit_test(what_is_opened_is_known),
        cmocka_unit_test(a_kit_named_at_the_opening_matches),
        cmocka_unit_test(a_position_without_a_family_matches_no_kit),
        cmocka_unit_test(an_energy_without_a_point_is_never_nothing_to_do),
        cmocka_unit_test(other_energies_are_not_required),
        cmocka_unit_test(cancelling_takes_open_and_no_tag_of_the_job),
        cmocka_unit_test(an_unknown_person_or_job_stands_alone),
        cmocka_unit_test(somebody_of_another_site_is_refused),
        cmocka_unit_test(somebody_of_another_site_learns_of_no_job),
        cmocka_unit_test(a_refusal_on_a_known_job_is_told),
        cmocka_unit_test(an_answer_is_made_anew_each_time),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
