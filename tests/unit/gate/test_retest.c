// Tests done again: runs that are averaged, one test for each product, a failed test that takes the
// dispenser out of service.
#include <stdlib.h>
#include <string.h>

#include "gate/may.h"
#include "world.h"

// The last copy made; it must outlive its world.
static struct world_copy copy;

static struct model_test *spout_test(size_t index) {
    return &copy.tests[1][index];
}

static bool record_noted(struct world *world, const char *job, const char *test, double value,
                         double margin, const char *note) {
    struct model_result result = {.rule = "vapor-liquid-ratio",
                                  .has_value = true,
                                  .value = value,
                                  .limits = {true, true, 0.95, 1.15},
                                  .limit_is_interval = true,
                                  .has_margin = true,
                                  .margin = margin,
                                  .has_pass = true,
                                  .pass = margin >= 0};
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_RECORD_TEST,
                                                  .person = "t-1",
                                                  .job = job,
                                                  .test = test,
                                                  .note = note,
                                                  .result = &result});
}

// A run with the instrument's uncertainty, or that fails beside its value.
static bool record_strict(struct world *world, double margin, double uncertainty, bool beside) {
    struct model_result result = {.rule = "vapor-liquid-ratio",
                                  .has_value = true,
                                  .value = 0.95 + margin,
                                  .limits = {true, true, 0.95, 1.15},
                                  .has_margin = true,
                                  .margin = margin,
                                  .has_pass = true,
                                  .uncertainty = uncertainty,
                                  .failed_beside = beside};
    result.pass = model_result_meets(&result);
    model_result_decide(&result);
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_RECORD_TEST,
                                                  .person = "t-1",
                                                  .job = "j-1",
                                                  .test = "ratio",
                                                  .note = "what was changed",
                                                  .result = &result});
}

static bool record(struct world *world, const char *job, const char *test, double value,
                   double margin) {
    return record_noted(world, job, test, value, margin, "what was changed");
}

// One run of the ratio: its margin as the rule reckons it.
static bool run(struct world *world, double value) {
    return record(world, "j-1", "ratio", value,
                  value - 0.95 < 1.15 - value ? value - 0.95 : 1.15 - value);
}

static bool rule_failed(struct world *world) {
    return world_refused(world, MODEL_CODE_TEST_FAILED, "ratio");
}

// --- Validity ---

// Readings for which the method does not hold are refused, each with its bounds.
static void readings_outside_the_method_are_refused(void **state) {
    struct model_result result = {.rule = "vapor-liquid-ratio",
                                  .has_value = true,
                                  .doubts = {{.reading = "meter_factor",
                                              .has_value = true,
                                              .value = 1.5,
                                              .limits = {true, true, 0.9, 1.1},
                                              .unit = "",
                                              .need = "0.9 to 1.1",
                                              .found = "1.5"},
                                             {.reading = "ullage_gal",
                                              .has_value = true,
                                              .value = 8.5,
                                              .limits = {.has_min = true, .min = 100},
                                              .unit = "gal",
                                              .need = "at least 100 gal",
                                              .found = "8.5 gal"}},
                                  .doubt_count = 2};
    struct gate_request request = {.verb = GATE_VERB_RECORD_TEST,
                                   .person = "t-1",
                                   .job = "j-1",
                                   .test = "continuity",
                                   .result = &result};
    (void)state;
    struct world *world = world_new();
    world_to_testing(world, "j-1");
    assert_refused(world, world_ask(world, request), MODEL_CODE_READING_NOT_VALID);
    assert_int_equal(world->answer.refusal_count, 2);
    const struct gate_refusal *first = &world->answer.refusals[0];
    assert_string_equal(first->subject, "meter_factor");
    assert_string_equal(first->need, "0.9 to 1.1");
    assert_string_equal(first->found, "1.5");
    assert_true(first->args.has_min && first->args.max == 1.1 && first->args.value == 1.5);
    assert_int_equal(first->sentence, GATE_SAY_READING_OUTSIDE);
    assert_int_equal(world->answer.refusals[1].sentence, GATE_SAY_READING_BELOW);
    assert_string_equal(
        world->answer.refusals[1].say,
        "ullage_gal is 8.5 gal: the method holds for at least 100 gal. Measure again within it.");
    world_free(world);
}

// --- Runs ---

static struct world *averaged(void) {
    world_copy(&copy);
    memcpy(spout_test(0)->test, "ratio", 6);
    spout_test(0)->rule = "vapor-liquid-ratio";
    spout_test(0)->runs = 3;
    spout_test(0)->borderline = 0.02;
    struct world *world = world_new_of(&copy.model);
    world_to_testing(world, "j-1");
    assert_true(world_test(world, "t-1", "j-1", "continuity", true));
    return world;
}

static bool returns(struct world *world) {
    assert_true(world_sign(world, "t-1", "j-1", "barricade-removed"));
    return world_verb(world, GATE_VERB_RETURN_POSITION, "t-1", "j-1");
}

static void a_borderline_run_neither_passes_nor_fails(void **state) {
    (void)state;
    struct world *world = averaged();
    assert_true(run(world, 0.94));
    assert_false(world->answer.result.has_pass);
    assert_int_equal(world->answer.result.run, 1);
    assert_int_equal(world->answer.result.runs, 3);
    assert_refused(world, returns(world), MODEL_CODE_TEST_MISSING);
    assert_true(world_refused(world, MODEL_CODE_TEST_MISSING, "ratio"));
    assert_string_equal(world->answer.refusals[0].found, "borderline, run 1 of 3");
    world_free(world);
}

static void a_mean_is_decided_as_one(void **state) {
    (void)state;
    struct world *world = averaged();
    assert_true(record_strict(world, -0.01, 0.02, false));
    assert_int_equal(world->answer.result.decision, MODEL_DECISION_NONE);
    assert_true(record_strict(world, 0.005, 0.02, false));
    assert_true(record_strict(world, 0.02, 0.02, false));
    assert_true(world->answer.result.pass); // by 0.005
    assert_int_equal(world->answer.result.decision, MODEL_DECISION_CONDITIONAL_PASS);
    world_free(world);
}

static void a_first_run_that_passes_is_a_pass(void **state) {
    (void)state;
    struct world *world = averaged();
    assert_true(record(world, "j-1", "ratio", 0.95, 0));
    assert_true(world->answer.result.has_pass && world->answer.result.pass);
    assert_int_equal(world->answer.result.runs, 0);
    assert_accepted(world, returns(world));
    world_free(world);
}

static void borderline_runs_are_judged_by_their_mean(void **state) {
    (void)state;
    struct world *world = averaged();
    assert_true(run(world, 0.94)); // outside, yet borderline
    assert_true(run(world, 0.945));
    assert_false(world->answer.result.has_pass);
    assert_true(run(world, 0.966));
    const struct model_result *result = &world->answer.result;
    assert_true(result->has_pass && result->pass && result->margin >= 0);
    assert_int_equal(result->run, 3);
    assert_true(result->reading == 0.966);
    assert_true(result->value > 0.9503 && result->value < 0.9504); // not rounded to 0.95
    assert_accepted(world, returns(world));
    world_free(world);
}

static void a_mean_outside_fails(void **state) {
    (void)state;
    struct world *world = averaged();
    assert_true(run(world, 0.949));
    assert_true(run(world, 0.951));
    assert_true(run(world, 0.949)); // 0.94967
    assert_true(world->answer.result.has_pass && !world->answer.result.pass);
    assert_true(world->answer.result.margin < 0);
    assert_false(returns(world));
    assert_true(rule_failed(world));
    assert_true(run(world, 1.05)); // a new series: clearly passed at once
    assert_int_equal(world->answer.result.runs, 0);
    assert_accepted(world, returns(world));
    world_free(world);
}

static void what_fails_beside_its_value_is_no_borderline(void **state) {
    (void)state;
    struct world *world = averaged();
    assert_true(record_strict(world, 0.01, 0, true));
    assert_true(world->answer.result.has_pass && !world->answer.result.pass);
    assert_int_equal(world->answer.result.runs, 0);
    world_free(world);
}

static void a_clear_run_stands_alone(void **state) {
    (void)state;
    struct world *world = averaged();
    assert_true(run(world, 1.05));
    assert_true(world->answer.result.pass);
    assert_int_equal(world->answer.result.runs, 0);
    assert_accepted(world, returns(world));
    world_free(world);
}

static void a_clear_pass_after_a_borderline_run_is_one_more_run(void **state) {
    (void)state;
    struct world *world = averaged();
    assert_true(run(world, 0.94));
    assert_true(run(world, 1.05));
    assert_false(world->answer.result.has_pass);
    assert_false(returns(world));
    assert_true(run(world, 1.05));
    assert_true(world->answer.result.pass);
    assert_accepted(world, returns(world));
    world_free(world);
}

static void a_clear_fail_between_is_a_fail(void **state) {
    (void)state;
    struct world *world = averaged();
    assert_true(run(world, 0.94));
    assert_true(run(world, 0.80));
    assert_true(world->answer.result.has_pass && !world->answer.result.pass);
    assert_false(returns(world));
    assert_true(rule_failed(world));
    assert_true(run(world, 0.94)); // it counts from the fail on
    assert_int_equal(world->answer.result.run, 1);
    assert_false(world->answer.result.has_pass);
    world_free(world);
}

static void the_limit_of_borderline_is_borderline(void **state) {
    (void)state;
    struct world *world = averaged();
    assert_true(record(world, "j-1", "ratio", 0.93, -0.02));
    assert_false(world->answer.result.has_pass);
    assert_true(record(world, "j-1", "ratio", 0.929, -0.021)); // a fail, and no run of the mean
    assert_true(world->answer.result.has_pass && !world->answer.result.pass);
    world_free(world);
}

static void a_borderline_run_after_a_pass_is_no_pass(void **state) {
    (void)state;
    struct world *world = averaged();
    assert_true(run(world, 1.05));
    assert_true(run(world, 0.94));
    assert_false(returns(world));
    assert_true(world_refused(world, MODEL_CODE_TEST_MISSING, "ratio"));
    world_free(world);
}

static void runs_of_another_testing_do_not_count(void **state) {
    (void)state;
    struct world *world = averaged();
    assert_true(run(world, 0.94));
    assert_true(run(world, 0.94));
    assert_true(world_stop(world, "m-1", "j-1", NULL));
    world_acknowledge(world);
    world_sign_prepare(world, "t-1", "j-1");
    assert_true(world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
    assert_true(run(world, 0.94));
    assert_int_equal(world->answer.result.run, 1);
    assert_false(world->answer.result.has_pass);
    world_free(world);
}

static void runs_that_are_too_old_do_not_count(void **state) {
    (void)state;
    struct world *world = averaged();
    struct model_requirements *needs = world_job(world, "j-1")->needs;
    needs->tests[0].valid_ms = 60000;
    assert_true(run(world, 0.94));
    world_pass_heard(world, 60000);
    assert_true(run(world, 0.94));
    assert_int_equal(world->answer.result.run, 2);
    world_pass_heard(world, 1000);
    assert_true(run(world, 0.94));
    assert_int_equal(world->answer.result.run, 2);
    world_end(world);
}

static bool with_note(struct world *world, bool pass, const char *note) {
    struct model_result result = {.has_pass = true, .pass = pass};
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_RECORD_TEST,
                                                  .person = "t-1",
                                                  .job = "j-1",
                                                  .test = "leak",
                                                  .note = note,
                                                  .result = &result});
}

WORLD_TEST(after_a_failed_record_it_passes_with_a_note_of_what_was_changed) {
    world_to_testing(world, "j-1");
    assert_true(with_note(world, false, NULL));
    assert_refused(world, with_note(world, true, NULL), MODEL_CODE_NOTE_MISSING);
    assert_refused(world, with_note(world, true, " \t \n"), MODEL_CODE_NOTE_MISSING);
    assert_true(world_refused(world, MODEL_CODE_NOTE_MISSING, "leak"));
    assert_accepted(world, with_note(world, false, NULL)); // it failed again
    assert_accepted(world, with_note(world, true, "gasket replaced"));
    assert_accepted(world, with_note(world, true, NULL)); // and passed before
}

// Whether the choice of recording `leak` asks for a note.
static bool asks_note(struct world *world) {
    const struct gate_job *job = world_job(world, "j-1");
    const struct model_person *person = model_person_find(world->gate->model, "t-1");
    struct gate_may may = {0};
    bool asks = false;
    gate_may(world->gate, 0, job, job->position, person, world->now, &may);
    for (size_t i = 0; i < may.count; i++) {
        asks |= strcmp(may.choices[i].test, "leak") == 0 && may.choices[i].note;
    }
    gate_may_free(&may);
    return asks;
}

WORLD_TEST(that_it_asks_for_a_note_is_said_before) {
    world_to_testing(world, "j-1");
    assert_false(asks_note(world));
    assert_true(with_note(world, false, NULL));
    assert_true(asks_note(world));
}

WORLD_TEST(also_where_the_failed_record_is_void) {
    world_to_testing(world, "j-1");
    assert_true(with_note(world, false, NULL));
    assert_true(world_stop(world, "t-1", "j-1", "leak"));
    world_acknowledge(world);
    world_sign_prepare(world, "t-1", "j-1");
    assert_true(world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
    assert_refused(world, with_note(world, true, NULL), MODEL_CODE_NOTE_MISSING);
    assert_accepted(world, with_note(world, true, "gasket replaced"));
}

static void a_borderline_run_between_asks_nothing_and_hides_nothing(void **state) {
    (void)state;
    struct world *world = averaged();
    assert_true(run(world, 1.05)); // a clear pass
    assert_accepted(world, record_noted(world, "j-1", "ratio", 0.94, -0.01, NULL));
    assert_accepted(world, record_noted(world, "j-1", "ratio", 0.94, -0.01, NULL));
    assert_accepted(world, record_noted(world, "j-1", "ratio", 1.05, 0.1, NULL));
    assert_true(world->answer.result.pass);
    assert_true(run(world, 0.5)); // a clear fail
    assert_accepted(world, record_noted(world, "j-1", "ratio", 0.94, -0.01, NULL));
    assert_accepted(world, record_noted(world, "j-1", "ratio", 0.94, -0.01, NULL));
    assert_refused(world, record_noted(world, "j-1", "ratio", 1.05, 0.1, NULL),
                   MODEL_CODE_NOTE_MISSING); // the mean would pass
    world_free(world);
}

static void without_runs_a_borderline_reading_is_judged_alone(void **state) {
    (void)state;
    struct world *world = averaged();
    world_end(world);
    spout_test(0)->runs = 1;
    world = world_new_of(&copy.model);
    world_to_testing(world, "j-1");
    assert_true(run(world, 0.94));
    assert_true(world->answer.result.has_pass && !world->answer.result.pass);
    assert_int_equal(world->answer.result.runs, 0);
    world_free(world);
}

// --- Products ---

static const char *grades[] = {"regular", "premium"}, *diesel[] = {"diesel"};

static void with_products(void) {
    world_copy(&copy);
    spout_test(0)->each_product = true;
    copy.tests[0][0].each_product = true;
    copy.positions[P3A].products = grades;
    copy.positions[P3A].product_count = 2;
    copy.positions[P3B].products = diesel;
    copy.positions[P3B].product_count = 1;
}

static size_t tests_of(struct world *world, const char *job, const char *id) {
    struct model_requirements *all = gate_tests_of(world_site(world), world_job(world, job));
    assert_non_null(all);
    size_t found = 0;
    for (size_t i = 0; i < all->test_count; i++) {
        found += id == NULL || strcmp(all->tests[i].test, id) == 0;
    }
    free(all);
    return found;
}

static void a_test_for_each_product_of_the_position(void **state) {
    (void)state;
    with_products();
    struct world *world = world_new_of(&copy.model);
    world_to_testing(world, "j-1");
    assert_int_equal(tests_of(world, "j-1", NULL), 3);
    assert_true(world_test(world, "t-1", "j-1", "leak.regular", true));
    assert_true(world_test(world, "t-1", "j-1", "continuity", true));
    assert_refused(world, world_test(world, "t-1", "j-1", "leak", true), MODEL_CODE_UNKNOWN_TEST);
    assert_refused(world, returns(world), MODEL_CODE_TEST_MISSING);
    assert_true(world_refused(world, MODEL_CODE_TEST_MISSING, "leak.premium"));
    assert_true(world_test(world, "t-1", "j-1", "leak.premium", true));
    assert_accepted(world, returns(world));
    world_free(world);
}

static void a_repair_voids_the_tests_of_every_product(void **state) {
    (void)state;
    with_products();
    struct world *world = world_new_of(&copy.model);
    world_to_testing(world, "j-1");
    assert_true(world_test(world, "t-1", "j-1", "leak.regular", true));
    assert_true(world_test(world, "t-1", "j-1", "leak.premium", false));
    assert_true(world_test(world, "t-1", "j-1", "continuity", true));
    assert_true(world_verb(world, GATE_VERB_REWORK, "t-1", "j-1"));
    assert_true(gate_test_of(world_job(world, "j-1"), "leak.regular")->void_);
    // The shared path is repaired again: every grade is tested again.
    world_sign_prepare(world, "t-1", "j-1");
    world_isolate(world);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    world_tag_all(world, "t-1", "j-1");
    world_sign_hold(world, "t-1", "j-1");
    assert_true(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    world_finish(world, "j-1", "t-1");
    world_lift_all(world, "t-1", "j-1");
    world_live_at(world, "3A", "t-1", "j-1");
    assert_true(world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
    assert_true(world_test(world, "t-1", "j-1", "leak.premium", true));
    assert_refused(world, returns(world), MODEL_CODE_TEST_MISSING, MODEL_CODE_TEST_MISSING);
    assert_true(world_refused(world, MODEL_CODE_TEST_MISSING, "leak.regular"));
    world_free(world);
}

static void without_products_it_is_one_test(void **state) {
    (void)state;
    with_products();
    copy.positions[P3A].product_count = 0;
    struct world *world = world_new_of(&copy.model);
    world_to_returned(world, "j-1");
    world_free(world);
}

static void a_cabinet_job_tests_every_product_of_the_cabinet(void **state) {
    (void)state;
    with_products();
    struct world *world = world_new_of(&copy.model);
    world_open_at(world, "j-1", "3A", "cabinet", "t-1");
    assert_int_equal(tests_of(world, "j-1", NULL), 4);
    assert_int_equal(tests_of(world, "j-1", "leak.diesel"), 1);
    world_free(world);
}

static void a_job_keeps_the_products_of_its_opening(void **state) {
    (void)state;
    with_products();
    struct world *world = world_new_of(&copy.model);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    static struct world_copy later;
    memset(&later, 0, sizeof later);
    world_copy(&later);
    later.tests[1][0].each_product = true;
    later.positions[P3A].products = diesel;
    later.positions[P3A].product_count = 1;
    world_restart_with(world, &later.model, 1000);
    assert_int_equal(tests_of(world, "j-1", "leak.regular"), 1);
    assert_int_equal(tests_of(world, "j-1", "leak.premium"), 1);
    assert_int_equal(tests_of(world, "j-1", "leak.diesel"), 1); // and what came since
    assert_int_equal(tests_of(world, "j-1", "leak"), 0);
    world_free(world);
}

// --- A failed test that takes the dispenser out ---

// `leak` fails the dispenser. A job on 3A is in testing; 3B is out beside it.
static struct world *bagged(void) {
    world_copy(&copy);
    spout_test(0)->fails_dispenser = true;
    struct world *world = world_new_of(&copy.model);
    world_to_testing(world, "j-1");
    assert_int_equal(world_cause(world, P3B), MODEL_CAUSE_WORK_BESIDE);
    world_forget(world);
    return world;
}

static bool in_service(struct world *world, enum world_position position) {
    return world_site(world)->positions[position].service == MODEL_SERVICE_IN;
}

// From testing to a cancelled job.
static void cancel(struct world *world, const char *job) {
    assert_true(world_verb(world, GATE_VERB_REWORK, "t-1", job));
    world_leave_safe(world, "t-1", job);
    world_hear_all(world, MODEL_POINT_LIVE);
    assert_true(world_witness(world, "t-1", job, MODEL_POINT_LIVE));
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", job));
}

static void a_failed_bag_test_takes_the_dispenser_out(void **state) {
    (void)state;
    struct world *world = bagged();
    assert_true(world_test(world, "t-1", "j-1", "leak", false));
    assert_false(in_service(world, P3B));
    char with[MODEL_ID_SIZE];
    assert_int_equal(gate_position_cause(world->gate, world_site(world), P3B, with),
                     MODEL_CAUSE_ISOLATED_WITH);
    assert_string_equal(with, "j-1");
    world_free(world);
}

static void another_dispenser_stays(void **state) {
    (void)state;
    struct world *world = bagged();
    world_hear(world, S_POWER4, MODEL_POINT_LIVE);
    world_hear(world, S_VALVE4, MODEL_POINT_LIVE);
    assert_true(in_service(world, P4A));
    assert_true(world_test(world, "t-1", "j-1", "leak", false));
    assert_true(in_service(world, P4A));
    world_free(world);
}

static void time_alone_does_not_bring_it_back(void **state) {
    (void)state;
    struct world *world = bagged();
    assert_true(world_test(world, "t-1", "j-1", "leak", false));
    world_pass_heard(world, 60000);
    world_review(world);
    assert_false(in_service(world, P3B));
    assert_int_equal(world_cause(world, P3B), MODEL_CAUSE_ISOLATED_WITH);
    world_free(world);
}

static void a_later_pass_brings_it_back(void **state) {
    (void)state;
    struct world *world = bagged();
    assert_true(world_test(world, "t-1", "j-1", "leak", false));
    assert_true(world_test(world, "t-1", "j-1", "continuity", true)); // another test does not
    assert_int_equal(world_cause(world, P3B), MODEL_CAUSE_ISOLATED_WITH);
    assert_true(world_test(world, "t-1", "j-1", "leak", true));
    assert_int_equal(world_cause(world, P3B), MODEL_CAUSE_WORK_BESIDE); // of the job, no longer
    assert_true(world_verb(world, GATE_VERB_REWORK, "t-1", "j-1"));
    assert_true(in_service(world, P3B));
    assert_false(in_service(world, P3A));
    world_free(world);
}

static void it_comes_back_only_when_proved_live(void **state) {
    (void)state;
    struct world *world = bagged();
    assert_true(world_test(world, "t-1", "j-1", "leak", false));
    spout_test(0)->powered = false;
    world_job(world, "j-1")->needs->tests[0].powered = false; // may be done without power
    world_hear(world, S_POWER3, MODEL_POINT_ISOLATED);
    assert_true(world_test(world, "t-1", "j-1", "leak", true));
    assert_true(world_verb(world, GATE_VERB_REWORK, "t-1", "j-1"));
    assert_false(in_service(world, P3B));
    assert_int_equal(world_cause(world, P3B), MODEL_CAUSE_ISOLATED);
    world_end(world);
}

static void any_other_failed_test_leaves_it(void **state) {
    (void)state;
    struct world *world = bagged();
    assert_true(world_test(world, "t-1", "j-1", "continuity", false));
    assert_int_equal(world_cause(world, P3B), MODEL_CAUSE_WORK_BESIDE);
    world_free(world);
}

static void it_survives_rework_and_a_restart(void **state) {
    (void)state;
    struct world *world = bagged();
    assert_true(world_test(world, "t-1", "j-1", "leak", false));
    assert_true(world_verb(world, GATE_VERB_REWORK, "t-1", "j-1"));
    assert_false(in_service(world, P3B));
    world_restart(world, 1000);
    world_controller(world, true);
    world_hear_all(world, MODEL_POINT_LIVE);
    world_review(world);
    assert_false(in_service(world, P3B));
    assert_int_equal(world_cause(world, P3B), MODEL_CAUSE_ISOLATED_WITH);
    world_free(world);
}

static void it_survives_the_cancellation_until_a_job_there_passes_it(void **state) {
    (void)state;
    struct world *world = bagged();
    assert_true(world_test(world, "t-1", "j-1", "leak", false));
    cancel(world, "j-1");
    assert_false(in_service(world, P3B));
    assert_int_equal(world_cause(world, P3A), MODEL_CAUSE_UNTESTED);
    assert_int_equal(world_cause(world, P3B), MODEL_CAUSE_ISOLATED_WITH);
    world_restart(world, 1000);
    world_controller(world, true);
    world_hear_all(world, MODEL_POINT_LIVE);
    assert_false(in_service(world, P3B));
    // A return of the other side does not make it good.
    world_work_at(world, "j-2", "3B", "spout", "t-2");
    world_finish(world, "j-2", "t-2");
    world_return(world, "j-2", "t-2");
    assert_false(in_service(world, P3B));
    assert_int_equal(world_cause(world, P3B), MODEL_CAUSE_ISOLATED_WITH);
    world_work_at(world, "j-3", "3A", "spout", "t-1");
    world_finish(world, "j-3", "t-1");
    world_return(world, "j-3", "t-1");
    world_review(world);
    assert_true(in_service(world, P3A));
    assert_true(in_service(world, P3B));
    world_free(world);
}

static void another_rule_under_its_name_does_not_make_it_good(void **state) {
    (void)state;
    struct world *world = bagged();
    assert_true(world_test(world, "t-1", "j-1", "leak", false));
    struct model_result other = {.rule = "range", .has_pass = true, .pass = true};
    assert_true(world_ask(world, (struct gate_request){.verb = GATE_VERB_RECORD_TEST,
                                                       .person = "t-1",
                                                       .job = "j-1",
                                                       .test = "leak",
                                                       .note = "what was changed",
                                                       .result = &other}));
    assert_int_equal(world_cause(world, P3B), MODEL_CAUSE_ISOLATED_WITH);
    // The return does: every test of the position has passed.
    assert_true(world_test(world, "t-1", "j-1", "continuity", true));
    assert_accepted(world, returns(world));
    assert_true(in_service(world, P3B));
    assert_true(in_service(world, P3A));
    world_free(world);
}

static void a_borderline_run_takes_nothing_out(void **state) {
    (void)state;
    world_copy(&copy);
    memcpy(spout_test(0)->test, "ratio", 6);
    spout_test(0)->runs = 3;
    spout_test(0)->borderline = 0.02;
    spout_test(0)->fails_dispenser = true;
    struct world *world = world_new_of(&copy.model);
    world_to_testing(world, "j-1");
    assert_true(run(world, 0.94));
    assert_int_equal(world_cause(world, P3B), MODEL_CAUSE_WORK_BESIDE);
    assert_true(run(world, 0.80));
    assert_int_equal(world_cause(world, P3B), MODEL_CAUSE_ISOLATED_WITH);
    world_free(world);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(readings_outside_the_method_are_refused),
        cmocka_unit_test(a_borderline_run_neither_passes_nor_fails),
        cmocka_unit_test(a_mean_is_decided_as_one),
        cmocka_unit_test(a_first_run_that_passes_is_a_pass),
        cmocka_unit_test(borderline_runs_are_judged_by_their_mean),
        cmocka_unit_test(what_fails_beside_its_value_is_no_borderline),
        cmocka_unit_test(a_mean_outside_fails),
        cmocka_unit_test(a_clear_run_stands_alone),
        cmocka_unit_test(a_clear_pass_after_a_borderline_run_is_one_more_run),
        cmocka_unit_test(a_clear_fail_between_is_a_fail),
        cmocka_unit_test(the_limit_of_borderline_is_borderline),
        cmocka_unit_test(a_borderline_run_after_a_pass_is_no_pass),
        cmocka_unit_test(runs_of_another_testing_do_not_count),
        cmocka_unit_test(runs_that_are_too_old_do_not_count),
        cmocka_unit_test(after_a_failed_record_it_passes_with_a_note_of_what_was_changed),
        cmocka_unit_test(that_it_asks_for_a_note_is_said_before),
        cmocka_unit_test(also_where_the_failed_record_is_void),
        cmocka_unit_test(a_borderline_run_between_asks_nothing_and_hides_nothing),
        cmocka_unit_test(without_runs_a_borderline_reading_is_judged_alone),
        cmocka_unit_test(a_test_for_each_product_of_the_position),
        cmocka_unit_test(a_repair_voids_the_tests_of_every_product),
        cmocka_unit_test(without_products_it_is_one_test),
        cmocka_unit_test(a_cabinet_job_tests_every_product_of_the_cabinet),
        cmocka_unit_test(a_job_keeps_the_products_of_its_opening),
        cmocka_unit_test(a_failed_bag_test_takes_the_dispenser_out),
        cmocka_unit_test(another_dispenser_stays),
        cmocka_unit_test(time_alone_does_not_bring_it_back),
        cmocka_unit_test(a_later_pass_brings_it_back),
        cmocka_unit_test(it_comes_back_only_when_proved_live),
        cmocka_unit_test(any_other_failed_test_leaves_it),
        cmocka_unit_test(it_survives_rework_and_a_restart),
        cmocka_unit_test(it_survives_the_cancellation_until_a_job_there_passes_it),
        cmocka_unit_test(another_rule_under_its_name_does_not_make_it_good),
        cmocka_unit_test(a_borderline_run_takes_nothing_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
