// A prepare, relieve or verify check that fails is never refused for what else is wrong; what a
// signature is answered with.
#include <string.h>

#include "world.h"

static struct gate_request failing(const char *person, const char *check) {
    return (struct gate_request){.verb = GATE_VERB_SIGN_CHECK,
                                 .person = person,
                                 .job = "j-1",
                                 .check = check,
                                 .has_pass = true,
                                 .pass = false};
}

static bool fails(struct world *world, const char *person, const char *check) {
    return world_ask(world, failing(person, check));
}

static const struct gate_signature *signed_as(struct world *world, const char *check) {
    return gate_signature_of(world_job(world, "j-1"), check);
}

// Whether the newest signature was recorded with a refusal of this code.
static bool recorded_with(const struct world *world, enum model_code code) {
    for (size_t i = world->fact_count; i-- > 0;) {
        if (world->facts[i].type == GATE_FACT_CHECK_SIGNED) {
            return world->facts[i].codes[code];
        }
    }
    return false;
}

WORLD_TEST(out_of_season_without_lock_and_instrument_it_is_taken) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_accepted(world, fails(world, "t-1", "no-flow"));
    assert_false(signed_as(world, "no-flow")->pass);
    assert_accepted(world, world_sign_value(world, "t-1", "j-1", "no-voltage", 240, "V"));
    assert_true(signed_as(world, "no-voltage")->value == 240);
}

WORLD_TEST(a_manager_a_supervisor_or_any_technician_gives_it) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_accepted(world, fails(world, "m-1", "barricade"));
    assert_string_equal(signed_as(world, "barricade")->by, "m-1");
    assert_accepted(world, fails(world, "s-1", "site-told")); // a manager's check
    assert_accepted(world, fails(world, "t-2", "barricade")); // of no crew here
    assert_string_equal(signed_as(world, "barricade")->by, "t-2");
    assert_true(recorded_with(world, MODEL_CODE_NOT_IN_CREW));
    assert_refused(world, fails(world, "v-1", "barricade"), MODEL_CODE_NOT_ALLOWED);
}

WORLD_TEST(the_crew_gives_it_of_a_roles_check) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_accepted(world, fails(world, "t-1", "site-told"));
    assert_false(signed_as(world, "site-told")->pass);
}

static void its_role_gives_it(void **state) {
    (void)state;
    static struct world_copy copy;
    world_copy(&copy);
    model_check_named(&copy.procedures[1], "site-told")->by = MODEL_ROLE_VIEWER;
    struct world *world = world_new_of(&copy.model);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_accepted(world, fails(world, "v-1", "site-told"));
    world_free(world);
}

static bool reads(struct world *world, const char *answer) {
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_SIGN_CHECK,
                                                  .person = "t-1",
                                                  .job = "j-1",
                                                  .check = "barricade",
                                                  .note = answer});
}

// A world in which a check asks for the family on the nozzle's label.
static struct world *labeled(struct world_copy *copy) {
    struct model_check *check = model_check_named(&copy->procedures[1], "barricade");
    check->note = check->equals_family = true;
    return world_new_of(&copy->model);
}

static void a_label_is_of_the_nozzles_family(void **state) {
    (void)state;
    static struct world_copy copy;
    world_copy(&copy);
    struct world *world = labeled(&copy);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_refused(world, reads(world, NULL), MODEL_CODE_MALFORMED);
    assert_refused(world, reads(world, "  "), MODEL_CODE_MALFORMED);
    assert_accepted(world, reads(world, "k2"));
    assert_true(signed_as(world, "barricade")->pass);
    assert_accepted(world, reads(world, " K2 ")); // as it stands on a label
    assert_true(signed_as(world, "barricade")->pass);
    static const char *const others[] = {"k4", "k22", "k", "k2 k4"};
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
        assert_accepted(world, reads(world, others[i]));
        assert_false(signed_as(world, "barricade")->pass);
    }
    world_free(world);
}

static void where_no_family_is_known_no_label_is_right(void **state) {
    (void)state;
    static struct world_copy copy;
    world_copy(&copy);
    copy.procedures[1].match = false;
    copy.positions[0].nozzle_family = NULL;
    struct world *world = labeled(&copy);
    assert_true(world_open(world, "j-1", "3A", "t-1")); // with a kit of k2
    assert_accepted(world, reads(world, "k2"));
    assert_true(signed_as(world, "barricade")->pass);
    assert_accepted(world, reads(world, "k4"));
    assert_false(signed_as(world, "barricade")->pass);
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "m-1", "j-1"));
    assert_true(world_ask(world, (struct gate_request){.verb = GATE_VERB_OPEN_JOB,
                                                       .person = "m-1",
                                                       .job = "j-2",
                                                       .position = "3A",
                                                       .procedure = "spout",
                                                       .technician = "t-1"}));
    assert_accepted(world, world_ask(world, (struct gate_request){.verb = GATE_VERB_SIGN_CHECK,
                                                                  .person = "t-1",
                                                                  .job = "j-2",
                                                                  .check = "barricade",
                                                                  .note = "k2"}));
    assert_false(gate_signature_of(world_job(world, "j-2"), "barricade")->pass);
    world_free(world);
}

WORLD_TEST(what_else_was_wrong_is_recorded_with_it) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(fails(world, "s-1", "no-flow"));
    assert_true(recorded_with(world, MODEL_CODE_NOT_ALLOWED));
    assert_true(recorded_with(world, MODEL_CODE_CHECK_OUT_OF_SEASON));
    assert_false(recorded_with(world, MODEL_CODE_TOO_LATE));
    assert_int_equal(world->answer.refusal_count, 0);
    struct gate_request late = failing("t-1", "no-flow");
    late.waited = true;
    assert_true(world_ask(world, late));
    assert_true(recorded_with(world, MODEL_CODE_TOO_LATE));
}

WORLD_TEST(a_reading_outside_fails_without_a_unit_and_in_another_it_is_none) {
    world_to_working(world, "j-1");
    assert_refused(world, world_sign_value(world, "t-1", "j-1", "no-voltage", 0, NULL),
                   MODEL_CODE_MALFORMED);
    assert_refused(world, world_sign_value(world, "t-1", "j-1", "no-voltage", 240, "mV"),
                   MODEL_CODE_MALFORMED);
    assert_job(world, "j-1", WORKING, CONFIRMED);
    assert_accepted(world, world_sign_value(world, "t-1", "j-1", "no-voltage", 240, NULL));
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_string_equal(signed_as(world, "no-voltage")->unit, "V");
}

// " v " is volts to whoever found them, and 240 kV is no less than 240 V. What would pass is asked
// for again.
WORLD_TEST(a_reading_outside_fails_also_in_a_unit_misspelled) {
    world_to_working(world, "j-1");
    assert_refused(world, world_sign_value(world, "t-1", "j-1", "no-voltage", 0, "v"),
                   MODEL_CODE_MALFORMED);
    assert_refused(world, world_sign_value(world, "t-1", "j-1", "no-voltage", 0, "kV"),
                   MODEL_CODE_MALFORMED);
    assert_refused(world, world_sign_value(world, "t-1", "j-1", "no-voltage", 240, "Vx"),
                   MODEL_CODE_MALFORMED);
    assert_job(world, "j-1", WORKING, CONFIRMED);
    assert_accepted(world, world_sign_value(world, "t-1", "j-1", "no-voltage", 240, " v "));
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_true(signed_as(world, "no-voltage")->has_value);
    assert_string_equal(signed_as(world, "no-voltage")->unit, "V");
}

WORLD_TEST(a_reading_outside_fails_in_thousands_too) {
    world_to_working(world, "j-1");
    assert_accepted(world, world_sign_value(world, "t-1", "j-1", "no-voltage", 240, "kV"));
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_true(signed_as(world, "no-voltage")->value == 240000);
    assert_string_equal(signed_as(world, "no-voltage")->unit, "V");
}

WORLD_TEST(a_reading_outside_fails_in_any_unit_of_its_kind) {
    world_to_working(world, "j-1");
    assert_refused(world, world_sign_value(world, "t-1", "j-1", "no-voltage", 900, "mV"),
                   MODEL_CODE_MALFORMED); // it would pass, and a pass is asked for in V
    assert_accepted(world, world_sign_value(world, "t-1", "j-1", "no-voltage", -1100, "mV"));
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_true(signed_as(world, "no-voltage")->value == -1100 * 1e-3);
}

WORLD_TEST(in_an_unknown_unit_its_sign_alone_may_tell) {
    world_to_working(world, "j-1");
    assert_refused(world, world_sign_value(world, "t-1", "j-1", "drained", 3, "buckets"),
                   MODEL_CODE_MALFORMED);
    assert_refused(world, world_sign_value(world, "t-1", "j-1", "drained", 0, "buckets"),
                   MODEL_CODE_MALFORMED);
    assert_accepted(world, world_sign_value(world, "t-1", "j-1", "drained", -3, "buckets"));
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_false(signed_as(world, "drained")->has_value);
}

WORLD_TEST(of_two_readings_the_one_outside_is_heard) {
    world_to_working(world, "j-1");
    struct gate_request request = {.verb = GATE_VERB_SIGN_CHECK,
                                   .person = "t-1",
                                   .job = "j-1",
                                   .check = "no-voltage",
                                   .has_value = true,
                                   .value = 0.2,
                                   .has_other = true,
                                   .other = 240,
                                   .unit = "V"};
    assert_accepted(world, world_ask(world, request));
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_true(signed_as(world, "no-voltage")->value == 240);
}

static void of_two_readings_the_one_outside_is_told_as_read(void **state) {
    static struct world_copy copy;
    (void)state;
    world_copy(&copy);
    model_check_named(&copy.procedures[1], "drained")->twin = true;
    struct world *world = world_new_of(&copy.model);
    world_to_working(world, "j-1");
    struct gate_request request = {.verb = GATE_VERB_SIGN_CHECK,
                                   .person = "t-1",
                                   .job = "j-1",
                                   .check = "drained",
                                   .has_value = true,
                                   .value = 2,
                                   .has_other = true,
                                   .other = -1,
                                   .unit = "gal"};
    assert_accepted(world, world_ask(world, request));
    const struct gate_signature *as = signed_as(world, "drained");
    assert_true(as->value == -3.785411784);
    assert_true(as->has_reading && as->reading == -1);
    assert_string_equal(as->reading_unit, "gal");
    world_free(world);
}

WORLD_TEST(a_reading_beyond_every_figure_fails_and_is_told_as_none) {
    world_to_working(world, "j-1");
    assert_accepted(world, world_sign_value(world, "t-1", "j-1", "no-voltage", 1e300, "V"));
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_false(signed_as(world, "no-voltage")->has_value);
}

WORLD_TEST(said_to_fail_it_needs_no_reading_and_no_reading_saves_it) {
    world_to_working(world, "j-1");
    struct gate_request request = failing("t-1", "no-voltage");
    request.has_value = true;
    request.value = 0.2;
    request.unit = "V";
    assert_accepted(world, world_ask(world, request));
    assert_job(world, "j-1", STOPPED, BROKEN);
    world_tag_all(world, "t-1", "j-1");
    assert_accepted(world, fails(world, "t-1", "no-voltage"));
    assert_false(signed_as(world, "no-voltage")->has_value);
    request.unit = "bolts"; // nothing to go by
    assert_accepted(world, world_ask(world, request));
    assert_false(signed_as(world, "no-voltage")->has_value);
}

WORLD_TEST(said_to_hold_a_reading_outside_fails_all_the_same) {
    world_to_working(world, "j-1");
    struct gate_request request = failing("t-1", "no-voltage");
    request.pass = true;
    request.has_value = true;
    request.value = 240;
    request.unit = "V";
    assert_accepted(world, world_ask(world, request));
    assert_job(world, "j-1", STOPPED, BROKEN);
}

WORLD_TEST(another_kind_of_check_that_fails_is_signed_as_any_other) {
    world_to_working(world, "j-1");
    assert_refused(world, fails(world, "m-1", "tools-clear"), MODEL_CODE_NOT_ALLOWED);
    assert_refused(world, fails(world, "t-1", "spout-nut"), MODEL_CODE_MALFORMED);
    assert_refused(world, fails(world, "t-1", "barricade-removed"), MODEL_CODE_CHECK_OUT_OF_SEASON);
    assert_accepted(world, fails(world, "t-1", "tools-clear"));
    assert_false(signed_as(world, "tools-clear")->pass);
    assert_job(world, "j-1", WORKING, CONFIRMED);
    gate_journal(world->gate, false, world->now);
    assert_refused(world, fails(world, "t-1", "tools-clear"), MODEL_CODE_JOURNAL_DOWN);
}

WORLD_TEST(the_answer_says_what_the_signature_came_to) {
    world_to_confirmed(world, "j-1");
    assert_accepted(world, world_sign_value(world, "t-1", "j-1", "no-voltage", 0.25, "V"));
    const struct gate_signed *as = &world->answer.signed_;
    assert_true(world->answer.has_signed && as->pass && as->has_value && as->value == 0.25);
    assert_string_equal(as->unit, "V");
    assert_true(as->limits.has_max && as->limits.max == 1);
    assert_accepted(world, fails(world, "t-1", "no-flow"));
    assert_true(world->answer.has_signed && !as->pass && !as->has_value);
    assert_string_equal(as->unit, "");
    assert_refused(world, fails(world, "v-1", "no-flow"), MODEL_CODE_NOT_ALLOWED);
    assert_false(world->answer.has_signed);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(out_of_season_without_lock_and_instrument_it_is_taken),
        cmocka_unit_test(a_manager_a_supervisor_or_any_technician_gives_it),
        cmocka_unit_test(the_crew_gives_it_of_a_roles_check),
        cmocka_unit_test(its_role_gives_it),
        cmocka_unit_test(a_label_is_of_the_nozzles_family),
        cmocka_unit_test(where_no_family_is_known_no_label_is_right),
        cmocka_unit_test(what_else_was_wrong_is_recorded_with_it),
        cmocka_unit_test(a_reading_outside_fails_without_a_unit_and_in_another_it_is_none),
        cmocka_unit_test(a_reading_outside_fails_also_in_a_unit_misspelled),
        cmocka_unit_test(a_reading_outside_fails_in_thousands_too),
        cmocka_unit_test(a_reading_outside_fails_in_any_unit_of_its_kind),
        cmocka_unit_test(in_an_unknown_unit_its_sign_alone_may_tell),
        cmocka_unit_test(of_two_readings_the_one_outside_is_heard),
        cmocka_unit_test(of_two_readings_the_one_outside_is_told_as_read),
        cmocka_unit_test(a_reading_beyond_every_figure_fails_and_is_told_as_none),
        cmocka_unit_test(said_to_fail_it_needs_no_reading_and_no_reading_saves_it),
        cmocka_unit_test(said_to_hold_a_reading_outside_fails_all_the_same),
        cmocka_unit_test(another_kind_of_check_that_fails_is_signed_as_any_other),
        cmocka_unit_test(the_answer_says_what_the_signature_came_to),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
