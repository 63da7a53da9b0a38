// What a person may ask, and the next step. That what is listed is accepted and what is accepted
// was listed, every request of every test here is held against (world_may.c).
#include "world.h"

#include "gate/alarm.h"
#include "gate/may.h"

#include <stdio.h>
#include <string.h>

static struct gate_may may_of(struct world *world, const char *person, const char *job) {
    struct gate_may may = {0};
    const struct gate_job *of = job != NULL ? world_job(world, job) : NULL;
    gate_may(world->gate, 0, of, P3A, model_person_find(world->model, person), world->now, &may);
    assert_false(may.failed);
    return may;
}

// Exactly these verbs, in the contract's order. Those of the day around a repair, which stand
// behind the others, are left to test_day.c: most of them may be asked at any time.
static void assert_may(struct world *world, const char *person, const char *job,
                       const char *expected) {
    struct gate_may may = may_of(world, person, job);
    char verbs[512] = "";
    for (int verb = 0; verb <= GATE_VERB_ACKNOWLEDGE_ALARM; verb++) {
        if (may.verbs[verb]) {
            size_t length = strlen(verbs);
            snprintf(verbs + length, sizeof verbs - length, "%s%s", length > 0 ? " " : "",
                     gate_verb_name((enum gate_verb)verb));
        }
    }
    gate_may_free(&may);
    assert_string_equal(verbs, expected);
}

// The step as one line: its verb and what that is about, whose it is, and what it waits for.
static void assert_step(struct world *world, const char *person, const char *job,
                        const char *expected) {
    struct gate_step step = world_step(world, person, job);
    const struct gate_choice *choice = &step.choice;
    const char *about = choice->point != NULL     ? choice->point
                        : choice->check != NULL   ? choice->check
                        : choice->alarm != NULL   ? "alarm"
                        : choice->test[0] != '\0' ? choice->test
                                                  : "-";
    char text[640];
    snprintf(text, sizeof text, "%s %s %s%s%s%s, %s %s",
             step.has_verb ? gate_verb_name(choice->verb) : "none", about,
             step.mine ? "mine" : "of", step.leader ? " leader" : "", step.crew ? " crew" : "",
             step.roles != 0 ? " roles" : "",
             step.lacks ? model_code_name(step.lacking.code) : "all", step.lacking.subject);
    assert_string_equal(step.is ? text : "nothing", expected);
}

WORLD_TEST(a_free_position_may_be_opened_by_the_desk) {
    assert_may(world, "k-1", NULL, "open-job witness-point");
    assert_step(world, "k-1", NULL, "open-job - mine, all ");
    assert_may(world, "t-1", NULL, "witness-point");
    assert_step(world, "t-1", NULL, "nothing");
}

WORLD_TEST(a_position_with_a_job_is_not_opened_again) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_may(world, "k-1", "j-1", "assign-job witness-point stop-work cancel-job");
}

WORLD_TEST(an_open_job_is_prepared_isolated_and_locked) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_step(world, "t-1", "j-1", "sign-check barricade mine, check-missing barricade");
    world_sign_prepare(world, "t-1", "j-1");
    assert_step(world, "t-1", "j-1", "witness-point 3A-line mine, point-unknown 3A-line");
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    assert_step(world, "t-1", "j-1", "distrust-sensor 3-power of roles, point-unknown 3-power");
    world_isolate(world);
    assert_step(world, "t-1", "j-1", "hang-tag 3-power mine, tag-missing 3-power");
    assert_step(world, "t-2", "j-1", "hang-tag 3-power of crew, tag-missing 3-power");
    assert_may(world, "t-2", "j-1", "join-job witness-point sign-check stop-work");
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    assert_step(world, "t-1", "j-1", "hang-tag 3-valve mine, tag-missing 3-valve");
}

WORLD_TEST(preparing_goes_on_while_somebody_else_isolates) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_step(world, "m-1", "j-1", "sign-check site-told mine, check-missing site-told");
    assert_step(world, "s-1", "j-1", "sign-check barricade of crew, check-missing barricade");
    assert_step(world, "v-1", "j-1", "sign-check barricade of crew, check-missing barricade");
    assert_true(world_sign(world, "t-1", "j-1", "barricade"));
    assert_step(world, "t-1", "j-1", "witness-point 3A-line mine, point-unknown 3A-line");
    assert_step(world, "s-1", "j-1", "sign-check site-told of roles, check-missing site-told");
    assert_step(world, "v-1", "j-1", "sign-check site-told of roles, check-missing site-told");
    assert_true(world_sign(world, "m-1", "j-1", "site-told"));
    assert_step(world, "s-1", "j-1", "witness-point 3A-line mine, point-unknown 3A-line");
}

WORLD_TEST(a_leader_without_the_credential_is_replaced_at_once) {
    assert_true(world_open(world, "j-1", "3A", "t-3"));
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_step(world, "t-3", "j-1", "assign-job - of roles, credential-expired t-3");
    assert_step(world, "t-2", "j-1", "assign-job - of roles, credential-expired t-3");
    assert_step(world, "m-1", "j-1", "assign-job - mine, credential-expired t-3");
    assert_step(world, "k-1", "j-1", "assign-job - mine, credential-expired t-3");
    assert_true(world_ask(world, (struct gate_request){.verb = GATE_VERB_ASSIGN_JOB,
                                                       .person = "k-1",
                                                       .job = "j-1",
                                                       .technician = "t-1"}));
    assert_step(world, "t-1", "j-1", "sign-check barricade mine, check-missing barricade");
}

WORLD_TEST(who_proves_waits_for_a_test_beside_it) {
    world_to_testing(world, "j-2");
    world_open_at(world, "j-1", "3B", "cabinet", "t-2");
    world_sign_prepare(world, "t-2", "j-1");
    world_isolate(world);
    world_tag_all(world, "t-2", "j-1");
    assert_step(world, "t-2", "j-1", "none - of, shared-testing j-2");
}

// Only who leads is to be replaced: a mate whose credential ended keeps nobody from preparing.
static void a_mate_without_the_credential_stops_no_preparing(void **state) {
    (void)state;
    static struct world_copy copy;
    world_copy(&copy);
    struct world *world = world_new_of(&copy.model);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    const struct model_person *expired = model_person_find(world->model, "t-3");
    for (size_t i = 0; i < copy.model.person_count; i++) {
        if (strcmp(copy.people[i].person, "t-2") == 0) {
            copy.people[i].credentials = expired->credentials;
        }
    }
    assert_step(world, "t-1", "j-1", "sign-check barricade mine, check-missing barricade");
    assert_step(world, "v-1", "j-1", "sign-check barricade of crew, check-missing barricade");
    assert_step(world, "t-2", "j-1", "sign-check barricade of crew, check-missing barricade");
    world_free(world);
}

// Stopped, led by t-1, whose credential ends then.
static struct world *stopped_unqualified(struct world_copy *copy) {
    world_copy(copy);
    struct world *world = world_new_of(&copy->model);
    world_to_stopped(world, "j-1");
    world_acknowledge(world);
    copy->people[3].credential_count = 0;
    assert_string_equal(copy->people[3].person, "t-1");
    return world;
}

static void a_leader_whose_credential_ends_hands_the_lead_over(void **state) {
    (void)state;
    static struct world_copy copy;
    struct world *world = stopped_unqualified(&copy);
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-3", "j-1")); // a helper, no leader
    assert_step(world, "t-1", "j-1", "join-job - of roles, credential-missing t-1");
    assert_step(world, "t-2", "j-1", "join-job - mine, credential-missing t-1");
    assert_step(world, "t-3", "j-1", "join-job - of roles, credential-missing t-1");
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_step(world, "t-1", "j-1", "hand-over - mine, credential-missing t-1");
    assert_step(world, "s-1", "j-1", "hand-over - mine, credential-missing t-1");
    assert_step(world, "v-1", "j-1", "hand-over - of leader roles, credential-missing t-1");
    struct gate_step step = world_step(world, "t-1", "j-1");
    assert_string_equal(step.choice.to, "t-2");
    assert_true(world_ask(
        world, (struct gate_request){
                   .verb = GATE_VERB_HAND_OVER, .person = "t-1", .job = "j-1", .to = "t-2"}));
    assert_step(world, "t-1", "j-1", "accept-lead - of crew, credential-missing t-1");
    assert_step(world, "t-2", "j-1", "hang-tag 3-power mine, tag-missing 3-power");
    world_free(world);
}

WORLD_TEST(whom_the_lead_is_offered_to_and_who_lacks_a_credential_waits) {
    world_to_tagged(world, "j-1");
    world_join_tagged(world, "t-3", "j-1");
    assert_true(world_ask(
        world, (struct gate_request){
                   .verb = GATE_VERB_HAND_OVER, .person = "t-1", .job = "j-1", .to = "t-3"}));
    assert_step(world, "t-3", "j-1", "none - of, credential-expired t-3");
}

// A lock of another job, and one of no job, on a point of the cabinet that is to be tested.
WORLD_TEST(a_lock_that_is_not_of_the_job_is_no_step_of_it) {
    assert_true(world_open(world, "j-2", "3B", "t-2"));
    world_to_restoring(world, "j-1");
    assert_true(world_tag(world, "t-2", "j-2", POWER3));
    assert_step(world, "t-1", "j-1", "lift-tag 3-power mine, tag-hung 3-power");
    assert_step(world, "t-2", "j-1", "lift-tag 3-power of crew, tag-hung 3-power");
    world_lift_all(world, "t-1", "j-1");
    assert_step(world, "t-1", "j-1", "none - of, tag-hung 3-power");
    assert_step(world, "t-2", "j-1", "none - of, tag-hung 3-power");
    assert_true(world_lift(world, "t-2", "j-2", POWER3));
    world_reader(world, POWER3, "t-3", true);
    assert_step(world, "s-1", "j-1", "none - of, tag-hung 3-power");
}

WORLD_TEST(a_lock_that_its_owner_lifted_is_seen_off_by_a_supervisor) {
    world_to_restoring(world, "j-1");
    world_reader(world, POWER3, "t-1", true);
    world_lift_all(world, "t-1", "j-1");
    assert_step(world, "t-1", "j-1", "lift-absent-tag 3-power of roles, tag-hung 3-power");
    assert_step(world, "s-1", "j-1", "lift-absent-tag 3-power mine, tag-hung 3-power");
    struct gate_step step = world_step(world, "s-1", "j-1");
    assert_true(step.choice.seen_off);
    assert_string_equal(step.choice.person, "t-1");
}

WORLD_TEST(a_leader_whose_locks_hang_lifts_them_before_another_leads) {
    assert_true(world_open(world, "j-1", "3A", "t-3"));
    world_isolate(world);
    assert_true(world_tag(world, "t-3", "j-1", POWER3));
    assert_step(world, "t-3", "j-1", "lift-tag 3-power mine, credential-expired t-3");
    assert_step(world, "k-1", "j-1", "lift-tag - of crew, credential-expired t-3");
    assert_true(world_lift(world, "t-3", "j-1", POWER3));
    assert_step(world, "k-1", "j-1", "assign-job - mine, credential-expired t-3");
}

WORLD_TEST(a_lock_that_lacks_is_that_persons_to_hang) {
    world_to_tagged(world, "j-1");
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_step(world, "t-1", "j-1", "hang-tag 3-power of crew, tag-missing 3-power");
    assert_step(world, "t-2", "j-1", "hang-tag 3-power mine, tag-missing 3-power");
}

static void a_word_said_once_is_another_persons_to_say(void **state) {
    (void)state;
    static struct world_copy copy;
    world_copy(&copy);
    copy.points[LINE3A].witnesses = 2;
    struct world *world = world_new_of(&copy.model);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_sign_prepare(world, "t-1", "j-1");
    world_hear_all(world, MODEL_POINT_ISOLATED);
    world_pass_heard(world, WORLD_SETTLE_MS);
    assert_step(world, "t-1", "j-1", "witness-point 3A-line mine, point-unknown 3A-line");
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    assert_step(world, "t-1", "j-1", "witness-point 3A-line of crew roles, point-settling 3A-line");
    assert_step(world, "s-1", "j-1", "witness-point 3A-line mine, point-settling 3A-line");
    world_free(world);
}

WORLD_TEST(with_everything_met_the_leader_starts) {
    world_to_confirmed(world, "j-1");
    assert_step(world, "t-1", "j-1", "start-work - mine, all ");
    assert_step(world, "m-1", "j-1", "start-work - of leader, all ");
    assert_may(world, "t-1", "j-1",
               "witness-point hang-tag lift-tag sign-check start-work stop-work check-in");
}

WORLD_TEST(while_working_the_crew_may_stop_and_the_leader_goes_on) {
    world_to_working(world, "j-1");
    assert_may(world, "m-1", "j-1", "witness-point sign-check stop-work");
    assert_may(world, "v-1", "j-1", "witness-point stop-work");
    assert_step(world, "v-1", "j-1", "sign-check spout-nut of crew, check-missing spout-nut");
    assert_step(world, "t-1", "j-1", "sign-check spout-nut mine, check-missing spout-nut");
}

WORLD_TEST(after_a_break_the_alarm_comes_first) {
    world_to_working(world, "j-1");
    assert_int_equal(world_hear(world, S_POWER3, MODEL_POINT_LIVE), GATE_HEARD_CHANGED);
    assert_step(world, "t-1", "j-1", "acknowledge-alarm alarm mine, alarm-open j-1");
    assert_step(world, "v-1", "j-1", "acknowledge-alarm alarm of crew roles, alarm-open j-1");
    world_acknowledge(world);
    assert_step(world, "t-1", "j-1", "none - of, point-live 3-power");
}

WORLD_TEST(locks_come_off_then_the_test_begins) {
    world_to_restoring(world, "j-1");
    assert_step(world, "t-1", "j-1", "lift-tag 3-power mine, tag-hung 3-power");
    assert_step(world, "m-1", "j-1", "lift-tag 3-power of crew, tag-hung 3-power");
    world_lift_all(world, "t-1", "j-1");
    assert_step(world, "t-1", "j-1", "begin-test - mine, all ");
}

WORLD_TEST(while_testing_points_are_restored_between_the_tests) {
    world_to_restoring(world, "j-1");
    world_lift_all(world, "t-1", "j-1");
    assert_true(world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
    assert_step(world, "t-1", "j-1", "record-test continuity mine, test-missing continuity");
    assert_step(world, "s-1", "j-1", "record-test continuity of leader, test-missing continuity");
    assert_true(world_test(world, "t-1", "j-1", "continuity", true));
    assert_step(world, "v-1", "j-1", "none - of, point-not-restored 3-power");
    assert_step(world, "t-1", "j-1", "witness-point 3A-line mine, point-not-restored 3A-line");
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_LIVE));
    assert_step(world, "t-1", "j-1", "none - of, point-not-restored 3-power");
    world_hear_all(world, MODEL_POINT_LIVE);
    assert_step(world, "t-1", "j-1", "record-test leak mine, test-missing leak");
    assert_step(world, "m-1", "j-1", "record-test leak of leader, test-missing leak");
}

WORLD_TEST(whom_the_lead_is_offered_to_is_told_what_accepting_takes) {
    world_to_confirmed(world, "j-1");
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_true(world_ask(
        world, (struct gate_request){
                   .verb = GATE_VERB_HAND_OVER, .person = "t-1", .job = "j-1", .to = "t-2"}));
    assert_step(world, "t-2", "j-1", "hang-tag 3-power mine, tag-missing 3-power");
    world_tag_all(world, "t-2", "j-1");
    assert_step(world, "t-2", "j-1", "accept-lead - mine, all ");
}

WORLD_TEST(an_offer_comes_before_the_work) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_true(world_ask(
        world, (struct gate_request){
                   .verb = GATE_VERB_HAND_OVER, .person = "t-1", .job = "j-1", .to = "t-2"}));
    assert_step(world, "t-2", "j-1", "accept-lead - mine, all ");
    assert_step(world, "t-1", "j-1", "sign-check barricade mine, check-missing barricade");
}

WORLD_TEST(while_the_journal_cannot_write_only_ending_is_listed) {
    world_to_confirmed(world, "j-1");
    gate_journal(world->gate, false, world->now);
    assert_may(world, "t-1", "j-1", "witness-point lift-tag sign-check stop-work");
    assert_step(world, "t-1", "j-1", "none - of, journal-down ");
}

WORLD_TEST(an_ended_job_leads_nowhere) {
    world_to_returned(world, "j-1");
    assert_step(world, "t-1", "j-1", "nothing");
    assert_may(world, "m-1", "j-1", "open-job witness-point");
}

WORLD_TEST(asking_changes_nothing) {
    world_to_working(world, "j-1");
    size_t told = world->fact_count;
    uint64_t changes = world_site(world)->changes;
    assert_may(world, "t-1", "j-1",
               "witness-point hang-tag lift-tag sign-check stop-work check-in");
    assert_int_equal(world->fact_count, told);
    assert_int_equal(world_site(world)->changes, changes);
}

WORLD_TEST(each_choice_says_what_it_is_about) {
    world_to_tagged(world, "j-1");
    struct gate_may may = may_of(world, "t-1", "j-1");
    unsigned hang = 0, live = 0, isolated = 0, checks = 0;
    for (size_t i = 0; i < may.count; i++) {
        const struct gate_choice *choice = &may.choices[i];
        hang += choice->verb == GATE_VERB_HANG_TAG && choice->point != NULL;
        checks += choice->verb == GATE_VERB_SIGN_CHECK && choice->check != NULL;
        live += choice->has_state && choice->state == MODEL_POINT_LIVE;
        isolated += choice->has_state && choice->state == MODEL_POINT_ISOLATED;
    }
    gate_may_free(&may);
    assert_int_equal(hang, 3);
    assert_int_equal(live, 1); // 3A-line alone has no sensor
    assert_int_equal(isolated, 1);
    assert_true(checks >= 2);
}

// A called stop is not the crew's to acknowledge, but its caller's and an overseer's.
WORLD_TEST(an_alarm_of_others_is_waited_for) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    const struct gate_args args = {.by = "t-2"};
    const struct gate_alarm_about about = {.kind = MODEL_ALARM_STOP_CALLED,
                                           .job = world_job(world, "j-1"),
                                           .position = MODEL_NONE,
                                           .point = MODEL_NONE,
                                           .by = "t-2",
                                           .sentence = GATE_SAY_ALARM_STOP_CALLED,
                                           .args = &args};
    gate_alarm_raise(world->gate, world_site(world), &about, true, world->now);
    assert_step(world, "t-1", "j-1", "acknowledge-alarm alarm of roles, alarm-open j-1");
    assert_step(world, "t-2", "j-1", "acknowledge-alarm alarm mine, alarm-open j-1");
    struct gate_step step = world_step(world, "m-1", "j-1");
    assert_true(step.mine && step.choice.note);
}

static const struct gate_choice *leave_of(struct world *world, const char *person,
                                          struct gate_may *may) {
    gate_may(world->gate, 0, world_job(world, "j-1"), P3A,
             model_person_find(world->gate->model, person), world->now, may);
    for (size_t i = 0; i < may->count; i++) {
        if (may->choices[i].check != NULL && strcmp(may->choices[i].check, "made-safe") == 0 &&
            !may->choices[i].fails) {
            return &may->choices[i];
        }
    }
    return NULL;
}

WORLD_TEST(where_nobody_is_locked_a_choice_asks_how_it_was_made_safe) {
    struct gate_may may = {0};
    world_to_testing(world, "j-1");
    assert_true(world_verb(world, GATE_VERB_REWORK, "t-1", "j-1"));
    const struct gate_choice *choice = leave_of(world, "s-1", &may);
    assert_non_null(choice);
    assert_true(choice->note);
    gate_may_free(&may);
    world_isolate(world);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    world_tag_all(world, "t-1", "j-1");
    choice = leave_of(world, "t-1", &may);
    assert_non_null(choice);
    assert_false(choice->note);
    gate_may_free(&may);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_free_position_may_be_opened_by_the_desk),
        cmocka_unit_test(a_position_with_a_job_is_not_opened_again),
        cmocka_unit_test(an_open_job_is_prepared_isolated_and_locked),
        cmocka_unit_test(preparing_goes_on_while_somebody_else_isolates),
        cmocka_unit_test(a_leader_without_the_credential_is_replaced_at_once),
        cmocka_unit_test(who_proves_waits_for_a_test_beside_it),
        cmocka_unit_test(a_mate_without_the_credential_stops_no_preparing),
        cmocka_unit_test(a_leader_whose_credential_ends_hands_the_lead_over),
        cmocka_unit_test(whom_the_lead_is_offered_to_and_who_lacks_a_credential_waits),
        cmocka_unit_test(a_lock_that_is_not_of_the_job_is_no_step_of_it),
        cmocka_unit_test(a_lock_that_its_owner_lifted_is_seen_off_by_a_supervisor),
        cmocka_unit_test(a_leader_whose_locks_hang_lifts_them_before_another_leads),
        cmocka_unit_test(a_lock_that_lacks_is_that_persons_to_hang),
        cmocka_unit_test(a_word_said_once_is_another_persons_to_say),
        cmocka_unit_test(with_everything_met_the_leader_starts),
        cmocka_unit_test(while_working_the_crew_may_stop_and_the_leader_goes_on),
        cmocka_unit_test(after_a_break_the_alarm_comes_first),
        cmocka_unit_test(locks_come_off_then_the_test_begins),
        cmocka_unit_test(while_testing_points_are_restored_between_the_tests),
        cmocka_unit_test(whom_the_lead_is_offered_to_is_told_what_accepting_takes),
        cmocka_unit_test(an_offer_comes_before_the_work),
        cmocka_unit_test(while_the_journal_cannot_write_only_ending_is_listed),
        cmocka_unit_test(an_ended_job_leads_nowhere),
        cmocka_unit_test(asking_changes_nothing),
        cmocka_unit_test(an_alarm_of_others_is_waited_for),
        cmocka_unit_test(each_choice_says_what_it_is_about),
        cmocka_unit_test(where_nobody_is_locked_a_choice_asks_how_it_was_made_safe),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
