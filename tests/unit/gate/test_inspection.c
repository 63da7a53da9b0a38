// A job that looks and tests: nothing is isolated or worked on, and what fails leaves the position
// untested.
#include <string.h>

#include "gate/may.h"
#include "world.h"
#include "world_journal.h"

// The forecourt whose procedure `spout` inspects: two things to prepare, its tests, one to finish.
static struct world *inspecting(void) {
    static struct world_copy copy;
    world_copy(&copy);
    struct model_requirements *spout = &copy.procedures[1];
    size_t kept = 0;
    for (size_t i = 0; i < spout->check_count; i++) {
        enum model_group group = spout->checks[i].group;
        if (group == MODEL_GROUP_PREPARE || group == MODEL_GROUP_FINISH) {
            copy.checks[1][kept++] = spout->checks[i];
        }
    }
    spout->check_count = kept;
    spout->isolate_count = 0;
    spout->match = false;
    spout->inspection = true;
    return world_new_of(&copy.model);
}

static struct world *opened(void) {
    struct world *world = inspecting();
    world_hear_all(world, MODEL_POINT_LIVE);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    return world;
}

static struct world *begun(void) {
    struct world *world = opened();
    world_sign_prepare(world, "t-1", "j-1");
    assert_accepted(world, world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
    return world;
}

static void it_goes_from_open_to_testing_to_returned(void **state) {
    (void)state;
    struct world *world = begun();
    assert_int_equal(world_job(world, "j-1")->phase, MODEL_PHASE_TESTING);
    assert_int_equal(world_job(world, "j-1")->required_count, 0);
    assert_accepted(world, world_test(world, "t-1", "j-1", "leak", true));
    assert_accepted(world, world_test(world, "t-1", "j-1", "continuity", true));
    assert_accepted(world, world_sign(world, "t-1", "j-1", "barricade-removed"));
    assert_accepted(world, world_verb(world, GATE_VERB_RETURN_POSITION, "t-1", "j-1"));
    assert_int_equal(world_job(world, "j-1")->phase, MODEL_PHASE_RETURNED);
    assert_int_equal(world_site(world)->positions[P3A].untested_count, 0);
    world_free(world);
}

// A repair was left undone: its tests are owed, and pass on no dead dispenser.
static void what_is_owed_is_tested_under_power_by_an_inspection_too(void **state) {
    (void)state;
    struct world *world = inspecting();
    world_work_at(world, "j-1", "3A", "cabinet", "t-1");
    world_sign_clear(world, "t-1", "j-1");
    assert_true(world_sign(world, "t-1", "j-1", "made-safe"));
    assert_true(world_verb(world, GATE_VERB_SET_ASIDE, "t-1", "j-1"));
    world_lift_all(world, "t-1", "j-1");
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"));
    world_open_at(world, "j-2", "3A", "spout", "t-1");
    world_sign_prepare(world, "t-1", "j-2");
    assert_accepted(world, world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-2"));
    assert_refused(world, world_test(world, "t-1", "j-2", "leak", true),
                   MODEL_CODE_POINT_NOT_RESTORED);
    assert_false(world_verb(world, GATE_VERB_RETURN_POSITION, "t-1", "j-2"));
    assert_true(world_refused(world, MODEL_CODE_POINT_NOT_RESTORED, "3-power"));
    world_live_at(world, "3A", "t-1", "j-2");
    assert_accepted(world, world_test(world, "t-1", "j-2", "leak", true));
    world_free(world);
}

static void nothing_is_worked_on(void **state) {
    (void)state;
    struct world *world = opened();
    world_sign_prepare(world, "t-1", "j-1");
    assert_false(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    assert_true(world_refused(world, MODEL_CODE_WRONG_PHASE, "j-1"));
    assert_false(world_tag(world, "t-1", "j-1", POWER3));
    // Nor is there anything to leave: it is cancelled as it stands.
    assert_null(model_check_named(world_job(world, "j-1")->needs, "made-safe"));
    assert_accepted(world, world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"));
    assert_null(world_site(world)->positions[P3A].owed);
    world_free(world);
}

static void its_tests_wait_for_what_is_prepared(void **state) {
    (void)state;
    struct world *world = opened();
    assert_false(world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
    assert_refusals(world, MODEL_CODE_CHECK_MISSING);
    world_free(world);
}

static void who_leads_it_holds_the_credentials(void **state) {
    (void)state;
    struct world *world = inspecting();
    assert_true(world_open(world, "j-1", "3A", "t-3")); // whose credential ended
    assert_false(world_verb(world, GATE_VERB_BEGIN_TEST, "t-3", "j-1"));
    assert_true(world_refused(world, MODEL_CODE_CREDENTIAL_EXPIRED, NULL));
    world_free(world);
}

static void nobody_leads_it_is_what_it_lacks(void **state) {
    (void)state;
    struct world *world = inspecting();
    struct gate_list list = {0};
    assert_true(world_open(world, "j-1", "3A", NULL));
    gate_next(world->gate, 0, world_job(world, "j-1"), world->now, &list);
    assert_int_equal(list.items[0].refusal.code, MODEL_CODE_NOT_ASSIGNED);
    gate_list_free(&list);
    world_free(world);
}

static void a_lock_in_the_cabinet_shuts_it_out(void **state) {
    (void)state;
    struct world *world = opened();
    world_sign_prepare(world, "t-1", "j-1");
    world_reader(world, VALVE3, "t-2", true);
    assert_false(world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
    assert_refusals(world, MODEL_CODE_TAG_HUNG);
    world_free(world);
}

static void a_failed_test_leaves_the_position_untested(void **state) {
    (void)state;
    struct world *world = begun();
    assert_accepted(world, world_test(world, "t-1", "j-1", "leak", false));
    assert_int_equal(world_site(world)->positions[P3A].untested_count, 1);
    assert_accepted(world, world_ask(world, (struct gate_request){.verb = GATE_VERB_REWORK,
                                                                  .person = "t-1",
                                                                  .job = "j-1",
                                                                  .reason = "it drips"}));
    assert_accepted(world, world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"));
    // The repair that follows has its tests to pass.
    assert_non_null(world_site(world)->positions[P3A].owed);
    assert_int_equal(world_cause(world, P3A), MODEL_CAUSE_UNTESTED);
    world_free(world);
}

static void made_good_it_is_returned(void **state) {
    (void)state;
    struct world *world = begun();
    assert_accepted(world, world_test(world, "t-1", "j-1", "leak", false));
    assert_accepted(world, world_test(world, "t-1", "j-1", "leak", true)); // with a note
    assert_accepted(world, world_test(world, "t-1", "j-1", "continuity", true));
    assert_accepted(world, world_sign(world, "t-1", "j-1", "barricade-removed"));
    assert_accepted(world, world_verb(world, GATE_VERB_RETURN_POSITION, "t-1", "j-1"));
    assert_int_equal(world_site(world)->positions[P3A].untested_count, 0);
    assert_null(world_site(world)->positions[P3A].owed);
    world_free(world);
}

// Stopped while testing it is in restoring, and begins from there.
static void stopped_it_begins_again(void **state) {
    (void)state;
    struct world *world = begun();
    assert_accepted(world, world_ask(world, (struct gate_request){.verb = GATE_VERB_STOP_WORK,
                                                                  .person = "v-1",
                                                                  .job = "j-1",
                                                                  .reason = "a car"}));
    assert_int_equal(world_job(world, "j-1")->phase, MODEL_PHASE_RESTORING);
    world_acknowledge(world);
    world_sign_prepare(world, "t-1", "j-1");
    assert_accepted(world, world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
    world_free(world);
}

static void what_is_next_leads_to_the_end(void **state) {
    (void)state;
    struct world *world = opened();
    assert_int_equal(world_step(world, "t-1", "j-1").choice.verb, GATE_VERB_SIGN_CHECK);
    world_sign_prepare(world, "t-1", "j-1");
    struct gate_step step = world_step(world, "t-1", "j-1");
    assert_true(step.mine && step.choice.verb == GATE_VERB_BEGIN_TEST);
    assert_true(world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
    assert_int_equal(world_step(world, "t-1", "j-1").choice.verb, GATE_VERB_RECORD_TEST);
    world_free(world);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(it_goes_from_open_to_testing_to_returned),
        cmocka_unit_test(what_is_owed_is_tested_under_power_by_an_inspection_too),
        cmocka_unit_test(nothing_is_worked_on),
        cmocka_unit_test(its_tests_wait_for_what_is_prepared),
        cmocka_unit_test(who_leads_it_holds_the_credentials),
        cmocka_unit_test(nobody_leads_it_is_what_it_lacks),
        cmocka_unit_test(a_lock_in_the_cabinet_shuts_it_out),
        cmocka_unit_test(a_failed_test_leaves_the_position_untested),
        cmocka_unit_test(made_good_it_is_returned),
        cmocka_unit_test(stopped_it_begins_again),
        cmocka_unit_test(what_is_next_leads_to_the_end),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
