// Alarms: their states, who acknowledges them, and each kind that the gate raises by itself.
#include <string.h>

#include "gate/alarm.h"
#include "gate/emit.h"
#include "gate/find.h"
#include "gate/review.h"
#include "gate/text.h"
#include "world.h"
#include "world_journal.h"

static enum model_alarm_state state_of(struct world *world, enum model_alarm_kind kind) {
    const struct gate_alarm *alarm = world_alarm(world, kind);
    return alarm != NULL ? alarm->state : MODEL_ALARM_GONE;
}

static bool acknowledge(struct world *world, const char *person, const char *alarm) {
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_ACKNOWLEDGE_ALARM,
                                                  .person = person,
                                                  .alarm = alarm});
}

WORLD_TEST(acknowledged_then_returned_is_gone) {
    gate_link(world->gate, GATE_LIVE, false, world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_LINK_DOWN), MODEL_ALARM_UNACKNOWLEDGED);
    world_acknowledge(world);
    assert_int_equal(state_of(world, MODEL_ALARM_LINK_DOWN), MODEL_ALARM_ACKNOWLEDGED);
    gate_link(world->gate, GATE_LIVE, true, world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_LINK_DOWN), MODEL_ALARM_GONE);
}

WORLD_TEST(returned_then_acknowledged_is_gone) {
    gate_link(world->gate, GATE_LIVE, false, world->now);
    gate_link(world->gate, GATE_LIVE, true, world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_LINK_DOWN), MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
    world_acknowledge(world);
    assert_int_equal(state_of(world, MODEL_ALARM_LINK_DOWN), MODEL_ALARM_GONE);
}

WORLD_TEST(it_comes_again_under_its_name) {
    gate_link(world->gate, GATE_LIVE, false, world->now);
    char id[MODEL_ID_SIZE];
    memcpy(id, world_alarm(world, MODEL_ALARM_LINK_DOWN)->alarm, sizeof id);
    gate_link(world->gate, GATE_LIVE, true, world->now);
    gate_link(world->gate, GATE_LIVE, false, world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_LINK_DOWN), MODEL_ALARM_UNACKNOWLEDGED);
    assert_string_equal(world_alarm(world, MODEL_ALARM_LINK_DOWN)->alarm, id);
    assert_int_equal(world_site(world)->alarm_count, 1);
}

WORLD_TEST(a_condition_that_goes_on_raises_once) {
    gate_link(world->gate, GATE_LIVE, false, world->now);
    world_acknowledge(world);
    world_forget(world);
    gate_link(world->gate, GATE_LIVE, false, world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_LINK_DOWN), MODEL_ALARM_ACKNOWLEDGED);
    assert_false(world_told(world, GATE_FACT_ALARM_RAISED));
}

WORLD_TEST(who_acknowledges) {
    assert_refused(world, acknowledge(world, "m-1", "a1"), MODEL_CODE_UNKNOWN_ALARM);
    world_to_tagged(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    const char *id = "a1";
    assert_refused(world, acknowledge(world, "t-2", id), MODEL_CODE_NOT_IN_CREW);
    assert_refused(world, acknowledge(world, "v-1", id), MODEL_CODE_NOT_ALLOWED);
    assert_refused(world, acknowledge(world, "k-1", id), MODEL_CODE_NOT_ALLOWED);
    assert_accepted(world, acknowledge(world, "t-1", id));
    assert_int_equal(state_of(world, MODEL_ALARM_LOCKOUT_BROKEN), MODEL_ALARM_ACKNOWLEDGED);
    assert_accepted(world, acknowledge(world, "s-1", id));
}

// The crew of one job does not answer for another's; for one of no job any crew does.
WORLD_TEST(the_crew_of_which_job) {
    world_to_tagged(world, "j-1");
    assert_true(world_open(world, "j-4", "4A", "t-2"));
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_refused(world, acknowledge(world, "t-2", "a1"), MODEL_CODE_NOT_IN_CREW);
    gate_link(world->gate, GATE_LIVE, false, world->now);
    assert_accepted(world, acknowledge(world, "t-2", "a2"));
}

WORLD_TEST(a_tag_hung_for_over_twelve_hours) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    world_pass(world, GATE_TAG_LEFT_MS);
    assert_int_equal(state_of(world, MODEL_ALARM_TAG_LEFT), MODEL_ALARM_GONE);
    world_pass(world, 1);
    assert_int_equal(state_of(world, MODEL_ALARM_TAG_LEFT), MODEL_ALARM_UNACKNOWLEDGED);
    assert_string_equal(world_alarm(world, MODEL_ALARM_TAG_LEFT)->subject, "t-1");
    assert_string_equal(world_alarm(world, MODEL_ALARM_TAG_LEFT)->job, "j-1");
    world_isolate(world);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    assert_int_equal(state_of(world, MODEL_ALARM_TAG_LEFT), MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
}

// As after a restart with the clock behind: how long the daemon was away nobody knows.
WORLD_TEST(a_gap_of_unknown_length_leaves_no_tag_hanging) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    world->now.mono += 100 * GATE_TAG_LEFT_MS;
    world->now.wall -= 3600000;
    world_pass(world, 1);
    assert_int_equal(state_of(world, MODEL_ALARM_TAG_LEFT), MODEL_ALARM_GONE);
    world_pass(world, GATE_TAG_LEFT_MS);
    assert_int_equal(state_of(world, MODEL_ALARM_TAG_LEFT), MODEL_ALARM_GONE);
    world_pass(world, 3600001);
    assert_int_equal(state_of(world, MODEL_ALARM_TAG_LEFT), MODEL_ALARM_UNACKNOWLEDGED);
    world->now.wall -= 3600000; // it is not taken back by a clock that is set
    world_pass(world, 1);
    assert_int_equal(state_of(world, MODEL_ALARM_TAG_LEFT), MODEL_ALARM_UNACKNOWLEDGED);
}

WORLD_TEST(a_lock_of_nobodys_job_left_hanging) {
    world_reader(world, POWER3, "badge-77", true);
    world_pass(world, GATE_TAG_LEFT_MS + 1);
    assert_string_equal(world_alarm(world, MODEL_ALARM_TAG_LEFT)->subject, "badge-77");
    world_reader(world, POWER3, "badge-77", false);
    assert_int_equal(state_of(world, MODEL_ALARM_TAG_LEFT), MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
}

// Who contests it is heard again when its document changes.
WORLD_TEST(a_contested_site_over_a_restart) {
    gate_contested(world->gate, 0, true, world->now);
    char alarm[MODEL_ID_SIZE];
    gate_id_copy(alarm, world_alarm(world, MODEL_ALARM_SITE_CONTESTED)->alarm);
    world_acknowledge(world);
    world_restart(world, 1000);
    assert_int_equal(state_of(world, MODEL_ALARM_SITE_CONTESTED), MODEL_ALARM_ACKNOWLEDGED);
    assert_false(world->gate->sites[0].contested); // no gate is closed by it
    gate_contested(world->gate, 0, true, world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_SITE_CONTESTED), MODEL_ALARM_ACKNOWLEDGED);
    assert_string_equal(world_alarm(world, MODEL_ALARM_SITE_CONTESTED)->alarm, alarm);
    world_restart(world, 1000); // and now it is gone
    world_pass(world, GATE_CLAIM_MS - 1);
    assert_int_equal(state_of(world, MODEL_ALARM_SITE_CONTESTED), MODEL_ALARM_ACKNOWLEDGED);
    world_pass(world, 2);
    assert_null(world_alarm(world, MODEL_ALARM_SITE_CONTESTED));
}

WORLD_TEST(a_contested_site) {
    gate_contested(world->gate, 0, true, world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_SITE_CONTESTED), MODEL_ALARM_UNACKNOWLEDGED);
    gate_contested(world->gate, 0, false, world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_SITE_CONTESTED),
                     MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
}

WORLD_TEST(a_journal_that_does_not_write) {
    gate_journal(world->gate, false, world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_JOURNAL_DOWN), MODEL_ALARM_UNACKNOWLEDGED);
    gate_journal(world->gate, true, world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_JOURNAL_DOWN),
                     MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
}

WORLD_TEST(a_webhook_that_is_down_raises_once_and_clears) {
    size_t facts = world->gate->changes;
    gate_webhook(world->gate, 0, "tracker", false, world->now);
    assert_int_equal(world->gate->changes, facts);
    gate_webhook(world->gate, 0, "tracker", true, world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_WEBHOOK_DOWN), MODEL_ALARM_UNACKNOWLEDGED);
    facts = world->gate->changes;
    gate_webhook(world->gate, 0, "tracker", true, world->now);
    assert_int_equal(world->gate->changes, facts);
    assert_string_equal(world_alarm(world, MODEL_ALARM_WEBHOOK_DOWN)->subject, "tracker");
    gate_webhook(world->gate, 0, "other", true, world->now); // an alarm of its own
    assert_int_equal(world_site(world)->alarm_count, 2);
    gate_webhook(world->gate, 0, "other", false, world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_WEBHOOK_DOWN), MODEL_ALARM_UNACKNOWLEDGED);
    gate_webhook(world->gate, 0, "tracker", false, world->now);
    assert_int_equal(state_of(world, MODEL_ALARM_WEBHOOK_DOWN),
                     MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
}

// The office's records are behind; the cabinet is as safe as before.
WORLD_TEST(a_webhook_that_is_down_closes_no_gate) {
    world_to_confirmed(world, "j-1");
    gate_webhook(world->gate, 0, "tracker", true, world->now);
    assert_true(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
}

// --- What it is raised for ---

WORLD_TEST(each_connection_has_its_alarm) {
    gate_link(world->gate, GATE_LIVE, false, world->now);
    gate_link(world->gate, GATE_DURABLE, false, world->now);
    assert_int_equal(world_site(world)->alarm_count, 2);
    assert_string_equal(world_site(world)->alarms[0].subject, "live");
    assert_string_equal(world_site(world)->alarms[1].subject, "durable");
    assert_false(world->gate->link_up);
    gate_link(world->gate, GATE_DURABLE, true, world->now);
    assert_int_equal(world_site(world)->alarms[0].state, MODEL_ALARM_UNACKNOWLEDGED);
    assert_int_equal(world_site(world)->alarms[1].state, MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
    assert_false(world->gate->link_up);
    gate_link(world->gate, GATE_LIVE, true, world->now);
    assert_true(world->gate->link_up);
}

WORLD_TEST(a_flutter_is_the_same_alarm) {
    gate_link(world->gate, GATE_LIVE, false, world->now);
    const struct gate_alarm *alarm = world_alarm(world, MODEL_ALARM_LINK_DOWN);
    int64_t raised = alarm->raised.wall;
    gate_link(world->gate, GATE_LIVE, true, world->now);
    world_pass(world, 4999);
    gate_link(world->gate, GATE_LIVE, false, world->now);
    assert_int_equal(alarm->state, MODEL_ALARM_UNACKNOWLEDGED);
    assert_int_equal(alarm->count, 1);
    assert_int_equal(alarm->raised.wall, raised);
    gate_link(world->gate, GATE_LIVE, true, world->now);
    world_pass(world, 5000);
    gate_link(world->gate, GATE_LIVE, false, world->now);
    assert_int_equal(alarm->count, 2);
    assert_int_equal(alarm->raised.wall, raised + 9999);
    assert_int_equal(world_journal_last(GATE_FACT_ALARM_RAISED)->count, 2);
}

static void raise_stop(struct world *world, const char *by, const char *reason) {
    const struct gate_args args = {.by = by, .reason = reason};
    const struct gate_alarm_about about = {.kind = MODEL_ALARM_STOP_CALLED,
                                           .job = gate_job_find(world_site(world), "j-1"),
                                           .position = MODEL_NONE,
                                           .point = MODEL_NONE,
                                           .by = by,
                                           .sentence = GATE_SAY_ALARM_STOP_CALLED,
                                           .args = &args};
    gate_alarm_raise(world->gate, world_site(world), &about, true, world->now);
}

WORLD_TEST(a_further_cause_raises_again) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    raise_stop(world, "t-1", "it smells of fuel");
    const struct gate_alarm *alarm = world_alarm(world, MODEL_ALARM_STOP_CALLED);
    assert_string_equal(alarm->say,
                        "t-1 called a stop: it smells of fuel. Keep clear until it is seen to.");
    raise_stop(world, "t-2", NULL);
    assert_int_equal(world_site(world)->alarm_count, 1);
    assert_int_equal(alarm->count, 2);
    assert_string_equal(alarm->by, "t-2");
    assert_string_equal(alarm->say,
                        "t-2 called a stop: no reason given. Keep clear until it is seen to.");
}

WORLD_TEST(what_happened_is_gone_once_acknowledged) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    raise_stop(world, "t-1", NULL);
    gate_alarm_acknowledge(world->gate, world_site(world),
                           world_alarm(world, MODEL_ALARM_STOP_CALLED), "m-1", "aired", world->now);
    assert_null(world_alarm(world, MODEL_ALARM_STOP_CALLED));
    assert_string_equal(world_journal_last(GATE_FACT_ALARM_ACKNOWLEDGED)->note, "aired");
}

static void the_cause_that_alarms_share(void **state) {
    (void)state;
    char group[GATE_GROUP_SIZE];
    struct gate_alarm alarm = {
        .alarm = "a1", .kind = MODEL_ALARM_LOCKOUT_BROKEN, .job = "j-1", .point = "3-power"};
    gate_alarm_group(&alarm, group, sizeof group);
    assert_string_equal(group, "point/3-power");
    alarm.point[0] = '\0';
    gate_alarm_group(&alarm, group, sizeof group);
    assert_string_equal(group, "job/j-1");
    alarm.kind = MODEL_ALARM_LINK_DOWN;
    strcpy(alarm.subject, "live");
    gate_alarm_group(&alarm, group, sizeof group);
    assert_string_equal(group, "connection/live");
    alarm.kind = MODEL_ALARM_LOCKOUT_BROKEN;
    alarm.why = MODEL_CODE_LINK_DOWN; // by the link that another alarm tells of
    gate_alarm_group(&alarm, group, sizeof group);
    assert_string_equal(group, "connection/durable");
    alarm.kind = MODEL_ALARM_JOURNAL_DOWN;
    gate_alarm_group(&alarm, group, sizeof group);
    assert_string_equal(group, "daemon");
}

static void how_urgent_and_whose(void **state) {
    (void)state;
    assert_int_equal(gate_alarm_row(MODEL_ALARM_STOP_CALLED, NULL)->priority,
                     MODEL_PRIORITY_URGENT);
    assert_int_equal(gate_alarm_row(MODEL_ALARM_CHECK_IN_OVERDUE, "t-1")->priority,
                     MODEL_PRIORITY_URGENT);
    assert_int_equal(gate_alarm_row(MODEL_ALARM_LEFT_LIVE, NULL)->priority, MODEL_PRIORITY_HIGH);
    assert_int_equal(gate_alarm_row(MODEL_ALARM_CLOCK, "3-power")->priority, MODEL_PRIORITY_LOW);
    assert_int_equal(gate_alarm_row(MODEL_ALARM_CLOCK, "daemon")->priority, MODEL_PRIORITY_HIGH);
    assert_int_equal(gate_alarm_row(MODEL_ALARM_CLOCK, "daemon")->seen_by,
                     GATE_ALARM_SEEN_BY_OVERSEER);
}

WORLD_TEST(a_clock_is_named) {
    struct gate_reading reading = {.readable = true,
                                   .good = true,
                                   .state = MODEL_POINT_LIVE,
                                   .has_at = true,
                                   .at = world->now.wall + GATE_AHEAD_MS + 1};
    gate_hear(world->gate, 0, S_POWER3, &reading, world->now);
    assert_string_equal(world_alarm(world, MODEL_ALARM_CLOCK)->subject,
                        world_site(world)->model->sensors[S_POWER3].sensor);
    assert_int_equal(world_alarm(world, MODEL_ALARM_CLOCK)->why, MODEL_CODE_CLOCK_WRONG);
}

// It told neither how often it was raised nor of what.
WORLD_TEST(an_alarm_of_a_journal_of_before) {
    struct gate_fact fact = {.type = GATE_FACT_ALARM_RAISED,
                             .at = world->now,
                             .alarm = "a1",
                             .has_kind = true,
                             .kind = MODEL_ALARM_TAG_LEFT,
                             .has_alarm_state = true,
                             .alarm_state = MODEL_ALARM_UNACKNOWLEDGED,
                             .person = "t-1",
                             .say = "The lock of t-1 has hung for long."};
    gate_emit(world->gate, &fact);
    const struct gate_alarm *alarm = world_alarm(world, MODEL_ALARM_TAG_LEFT);
    assert_int_equal(alarm->count, 1);
    assert_string_equal(alarm->subject, "t-1");
    assert_int_equal(alarm->told.sentence, GATE_SAY_NONE);
    fact.at.wall += 1000;
    gate_emit(world->gate, &fact);
    assert_int_equal(alarm->count, 2);
    assert_int_equal(alarm->raised.wall, fact.at.wall);
    fact.alarm = "a2";
    fact.kind = MODEL_ALARM_LINK_DOWN;
    fact.person = NULL;
    gate_emit(world->gate, &fact);
    gate_link(world->gate, GATE_DURABLE, true, world->now); // so that it does not stand for ever
    assert_int_equal(state_of(world, MODEL_ALARM_LINK_DOWN), MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
}

// --- Left live ---

static void set_aside(struct world *world, const char *job, const char *leader) {
    world_sign_clear(world, leader, job);
    assert_true(world_sign(world, leader, job, "made-safe"));
    assert_true(world_verb(world, GATE_VERB_SET_ASIDE, leader, job));
    world_lift_all(world, leader, job);
}

WORLD_TEST(a_point_left_live_while_its_job_is_set_aside) {
    world_to_working(world, "j-1");
    set_aside(world, "j-1", "t-1");
    world_hear_all(world, MODEL_POINT_LIVE); // of both sides: the cabinet may be powered
    assert_int_equal(state_of(world, MODEL_ALARM_LEFT_LIVE), MODEL_ALARM_GONE);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_LIVE));
    assert_int_equal(state_of(world, MODEL_ALARM_LEFT_LIVE), MODEL_ALARM_UNACKNOWLEDGED);
    assert_string_equal(world_alarm(world, MODEL_ALARM_LEFT_LIVE)->point, "3A-line");
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    assert_int_equal(state_of(world, MODEL_ALARM_LEFT_LIVE), MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
}

WORLD_TEST(a_point_left_live_while_untested) {
    world_to_working(world, "j-1");
    set_aside(world, "j-1", "t-1");
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"));
    assert_true(world_witness(world, "m-1", NULL, MODEL_POINT_LIVE));
    assert_int_equal(state_of(world, MODEL_ALARM_LEFT_LIVE), MODEL_ALARM_UNACKNOWLEDGED);
    assert_true(world_open(world, "j-2", "3A", "t-1")); // somebody sees to it
    assert_int_equal(state_of(world, MODEL_ALARM_LEFT_LIVE), MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
}

static size_t left_live(struct world *world) {
    size_t count = 0;
    for (size_t i = 0; i < world_site(world)->alarm_count; i++) {
        const struct gate_alarm *alarm = &world_site(world)->alarms[i];
        count += alarm->kind == MODEL_ALARM_LEFT_LIVE && alarm->state == MODEL_ALARM_UNACKNOWLEDGED;
    }
    return count;
}

// A leak: everything was live for the test, and somebody goes to isolate it again.
WORLD_TEST(a_rework_has_five_minutes) {
    world_to_testing(world, "j-1");
    assert_true(world_verb(world, GATE_VERB_REWORK, "t-1", "j-1"));
    world_pass_heard(world, GATE_REWORK_MS - 1000);
    assert_int_equal(left_live(world), 0);
    int64_t due = world_job(world, "j-1")->since.mono + GATE_REWORK_MS + 1;
    assert_true(gate_deadline(world->gate) <= due);
    world_pass_heard(world, 1000);
    assert_int_equal(left_live(world), 0);
    world_pass(world, 1);
    assert_int_equal(left_live(world), 3); // the breaker and the valve of both sides as well
    const struct gate_alarm *alarm = world_alarm(world, MODEL_ALARM_LEFT_LIVE);
    assert_string_equal(alarm->job, "");
    assert_int_equal(alarm->position, P3A);
    assert_int_equal(alarm->why, MODEL_CODE_POINT_LIVE);
    assert_false(gate_alarm_unacknowledged(world_site(world), "j-1"));
    world_isolate(world);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    assert_int_equal(left_live(world), 0);
}

// Nothing else is due then.
WORLD_TEST(a_rework_is_left_in_time) {
    world_to_testing(world, "j-1");
    assert_true(world_verb(world, GATE_VERB_REWORK, "t-1", "j-1"));
    int64_t due = world_job(world, "j-1")->since.mono + GATE_REWORK_MS + 1;
    while (world->now.mono < due) {
        world_hear_all(world, MODEL_POINT_LIVE);
        gate_review(world->gate, world_site(world), world->now);
        assert_true(gate_deadline(world->gate) <= due);
        world->now.mono += 20000;
        world->now.wall += 20000;
    }
}

// Not all that was signed says that it was made safe: an old journal let it be cancelled so.
WORLD_TEST(cancelled_before_it_had_to_be_made_safe) {
    world_to_testing(world, "j-1");
    assert_true(world_verb(world, GATE_VERB_REWORK, "t-1", "j-1"));
    struct gate_job *job = world_job(world, "j-1");
    struct gate_fact fact =
        gate_fact_of_job(world->gate, world_site(world), job, GATE_FACT_JOB_CANCELLED, world->now);
    gate_emit(world->gate, &fact);
    world_review(world);
    assert_int_equal(left_live(world), 3);
}

// Made safe again it may be left: the dispenser is powered.
WORLD_TEST(a_rework_that_is_made_safe) {
    world_to_testing(world, "j-1");
    assert_true(world_verb(world, GATE_VERB_REWORK, "t-1", "j-1"));
    world_isolate(world);
    world_leave_safe(world, "t-1", "j-1");
    world_hear_all(world, MODEL_POINT_LIVE);
    world_pass_heard(world, GATE_REWORK_MS + 1);
    assert_int_equal(left_live(world), 0);
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"));
    assert_int_equal(left_live(world), 0);
    assert_true(world_witness(world, "m-1", NULL, MODEL_POINT_LIVE));
    assert_int_equal(left_live(world), 1); // what isolates this side alone
}

WORLD_TEST(live_while_tested_is_not_left) {
    world_to_testing(world, "j-1");
    assert_point(world, LINE3A, LIVE, WITNESSED);
    assert_int_equal(state_of(world, MODEL_ALARM_LEFT_LIVE), MODEL_ALARM_GONE);
}

// The cabinet is taken by a job on its other side: 3A is its work, not left.
WORLD_TEST(not_left_while_a_job_that_took_the_cabinet_goes_on) {
    assert_true(world_witness(world, "m-1", NULL, MODEL_POINT_LIVE));
    world_work_at(world, "j-2", "3B", "cabinet", "t-2");
    assert_int_equal(state_of(world, MODEL_ALARM_LEFT_LIVE), MODEL_ALARM_GONE);
    set_aside(world, "j-2", "t-2");
    assert_int_equal(state_of(world, MODEL_ALARM_LEFT_LIVE), MODEL_ALARM_UNACKNOWLEDGED);
}

// --- Over a restart ---

static const char *id_of(struct world *world, enum model_alarm_kind kind, char id[MODEL_ID_SIZE]) {
    memcpy(id, world_alarm(world, kind)->alarm, MODEL_ID_SIZE);
    return id;
}

WORLD_TEST(left_live_over_a_restart) {
    char before[MODEL_ID_SIZE];
    world_to_testing(world, "j-1");
    assert_true(world_verb(world, GATE_VERB_REWORK, "t-1", "j-1"));
    world_pass_heard(world, GATE_REWORK_MS + 1);
    assert_int_equal(left_live(world), 3);
    world_acknowledge(world);
    id_of(world, MODEL_ALARM_LEFT_LIVE, before);
    world_restart(world, 3000);
    const struct gate_alarm *alarm = world_alarm(world, MODEL_ALARM_LEFT_LIVE);
    assert_string_equal(alarm->alarm, before);
    assert_int_equal(alarm->state, MODEL_ALARM_ACKNOWLEDGED);
    world_controller(world, true);
    world_hear_all(world, MODEL_POINT_LIVE);
    assert_int_equal(left_live(world), 0); // no new one
    assert_int_equal(alarm->state, MODEL_ALARM_ACKNOWLEDGED);
    world_restart(world, 3000);
    world_pass(world, WORLD_MAX_AGE_MS + 1); // not heard any more
    for (size_t i = 0; i < world_site(world)->alarm_count; i++) {
        const struct gate_alarm *left = &world_site(world)->alarms[i];
        assert_true(left->kind != MODEL_ALARM_LEFT_LIVE || strcmp(left->point, "3A-line") == 0);
    }
}

WORLD_TEST(a_clock_is_watched_on_after_a_restart) {
    struct gate_reading reading = {.readable = true,
                                   .good = true,
                                   .state = MODEL_POINT_LIVE,
                                   .has_at = true,
                                   .at = world->now.wall + GATE_AHEAD_MS + 1};
    gate_hear(world->gate, 0, S_POWER3, &reading, world->now);
    world_acknowledge(world);
    world_restart(world, 1000);
    assert_int_equal(state_of(world, MODEL_ALARM_CLOCK), MODEL_ALARM_ACKNOWLEDGED);
    world_hear_at(world, S_POWER3, MODEL_POINT_LIVE, world->now.wall);
    assert_int_equal(state_of(world, MODEL_ALARM_CLOCK), MODEL_ALARM_ACKNOWLEDGED);
    world_pass(world, GATE_CLOCK_AGREES_MS);
    world_hear_at(world, S_POWER3, MODEL_POINT_LIVE, world->now.wall);
    assert_int_equal(state_of(world, MODEL_ALARM_CLOCK), MODEL_ALARM_GONE);
}

WORLD_TEST(a_journal_that_writes_again_after_a_restart) {
    gate_journal(world->gate, false, world->now);
    world_restart(world, 1000);
    assert_int_equal(state_of(world, MODEL_ALARM_JOURNAL_DOWN),
                     MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(acknowledged_then_returned_is_gone),
        cmocka_unit_test(returned_then_acknowledged_is_gone),
        cmocka_unit_test(it_comes_again_under_its_name),
        cmocka_unit_test(a_condition_that_goes_on_raises_once),
        cmocka_unit_test(who_acknowledges),
        cmocka_unit_test(the_crew_of_which_job),
        cmocka_unit_test(a_tag_hung_for_over_twelve_hours),
        cmocka_unit_test(a_gap_of_unknown_length_leaves_no_tag_hanging),
        cmocka_unit_test(a_lock_of_nobodys_job_left_hanging),
        cmocka_unit_test(a_contested_site),
        cmocka_unit_test(a_contested_site_over_a_restart),
        cmocka_unit_test(a_journal_that_does_not_write),
        cmocka_unit_test(a_webhook_that_is_down_raises_once_and_clears),
        cmocka_unit_test(a_webhook_that_is_down_closes_no_gate),
        cmocka_unit_test(each_connection_has_its_alarm),
        cmocka_unit_test(a_flutter_is_the_same_alarm),
        cmocka_unit_test(a_further_cause_raises_again),
        cmocka_unit_test(what_happened_is_gone_once_acknowledged),
        cmocka_unit_test(the_cause_that_alarms_share),
        cmocka_unit_test(how_urgent_and_whose),
        cmocka_unit_test(a_clock_is_named),
        cmocka_unit_test(an_alarm_of_a_journal_of_before),
        cmocka_unit_test(a_point_left_live_while_its_job_is_set_aside),
        cmocka_unit_test(a_point_left_live_while_untested),
        cmocka_unit_test(a_rework_has_five_minutes),
        cmocka_unit_test(a_rework_is_left_in_time),
        cmocka_unit_test(cancelled_before_it_had_to_be_made_safe),
        cmocka_unit_test(a_rework_that_is_made_safe),
        cmocka_unit_test(left_live_over_a_restart),
        cmocka_unit_test(a_clock_is_watched_on_after_a_restart),
        cmocka_unit_test(a_journal_that_writes_again_after_a_restart),
        cmocka_unit_test(live_while_tested_is_not_left),
        cmocka_unit_test(not_left_while_a_job_that_took_the_cabinet_goes_on),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
