// Locks that a reader sees: points whose locks are its alone, what stays listed after a lift by
// request, and what a lost session leaves of its tags.
#include <string.h>

#include "gate/find.h"
#include "gate/may.h"
#include "world.h"

static struct world_copy copy;

// 3-power and the witnessed 3A-line are the reader's alone.
static struct world *by_reader(void) {
    world_copy(&copy);
    copy.points[POWER3].locks_by_reader = true;
    copy.points[LINE3A].locks_by_reader = true;
    return world_new_of(&copy.model);
}

static void a_point_of_the_readers_alone_takes_no_tag_by_request(void **state) {
    (void)state;
    struct world *world = by_reader();
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    assert_refused(world, world_tag(world, "t-1", "j-1", POWER3), MODEL_CODE_TAG_BY_READER);
    assert_refused(world, world_tag(world, "t-1", "j-1", LINE3A), MODEL_CODE_TAG_BY_READER);
    assert_accepted(world, world_tag(world, "t-1", "j-1", VALVE3));
    world_reader(world, POWER3, "t-1", true);
    world_reader(world, LINE3A, "t-1", true);
    assert_true(gate_protected(world_site(world), world_job(world, "j-1"), "t-1"));
    world_free(world);
}

static void a_lock_that_lacks_there_is_hung_at_the_reader(void **state) {
    (void)state;
    struct world *world = by_reader();
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_sign_prepare(world, "t-1", "j-1");
    world_isolate(world);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    assert_true(world_tag(world, "t-1", "j-1", VALVE3));
    assert_false(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    assert_string_equal(world->answer.refusals[0].say,
                        "t-1 must hang lock and tag on 3-power, at its reader.");
    const struct gate_job *job = world_job(world, "j-1");
    const struct model_person *person = model_person_find(world->model, "t-1");
    struct gate_may may = {0};
    struct gate_step step;
    gate_may(world->gate, 0, job, job->position, person, world->now, &may);
    gate_step(world->gate, 0, job, person, world->now, &may, &step);
    assert_string_equal(step.lacking.subject, "3-power");
    assert_false(step.has_verb); // no request helps: the reader does
    gate_may_free(&may);
    world_free(world);
}

// --- What stays listed ---

static bool lift_absent(struct world *world, struct gate_request request) {
    request.verb = GATE_VERB_LIFT_ABSENT_TAG;
    request.point = "3-power";
    request.reason = "seen";
    return world_ask(world, request);
}

static const struct gate_tag *listed(struct world *world) {
    return world_tag_of(world, POWER3, "", "t-1");
}

// Restoring; t-1's lock on 3-power was seen by its reader and lifted by phone.
static void lifted_by_phone(struct world *world) {
    world_to_working_seen(world, "j-1");
    world_finish(world, "j-1", "t-1");
    world_lift_all(world, "t-1", "j-1");
}

WORLD_TEST(lift_tag_ends_the_tag_alone_and_the_lock_stays_listed) {
    lifted_by_phone(world);
    assert_null(world_tag_of(world, POWER3, "j-1", "t-1"));
    assert_non_null(listed(world));
    assert_false(listed(world)->counts);
    assert_int_equal(world_point(world, VALVE3)->tag_count, 0); // no reader saw that one
    world_hear_all(world, MODEL_POINT_LIVE);
    assert_refused(world, world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"),
                   MODEL_CODE_TAG_HUNG);
    assert_string_equal(world->answer.refusals[0].say,
                        "The reader of 3-power still sees the lock of t-1: have it see that go, or "
                        "a supervisor say so.");
    world_reader(world, POWER3, "t-1", false);
    assert_null(listed(world));
    assert_accepted(world, world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
}

WORLD_TEST(who_saw_it_off_ends_the_listing_and_nobody_is_to_be_told) {
    lifted_by_phone(world);
    assert_refused(world,
                   lift_absent(world, (struct gate_request){.person = "s-1", .member = "t-1"}),
                   MODEL_CODE_ATTESTATION_MISSING);
    assert_string_equal(world->answer.refusals[0].subject, "seen_off");
    assert_int_equal(world->answer.refusal_count, 1);
    assert_accepted(world,
                    lift_absent(world, (struct gate_request){
                                           .person = "s-1", .member = "t-1", .seen_off = true}));
    assert_null(listed(world));
    assert_null(world_alarm(world, MODEL_ALARM_ABSENT_LOCK_REMOVED));
    world_live_at(world, "3A", "t-1", "j-1");
    assert_accepted(world, world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
}

// What its reader still sees is of no job, whichever it was hung for.
WORLD_TEST(seen_off_with_a_job_named_is_told_to_leave_the_job_out) {
    lifted_by_phone(world);
    struct gate_request off = {.person = "s-1", .member = "t-1", .job = "j-1", .seen_off = true};
    world->plain = true; // what is possible is said of the lock, and a job is named beside it
    assert_refused(world, lift_absent(world, off), MODEL_CODE_TAG_MISSING);
    assert_int_equal(world->answer.refusal_count, 1);
    assert_string_equal(world->answer.refusals[0].say,
                        "A lock of theirs hangs on 3-power, but not for j-1: leave the job out, or "
                        "name the one that it hangs for.");
    off.seen_off = false;
    assert_false(lift_absent(world, off));
    assert_int_equal(world->answer.refusal_count, 2);
    assert_string_equal(world->answer.refusals[0].subject, "seen_off");
    off.seen_off = true;
    off.job = NULL;
    assert_accepted(world, lift_absent(world, off));
}

WORLD_TEST(seen_off_where_nothing_hangs_is_told_that_alone) {
    struct gate_request off = {.person = "s-1", .member = "t-1", .seen_off = true};
    assert_refused(world, lift_absent(world, off), MODEL_CODE_TAG_MISSING);
    assert_int_equal(world->answer.refusal_count, 1);
    assert_string_equal(world->answer.refusals[0].say, "No such lock hangs there.");
}

WORLD_TEST(seeing_it_off_lifts_no_tag_that_hangs) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    world_reader(world, POWER3, "t-1", true);
    assert_refused(
        world,
        lift_absent(world,
                    (struct gate_request){.person = "s-1", .member = "t-1", .seen_off = true}),
        MODEL_CODE_ATTESTATION_MISSING);
    assert_int_equal(world->answer.refusal_count, 3);
    world_reader(world, POWER3, "t-2", true); // of no job, and its owner has not lifted it
    assert_refused(
        world,
        lift_absent(world,
                    (struct gate_request){.person = "s-1", .member = "t-2", .seen_off = true}),
        MODEL_CODE_ATTESTATION_MISSING);
}

WORLD_TEST(a_lock_of_two_jobs_is_listed_by_the_other) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_open(world, "j-2", "3B", "t-1"));
    world_isolate(world);
    world_reader(world, POWER3, "t-1", true);
    assert_true(world_lift(world, "t-1", "j-1", POWER3));
    assert_null(listed(world));
    assert_int_equal(world_point(world, POWER3)->tag_count, 1);
    assert_true(world_lift(world, "t-1", "j-2", POWER3));
    assert_non_null(listed(world));
    assert_int_equal(world_point(world, POWER3)->tag_count, 1);
}

WORLD_TEST(hung_again_by_request_the_listed_lock_is_that_tag) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    world_reader(world, POWER3, "t-1", true);
    assert_true(world_lift(world, "t-1", "j-1", POWER3));
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    assert_null(listed(world));
    assert_int_equal(world_point(world, POWER3)->tag_count, 1);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    assert_true(world_lift(world, "t-1", "j-1", POWER3));
    assert_non_null(listed(world)); // the reader has not seen it go
}

WORLD_TEST(hung_again_at_the_reader_it_is_a_tag_of_the_job) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    world_reader(world, POWER3, "t-1", true);
    assert_true(world_lift(world, "t-1", "j-1", POWER3));
    world_reader(world, POWER3, "t-1", true);
    assert_null(listed(world));
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    assert_int_equal(world_point(world, POWER3)->tag_count, 1);
}

WORLD_TEST(hung_again_after_the_lift_it_takes_more_than_seeing_it_off) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    world_isolate(world);
    world_reader_at(world, POWER3, "t-2", true, world->now.wall - 2000);
    assert_true(world_lift(world, "t-2", "j-1", POWER3));
    assert_true(world_ask(
        world, (struct gate_request){.verb = GATE_VERB_LEAVE_JOB, .person = "t-2", .job = "j-1"}));
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    world_reader_at(world, POWER3, "t-2", true, world->now.wall - 2000); // a copy says nothing new
    assert_true(world_tag_of(world, POWER3, "", "t-2")->lifted);
    world_reader_at(world, POWER3, "t-2", true, world->now.wall);
    assert_false(world_tag_of(world, POWER3, "", "t-2")->lifted);
    assert_refused(
        world,
        lift_absent(world,
                    (struct gate_request){.person = "s-1", .member = "t-2", .seen_off = true}),
        MODEL_CODE_ATTESTATION_MISSING);
}

WORLD_TEST(a_late_event_lists_a_tag_by_request_as_seen) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    int64_t since = world_tag_of(world, POWER3, "j-1", "t-1")->since.mono;
    world_pass_heard(world, 5000);
    world_reader_at(world, POWER3, "t-1", true, world->now.wall - WORLD_MAX_AGE_MS - 1);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    assert_int_equal(world_tag_of(world, POWER3, "j-1", "t-1")->since.mono, since);
    assert_true(world_lift(world, "t-1", "j-1", POWER3));
    assert_non_null(listed(world));
}

WORLD_TEST(a_listed_lock_becomes_a_tag_of_the_job_that_its_owner_joins) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_open(world, "j-2", "3B", "t-2"));
    world_isolate(world);
    world_reader(world, POWER3, "t-1", true);
    assert_true(world_lift(world, "t-1", "j-1", POWER3));
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-1", "j-2"));
    assert_null(listed(world));
    assert_false(world_tag_of(world, POWER3, "j-2", "t-1")->counts);
}

// --- A lost session ---

// t-1 leads by the reader's tag on 3-power, t-2 is in the crew; working.
static void to_working_by_reader(struct world *world, const char *whose) {
    world_to_tagged(world, "j-1");
    world_join_tagged(world, "t-2", "j-1");
    world_reader(world, POWER3, whose, true);
    world_sign_hold(world, "t-1", "j-1");
    assert_true(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    world_forget(world);
}

WORLD_TEST(a_lost_session_stops_the_work_of_a_crew_that_counted_on_a_reader) {
    to_working_by_reader(world, "t-2");
    gate_session_lost(world->gate, world->now);
    assert_job(world, "j-1", STOPPED, CONFIRMED);
    assert_int_equal(world_fact(world, GATE_FACT_WORK_STOPPED)->why, MODEL_CODE_TAG_MISSING);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-2")->counts);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts); // by request
    assert_true(world_tag_of(world, VALVE3, "j-1", "t-2")->counts);
    assert_refused(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"),
                   MODEL_CODE_TAG_MISSING);
    assert_string_equal(world->answer.refusals[0].found,
                        "hangs, but what its reader said since is lost");
    world_reader(world, POWER3, "t-2", true);
    assert_accepted(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
}

WORLD_TEST(a_lost_session_breaks_where_the_leaders_tag_was_a_readers) {
    to_working_by_reader(world, "t-1");
    gate_session_lost(world->gate, world->now);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_alarm(world);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

WORLD_TEST(a_tag_hung_again_by_request_outlives_a_lost_session) {
    to_working_by_reader(world, "t-1");
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    gate_session_lost(world->gate, world->now);
    assert_job(world, "j-1", WORKING, CONFIRMED);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

WORLD_TEST(a_lost_session_before_the_start_loses_the_lockout) {
    world_to_tagged(world, "j-1");
    world_reader(world, POWER3, "t-1", true);
    world_sign_hold(world, "t-1", "j-1");
    assert_job(world, "j-1", OPEN, CONFIRMED);
    gate_session_lost(world->gate, world->now);
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
}

WORLD_TEST(a_stranger_of_no_crew_stops_nothing) {
    world_to_working(world, "j-1");
    world_reader(world, POWER3, "t-2", true);
    gate_session_lost(world->gate, world->now);
    assert_job(world, "j-1", WORKING, CONFIRMED);
    assert_false(world_tag_of(world, POWER3, "", "t-2")->counts);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(a_point_of_the_readers_alone_takes_no_tag_by_request),
        cmocka_unit_test(a_lock_that_lacks_there_is_hung_at_the_reader),
        cmocka_unit_test(lift_tag_ends_the_tag_alone_and_the_lock_stays_listed),
        cmocka_unit_test(who_saw_it_off_ends_the_listing_and_nobody_is_to_be_told),
        cmocka_unit_test(seen_off_with_a_job_named_is_told_to_leave_the_job_out),
        cmocka_unit_test(seen_off_where_nothing_hangs_is_told_that_alone),
        cmocka_unit_test(seeing_it_off_lifts_no_tag_that_hangs),
        cmocka_unit_test(a_lock_of_two_jobs_is_listed_by_the_other),
        cmocka_unit_test(hung_again_by_request_the_listed_lock_is_that_tag),
        cmocka_unit_test(hung_again_at_the_reader_it_is_a_tag_of_the_job),
        cmocka_unit_test(hung_again_after_the_lift_it_takes_more_than_seeing_it_off),
        cmocka_unit_test(a_late_event_lists_a_tag_by_request_as_seen),
        cmocka_unit_test(a_listed_lock_becomes_a_tag_of_the_job_that_its_owner_joins),
        cmocka_unit_test(a_lost_session_stops_the_work_of_a_crew_that_counted_on_a_reader),
        cmocka_unit_test(a_lost_session_breaks_where_the_leaders_tag_was_a_readers),
        cmocka_unit_test(a_tag_hung_again_by_request_outlives_a_lost_session),
        cmocka_unit_test(a_lost_session_before_the_start_loses_the_lockout),
        cmocka_unit_test(a_stranger_of_no_crew_stops_nothing),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
