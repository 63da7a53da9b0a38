// Signatures: who signs what, when, with which reading and which instrument.
#include "world.h"

static bool sign_with(struct world *world, const char *check, double value, const char *unit,
                      const char *instrument) {
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_SIGN_CHECK,
                                                  .person = "t-1",
                                                  .job = "j-1",
                                                  .check = check,
                                                  .has_value = true,
                                                  .value = value,
                                                  .unit = unit,
                                                  .instrument = instrument});
}

static bool torque(struct world *world, double value, const char *instrument) {
    return sign_with(world, "spout-nut", value, "N.m", instrument);
}

WORLD_TEST(prepare_is_signed_in_every_phase) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_sign(world, "t-1", "j-1", "barricade"));
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"));
    assert_refused(world, world_sign(world, "t-1", "j-1", "barricade"), MODEL_CODE_WRONG_PHASE);
    world_to_testing(world, "j-2");
    assert_true(world_sign(world, "t-1", "j-2", "barricade"));
}

WORLD_TEST(relieve_and_verify_once_isolated_settled_and_tagged) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_sign_prepare(world, "t-1", "j-1");
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    world_hear_all(world, MODEL_POINT_ISOLATED);
    world_tag_all(world, "t-1", "j-1");
    assert_refused(world, world_sign_value(world, "t-1", "j-1", "drained", 2, "L"),
                   MODEL_CODE_CHECK_OUT_OF_SEASON); // not settled
    world_pass_heard(world, WORLD_SETTLE_MS);
    assert_accepted(world, world_sign_value(world, "t-1", "j-1", "drained", 2, "L"));
    assert_true(world_lift(world, "t-1", "j-1", LINE3A));
    assert_refused(world, world_sign(world, "t-1", "j-1", "no-flow"),
                   MODEL_CODE_CHECK_OUT_OF_SEASON); // a lock is lacking
}

WORLD_TEST(relieve_and_verify_once_every_prepare_check_holds) {
    world_open_at(world, "j-1", "3A", "spout", "t-1");
    assert_true(world_sign(world, "t-1", "j-1", "barricade"));
    world_isolate(world);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    world_tag_all(world, "t-1", "j-1");
    assert_refused(world, world_sign_value(world, "t-1", "j-1", "drained", 2, "L"),
                   MODEL_CODE_CHECK_OUT_OF_SEASON);
    assert_int_equal(world->answer.refusals[0].sentence, GATE_SAY_WINDOW_PREPARE);
    assert_string_equal(world->answer.refusals[0].subject, "drained");
    assert_true(world_sign(world, "m-1", "j-1", "site-told"));
    assert_accepted(world, world_sign_value(world, "t-1", "j-1", "drained", 2, "L"));
    world_pass_heard(world, 28800000 - 1000); // of what was signed first
    assert_refused(world, world_sign(world, "t-1", "j-1", "no-flow"),
                   MODEL_CODE_CHECK_OUT_OF_SEASON);
    assert_int_equal(world->answer.refusal_count, 1);
}

// The time that went by is reckoned before the answer.
WORLD_TEST(a_signature_is_judged_by_the_hold_as_it_is_now) {
    world_to_tagged(world, "j-1");
    world->now.mono += WORLD_MAX_AGE_MS + 1;
    world->now.wall += WORLD_MAX_AGE_MS + 1;
    assert_refused(world, world_sign(world, "t-1", "j-1", "no-flow"),
                   MODEL_CODE_CHECK_OUT_OF_SEASON);
}

WORLD_TEST(in_the_cabinet_only_a_protected_person_signs) {
    world_to_tagged(world, "j-1");
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_true(world_tag(world, "t-2", "j-1", POWER3));
    assert_true(world_tag(world, "t-2", "j-1", VALVE3));
    assert_refused(world, world_sign_value(world, "t-2", "j-1", "drained", 2, "L"),
                   MODEL_CODE_CHECK_OUT_OF_SEASON);
    assert_true(world_tag(world, "t-2", "j-1", LINE3A));
    assert_accepted(world, world_sign_value(world, "t-2", "j-1", "drained", 2, "L"));
    assert_refused(world, world_sign(world, "m-1", "j-1", "no-flow"), MODEL_CODE_NOT_ALLOWED,
                   MODEL_CODE_CHECK_OUT_OF_SEASON);
}

WORLD_TEST(work_while_working_under_a_confirmed_lockout_by_a_protected_person) {
    world_to_confirmed(world, "j-1");
    assert_refused(world, torque(world, 46, "tw-3"), MODEL_CODE_CHECK_OUT_OF_SEASON);
    assert_true(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    assert_accepted(world, torque(world, 46, "tw-3"));
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_refused(world, world_sign_value(world, "t-2", "j-1", "spout-nut", 46, "N.m"),
                   MODEL_CODE_CHECK_OUT_OF_SEASON);
    assert_true(world_pause(world, "t-1", "j-1"));
    assert_refused(world, torque(world, 46, "tw-3"), MODEL_CODE_CHECK_OUT_OF_SEASON);
}

WORLD_TEST(clear_and_leave_while_working_or_stopped) {
    world_to_confirmed(world, "j-1");
    assert_refused(world, world_sign(world, "t-1", "j-1", "tools-clear"),
                   MODEL_CODE_CHECK_OUT_OF_SEASON);
    assert_refused(world, world_sign(world, "t-1", "j-1", "made-safe"),
                   MODEL_CODE_CHECK_OUT_OF_SEASON);
    assert_true(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    assert_accepted(world, world_sign(world, "t-1", "j-1", "tools-clear"));
    assert_true(world_pause(world, "t-1", "j-1"));
    assert_accepted(world, world_sign(world, "t-1", "j-1", "made-safe"));
    assert_accepted(world, world_sign(world, "t-1", "j-1", "people-clear"));
}

WORLD_TEST(finish_while_testing_alone) {
    world_to_restoring(world, "j-1");
    assert_refused(world, world_sign(world, "t-1", "j-1", "barricade-removed"),
                   MODEL_CODE_CHECK_OUT_OF_SEASON);
    assert_refused(world, world_sign(world, "t-1", "j-1", "tools-clear"),
                   MODEL_CODE_CHECK_OUT_OF_SEASON);
    world_lift_all(world, "t-1", "j-1");
    assert_true(world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
    assert_accepted(world, world_sign(world, "t-1", "j-1", "barricade-removed"));
}

WORLD_TEST(the_crew_signs_or_only_the_checks_role) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_refused(world, world_sign(world, "t-1", "j-1", "site-told"), MODEL_CODE_NOT_ALLOWED);
    assert_accepted(world, world_sign(world, "m-1", "j-1", "site-told"));
    assert_refused(world, world_sign(world, "t-2", "j-1", "barricade"), MODEL_CODE_NOT_IN_CREW);
    assert_refused(world, world_sign(world, "m-1", "j-1", "barricade"), MODEL_CODE_NOT_ALLOWED);
    assert_refused(world, world_sign(world, "t-1", "j-1", "no-such"), MODEL_CODE_UNKNOWN_CHECK);
}

// A manager measures while the leader is protected: the manager needs no lock.
static void a_role_signs_while_the_leader_is_protected(void **state) {
    (void)state;
    struct world_copy copy;
    world_copy(&copy);
    copy.checks[1][3].by = MODEL_ROLE_MANAGER; // no-flow
    struct world *world = world_new_of(&copy.model);
    world_to_tagged(world, "j-1");
    assert_accepted(world, world_sign(world, "m-1", "j-1", "no-flow"));
    assert_true(world_lift(world, "t-1", "j-1", LINE3A));
    assert_refused(world, world_sign(world, "m-1", "j-1", "no-flow"),
                   MODEL_CODE_CHECK_OUT_OF_SEASON);
    world_free(world);
}

WORLD_TEST(a_reading_has_the_checks_unit) {
    world_to_tagged(world, "j-1");
    assert_refused(world, world_sign(world, "t-1", "j-1", "no-voltage"), MODEL_CODE_MALFORMED);
    assert_refused(world, sign_with(world, "no-voltage", 0, "mV", NULL), MODEL_CODE_MALFORMED);
    assert_refused(world, sign_with(world, "no-voltage", 0, NULL, NULL), MODEL_CODE_MALFORMED);
    assert_refused(world, sign_with(world, "no-flow", 0, "L", NULL), MODEL_CODE_MALFORMED);
    assert_accepted(world, sign_with(world, "no-voltage", 0, "V", NULL));
}

static bool passed(struct world *world, const char *check) {
    return gate_signature_of(world_job(world, "j-1"), check)->pass;
}

WORLD_TEST(outside_its_limits_it_is_recorded_as_failed) {
    world_to_working(world, "j-1");
    assert_accepted(world, torque(world, 43.79, "tw-3"));
    assert_false(passed(world, "spout-nut"));
    assert_accepted(world, torque(world, 48.41, "tw-3"));
    assert_false(passed(world, "spout-nut"));
    assert_accepted(world, torque(world, 43.8, "tw-3"));
    assert_true(passed(world, "spout-nut"));
    assert_accepted(world, torque(world, 48.4, "tw-3"));
    assert_true(passed(world, "spout-nut"));
    assert_job(world, "j-1", WORKING, CONFIRMED); // a failed torque breaks no lockout
}

static void a_reading_is_given_in_the_twin_of_the_checks_unit(void **state) {
    static struct world_copy copy;
    (void)state;
    world_copy(&copy);
    struct world *world = world_new_of(&copy.model);
    world_to_working(world, "j-1");
    assert_refused(world, sign_with(world, "spout-nut", 34, "ft.lbf", "tw-3"),
                   MODEL_CODE_MALFORMED);
    world_free(world);
    model_check_named(&copy.procedures[1], "spout-nut")->twin = true;
    world = world_new_of(&copy.model);
    world_to_working(world, "j-1");
    assert_accepted(world, sign_with(world, "spout-nut", 34, "ft.lbf", "tw-3"));
    const struct gate_signature *signed_ = gate_signature_of(world_job(world, "j-1"), "spout-nut");
    assert_true(signed_->pass);
    assert_float_equal(signed_->value, 46.0978, 0.0001);
    assert_string_equal(signed_->unit, "N.m");
    assert_true(signed_->has_reading && signed_->reading == 34);
    assert_string_equal(signed_->reading_unit, "ft.lbf");
    assert_refused(world, sign_with(world, "spout-nut", 408, "in.lbf", "tw-3"),
                   MODEL_CODE_MALFORMED);
    assert_accepted(world, torque(world, 46, "tw-3"));
    assert_false(gate_signature_of(world_job(world, "j-1"), "spout-nut")->has_reading);
    world_free(world);
}

// An adapter of 3 in on a wrench of 12 in: 34 on the wrench is 42.5 at the nut.
static struct world *with_adapter_to(double wrench_in, double min, double max) {
    static struct world_copy copy;
    static struct model_instrument wrench;
    world_copy(&copy);
    struct model_check *nut = model_check_named(&copy.procedures[1], "spout-nut");
    nut->torque_applied = nut->twin = true;
    nut->unit = "ft.lbf";
    nut->limits = (struct model_limits){.has_min = true, .has_max = true, .min = min, .max = max};
    wrench = *model_instrument_find(&copy.model, "tw-3");
    wrench.wrench_in = wrench_in;
    wrench.adapter_in = 3;
    copy.model.instruments = &wrench;
    copy.model.instrument_count = 1;
    struct world *world = world_new_of(&copy.model);
    world_to_working(world, "j-1");
    return world;
}

static struct world *with_adapter(double wrench_in) {
    return with_adapter_to(wrench_in, 32, 36);
}

static void an_adapter_counts(void **state) {
    (void)state;
    struct world *world = with_adapter(12);
    assert_accepted(world, sign_with(world, "spout-nut", 34, "ft.lbf", "tw-3"));
    assert_false(passed(world, "spout-nut"));
    assert_true(world->answer.has_signed && world->answer.signed_.value == 42.5);
    assert_true(world->answer.signed_.has_reading && world->answer.signed_.reading == 34);
    assert_accepted(world, sign_with(world, "spout-nut", 27.2, "ft.lbf", "tw-3"));
    assert_true(passed(world, "spout-nut"));
    assert_accepted(world, sign_with(world, "spout-nut", 36.9, "N.m", "tw-3"));
    assert_true(passed(world, "spout-nut"));
    world_free(world);
}

// On a wrench of 10 in, 13 to the nut, each from 30 to 40 equals its limit at the nut, though for
// some the binary arithmetic falls short of it.
static void what_is_computed_meets_its_limit(void **state) {
    (void)state;
    for (int tenths = 300; tenths <= 400; tenths++) {
        struct world *world = with_adapter_to(10, tenths * 13 / 100.0, tenths * 13 / 100.0);
        assert_accepted(world, sign_with(world, "spout-nut", tenths / 10.0, "ft.lbf", "tw-3"));
        assert_true(passed(world, "spout-nut"));
        assert_accepted(world,
                        sign_with(world, "spout-nut", tenths / 10.0 + 1e-6, "ft.lbf", "tw-3"));
        assert_false(passed(world, "spout-nut"));
        world_free(world);
    }
}

static void a_wrench_of_unknown_length_proves_nothing(void **state) {
    (void)state;
    struct world *world = with_adapter(0);
    assert_refused(world, sign_with(world, "spout-nut", 34, "ft.lbf", "tw-3"),
                   MODEL_CODE_INSTRUMENT_MISSING);
    world_free(world);
}

WORLD_TEST(the_instrument_is_known_of_the_kind_and_in_calibration) {
    world_to_working(world, "j-1");
    assert_refused(world, torque(world, 46, NULL), MODEL_CODE_INSTRUMENT_MISSING);
    assert_refused(world, torque(world, 46, "gauge-1"), MODEL_CODE_INSTRUMENT_MISSING);
    assert_refused(world, torque(world, 46, "tw-9"), MODEL_CODE_UNKNOWN_INSTRUMENT);
    assert_refused(world, torque(world, 46, "tw-old"), MODEL_CODE_INSTRUMENT_OVERDUE);
    assert_accepted(world, torque(world, 46, "tw-3"));
    assert_string_equal(gate_signature_of(world_job(world, "j-1"), "spout-nut")->instrument,
                        "tw-3");
}

WORLD_TEST(every_reason_against_a_signature_is_listed) {
    assert_true(world_open(world, "j-1", "3A", NULL));
    struct gate_request request = {.verb = GATE_VERB_SIGN_CHECK,
                                   .person = "t-2",
                                   .job = "j-1",
                                   .check = "spout-nut",
                                   .instrument = "tw-old"};
    assert_refused(world, world_ask(world, request), MODEL_CODE_MALFORMED); // alone
    request.has_value = true;
    request.value = 46;
    request.unit = "N.m";
    assert_refused(world, world_ask(world, request), MODEL_CODE_NOT_IN_CREW,
                   MODEL_CODE_CHECK_OUT_OF_SEASON, MODEL_CODE_INSTRUMENT_OVERDUE);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(prepare_is_signed_in_every_phase),
        cmocka_unit_test(relieve_and_verify_once_isolated_settled_and_tagged),
        cmocka_unit_test(relieve_and_verify_once_every_prepare_check_holds),
        cmocka_unit_test(a_signature_is_judged_by_the_hold_as_it_is_now),
        cmocka_unit_test(in_the_cabinet_only_a_protected_person_signs),
        cmocka_unit_test(work_while_working_under_a_confirmed_lockout_by_a_protected_person),
        cmocka_unit_test(clear_and_leave_while_working_or_stopped),
        cmocka_unit_test(finish_while_testing_alone),
        cmocka_unit_test(the_crew_signs_or_only_the_checks_role),
        cmocka_unit_test(a_role_signs_while_the_leader_is_protected),
        cmocka_unit_test(a_reading_has_the_checks_unit),
        cmocka_unit_test(a_reading_is_given_in_the_twin_of_the_checks_unit),
        cmocka_unit_test(an_adapter_counts),
        cmocka_unit_test(what_is_computed_meets_its_limit),
        cmocka_unit_test(a_wrench_of_unknown_length_proves_nothing),
        cmocka_unit_test(outside_its_limits_it_is_recorded_as_failed),
        cmocka_unit_test(the_instrument_is_known_of_the_kind_and_in_calibration),
        cmocka_unit_test(every_reason_against_a_signature_is_listed),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
