// Tests that a cancelled job leaves owed, and who pays them.
#include <stdlib.h>
#include <string.h>

#include "world.h"

// Work was started, then set aside and cancelled.
static void leave_undone(struct world *world, const char *job, const char *position,
                         const char *procedure, const char *leader) {
    world_work_at(world, job, position, procedure, leader);
    world_sign_clear(world, leader, job);
    assert_true(world_sign(world, leader, job, "made-safe"));
    assert_true(world_verb(world, GATE_VERB_SET_ASIDE, leader, job));
    world_lift_all(world, leader, job);
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", job));
}

// As far as the return of the job, whose own tests have passed.
static void up_to_return(struct world *world, const char *job, const char *position,
                         const char *procedure, const char *leader) {
    world_work_at(world, job, position, procedure, leader);
    world_finish(world, job, leader);
    world_lift_all(world, leader, job);
    world_live_at(world, position, leader, job);
    assert_true(world_verb(world, GATE_VERB_BEGIN_TEST, leader, job));
    assert_true(world_test(world, leader, job, "leak", true));
    assert_true(world_test(world, leader, job, "continuity", true));
    assert_true(world_sign(world, leader, job, "barricade-removed"));
}

static bool owes(struct world *world, enum world_position position) {
    return world_site(world)->positions[position].owed != NULL;
}

// spout has a test `seal` that cabinet lacks, and another rule under `leak`.
static void differing(struct world_copy *copy) {
    world_copy(copy);
    memcpy(copy->tests[1][1].test, "seal", 5);
    copy->tests[1][0].rule = "pressure-decay";
}

static void the_next_jobs_return_asks_for_them_too(void **state) {
    (void)state;
    struct world_copy copy;
    differing(&copy);
    struct world *world = world_new_of(&copy.model);
    leave_undone(world, "j-1", "3A", "spout", "t-1");
    assert_true(owes(world, P3A));
    assert_string_equal(world_site(world)->positions[P3A].owed_by, "j-1");
    up_to_return(world, "j-2", "3A", "cabinet", "t-2");
    assert_refused(world, world_verb(world, GATE_VERB_RETURN_POSITION, "t-2", "j-2"),
                   MODEL_CODE_TEST_MISSING);
    assert_true(world_refused(world, MODEL_CODE_TEST_MISSING, "seal"));
    assert_true(world_refused(world, MODEL_CODE_TEST_MISSING, "spout.leak"));
    assert_int_equal(world->answer.refusal_count, 2);
    assert_true(world_test(world, "t-2", "j-2", "seal", true));
    assert_true(world_test(world, "t-2", "j-2", "spout.leak", true));
    assert_true(world_sign(world, "t-2", "j-2", "barricade-removed"));
    assert_accepted(world, world_verb(world, GATE_VERB_RETURN_POSITION, "t-2", "j-2"));
    assert_false(owes(world, P3A));
    world_free(world);
}

static void under_one_id_the_stricter_limit_counts(void **state) {
    (void)state;
    struct world_copy copy;
    world_copy(&copy);
    copy.tests[1][1].limits.max = 500;
    struct world *world = world_new_of(&copy.model);
    leave_undone(world, "j-1", "3A", "spout", "t-1");
    world_open_at(world, "j-2", "3A", "cabinet", "t-2");
    const struct model_test *test = NULL;
    struct model_requirements *tests =
        gate_test_definition(world->gate, 0, "j-2", "continuity", &test);
    assert_non_null(test);
    assert_true(test->limits.max == 500);
    free(tests);
    tests = gate_test_definition(world->gate, 0, "j-2", "creep", &test);
    assert_null(test);
    free(tests);
    assert_null(gate_test_definition(world->gate, 0, "j-1", "leak", &test));
    world_free(world);
}

WORLD_TEST(a_job_cancelled_before_work_owes_nothing) {
    world_to_confirmed(world, "j-1");
    world_lift_all(world, "t-1", "j-1");
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"));
    assert_false(owes(world, P3A));
}

WORLD_TEST(a_cabinet_job_leaves_every_side_owing) {
    leave_undone(world, "j-2", "3B", "cabinet", "t-2");
    assert_true(owes(world, P3A));
    assert_true(owes(world, P3B));
    assert_false(owes(world, P4A));
    up_to_return(world, "j-3", "3B", "spout", "t-2");
    assert_true(world_verb(world, GATE_VERB_RETURN_POSITION, "t-2", "j-3"));
    assert_false(owes(world, P3B));
    assert_true(owes(world, P3A));
    assert_int_equal(world_cause(world, P3A), MODEL_CAUSE_UNTESTED);
}

WORLD_TEST(a_cabinet_jobs_return_pays_for_every_side) {
    leave_undone(world, "j-2", "3B", "cabinet", "t-2");
    up_to_return(world, "j-3", "3B", "cabinet", "t-2");
    assert_true(world_verb(world, GATE_VERB_RETURN_POSITION, "t-2", "j-3"));
    assert_false(owes(world, P3A));
    assert_int_equal(world_site(world)->positions[P3A].service, MODEL_SERVICE_IN);
}

// 3A returns in the middle of a cabinet job on 3B, which is cancelled only then: 3A is untested
// still, for the work of 3B was not ended by a return.
WORLD_TEST(a_return_does_not_end_the_work_of_a_cabinet_job_that_stands) {
    world_work_at(world, "j-2", "3B", "cabinet", "t-2");
    world_sign_clear(world, "t-2", "j-2");
    assert_true(world_sign(world, "t-2", "j-2", "made-safe"));
    assert_true(world_verb(world, GATE_VERB_SET_ASIDE, "t-2", "j-2"));
    world_lift_all(world, "t-2", "j-2");
    up_to_return(world, "j-1", "3A", "spout", "t-1");
    assert_true(world_verb(world, GATE_VERB_RETURN_POSITION, "t-1", "j-1"));
    assert_int_equal(world_site(world)->positions[P3A].untested_count, 1);
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-2"));
    assert_true(owes(world, P3A));
    assert_int_equal(world_cause(world, P3A), MODEL_CAUSE_UNTESTED);
}

static void two_cancelled_jobs_owe_both(void **state) {
    (void)state;
    struct world_copy copy;
    differing(&copy);
    struct world *world = world_new_of(&copy.model);
    leave_undone(world, "j-1", "3A", "spout", "t-1");
    leave_undone(world, "j-2", "3A", "cabinet", "t-1");
    const struct gate_position *position = &world_site(world)->positions[P3A];
    assert_int_equal(position->owed->test_count, 4); // leak, seal, continuity, cabinet.leak
    world_free(world);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(the_next_jobs_return_asks_for_them_too),
        cmocka_unit_test(under_one_id_the_stricter_limit_counts),
        cmocka_unit_test(a_job_cancelled_before_work_owes_nothing),
        cmocka_unit_test(a_cabinet_job_leaves_every_side_owing),
        cmocka_unit_test(a_cabinet_jobs_return_pays_for_every_side),
        cmocka_unit_test(a_return_does_not_end_the_work_of_a_cabinet_job_that_stands),
        cmocka_unit_test(two_cancelled_jobs_owe_both),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
