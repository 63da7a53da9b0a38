// Locks and tags by request: who hangs them where, when they count, how they end.
#include "gate/find.h"
#include "world.h"

WORLD_TEST(a_tag_is_hung_on_a_point_that_reads_isolated) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_refused(world, world_tag(world, "t-1", "j-1", POWER3), MODEL_CODE_POINT_UNKNOWN);
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_refused(world, world_tag(world, "t-1", "j-1", POWER3), MODEL_CODE_POINT_LIVE);
    world_hear(world, S_POWER3, MODEL_POINT_ISOLATED);
    assert_true(world_tag(world, "t-1", "j-1", POWER3)); // settling is enough to hang
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    world_hear(world, S_VALVE3A, MODEL_POINT_ISOLATED);
    world_hear(world, S_VALVE3B, MODEL_POINT_LIVE);
    assert_refused(world, world_tag(world, "t-1", "j-1", VALVE3), MODEL_CODE_POINT_DISAGREES);
    world_controller(world, false);
    assert_refused(world, world_tag(world, "t-1", "j-1", POWER3), MODEL_CODE_CONTROLLER_OFFLINE);
}

// Judged as it is now: the time that went by is reckoned before the answer.
WORLD_TEST(a_tag_is_judged_by_the_point_as_it_is_now) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    world->now.mono += WORLD_MAX_AGE_MS;
    world->now.wall += WORLD_MAX_AGE_MS;
    assert_refused(world, world_tag(world, "t-1", "j-1", POWER3), MODEL_CODE_POINT_STALE);
}

WORLD_TEST(only_on_a_required_point_and_only_the_crew) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    assert_refused(world, world_tag(world, "t-1", "j-1", POWER4), MODEL_CODE_UNKNOWN_POINT);
    assert_refused(world, world_tag(world, "t-2", "j-1", POWER3), MODEL_CODE_NOT_IN_CREW);
    assert_refused(world, world_tag(world, "m-1", "j-1", POWER3), MODEL_CODE_NOT_ALLOWED);
}

WORLD_TEST(live_ends_its_counting_and_hanging_again_renews_it) {
    world_to_tagged(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    assert_true(world_told(world, GATE_FACT_TAG_DISCOUNTED));
    world_isolate(world);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    assert_int_equal(world_tag_of(world, POWER3, "j-1", "t-1")->since.mono, world->now.mono);
    assert_int_equal(world_point(world, POWER3)->tag_count, 1);
}

// Not heard of for a while is not live: the tag goes on counting, though the hold does not.
WORLD_TEST(unknown_does_not_end_its_counting) {
    world_to_tagged(world, "j-1");
    world_pass(world, WORLD_MAX_AGE_MS + 1);
    assert_point(world, POWER3, UNKNOWN, STALE);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    assert_int_equal(world_job(world, "j-1")->isolation, GATE_ISOLATION_NONE);
}

WORLD_TEST(only_who_hung_a_tag_lifts_it) {
    world_to_tagged(world, "j-1");
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_refused(world, world_lift(world, "t-2", "j-1", POWER3), MODEL_CODE_TAG_NOT_YOURS);
    assert_refused(world, world_lift(world, "s-1", "j-1", POWER3), MODEL_CODE_TAG_NOT_YOURS);
    assert_true(world_lift(world, "t-1", "j-1", POWER3));
    assert_null(world_tag_of(world, POWER3, "j-1", "t-1"));
}

WORLD_TEST(a_lift_of_nothing_is_accepted_and_changes_nothing) {
    world_to_tagged(world, "j-1");
    assert_true(world_lift(world, "t-1", "j-1", POWER3));
    size_t told = world->fact_count;
    assert_accepted(world, world_lift(world, "t-1", "j-1", POWER3));
    assert_accepted(world, world_lift(world, "t-2", "j-1", POWER3));
    assert_int_equal(world->fact_count, told);
    assert_true(world->answer.again);
}

WORLD_TEST(a_lift_ends_the_tag_of_that_job_alone) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_open(world, "j-2", "3B", "t-1"));
    world_isolate(world);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    assert_true(world_tag(world, "t-1", "j-2", POWER3));
    assert_true(world_lift(world, "t-1", "j-1", POWER3));
    assert_null(world_tag_of(world, POWER3, "j-1", "t-1"));
    assert_true(world_tag_of(world, POWER3, "j-2", "t-1")->counts);
}

// --- Lifted for somebody absent ---

static bool lift_absent(struct world *world, struct gate_request request) {
    request.verb = GATE_VERB_LIFT_ABSENT_TAG;
    request.reason = "went home";
    return world_ask(world, request);
}

static struct gate_request absent(const char *by, const char *job, const char *whose) {
    return (struct gate_request){.person = by,
                                 .job = job,
                                 .point = "3-power",
                                 .member = whose,
                                 .not_on_site = true,
                                 .contact_tried = true,
                                 .will_be_told = true};
}

WORLD_TEST(an_absent_owners_tag_needs_all_three_attested) {
    world_to_tagged(world, "j-1");
    for (int lacking = 0; lacking < 3; lacking++) {
        struct gate_request request = absent("s-1", "j-1", "t-1");
        request.not_on_site = lacking != 0;
        request.contact_tried = lacking != 1;
        request.will_be_told = lacking != 2;
        assert_refused(world, lift_absent(world, request), MODEL_CODE_ATTESTATION_MISSING);
        assert_int_equal(world->answer.refusal_count, 1);
    }
    assert_true(lift_absent(world, absent("s-1", "j-1", "t-1")));
    assert_null(world_tag_of(world, POWER3, "j-1", "t-1"));
}

WORLD_TEST(only_a_supervisor_lifts_it_and_there_must_be_one) {
    world_to_tagged(world, "j-1");
    assert_refused(world, lift_absent(world, absent("m-1", "j-1", "t-1")), MODEL_CODE_NOT_ALLOWED);
    assert_refused(world, lift_absent(world, absent("s-1", "j-1", "t-2")), MODEL_CODE_TAG_MISSING);
}

static void not_ones_own(void **state) {
    (void)state;
    struct world_copy copy;
    world_copy(&copy);
    copy.people[3].roles |= MODEL_ROLE_SUPERVISOR; // t-1
    struct world *world = world_new_of(&copy.model);
    world_to_tagged(world, "j-1");
    assert_refused(world, lift_absent(world, absent("t-1", "j-1", "t-1")), MODEL_CODE_NOT_ALLOWED);
    assert_non_null(world_tag_of(world, POWER3, "j-1", "t-1"));
    world_free(world);
}

WORLD_TEST(with_the_last_tag_gone_they_leave_the_crew) {
    world_to_tagged(world, "j-1");
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_true(world_tag(world, "t-2", "j-1", POWER3));
    assert_true(world_tag(world, "t-2", "j-1", VALVE3));
    assert_true(lift_absent(world, absent("s-1", "j-1", "t-2")));
    assert_non_null(gate_member_of(world_job(world, "j-1"), "t-2"));
    struct gate_request last = absent("s-1", "j-1", "t-2");
    last.point = "3-valve";
    assert_true(lift_absent(world, last));
    assert_null(gate_member_of(world_job(world, "j-1"), "t-2"));
}

WORLD_TEST(the_leader_stays_though_the_last_tag_is_gone) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    assert_true(lift_absent(world, absent("s-1", "j-1", "t-1")));
    assert_true(gate_leads(world_job(world, "j-1"), "t-1"));
    assert_non_null(gate_member_of(world_job(world, "j-1"), "t-1"));
}

WORLD_TEST(without_a_job_named_all_their_tags_on_the_point_end) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_open(world, "j-2", "3B", "t-1"));
    world_isolate(world);
    world_reader(world, POWER3, "t-1", true);
    assert_int_equal(world_point(world, POWER3)->tag_count, 2);
    assert_true(lift_absent(world, absent("s-1", "j-2", "t-1")));
    assert_int_equal(world_point(world, POWER3)->tag_count, 1);
    assert_true(lift_absent(world, absent("s-1", NULL, "t-1")));
    assert_int_equal(world_point(world, POWER3)->tag_count, 0);
}

WORLD_TEST(a_lock_of_an_unknown_badge_is_lifted_by_its_badge) {
    world_reader(world, POWER3, "badge-77", true);
    struct gate_request request = absent("s-1", NULL, NULL);
    request.badge = "badge-78";
    assert_refused(world, lift_absent(world, request), MODEL_CODE_TAG_MISSING);
    request.badge = "badge-77";
    assert_true(lift_absent(world, request));
    assert_int_equal(world_point(world, POWER3)->tag_count, 0);
}

WORLD_TEST(a_leaders_tag_lifted_for_absence_breaks_the_work) {
    world_to_working(world, "j-1");
    assert_true(lift_absent(world, absent("s-1", "j-1", "t-1")));
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_alarm(world);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(a_tag_is_hung_on_a_point_that_reads_isolated),
        cmocka_unit_test(a_tag_is_judged_by_the_point_as_it_is_now),
        cmocka_unit_test(only_on_a_required_point_and_only_the_crew),
        cmocka_unit_test(live_ends_its_counting_and_hanging_again_renews_it),
        cmocka_unit_test(unknown_does_not_end_its_counting),
        cmocka_unit_test(only_who_hung_a_tag_lifts_it),
        cmocka_unit_test(a_lift_of_nothing_is_accepted_and_changes_nothing),
        cmocka_unit_test(a_lift_ends_the_tag_of_that_job_alone),
        cmocka_unit_test(an_absent_owners_tag_needs_all_three_attested),
        cmocka_unit_test(only_a_supervisor_lifts_it_and_there_must_be_one),
        cmocka_unit_test(not_ones_own),
        cmocka_unit_test(with_the_last_tag_gone_they_leave_the_crew),
        cmocka_unit_test(the_leader_stays_though_the_last_tag_is_gone),
        cmocka_unit_test(without_a_job_named_all_their_tags_on_the_point_end),
        cmocka_unit_test(a_lock_of_an_unknown_badge_is_lifted_by_its_badge),
        cmocka_unit_test(a_leaders_tag_lifted_for_absence_breaks_the_work),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
