// Tests that an authority wants announced: refused until so many hours after the signed notice.
#include <string.h>

#include "gate/may.h"
#include "world.h"

#define HOUR_MS 3600000LL
#define NOTICE_MS (72 * HOUR_MS)
#define STANDS_MS (120 * HOUR_MS)

// The forecourt whose `continuity`, which takes no power, waits 72 h after "barricade" was signed.
static struct world *announcing_of(struct world_copy *copy, size_t first, size_t last) {
    world_copy(copy);
    for (size_t p = first; p <= last; p++) {
        struct model_test *test = &copy->tests[p][1];
        memcpy(test->notice, "barricade", sizeof "barricade");
        test->notice_ms = NOTICE_MS;
        copy->checks[p][0].valid_ms = STANDS_MS;
        copy->checks[p][1].valid_ms = STANDS_MS;
    }
    return world_new_of(&copy->model);
}

static struct world *announcing(void) {
    static struct world_copy copy;
    return announcing_of(&copy, 0, 1);
}

static bool tested(struct world *world) {
    return world_test(world, "t-1", "j-1", "continuity", true);
}

// What the return says of the test: the name of its sentence.
static bool return_says(struct world *world, enum gate_say sentence) {
    assert_false(world_verb(world, GATE_VERB_RETURN_POSITION, "t-1", "j-1"));
    for (size_t i = 0; i < world->answer.refusal_count; i++) {
        if (world->answer.refusals[i].sentence == sentence) {
            return true;
        }
    }
    return false;
}

static void it_is_refused_until_the_hours_have_gone_by(void **state) {
    (void)state;
    struct world *world = announcing();
    world_to_testing(world, "j-1");
    assert_refused(world, tested(world), MODEL_CODE_CHECK_OUT_OF_SEASON);
    assert_true(world_refused(world, MODEL_CODE_CHECK_OUT_OF_SEASON, "continuity"));
    const struct gate_signature *notice = gate_signature_of(world_job(world, "j-1"), "barricade");
    world_pass_heard(world, notice->at.mono + NOTICE_MS - 1000 - world->now.mono);
    assert_refused(world, tested(world), MODEL_CODE_CHECK_OUT_OF_SEASON);
    world_pass_heard(world, 1000);
    assert_accepted(world, tested(world));
    world_free(world);
}

// The instant is told: in the refusal, and at the return, where it is what lacks.
static void it_says_from_when(void **state) {
    (void)state;
    struct world *world = announcing();
    world_to_testing(world, "j-1");
    assert_false(tested(world));
    assert_non_null(strstr(world->answer.refusals[0].say, "may be recorded from 20"));
    assert_non_null(strstr(world->answer.refusals[0].say, "Z."));
    assert_true(return_says(world, GATE_SAY_TEST_NOTICE));
    // No request helps but time; the test that needs no notice goes first.
    struct gate_step step = world_step(world, "t-1", "j-1");
    assert_true(step.mine);
    assert_string_equal(step.choice.test, "leak");
    assert_true(world_test(world, "t-1", "j-1", "leak", true));
    step = world_step(world, "t-1", "j-1");
    assert_true(step.is && step.lacks);
    assert_false(step.has_verb);
    assert_int_equal(step.lacking.sentence, GATE_SAY_TEST_NOTICE);
    world_free(world);
}

// What is shown changes by time alone, and the gate says when to look.
static void the_moment_is_waited_for(void **state) {
    (void)state;
    struct world *world = announcing();
    world_to_testing(world, "j-1");
    const struct gate_signature *notice = gate_signature_of(world_job(world, "j-1"), "barricade");
    int64_t from = notice->at.mono + NOTICE_MS;
    world_pass_heard(world, from - 500 - world->now.mono);
    assert_true(gate_deadline(world->gate) <= from);
    world_free(world);
}

static void a_notice_that_is_void_counts_for_nothing(void **state) {
    (void)state;
    struct world *world = announcing();
    world_to_testing(world, "j-1");
    world_pass_heard(world, NOTICE_MS);
    assert_true(world_stop(world, "t-2", "j-1", "a leak")); // voids what was prepared
    assert_true(world_sign(world, "m-1", "j-1", "site-told"));
    assert_int_equal(world_job(world, "j-1")->phase, MODEL_PHASE_RESTORING);
    struct gate_request seen = {.verb = GATE_VERB_ACKNOWLEDGE_ALARM,
                                .person = "m-1",
                                .alarm = world_site(world)->alarms[0].alarm,
                                .note = "found and stopped"};
    assert_accepted(world, world_ask(world, seen));
    assert_true(world_sign(world, "t-1", "j-1", "barricade"));
    assert_accepted(world, world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
    assert_refused(world, tested(world), MODEL_CODE_CHECK_OUT_OF_SEASON);
    world_free(world);
}

// While it is void the return says that it is to be signed.
static void an_unsigned_notice_is_said_first(void **state) {
    (void)state;
    struct world *world = announcing();
    world_to_testing(world, "j-1");
    world_pass_heard(world, STANDS_MS + 1000);
    assert_refused(world, tested(world), MODEL_CODE_CHECK_VOID);
    assert_true(return_says(world, GATE_SAY_CHECK_VOID));
    struct gate_step step = world_step(world, "t-1", "j-1");
    assert_true(step.mine);
    assert_string_equal(step.choice.check, "barricade");
    world_free(world);
}

static void signed_anew_while_it_stands_it_is_no_younger(void **state) {
    (void)state;
    struct world *world = announcing();
    world_to_testing(world, "j-1");
    world_pass_heard(world, NOTICE_MS - 10000);
    assert_true(world_sign(world, "t-1", "j-1", "barricade"));
    world_pass_heard(world, 10000);
    assert_accepted(world, tested(world));
    world_free(world);
}

static void after_a_gap_it_is_given_anew(void **state) {
    (void)state;
    struct world *world = announcing();
    world_to_testing(world, "j-1");
    world_pass_heard(world, STANDS_MS + 1000); // it has lapsed
    assert_true(world_sign(world, "t-1", "j-1", "barricade"));
    assert_refused(world, tested(world), MODEL_CODE_CHECK_OUT_OF_SEASON);
    world_pass_heard(world, NOTICE_MS);
    assert_accepted(world, tested(world));
    world_free(world);
}

// Only spout announces it. A job cancelled after work leaves the test owed, and with it its notice:
// the next job there, by whatever procedure, asks for both.
static void an_owed_test_is_announced_by_the_next_job(void **state) {
    (void)state;
    static struct world_copy copy;
    world_copy(&copy);
    memcpy(copy.checks[1][0].check, "announced", sizeof "announced");
    memcpy(copy.tests[1][1].test, "decay", sizeof "decay");
    memcpy(copy.tests[1][1].notice, "announced", sizeof "announced");
    copy.tests[1][1].notice_ms = NOTICE_MS;
    copy.checks[1][0].valid_ms = STANDS_MS;
    struct world *world = world_new_of(&copy.model);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_sign(world, "t-1", "j-1", "announced"));
    assert_true(world_sign(world, "m-1", "j-1", "site-told"));
    world_isolate_at(world, "3A");
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    world_tag_all(world, "t-1", "j-1");
    world_sign_hold(world, "t-1", "j-1");
    assert_accepted(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    world_sign_clear(world, "t-1", "j-1");
    assert_true(world_sign(world, "t-1", "j-1", "made-safe"));
    assert_true(world_verb(world, GATE_VERB_SET_ASIDE, "t-1", "j-1"));
    world_lift_all(world, "t-1", "j-1");
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"));
    struct gate_request open = {.verb = GATE_VERB_OPEN_JOB,
                                .person = "k-1",
                                .job = "j-2",
                                .position = "3A",
                                .procedure = "cabinet",
                                .technician = "t-1"};
    assert_accepted(world, world_ask(world, open));
    const struct model_requirements *needs = world_job(world, "j-2")->needs;
    assert_non_null(model_check_named(world_job(world, "j-2")->needs, "announced"));
    assert_int_equal(needs->checks[2].group, MODEL_GROUP_PREPARE);
    assert_accepted(world, world_sign(world, "t-1", "j-2", "announced"));
    world_free(world);
}

// The notice of a test that came to be owed while the job stood is not this job's to sign.
static void a_notice_that_the_job_does_not_ask_for_is_said(void **state) {
    (void)state;
    static struct world_copy copy;
    struct world *world = announcing_of(&copy, 0, 1);
    world_to_testing(world, "j-1");
    memcpy(world_job(world, "j-1")->needs->tests[1].notice, "other", sizeof "other");
    assert_refused(world, tested(world), MODEL_CODE_CHECK_MISSING);
    assert_true(world_refused(world, MODEL_CODE_CHECK_MISSING, "other"));
    world_end(world);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_is_refused_until_the_hours_have_gone_by),
        cmocka_unit_test(it_says_from_when),
        cmocka_unit_test(the_moment_is_waited_for),
        cmocka_unit_test(a_notice_that_is_void_counts_for_nothing),
        cmocka_unit_test(an_unsigned_notice_is_said_first),
        cmocka_unit_test(signed_anew_while_it_stands_it_is_no_younger),
        cmocka_unit_test(after_a_gap_it_is_given_anew),
        cmocka_unit_test(an_owed_test_is_announced_by_the_next_job),
        cmocka_unit_test(a_notice_that_the_job_does_not_ask_for_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
