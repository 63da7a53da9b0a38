// The test gate, and what a test is recorded under.
#include "world.h"

static bool begin(struct world *world, const char *person, const char *job) {
    return world_verb(world, GATE_VERB_BEGIN_TEST, person, job);
}

WORLD_TEST(no_lock_of_the_job_hangs) {
    world_to_restoring(world, "j-1");
    assert_true(world_lift(world, "t-1", "j-1", POWER3));
    assert_true(world_lift(world, "t-1", "j-1", VALVE3));
    assert_refused(world, begin(world, "t-1", "j-1"), MODEL_CODE_TAG_HUNG);
    assert_true(world_refused(world, MODEL_CODE_TAG_HUNG, "3A-line"));
    assert_true(world_lift(world, "t-1", "j-1", LINE3A));
    assert_accepted(world, begin(world, "t-1", "j-1"));
    assert_job(world, "j-1", TESTING, UNCONFIRMED);
}

WORLD_TEST(no_lock_of_anybody_hangs_on_a_required_point) {
    world_to_restoring(world, "j-1");
    world_lift_all(world, "t-1", "j-1");
    world_reader(world, POWER3, "badge-77", true);
    assert_refused(world, begin(world, "t-1", "j-1"), MODEL_CODE_TAG_HUNG);
    world_reader(world, POWER3, "badge-77", false);
    world_reader(world, POWER4, "badge-77", true); // on another dispenser
    assert_accepted(world, begin(world, "t-1", "j-1"));
}

// A point that the job does not require, but that isolates the other side of the cabinet.
WORLD_TEST(no_lock_hangs_anywhere_on_the_cabinet) {
    world_work_at(world, "j-2", "3B", "spout", "t-2");
    world_finish(world, "j-2", "t-2");
    world_lift_all(world, "t-2", "j-2");
    world_reader(world, LINE3A, "t-3", true);
    assert_refused(world, begin(world, "t-2", "j-2"), MODEL_CODE_TAG_HUNG);
    world_reader(world, LINE3A, "t-3", false);
    assert_accepted(world, begin(world, "t-2", "j-2"));
}

WORLD_TEST(no_job_that_shares_is_working_or_stopped) {
    world_to_restoring(world, "j-1");
    world_work_at(world, "j-2", "3B", "spout", "t-2");
    world_lift_all(world, "t-1", "j-1");
    assert_refused(world, begin(world, "t-1", "j-1"), MODEL_CODE_TAG_HUNG,
                   MODEL_CODE_SHARED_LOCKED);
    assert_true(world_refused(world, MODEL_CODE_SHARED_LOCKED, "j-2"));
    assert_true(world_pause(world, "t-2", "j-2"));
    world_lift_all(world, "t-2", "j-2");
    assert_refused(world, begin(world, "t-1", "j-1"), MODEL_CODE_SHARED_LOCKED);
}

WORLD_TEST(a_job_that_shares_may_be_restoring_or_open) {
    world_to_restoring(world, "j-1");
    world_work_at(world, "j-2", "3B", "spout", "t-2");
    world_finish(world, "j-2", "t-2");
    world_lift_all(world, "t-1", "j-1");
    world_lift_all(world, "t-2", "j-2");
    assert_accepted(world, begin(world, "t-1", "j-1"));
    assert_accepted(world, begin(world, "t-2", "j-2"));
}

WORLD_TEST(test_asks_for_link_journal_and_site) {
    world_to_restoring(world, "j-1");
    world_lift_all(world, "t-1", "j-1");
    gate_link(world->gate, GATE_LIVE, false, world->now);
    assert_refused(world, begin(world, "t-1", "j-1"), MODEL_CODE_LINK_DOWN);
    gate_link(world->gate, GATE_LIVE, true, world->now);
    gate_journal(world->gate, false, world->now);
    assert_refused(world, begin(world, "t-1", "j-1"), MODEL_CODE_JOURNAL_DOWN);
    gate_journal(world->gate, true, world->now);
    gate_contested(world->gate, 0, true, world->now);
    assert_refused(world, begin(world, "t-1", "j-1"), MODEL_CODE_SITE_CONTESTED);
    gate_contested(world->gate, 0, false, world->now);
    assert_accepted(world, begin(world, "t-1", "j-1"));
}

WORLD_TEST(begin_is_the_leaders_and_of_restoring) {
    world_to_working(world, "j-1");
    assert_refused(world, begin(world, "t-1", "j-1"), MODEL_CODE_WRONG_PHASE, MODEL_CODE_TAG_HUNG);
    world_finish(world, "j-1", "t-1");
    world_lift_all(world, "t-1", "j-1");
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    world_forget(world);
    assert_refused(world, begin(world, "t-2", "j-1"), MODEL_CODE_NOT_ASSIGNED);
    assert_true(world_told(world, GATE_FACT_TEST_REFUSED));
    assert_accepted(world, begin(world, "t-1", "j-1"));
    assert_refused(world, begin(world, "t-1", "j-1"), MODEL_CODE_WRONG_PHASE);
}

// --- Recording ---

static bool record(struct world *world, const char *person, const char *test) {
    return world_test(world, person, "j-1", test, true);
}

WORLD_TEST(a_test_under_power_needs_every_required_point_live) {
    world_to_testing(world, "j-1");
    world_hear(world, S_VALVE3A, MODEL_POINT_ISOLATED);
    assert_refused(world, record(world, "t-1", "leak"), MODEL_CODE_POINT_NOT_RESTORED);
    assert_accepted(world, record(world, "t-1", "continuity"));
    world_hear(world, S_VALVE3A, MODEL_POINT_LIVE);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    assert_true(world_witness(world, "v-1", NULL, MODEL_POINT_LIVE));
    assert_refused(world, record(world, "t-1", "leak"), MODEL_CODE_POINT_NOT_RESTORED);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_LIVE));
    assert_accepted(world, record(world, "t-1", "leak"));
    assert_true(world->answer.has_result);
    assert_true(world->answer.result.pass);
}

WORLD_TEST(a_test_is_recorded_while_testing_by_the_leader) {
    world_to_restoring(world, "j-1");
    assert_refused(world, record(world, "t-1", "continuity"), MODEL_CODE_WRONG_PHASE);
    world_lift_all(world, "t-1", "j-1");
    assert_true(begin(world, "t-1", "j-1"));
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_refused(world, record(world, "t-2", "continuity"), MODEL_CODE_NOT_ASSIGNED);
    assert_refused(world, record(world, "t-1", "creep"), MODEL_CODE_UNKNOWN_TEST);
    assert_refused(world,
                   world_ask(world, (struct gate_request){.verb = GATE_VERB_RECORD_TEST,
                                                          .person = "t-1",
                                                          .job = "j-1",
                                                          .test = "continuity"}),
                   MODEL_CODE_MALFORMED);
    assert_accepted(world, record(world, "t-1", "continuity"));
}

static void a_test_names_an_instrument_of_its_kind(void **state) {
    (void)state;
    struct world_copy copy;
    world_copy(&copy);
    copy.tests[1][1].instrument = "gauge";
    struct world *world = world_new_of(&copy.model);
    world_to_testing(world, "j-1");
    assert_refused(world, record(world, "t-1", "continuity"), MODEL_CODE_INSTRUMENT_MISSING);
    struct model_result result = {.has_pass = true, .pass = true};
    assert_accepted(world, world_ask(world, (struct gate_request){.verb = GATE_VERB_RECORD_TEST,
                                                                  .person = "t-1",
                                                                  .job = "j-1",
                                                                  .test = "continuity",
                                                                  .instrument = "gauge-1",
                                                                  .result = &result}));
    world_free(world);
}

WORLD_TEST(a_result_without_a_verdict_is_no_pass) {
    world_to_testing(world, "j-1");
    struct model_result result = {.has_value = true, .value = 3, .pass = true};
    assert_true(world_ask(world, (struct gate_request){.verb = GATE_VERB_RECORD_TEST,
                                                       .person = "t-1",
                                                       .job = "j-1",
                                                       .test = "leak",
                                                       .result = &result}));
    assert_false(gate_test_of(world_job(world, "j-1"), "leak")->pass);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(no_lock_of_the_job_hangs),
        cmocka_unit_test(no_lock_of_anybody_hangs_on_a_required_point),
        cmocka_unit_test(no_lock_hangs_anywhere_on_the_cabinet),
        cmocka_unit_test(no_job_that_shares_is_working_or_stopped),
        cmocka_unit_test(a_job_that_shares_may_be_restoring_or_open),
        cmocka_unit_test(test_asks_for_link_journal_and_site),
        cmocka_unit_test(begin_is_the_leaders_and_of_restoring),
        cmocka_unit_test(a_test_under_power_needs_every_required_point_live),
        cmocka_unit_test(a_test_is_recorded_while_testing_by_the_leader),
        cmocka_unit_test(a_test_names_an_instrument_of_its_kind),
        cmocka_unit_test(a_result_without_a_verdict_is_no_pass),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
