// Jobs that share a cabinet or a point.
#include "gate/find.h"
#include "world.h"

static bool shares(struct world *world, const char *a, const char *b) {
    return gate_shares(world_site(world), world_job(world, a), world_job(world, b));
}

WORLD_TEST(two_sides_of_a_cabinet_share_and_two_cabinets_do_not) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_open(world, "j-2", "3B", "t-2"));
    assert_true(world_open(world, "j-4", "4A", "t-1"));
    assert_true(shares(world, "j-1", "j-2"));
    assert_true(shares(world, "j-2", "j-1"));
    assert_false(shares(world, "j-1", "j-4"));
}

// One line for two cabinets, required by the job on one of them alone.
static void a_required_point_of_the_others_position_shares(void **state) {
    (void)state;
    static uint32_t points_4a[] = {POWER4, VALVE4, LINE3A};
    static uint32_t on_both[] = {P3A, P4A};
    struct world_copy copy;
    world_copy(&copy);
    copy.points[LINE3A].isolates = on_both;
    copy.points[LINE3A].isolates_count = 2;
    copy.positions[P4A].points = points_4a;
    copy.positions[P4A].point_count = 3;
    struct world *world = world_new_of(&copy.model);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_open(world, "j-2", "3B", "t-2"));
    assert_true(world_open(world, "j-4", "4A", "t-2"));
    assert_true(shares(world, "j-1", "j-4"));
    assert_true(shares(world, "j-4", "j-1"));
    assert_false(shares(world, "j-2", "j-4"));
    world_free(world);
}

WORLD_TEST(no_start_while_a_job_that_shares_is_testing) {
    world_to_testing(world, "j-1");
    world_open_at(world, "j-2", "3B", "spout", "t-2");
    world_sign_prepare(world, "t-2", "j-2");
    world_isolate(world);
    world_tag_all(world, "t-2", "j-2");
    assert_refused(world, world_sign_value(world, "t-2", "j-2", "drained", 2, "L"),
                   MODEL_CODE_CHECK_OUT_OF_SEASON);
    assert_refused(world, world_sign(world, "t-2", "j-2", "no-flow"),
                   MODEL_CODE_CHECK_OUT_OF_SEASON);
    assert_int_equal(world->answer.refusals[0].sentence, GATE_SAY_WINDOW_SHARED);
    assert_refused(world, world_verb(world, GATE_VERB_START_WORK, "t-2", "j-2"),
                   MODEL_CODE_CHECK_MISSING, MODEL_CODE_SHARED_TESTING);
    assert_true(world_refused(world, MODEL_CODE_SHARED_TESTING, "j-1"));
    assert_true(world_pause(world, "t-1", "j-1"));
    world_sign_hold(world, "t-2", "j-2");
    assert_accepted(world, world_verb(world, GATE_VERB_START_WORK, "t-2", "j-2"));
}

WORLD_TEST(another_cabinet_under_test_does_not_matter) {
    world_work_at(world, "j-4", "4A", "spout", "t-2");
    world_finish(world, "j-4", "t-2");
    world_lift_all(world, "t-2", "j-4");
    assert_true(world_verb(world, GATE_VERB_BEGIN_TEST, "t-2", "j-4"));
    world_to_working(world, "j-1");
}

WORLD_TEST(two_jobs_work_on_one_cabinet_and_both_break) {
    world_to_working(world, "j-1");
    world_work_at(world, "j-2", "3B", "spout", "t-2");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_job(world, "j-2", STOPPED, BROKEN);
    assert_int_equal(world_times_told(world, GATE_FACT_LOCKOUT_BROKEN), 2);
}

WORLD_TEST(a_stop_of_one_leaves_the_other_working) {
    world_to_working(world, "j-1");
    world_work_at(world, "j-2", "3B", "spout", "t-2");
    assert_true(world_witness(world, "v-1", NULL, MODEL_POINT_LIVE)); // 3A alone
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_job(world, "j-2", WORKING, CONFIRMED);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(two_sides_of_a_cabinet_share_and_two_cabinets_do_not),
        cmocka_unit_test(a_required_point_of_the_others_position_shares),
        cmocka_unit_test(no_start_while_a_job_that_shares_is_testing),
        cmocka_unit_test(another_cabinet_under_test_does_not_matter),
        cmocka_unit_test(two_jobs_work_on_one_cabinet_and_both_break),
        cmocka_unit_test(a_stop_of_one_leaves_the_other_working),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
