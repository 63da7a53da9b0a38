// The lock of somebody absent removed: what stops, who is warned, and who is to be told (29 CFR
// 1910.147(e)(3)).
#include <string.h>

#include "gate/find.h"
#include "gate/may.h"
#include "gate/untold.h"
#include "world.h"

static bool remove_lock(struct world *world, const char *whose, const char *job) {
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_LIFT_ABSENT_TAG,
                                                  .person = "s-1",
                                                  .job = job,
                                                  .point = "3-power",
                                                  .member = whose,
                                                  .reason = "went home",
                                                  .not_on_site = true,
                                                  .contact_tried = true,
                                                  .will_be_told = true});
}

static bool confirm(struct world *world, const char *person) {
    return world_ask(world,
                     (struct gate_request){.verb = GATE_VERB_CONFIRM_TOLD, .person = person});
}

static const struct gate_alarm *removed(struct world *world) {
    return world_alarm(world, MODEL_ALARM_ABSENT_LOCK_REMOVED);
}

static void to_working_with(struct world *world, const char *mate) {
    world_to_tagged(world, "j-1");
    world_join_tagged(world, mate, "j-1");
    world_sign_hold(world, "t-1", "j-1");
    assert_true(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    world_forget(world);
}

WORLD_TEST(the_work_stops_and_the_lockout_holds_where_it_was_not_the_leaders) {
    to_working_with(world, "t-2");
    assert_accepted(world, remove_lock(world, "t-2", "j-1"));
    assert_job(world, "j-1", STOPPED, CONFIRMED);
    assert_int_equal(world_fact(world, GATE_FACT_WORK_STOPPED)->why, MODEL_CODE_TAG_MISSING);
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
    assert_string_equal(removed(world)->job, "j-1");
    assert_string_equal(removed(world)->subject, "t-2");
    assert_string_equal(removed(world)->by, "s-1");
    assert_string_equal(removed(world)->point, "3-power");
    assert_int_equal(removed(world)->why, MODEL_CODE_TAG_MISSING);
    assert_string_equal(removed(world)->say,
                        "s-1 removed the lock of t-2 on 3-power: who relied on "
                        "it looks again.");
}

WORLD_TEST(the_lockout_breaks_where_it_was_the_leaders) {
    to_working_with(world, "t-2");
    assert_accepted(world, remove_lock(world, "t-1", "j-1"));
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_int_equal(world_times_told(world, GATE_FACT_WORK_STOPPED), 1);
    assert_alarm(world);
    assert_non_null(removed(world));
}

WORLD_TEST(the_alarm_stands_in_every_phase) {
    world_to_tagged(world, "j-1");
    world_join_tagged(world, "t-2", "j-1");
    assert_accepted(world, remove_lock(world, "t-2", "j-1"));
    assert_job(world, "j-1", OPEN, UNCONFIRMED);
    assert_int_equal(removed(world)->state, MODEL_ALARM_UNACKNOWLEDGED);
    assert_false(world_told(world, GATE_FACT_WORK_STOPPED));
}

WORLD_TEST(and_for_a_lock_of_no_job) {
    world_reader(world, POWER3, "t-2", true);
    world_reader(world, POWER3, "badge-77", true);
    assert_accepted(world, remove_lock(world, "t-2", NULL));
    assert_string_equal(removed(world)->job, "");
    assert_non_null(gate_untold_of(world_site(world), "t-2"));
    assert_true(world_ask(world, (struct gate_request){.verb = GATE_VERB_LIFT_ABSENT_TAG,
                                                       .person = "s-1",
                                                       .point = "3-power",
                                                       .badge = "badge-77",
                                                       .reason = "nobody's",
                                                       .not_on_site = true,
                                                       .contact_tried = true,
                                                       .will_be_told = true}));
    assert_int_equal(world_site(world)->untold_count, 1); // nobody is known by a badge
}

WORLD_TEST(whose_lock_was_removed_is_refused_until_they_confirm_it) {
    to_working_with(world, "t-2");
    assert_true(remove_lock(world, "t-2", "j-1"));
    assert_refused(world, world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"), MODEL_CODE_NOT_TOLD);
    assert_string_equal(
        world->answer.refusals[0].say,
        "Your lock on 3-power was removed while you were away: say first that you know of it.");
    assert_refused(world, world_tag(world, "t-2", "no-such", POWER3), MODEL_CODE_NOT_TOLD);
    assert_refused(world, confirm(world, "t-1"), MODEL_CODE_NOT_ALLOWED);
    assert_accepted(world, confirm(world, "t-2"));
    assert_true(world_told(world, GATE_FACT_TOLD_CONFIRMED));
    assert_accepted(world, world_tag(world, "t-2", "j-1", POWER3));
    assert_refused(world, confirm(world, "t-2"), MODEL_CODE_NOT_ALLOWED);
}

WORLD_TEST(who_was_not_told_may_stop_lift_and_say_live) {
    to_working_with(world, "t-2");
    assert_true(remove_lock(world, "t-2", "j-1"));
    assert_non_null(gate_member_of(world_job(world, "j-1"), "t-2"));
    assert_accepted(world, world_lift(world, "t-2", "j-1", VALVE3));
    assert_accepted(world, world_witness(world, "t-2", NULL, MODEL_POINT_LIVE));
    assert_refused(world, world_witness(world, "t-2", "j-1", MODEL_POINT_ISOLATED),
                   MODEL_CODE_NOT_TOLD);
    world_sign_value(world, "t-2", "j-1", "no-voltage", 240, "V");
    assert_false(world_refused(world, MODEL_CODE_NOT_TOLD, NULL));
    assert_refused(world, world_sign_value(world, "t-2", "j-1", "no-voltage", 0, "V"),
                   MODEL_CODE_NOT_TOLD);
}

WORLD_TEST(who_was_not_told_may_stop_the_work) {
    to_working_with(world, "t-2");
    assert_true(remove_lock(world, "t-2", "j-1"));
    world_acknowledge(world);
    assert_true(confirm(world, "t-2"));
    assert_true(world_tag(world, "t-2", "j-1", POWER3));
    assert_true(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    // Removed once more in another job of theirs.
    world_reader(world, POWER4, "t-2", true);
    assert_true(world_ask(world, (struct gate_request){.verb = GATE_VERB_LIFT_ABSENT_TAG,
                                                       .person = "s-1",
                                                       .point = "4-power",
                                                       .member = "t-2",
                                                       .reason = "went home",
                                                       .not_on_site = true,
                                                       .contact_tried = true,
                                                       .will_be_told = true}));
    assert_job(world, "j-1", WORKING, CONFIRMED);
    assert_accepted(world, world_verb(world, GATE_VERB_STOP_WORK, "t-2", "j-1"));
    assert_int_equal(world_job(world, "j-1")->phase, MODEL_PHASE_STOPPED);
}

WORLD_TEST(it_survives_a_restart) {
    world_to_tagged(world, "j-1");
    assert_true(remove_lock(world, "t-1", "j-1"));
    world_restart(world, 1000);
    assert_refused(world, world_verb(world, GATE_VERB_JOIN_JOB, "t-1", "j-1"), MODEL_CODE_NOT_TOLD);
    assert_true(confirm(world, "t-1"));
    world_restart(world, 1000);
    assert_null(gate_untold_of(world_site(world), "t-1"));
}

WORLD_TEST(to_confirm_it_is_the_next_step_and_all_that_may_be_asked) {
    world_to_tagged(world, "j-1");
    assert_true(remove_lock(world, "t-1", "j-1"));
    const struct gate_job *job = world_job(world, "j-1");
    const struct model_person *person = model_person_find(world->model, "t-1");
    for (int of_job = 0; of_job < 2; of_job++) {
        const struct gate_job *about = of_job != 0 ? job : NULL;
        struct gate_may may = {0};
        struct gate_step step;
        gate_may(world->gate, 0, about, job->position, person, world->now, &may);
        gate_step(world->gate, 0, about, person, world->now, &may, &step);
        assert_true(step.is && step.mine);
        assert_int_equal(step.choice.verb, GATE_VERB_CONFIRM_TOLD);
        assert_int_equal(step.lacking.code, MODEL_CODE_NOT_TOLD);
        assert_true(may.verbs[GATE_VERB_CONFIRM_TOLD]);
        assert_false(may.verbs[GATE_VERB_HANG_TAG] || may.verbs[GATE_VERB_ACKNOWLEDGE_ALARM]);
        assert_int_equal(may.verbs[GATE_VERB_LIFT_TAG], of_job);
        gate_may_free(&may);
    }
}

WORLD_TEST(a_confirmation_needs_the_journal_and_a_removal_does_not) {
    world_to_tagged(world, "j-1");
    gate_journal(world->gate, false, world->now);
    assert_accepted(world, remove_lock(world, "t-1", "j-1"));
    assert_non_null(removed(world));
    assert_refused(world, confirm(world, "t-1"), MODEL_CODE_JOURNAL_DOWN);
    gate_journal(world->gate, true, world->now);
    assert_accepted(world, confirm(world, "t-1"));
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(the_work_stops_and_the_lockout_holds_where_it_was_not_the_leaders),
        cmocka_unit_test(the_lockout_breaks_where_it_was_the_leaders),
        cmocka_unit_test(the_alarm_stands_in_every_phase),
        cmocka_unit_test(and_for_a_lock_of_no_job),
        cmocka_unit_test(whose_lock_was_removed_is_refused_until_they_confirm_it),
        cmocka_unit_test(who_was_not_told_may_stop_lift_and_say_live),
        cmocka_unit_test(who_was_not_told_may_stop_the_work),
        cmocka_unit_test(it_survives_a_restart),
        cmocka_unit_test(to_confirm_it_is_the_next_step_and_all_that_may_be_asked),
        cmocka_unit_test(a_confirmation_needs_the_journal_and_a_removal_does_not),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
