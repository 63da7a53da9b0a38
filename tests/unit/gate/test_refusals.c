// What refusals are made of: each kind of argument of a real refusal, and the words drawn from
// them.
#include <stdlib.h>
#include <string.h>

#include "gate/refusal.h"
#include "world.h"

// The refusal of the last answer that says a sentence (about a subject; NULL: whatever).
static const struct gate_refusal *said(const struct world *world, enum gate_say sentence,
                                       const char *subject) {
    for (size_t i = 0; i < world->answer.refusal_count; i++) {
        const struct gate_refusal *refusal = &world->answer.refusals[i];
        if (refusal->sentence == sentence &&
            (subject == NULL || strcmp(refusal->subject, subject) == 0)) {
            return refusal;
        }
    }
    fail_msg("not said: %s", gate_say_name(sentence));
    return NULL;
}

// What it is made of, good until the next call.
static const struct gate_args *args_of(const struct world *world, enum gate_say sentence,
                                       const char *subject) {
    static struct gate_args args;
    const struct gate_refusal *refusal = said(world, sentence, subject);
    args = refusal->args;
    for (size_t i = 0; i < GATE_ARG_TEXTS; i++) {
        const char *text = gate_refusal_text(refusal, i);
        memcpy((char *)&args + gate_arg_texts[i].offset, &text, sizeof text);
    }
    return &args;
}

static bool start(struct world *world, const char *person) {
    return world_verb(world, GATE_VERB_START_WORK, person, "j-1");
}

// --- Sentences ---

static void every_sentence_has_a_name_of_its_own(void **state) {
    (void)state;
    for (int i = GATE_SAY_NONE + 1; i < GATE_SAY_COUNT; i++) {
        assert_int_equal(gate_say_of(gate_say_name((enum gate_say)i)), i);
        assert_non_null(model_code_name(gate_say_code((enum gate_say)i)));
    }
    assert_int_equal(gate_say_of("nonsense"), GATE_SAY_NONE);
}

// Every code has at least one sentence, so that none can be refused without words.
static void every_code_has_a_sentence(void **state) {
    (void)state;
    for (int code = 0; code < MODEL_CODE_COUNT; code++) {
        bool any = false;
        for (int i = GATE_SAY_NONE + 1; i < GATE_SAY_COUNT && !any; i++) {
            any = gate_say_code((enum gate_say)i) == (enum model_code)code;
        }
        if (!any) {
            fail_msg("%s is said by no sentence", model_code_name((enum model_code)code));
        }
    }
}

static const char *const both[] = {"vapor-a", "vapor-b"};

// Arguments of every kind, each a text by its own name.
static struct gate_args all_args(void) {
    struct gate_args args = {.has_value = true,
                             .value = 12.5,
                             .said = 1,
                             .of = 2,
                             .run = 3,
                             .runs = 4,
                             .line = 5,
                             .column = 6,
                             .phases = 1u << MODEL_PHASE_OPEN | 1u << MODEL_PHASE_STOPPED,
                             .any = both,
                             .any_count = 2,
                             .need = "<need>",
                             .found = "<found>",
                             .what = "<what>"};
    for (size_t i = 0; i < GATE_ARG_TEXTS; i++) {
        const char *name = gate_arg_texts[i].name;
        memcpy((char *)&args + gate_arg_texts[i].offset, &name, sizeof name);
    }
    return args;
}

static void every_name_in_a_sentence_is_an_argument(void **state) {
    (void)state;
    const struct gate_args args = all_args();
    for (int i = GATE_SAY_NONE + 1; i < GATE_SAY_COUNT; i++) {
        struct gate_refusal refusal;
        gate_refusal_make(&refusal, false, (enum gate_say)i, "subject", &args);
        assert_string_not_equal(refusal.say, "");
        assert_string_not_equal(refusal.need, "");
        assert_string_not_equal(refusal.found, "");
        assert_null(strpbrk(refusal.say, "{}|"));
        assert_null(strstr(refusal.say, "  ")); // a name that stands for nothing
        assert_null(strstr(refusal.say, "()"));
        assert_null(strstr(refusal.found, "  "));
    }
}

static void words_are_drawn_from_the_arguments(void **state) {
    (void)state;
    const struct gate_args args = all_args();
    struct gate_refusal refusal;
    gate_refusal_make(&refusal, false, GATE_SAY_POINT_LOOK, "p", &args);
    assert_string_equal(refusal.say, "title: look, and say that it is isolated (1 of 2 have).");
    gate_refusal_make(&refusal, false, GATE_SAY_CHECK_VOID, "c", &args);
    assert_string_equal(refusal.found, "12.5 unit by by, no longer standing");
    gate_refusal_make(&refusal, false, GATE_SAY_WRONG_PHASE, "j", &args);
    assert_string_equal(refusal.say, "The job is phase: this is for one that is open or stopped.");
    gate_refusal_make(&refusal, false, GATE_SAY_CREDENTIAL_MISSING, "p", &args);
    assert_string_equal(refusal.need, "one of: vapor-a, vapor-b");
    gate_refusal_make(&refusal, false, GATE_SAY_UNREADABLE, "/a/b", &args);
    assert_string_equal(refusal.found, "line 5, column 6");
    gate_refusal_make(&refusal, false, GATE_SAY_FIELD_WRONG, "/a/b", &args);
    assert_string_equal(refusal.say, "The field a/b must be <need>.");
    assert_null(refusal.args.need); // lent for the call alone
}

static void what_is_absent_has_words_of_its_own(void **state) {
    (void)state;
    struct gate_refusal refusal;
    gate_refusal_make(&refusal, false, GATE_SAY_PART_MISMATCH, "3A", NULL);
    assert_string_equal(refusal.need,
                        "kit family (the position's nozzle family is not configured)");
    assert_string_equal(refusal.found, "no kit named");
    assert_string_equal(refusal.say,
                        "The kit (none named) must match the nozzle (unknown): do not fit it.");
    gate_refusal_make(&refusal, false, GATE_SAY_CHECK_VOID, "c", GATE_ARGS(.title = "Drained"));
    assert_string_equal(refusal.found, "signed by a measure, no longer standing");
}

static size_t place_of(const char *name) {
    size_t i = 0;
    while (strcmp(gate_arg_texts[i].name, name) != 0) {
        i++;
    }
    return i;
}

// What it was made from may be gone before it is told.
static void a_refusal_owns_its_texts(void **state) {
    (void)state;
    char rule[] = "range", test[] = "continuity";
    struct gate_refusal refusal, copy;
    gate_refusal_make(&refusal, false, GATE_SAY_TEST_MISSING, test,
                      GATE_ARGS(.test = test, .rule = rule));
    memset(rule, '?', sizeof rule - 1);
    memset(test, '?', sizeof test - 1);
    copy = refusal;
    memset(&refusal, '?', sizeof refusal);
    assert_string_equal(gate_refusal_text(&copy, place_of("rule")), "range");
    assert_string_equal(gate_refusal_text(&copy, place_of("test")), "continuity");
    assert_null(gate_refusal_text(&copy, place_of("point")));
    assert_null(copy.args.rule);
}

// Titles may be longer than a sentence has room for.
static void a_long_title_is_cut_between_characters(void **state) {
    (void)state;
    char title[600] = "";
    for (size_t i = 0; i + 2 < sizeof title; i += 2) {
        memcpy(title + i, "\xc3\xa9", 3);
    }
    struct gate_refusal refusal;
    gate_refusal_make(&refusal, false, GATE_SAY_CHECK_MISSING, "c", GATE_ARGS(.title = title));
    size_t length = strlen(refusal.say);
    assert_int_equal(length, sizeof refusal.say - 2); // one byte more would be half a character
    assert_memory_equal(refusal.say, title, length);
}

// A gate's document lists what is met, too.
WORLD_TEST(what_holds_is_found_as_it_is) {
    world_to_confirmed(world, "j-1");
    struct gate_list list = {0};
    gate_next(world->gate, 0, world_job(world, "j-1"), world->now, &list);
    size_t locks = 0;
    for (size_t i = 0; i < list.count; i++) {
        const struct gate_refusal *refusal = &list.items[i].refusal;
        assert_true(list.items[i].met);
        if (refusal->sentence == GATE_SAY_TAG_MISSING) {
            assert_string_equal(refusal->found, "hangs");
            locks++;
        }
    }
    assert_int_equal(locks, 3);
    gate_list_free(&list);
}

// --- Arguments of real refusals, kind by kind ---

static void a_point_by_its_id_and_title_with_what_it_is(void **state) {
    (void)state;
    struct world_copy copy;
    world_copy(&copy);
    copy.points[POWER3].title = "Breaker P1/7";
    struct world *world = world_new_of(&copy.model);
    world_to_confirmed(world, "j-1");
    world_pass(world, WORLD_MAX_AGE_MS + 1);
    assert_false(start(world, "t-1"));
    const struct gate_args *args = args_of(world, GATE_SAY_POINT_STALE, "3-power");
    assert_string_equal(args->point, "3-power");
    assert_string_equal(args->title, "Breaker P1/7");
    assert_string_equal(args->state, "unknown");
    assert_string_equal(args->trust, "stale");
    world_free(world);
}

WORLD_TEST(how_many_witnesses_have_spoken) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_false(start(world, "t-1"));
    const struct gate_args *args = args_of(world, GATE_SAY_POINT_LOOK, "3A-line");
    assert_int_equal(args->said, 0);
    assert_int_equal(args->of, 1);
}

static void whose_lock_is_missing_and_on_what(void **state) {
    (void)state;
    struct world_copy copy;
    world_copy(&copy);
    copy.points[VALVE3].title = "Valve V1";
    struct world *world = world_new_of(&copy.model);
    world_to_confirmed(world, "j-1");
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_false(start(world, "t-1"));
    const struct gate_args *args = args_of(world, GATE_SAY_TAG_MISSING, "3-valve");
    assert_string_equal(args->person, "t-2");
    assert_string_equal(args->point, "3-valve");
    assert_string_equal(args->title, "Valve V1");
    world_free(world);
}

WORLD_TEST(whose_lock_still_hangs) {
    world_to_confirmed(world, "j-1");
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_true(world_tag(world, "t-2", "j-1", POWER3));
    assert_false(world_ask(
        world, (struct gate_request){.verb = GATE_VERB_LEAVE_JOB, .person = "t-2", .job = "j-1"}));
    const struct gate_args *args = args_of(world, GATE_SAY_TAG_HUNG, "3-power");
    assert_string_equal(args->person, "t-2");
    assert_null(args->badge);
}

WORLD_TEST(a_lock_of_an_unknown_badge) {
    world_to_restoring(world, "j-1");
    world_lift_all(world, "t-1", "j-1");
    world_reader(world, VALVE3, "badge-77", true);
    assert_false(world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
    const struct gate_args *args = args_of(world, GATE_SAY_TAG_HUNG_BADGE, "3-valve");
    assert_string_equal(args->badge, "badge-77");
    assert_null(args->person);
    assert_string_equal(args->point, "3-valve");
}

WORLD_TEST(a_failed_check_with_its_reading_and_limits) {
    world_to_tagged(world, "j-1");
    world_sign_hold(world, "t-1", "j-1");
    assert_true(world_sign_value(world, "t-1", "j-1", "no-voltage", 1.25, "V"));
    assert_false(start(world, "t-1"));
    const struct gate_args *args = args_of(world, GATE_SAY_CHECK_VOID, "no-voltage");
    assert_string_equal(args->check, "no-voltage");
    assert_string_equal(args->title, "Absence of voltage");
    assert_true(args->has_value && args->value == 1.25);
    assert_string_equal(args->unit, "V");
    assert_string_equal(args->by, "t-1");
    assert_true(args->has_max && args->max == 1);
    assert_true(args->has_min && args->min == -1); // the other pole
}

WORLD_TEST(the_least_that_a_check_may_read) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_false(start(world, "t-1"));
    const struct gate_args *args = args_of(world, GATE_SAY_CHECK_MISSING, "drained");
    assert_true(args->has_min && args->min == 0);
    assert_false(args->has_value);
    assert_null(args->by);
}

static void a_kind_of_check_of_which_none_is_known(void **state) {
    (void)state;
    struct world_copy copy;
    world_copy(&copy);
    copy.procedures[1].check_count = 0;
    struct world *world = world_new_of(&copy.model);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_false(start(world, "t-1"));
    assert_string_equal(args_of(world, GATE_SAY_CHECK_NONE_KNOWN, "verify")->group, "verify");
    world_free(world);
}

WORLD_TEST(an_expired_credential_with_its_last_day) {
    world_open_at(world, "j-1", "3A", "spout", "t-3");
    assert_false(start(world, "t-3"));
    const struct gate_args *args = args_of(world, GATE_SAY_CREDENTIAL_EXPIRED, "t-3");
    assert_string_equal(args->person, "t-3");
    assert_string_equal(args->until, "2020-03-31");
    assert_string_equal(args->any[args->any_count - 1], "vapor-b");
}

WORLD_TEST(a_kit_and_the_family_of_the_nozzle) {
    assert_false(world_ask(world, (struct gate_request){.verb = GATE_VERB_OPEN_JOB,
                                                        .person = "k-1",
                                                        .job = "j-1",
                                                        .position = "3A",
                                                        .procedure = "spout",
                                                        .kit_family = "k9"}));
    const struct gate_args *args = args_of(world, GATE_SAY_PART_MISMATCH, "3A");
    assert_string_equal(args->kit, "k9");
    assert_string_equal(args->family, world->model->sites[0].positions[P3A].nozzle_family);
    assert_string_equal(args->position, "3A");
}

WORLD_TEST(who_leads_and_which_role_it_takes) {
    world_to_confirmed(world, "j-1");
    assert_false(start(world, "t-2"));
    assert_string_equal(args_of(world, GATE_SAY_NOT_LEADER, "j-1")->leader, "t-1");
    assert_false(start(world, "m-1"));
    assert_string_equal(args_of(world, GATE_SAY_ROLE_TECHNICIAN, "m-1")->role, "technician");
}

WORLD_TEST(the_phase_that_the_job_is_in_and_those_it_is_for) {
    world_to_working(world, "j-1");
    assert_false(start(world, "t-1"));
    const struct gate_args *args = args_of(world, GATE_SAY_WRONG_PHASE, "j-1");
    assert_string_equal(args->job, "j-1");
    assert_string_equal(args->phase, "working");
    assert_int_equal(args->phases, 1u << MODEL_PHASE_OPEN | 1u << MODEL_PHASE_STOPPED);
}

WORLD_TEST(the_lockout_that_a_check_found_out_of_its_window) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_false(world_sign(world, "t-1", "j-1", "tools-clear"));
    const struct gate_args *args = args_of(world, GATE_SAY_WINDOW_CLEAR, "tools-clear");
    assert_string_equal(args->phase, "open");
    assert_string_equal(args->lockout, "unconfirmed");
    assert_string_equal(args->title, "Tools removed");
}

WORLD_TEST(the_other_job_and_where_it_is) {
    world_to_testing(world, "j-2");
    world_open_at(world, "j-1", "3B", "spout", "t-2");
    assert_false(start(world, "t-2"));
    const struct gate_args *args = args_of(world, GATE_SAY_SHARED_TESTING, "j-2");
    assert_string_equal(args->with, "j-2");
    assert_string_equal(args->position, "3A");
    assert_string_equal(args->phase, "testing");
    assert_false(world_open(world, "j-3", "3B", "t-1"));
    assert_string_equal(args_of(world, GATE_SAY_POSITION_HAS_JOB, "3B")->with, "j-1");
}

WORLD_TEST(an_instrument_its_kind_and_its_last_day) {
    world_to_working(world, "j-1");
    struct gate_request request = {.verb = GATE_VERB_SIGN_CHECK,
                                   .person = "t-1",
                                   .job = "j-1",
                                   .check = "spout-nut",
                                   .has_value = true,
                                   .value = 46,
                                   .unit = "ft.lb",
                                   .instrument = "gauge-1"};
    assert_false(world_ask(world, request));
    const struct gate_args *args = args_of(world, GATE_SAY_UNIT_WRONG, "/unit");
    assert_string_equal(args->unit, "N.m");
    assert_string_equal(args->other_unit, "ft.lb");
    assert_string_equal(gate_refusal_field(said(world, GATE_SAY_UNIT_WRONG, NULL)), "unit");
    request.unit = "N.m";
    assert_false(world_ask(world, request));
    args = args_of(world, GATE_SAY_INSTRUMENT_KIND, "gauge-1");
    assert_string_equal(args->instrument, "gauge-1");
    assert_string_equal(args->kind, "torque-wrench");
    assert_string_not_equal(args->other_kind, "torque-wrench");
    request.instrument = "tw-old";
    assert_false(world_ask(world, request));
    args = args_of(world, GATE_SAY_INSTRUMENT_OVERDUE, "tw-old");
    assert_string_equal(args->until,
                        model_instrument_find(world->model, "tw-old")->calibrated_until.day);
}

WORLD_TEST(a_test_and_the_rule_it_goes_by) {
    world_to_testing(world, "j-1");
    assert_false(world_verb(world, GATE_VERB_RETURN_POSITION, "t-1", "j-1"));
    const struct gate_args *args = args_of(world, GATE_SAY_TEST_MISSING, "continuity");
    assert_string_equal(args->test, "continuity");
    assert_string_equal(args->rule, "range");
    assert_int_equal(args->runs, 0);
}

static void which_run_of_how_many(void **state) {
    (void)state;
    struct world_copy copy;
    world_copy(&copy);
    struct model_test *test = &copy.tests[1][0];
    test->runs = 3;
    test->borderline = 0.02;
    struct world *world = world_new_of(&copy.model);
    world_to_testing(world, "j-1");
    struct model_result result = {.rule = "range",
                                  .has_value = true,
                                  .value = 1,
                                  .has_pass = true,
                                  .pass = false,
                                  .has_margin = true,
                                  .margin = -0.001};
    assert_true(world_ask(world, (struct gate_request){.verb = GATE_VERB_RECORD_TEST,
                                                       .person = "t-1",
                                                       .job = "j-1",
                                                       .test = test->test,
                                                       .result = &result}));
    assert_false(world_verb(world, GATE_VERB_RETURN_POSITION, "t-1", "j-1"));
    const struct gate_args *args = args_of(world, GATE_SAY_TEST_BORDERLINE, test->test);
    assert_int_equal(args->run, 1);
    assert_int_equal(args->runs, 3);
    world_free(world);
}

static void an_energy_that_nothing_isolates(void **state) {
    (void)state;
    static const char *energies[] = {"electrical", "product", "pressure"};
    struct world_copy copy;
    world_copy(&copy);
    copy.procedures[1].isolate = energies;
    copy.procedures[1].isolate_count = 3;
    struct world *world = world_new_of(&copy.model);
    assert_false(world_open(world, "j-1", "3A", "t-1"));
    assert_string_equal(args_of(world, GATE_SAY_ENERGY_UNMAPPED_OPEN, "pressure")->energy,
                        "pressure");
    world_free(world);
}

WORLD_TEST(what_was_named_and_is_not_known) {
    assert_false(world_ask(world, (struct gate_request){.verb = GATE_VERB_OPEN_JOB,
                                                        .person = "k-1",
                                                        .job = "j-1",
                                                        .position = "9Z",
                                                        .procedure = "nonsense",
                                                        .technician = "t-99"}));
    assert_string_equal(args_of(world, GATE_SAY_UNKNOWN_POSITION, NULL)->position, "9Z");
    assert_string_equal(args_of(world, GATE_SAY_UNKNOWN_PROCEDURE, NULL)->procedure, "nonsense");
    assert_string_equal(args_of(world, GATE_SAY_UNKNOWN_PERSON, NULL)->person, "t-99");
    assert_false(world_ask(world, (struct gate_request){.verb = GATE_VERB_ACKNOWLEDGE_ALARM,
                                                        .person = "m-1",
                                                        .alarm = "a99"}));
    assert_string_equal(args_of(world, GATE_SAY_UNKNOWN_ALARM, NULL)->alarm, "a99");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_sentence_has_a_name_of_its_own),
        cmocka_unit_test(every_code_has_a_sentence),
        cmocka_unit_test(every_name_in_a_sentence_is_an_argument),
        cmocka_unit_test(words_are_drawn_from_the_arguments),
        cmocka_unit_test(what_is_absent_has_words_of_its_own),
        cmocka_unit_test(a_refusal_owns_its_texts),
        cmocka_unit_test(a_long_title_is_cut_between_characters),
        cmocka_unit_test(what_holds_is_found_as_it_is),
        cmocka_unit_test(a_point_by_its_id_and_title_with_what_it_is),
        cmocka_unit_test(how_many_witnesses_have_spoken),
        cmocka_unit_test(whose_lock_is_missing_and_on_what),
        cmocka_unit_test(whose_lock_still_hangs),
        cmocka_unit_test(a_lock_of_an_unknown_badge),
        cmocka_unit_test(a_failed_check_with_its_reading_and_limits),
        cmocka_unit_test(the_least_that_a_check_may_read),
        cmocka_unit_test(a_kind_of_check_of_which_none_is_known),
        cmocka_unit_test(an_expired_credential_with_its_last_day),
        cmocka_unit_test(a_kit_and_the_family_of_the_nozzle),
        cmocka_unit_test(who_leads_and_which_role_it_takes),
        cmocka_unit_test(the_phase_that_the_job_is_in_and_those_it_is_for),
        cmocka_unit_test(the_lockout_that_a_check_found_out_of_its_window),
        cmocka_unit_test(the_other_job_and_where_it_is),
        cmocka_unit_test(an_instrument_its_kind_and_its_last_day),
        cmocka_unit_test(a_test_and_the_rule_it_goes_by),
        cmocka_unit_test(which_run_of_how_many),
        cmocka_unit_test(an_energy_that_nothing_isolates),
        cmocka_unit_test(what_was_named_and_is_not_known),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
