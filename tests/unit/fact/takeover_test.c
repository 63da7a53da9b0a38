// A journal of the first edition is taken over: whatever stood goes on, by today's rules from its
// next request on.
#include <string.h>

#include "edition.h"
#include "world.h"
#include "world_journal.h"

#define AWAY_MS 2000

// The moments of the kept journal that are walked on from: the last fact before the daemon ends.
enum moment {
    BROKEN = 56,   // j-1 is stopped: a point read live
    WORKING = 213, // j-1 is worked on by t-2, its lockout confirmed
    TESTING = 230, // and tested
    OWED = 192,    // j-4 was cancelled after work: its tests are owed by 4A
};

static struct world *take_over(size_t facts) {
    struct gate_time last;
    world_journal_clear();
    edition_journal(facts, &last);
    return world_new_over(world_model(), last, AWAY_MS);
}

static void prove(struct world *world) {
    world_controller(world, true);
    world_isolate(world);
}

// From a confirmed lockout and acknowledged alarms to the end, as an honest crew goes.
static void go_to_the_end(struct world *world, const char *leader) {
    if (world_job(world, "j-1")->phase != MODEL_PHASE_WORKING) {
        assert_accepted(world, world_verb(world, GATE_VERB_START_WORK, leader, "j-1"));
    }
    world_finish(world, "j-1", leader);
    // Its reader saw that lock hang, in the journal of before: it has to see it go.
    assert_false(world_lift(world, leader, "j-1", LINE3A) &&
                 world_verb(world, GATE_VERB_BEGIN_TEST, leader, "j-1"));
    world_reader(world, LINE3A, leader, false);
    world_return(world, "j-1", leader);
    assert_int_equal(world_job(world, "j-1")->phase, MODEL_PHASE_RETURNED);
}

static void each_moment_is_taken_over(void **state) {
    (void)state;
    for (size_t facts = 1; facts <= EDITION_FACTS; facts++) {
        struct world *world = take_over(facts);
        world_controller(world, true);
        world_hear_all(world, MODEL_POINT_ISOLATED);
        world_pass(world, 60000);
        world_free(world); // which folds all of it anew
    }
}

static void work_goes_on_once_it_is_proved(void **state) {
    (void)state;
    struct world *world = take_over(WORKING);
    assert_job(world, "j-1", WORKING, UNPROVEN);
    prove(world);
    assert_job(world, "j-1", WORKING, CONFIRMED);
    go_to_the_end(world, "t-2");
    world_free(world);
}

// Its opening knew a greatest value alone, and passed the other pole.
static void the_other_pole_fails_its_check(void **state) {
    (void)state;
    struct world *world = take_over(WORKING);
    prove(world);
    const struct model_check *check =
        model_check_named(world_job(world, "j-1")->needs, "no-voltage");
    assert_true(check->limits.has_min && check->limits.min == -1);
    assert_true(world_sign_value(world, "t-2", "j-1", "no-voltage", -240, "V"));
    assert_job(world, "j-1", STOPPED, BROKEN);
    // The way back is by today's rules too: the locks hang anew.
    world_tag_all(world, "t-2", "j-1");
    world_sign_hold(world, "t-2", "j-1");
    world_acknowledge(world);
    go_to_the_end(world, "t-2");
    world_free(world);
}

// A stop that somebody calls voids what was signed; the facts of before did not.
static void a_stop_is_a_stop(void **state) {
    (void)state;
    struct world *world = take_over(WORKING);
    prove(world);
    assert_accepted(world, world_ask(world, (struct gate_request){.verb = GATE_VERB_STOP_WORK,
                                                                  .person = "v-1",
                                                                  .job = "j-1",
                                                                  .reason = "smoke"}));
    assert_job(world, "j-1", STOPPED, UNCONFIRMED);
    assert_non_null(world_alarm(world, MODEL_ALARM_STOP_CALLED));
    world_sign_prepare(world, "t-2", "j-1");
    world_sign_hold(world, "t-2", "j-1");
    world_acknowledge(world);
    go_to_the_end(world, "t-2");
    world_free(world);
}

static void a_broken_lockout_is_proved_anew(void **state) {
    (void)state;
    struct world *world = take_over(BROKEN);
    assert_int_equal(world_job(world, "j-1")->phase, MODEL_PHASE_STOPPED);
    const char *leader = world_job(world, "j-1")->leader;
    char id[MODEL_ID_SIZE];
    memcpy(id, leader, sizeof id);
    prove(world);
    world_sign_prepare(world, id, "j-1");
    if (world_point(world, LINE3A)->state != MODEL_POINT_ISOLATED) {
        assert_true(world_witness(world, id, "j-1", MODEL_POINT_ISOLATED));
    }
    for (size_t i = 0; i < world_job(world, "j-1")->crew_count; i++) {
        world_tag_all(world, world_job(world, "j-1")->crew[i].person, "j-1");
    }
    world_sign_hold(world, id, "j-1");
    world_acknowledge(world);
    assert_accepted(world, world_verb(world, GATE_VERB_START_WORK, id, "j-1"));
    world_free(world);
}

// A test that fails is made good with a note of what was changed.
static void a_test_is_made_good_with_a_word(void **state) {
    (void)state;
    struct world *world = take_over(TESTING);
    assert_int_equal(world_job(world, "j-1")->phase, MODEL_PHASE_TESTING);
    world_controller(world, true);
    world_hear_all(world, MODEL_POINT_LIVE);
    assert_accepted(world, world_test(world, "t-2", "j-1", "leak", false));
    const struct model_result passed = {.has_pass = true, .pass = true};
    assert_refused(world,
                   world_ask(world, (struct gate_request){.verb = GATE_VERB_RECORD_TEST,
                                                          .person = "t-2",
                                                          .job = "j-1",
                                                          .test = "leak",
                                                          .result = &passed}),
                   MODEL_CODE_NOTE_MISSING);
    assert_accepted(world, world_test(world, "t-2", "j-1", "leak", true)); // with one
    world_free(world);
}

static void what_is_owed_is_owed_still(void **state) {
    (void)state;
    struct world *world = take_over(OWED);
    const struct model_requirements *owed = world_site(world)->positions[P4A].owed;
    assert_non_null(owed);
    assert_int_equal(owed->test_count, 2);
    world_free(world);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_moment_is_taken_over),
        cmocka_unit_test(work_goes_on_once_it_is_proved),
        cmocka_unit_test(the_other_pole_fails_its_check),
        cmocka_unit_test(a_stop_is_a_stop),
        cmocka_unit_test(a_broken_lockout_is_proved_anew),
        cmocka_unit_test(a_test_is_made_good_with_a_word),
        cmocka_unit_test(what_is_owed_is_owed_still),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
