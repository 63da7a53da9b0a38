// In and out of service, and why.
#include <string.h>

#include "gate/find.h"
#include "world.h"

static bool in_service(struct world *world, enum world_position position) {
    return world_site(world)->positions[position].service == MODEL_SERVICE_IN;
}

static void all_live(struct world *world) {
    world_hear_all(world, MODEL_POINT_LIVE);
    world_hear(world, S_POWER4, MODEL_POINT_LIVE);
    world_hear(world, S_VALVE4, MODEL_POINT_LIVE);
}

WORLD_TEST(out_and_unknown_until_every_point_is_live) {
    assert_false(in_service(world, P4A));
    assert_int_equal(world_cause(world, P4A), MODEL_CAUSE_UNKNOWN);
    world_hear(world, S_POWER4, MODEL_POINT_LIVE);
    assert_false(in_service(world, P4A));
    world_hear(world, S_VALVE4, MODEL_POINT_LIVE);
    assert_true(in_service(world, P4A));
    assert_int_equal(world_cause(world, P4A), MODEL_CAUSE_NONE);
    assert_true(world_told(world, GATE_FACT_POSITION_RETURNED));
}

WORLD_TEST(a_disagreeing_point_is_not_live_enough) {
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    world_hear(world, S_VALVE3A, MODEL_POINT_LIVE);
    assert_false(in_service(world, P3B));
    world_hear(world, S_VALVE3B, MODEL_POINT_LIVE);
    assert_true(in_service(world, P3B));
}

WORLD_TEST(a_point_without_sensor_or_word_is_not_asked) {
    all_live(world);
    assert_true(in_service(world, P3A));
}

WORLD_TEST(a_standing_word_is_asked_and_must_be_proved) {
    assert_true(world_witness(world, "v-1", NULL, MODEL_POINT_LIVE));
    all_live(world);
    assert_false(in_service(world, P3A));
    assert_true(in_service(world, P3B));
    assert_true(world_witness(world, "m-1", NULL, MODEL_POINT_LIVE));
    assert_true(in_service(world, P3A));
}

WORLD_TEST(a_word_that_has_aged_is_not_asked) {
    assert_true(world_witness(world, "v-1", NULL, MODEL_POINT_LIVE));
    world_pass(world, WORLD_WITNESS_MS);
    all_live(world);
    assert_false(in_service(world, P3A));
    world_pass(world, 1);
    assert_true(in_service(world, P3A));
}

WORLD_TEST(silence_takes_no_position_out) {
    all_live(world);
    world_pass(world, WORLD_MAX_AGE_MS + 1);
    assert_true(in_service(world, P4A));
    world_restart(world, 60000);
    assert_true(in_service(world, P4A));
}

WORLD_TEST(an_isolated_point_takes_its_positions_out) {
    all_live(world);
    world_forget(world);
    world_hear(world, S_POWER3, MODEL_POINT_ISOLATED);
    assert_false(in_service(world, P3A));
    assert_false(in_service(world, P3B));
    assert_true(in_service(world, P4A));
    assert_int_equal(world_cause(world, P3A), MODEL_CAUSE_ISOLATED);
    assert_int_equal(world_fact(world, GATE_FACT_POSITION_OUT_OF_SERVICE)->cause,
                     MODEL_CAUSE_ISOLATED);
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_true(in_service(world, P3A));
}

WORLD_TEST(a_job_takes_its_position_out_alone) {
    all_live(world);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_false(in_service(world, P3A));
    assert_int_equal(world_cause(world, P3A), MODEL_CAUSE_JOB);
    assert_true(in_service(world, P3B));
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"));
    assert_true(in_service(world, P3A));
}

WORLD_TEST(a_tag_of_a_job_holds_the_other_side_out) {
    all_live(world);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_hear(world, S_POWER3, MODEL_POINT_ISOLATED);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    char with[MODEL_ID_SIZE];
    assert_int_equal(gate_position_cause(world->gate, world_site(world), P3B, with),
                     MODEL_CAUSE_ISOLATED_WITH);
    assert_string_equal(with, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_false(in_service(world, P3B)); // the tag hangs on, though it counts no more
    assert_true(world_lift(world, "t-1", "j-1", POWER3));
    assert_true(in_service(world, P3B));
}

WORLD_TEST(a_lock_of_nobodys_job_takes_its_positions_out) {
    all_live(world);
    world_reader(world, POWER4, "badge-77", true);
    assert_false(in_service(world, P4A));
    assert_int_equal(world_cause(world, P4A), MODEL_CAUSE_ISOLATED);
    assert_true(in_service(world, P3A));
    world_reader(world, POWER4, "badge-77", false);
    assert_true(in_service(world, P4A));
}

static bool is_beside(struct world *world, enum world_position position, const char *job) {
    char with[MODEL_ID_SIZE];
    enum model_cause cause = gate_position_cause(world->gate, world_site(world), position, with);
    return cause == MODEL_CAUSE_WORK_BESIDE && strcmp(with, job) == 0 &&
           !in_service(world, position);
}

WORLD_TEST(beside_a_job_of_the_dispenser_nobody_fuels) {
    world_to_restoring(world, "j-1");
    world_lift_all(world, "t-1", "j-1");
    all_live(world);
    assert_true(is_beside(world, P3B, "j-1"));
    assert_true(in_service(world, P4A));
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_LIVE));
    assert_true(world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
    assert_true(world_test(world, "t-1", "j-1", "leak", false));
    assert_true(is_beside(world, P3B, "j-1"));
    assert_true(world_verb(world, GATE_VERB_REWORK, "t-1", "j-1"));
    assert_true(in_service(world, P3B)); // open, and no tag of it hangs
}

WORLD_TEST(nor_beside_one_that_is_open_with_a_tag_hanging) {
    all_live(world);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(in_service(world, P3B));
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    assert_true(world_tag(world, "t-1", "j-1", LINE3A)); // isolates 3A alone
    assert_true(is_beside(world, P3B, "j-1"));
    assert_int_equal(world_cause(world, P3A), MODEL_CAUSE_JOB);
    assert_true(world_lift(world, "t-1", "j-1", LINE3A));
    assert_true(in_service(world, P3B));
}

static void a_procedure_that_takes_the_site(void **state) {
    (void)state;
    struct world_copy copy;
    world_copy(&copy);
    copy.procedures[0].takes_site = true;
    struct world *world = world_new_of(&copy.model);
    all_live(world);
    world_open_at(world, "j-2", "3B", "cabinet", "t-2");
    char with[MODEL_ID_SIZE];
    assert_int_equal(gate_position_cause(world->gate, world_site(world), P4A, with),
                     MODEL_CAUSE_ISOLATED_WITH);
    assert_string_equal(with, "j-2");
    assert_false(in_service(world, P4A));
    assert_true(world_open(world, "j-1", "4A", "t-1"));
    assert_true(gate_shares(world_site(world), world_job(world, "j-1"), world_job(world, "j-2")));
    assert_true(gate_shares(world_site(world), world_job(world, "j-2"), world_job(world, "j-1")));
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"));
    world_isolate_at(world, "3B");
    world_sign_prepare(world, "t-2", "j-2");
    world_tag_all(world, "t-2", "j-2");
    world_sign_hold(world, "t-2", "j-2");
    assert_accepted(world, world_verb(world, GATE_VERB_START_WORK, "t-2", "j-2"));
    assert_int_equal(world_site(world)->positions[P3A].untested_count, 1);
    assert_int_equal(world_site(world)->positions[P4A].untested_count,
                     0); // its own dispenser alone
    world_free(world);
}

WORLD_TEST(a_procedure_that_takes_the_dispenser) {
    all_live(world);
    world_open_at(world, "j-2", "3B", "cabinet", "t-2");
    assert_int_equal(world_cause(world, P3B), MODEL_CAUSE_JOB);
    char with[MODEL_ID_SIZE];
    assert_int_equal(gate_position_cause(world->gate, world_site(world), P3A, with),
                     MODEL_CAUSE_ISOLATED_WITH);
    assert_string_equal(with, "j-2");
    assert_false(in_service(world, P3A));
    assert_true(in_service(world, P4A));
}

WORLD_TEST(started_and_not_returned_is_untested) {
    world_to_working(world, "j-1");
    world_sign_clear(world, "t-1", "j-1");
    assert_true(world_sign(world, "t-1", "j-1", "made-safe"));
    assert_true(world_verb(world, GATE_VERB_SET_ASIDE, "t-1", "j-1"));
    world_lift_all(world, "t-1", "j-1");
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"));
    all_live(world);
    assert_true(world_witness(world, "m-1", NULL, MODEL_POINT_LIVE));
    assert_false(in_service(world, P3A));
    assert_int_equal(world_cause(world, P3A), MODEL_CAUSE_UNTESTED);
    assert_true(in_service(world, P3B));
}

WORLD_TEST(a_job_never_started_leaves_nothing_untested) {
    world_to_confirmed(world, "j-1");
    world_lift_all(world, "t-1", "j-1");
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"));
    all_live(world);
    assert_true(world_witness(world, "m-1", NULL, MODEL_POINT_LIVE));
    assert_true(in_service(world, P3A));
}

WORLD_TEST(no_position_comes_back_without_link_journal_or_on_a_contested_site) {
    gate_link(world->gate, GATE_LIVE, false, world->now);
    all_live(world);
    assert_false(in_service(world, P4A));
    gate_contested(world->gate, 0, true, world->now);
    gate_link(world->gate, GATE_LIVE, true, world->now);
    assert_false(in_service(world, P4A));
    gate_journal(world->gate, false, world->now);
    gate_contested(world->gate, 0, false, world->now);
    assert_false(in_service(world, P4A));
    gate_journal(world->gate, true, world->now);
    assert_true(in_service(world, P4A));
}

WORLD_TEST(the_cabinet_comes_back_with_the_return_of_its_job) {
    world_work_at(world, "j-2", "3B", "cabinet", "t-2");
    world_finish(world, "j-2", "t-2");
    assert_int_equal(world_site(world)->positions[P3A].untested_count, 1);
    world_return(world, "j-2", "t-2");
    assert_int_equal(world_site(world)->positions[P3A].untested_count, 0);
    assert_true(in_service(world, P3A));
    assert_true(in_service(world, P3B));
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(out_and_unknown_until_every_point_is_live),
        cmocka_unit_test(a_disagreeing_point_is_not_live_enough),
        cmocka_unit_test(a_point_without_sensor_or_word_is_not_asked),
        cmocka_unit_test(a_standing_word_is_asked_and_must_be_proved),
        cmocka_unit_test(a_word_that_has_aged_is_not_asked),
        cmocka_unit_test(silence_takes_no_position_out),
        cmocka_unit_test(an_isolated_point_takes_its_positions_out),
        cmocka_unit_test(a_job_takes_its_position_out_alone),
        cmocka_unit_test(a_tag_of_a_job_holds_the_other_side_out),
        cmocka_unit_test(a_lock_of_nobodys_job_takes_its_positions_out),
        cmocka_unit_test(beside_a_job_of_the_dispenser_nobody_fuels),
        cmocka_unit_test(nor_beside_one_that_is_open_with_a_tag_hanging),
        cmocka_unit_test(a_procedure_that_takes_the_site),
        cmocka_unit_test(a_procedure_that_takes_the_dispenser),
        cmocka_unit_test(started_and_not_returned_is_untested),
        cmocka_unit_test(a_job_never_started_leaves_nothing_untested),
        cmocka_unit_test(no_position_comes_back_without_link_journal_or_on_a_contested_site),
        cmocka_unit_test(the_cabinet_comes_back_with_the_return_of_its_job),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
