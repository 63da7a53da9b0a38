// What a job's next gate still lacks, and when time alone changes something.
#include "gate/require.h"
#include "world.h"

static size_t count(struct world *world, bool unmet_only) {
    struct gate_list list = {.unmet_only = unmet_only};
    gate_next(world->gate, 0, world_job(world, "j-1"), world->now, &list);
    size_t found = list.count;
    for (size_t i = 0; i < list.count; i++) {
        assert_true(list.items[i].refusal.need[0] != '\0');
        assert_false(unmet_only && list.items[i].met);
    }
    gate_list_free(&list);
    return found;
}

// One credential, the kit, 2 prepare, 3 points, 3 tags, 1 relieve, 2 verify; leader, alarms, link,
// journal, clock, site.
#define START_REQUIREMENTS (1 + 1 + 2 + 3 + 3 + 1 + 2 + 6)

WORLD_TEST(of_an_open_job_it_is_the_start) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_int_equal(count(world, false), START_REQUIREMENTS);
    assert_int_equal(count(world, true), 2 + 3 + 3 + 1 + 2);
    world_sign_prepare(world, "t-1", "j-1");
    assert_int_equal(count(world, true), 3 + 3 + 1 + 2);
}

WORLD_TEST(of_a_job_without_a_leader_it_lacks_that) {
    assert_true(world_open(world, "j-1", "3A", NULL));
    struct gate_list list = {0};
    gate_next(world->gate, 0, world_job(world, "j-1"), world->now, &list);
    assert_int_equal(list.items[0].refusal.code, MODEL_CODE_NOT_ASSIGNED);
    assert_false(list.items[0].met);
    gate_list_free(&list);
}

WORLD_TEST(of_a_working_job_it_is_the_finish) {
    world_to_working(world, "j-1");
    assert_int_equal(count(world, true), 3);
    assert_true(world_sign_value(world, "t-1", "j-1", "spout-nut", 46, "N.m"));
    world_sign_clear(world, "t-1", "j-1");
    assert_int_equal(count(world, true), 0);
    assert_true(world_pause(world, "t-1", "j-1"));
    assert_int_equal(count(world, false), START_REQUIREMENTS);
    assert_int_equal(count(world, true), 0);
}

WORLD_TEST(then_the_test_and_then_the_return) {
    world_to_restoring(world, "j-1");
    assert_int_equal(count(world, true), 3);
    world_lift_all(world, "t-1", "j-1");
    assert_int_equal(count(world, true), 0);
    assert_true(world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", "j-1"));
    assert_int_equal(count(world, true), 2 + 1 + 3);
}

WORLD_TEST(of_an_ended_job_it_is_nothing) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"));
    assert_int_equal(count(world, false), 0);
}

WORLD_TEST(an_age_goes_with_the_evidence) {
    world_to_confirmed(world, "j-1");
    world_hear_all(world, MODEL_POINT_ISOLATED);
    world_pass(world, 1500);
    struct gate_list list = {0};
    gate_require_points(world->gate, world_site(world), world_job(world, "j-1"), world->now, &list);
    assert_int_equal(list.count, 3);
    assert_int_equal(list.items[0].refusal.age_ms, 1500);
    gate_list_free(&list);
}

// --- Deadlines ---

WORLD_TEST(nothing_is_due_where_nothing_lapses) {
    assert_int_equal(gate_deadline(world->gate), INT64_MAX);
}

WORLD_TEST(the_next_change_by_time_is_due) {
    int64_t start = world->now.mono;
    world_hear(world, S_POWER4, MODEL_POINT_ISOLATED);
    assert_int_equal(gate_deadline(world->gate), start + WORLD_SETTLE_MS);
    world_pass(world, WORLD_SETTLE_MS);
    assert_int_equal(gate_deadline(world->gate), start + WORLD_MAX_AGE_MS + 1);
}

WORLD_TEST(a_signature_and_an_offer_are_due_to_lapse) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_sign(world, "t-1", "j-1", "barricade"));
    assert_int_equal(gate_deadline(world->gate), world->now.mono + 28800000 - 1800000);
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_true(world_ask(
        world, (struct gate_request){
                   .verb = GATE_VERB_HAND_OVER, .person = "t-1", .job = "j-1", .to = "t-2"}));
    assert_int_equal(gate_deadline(world->gate), world->now.mono + GATE_OFFER_MS);
}

WORLD_TEST(a_tag_is_due_to_be_left) {
    world_reader(world, POWER3, "badge-77", true);
    assert_int_equal(gate_deadline(world->gate), world->now.mono + GATE_TAG_LEFT_MS + 1);
}

WORLD_TEST(a_point_not_heard_again_is_due) {
    world_to_working(world, "j-1");
    world_hear_all(world, MODEL_POINT_ISOLATED);
    int64_t heard = world->now.mono;
    world_restart(world, 4000);
    assert_int_equal(gate_deadline(world->gate), heard + WORLD_MAX_AGE_MS + 1);
}

WORLD_TEST(an_early_tick_is_harmless) {
    world_hear(world, S_POWER4, MODEL_POINT_ISOLATED);
    world_forget(world);
    gate_tick(world->gate, world->now);
    assert_int_equal(world->fact_count, 0);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(of_an_open_job_it_is_the_start),
        cmocka_unit_test(of_a_job_without_a_leader_it_lacks_that),
        cmocka_unit_test(of_a_working_job_it_is_the_finish),
        cmocka_unit_test(then_the_test_and_then_the_return),
        cmocka_unit_test(of_an_ended_job_it_is_nothing),
        cmocka_unit_test(an_age_goes_with_the_evidence),
        cmocka_unit_test(nothing_is_due_where_nothing_lapses),
        cmocka_unit_test(the_next_change_by_time_is_due),
        cmocka_unit_test(a_signature_and_an_offer_are_due_to_lapse),
        cmocka_unit_test(a_tag_is_due_to_be_left),
        cmocka_unit_test(a_point_not_heard_again_is_due),
        cmocka_unit_test(an_early_tick_is_harmless),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
