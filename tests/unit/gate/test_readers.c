// Tag readers: for which jobs a lock counts, the order of events, locks of nobody's job.
#include "world.h"

WORLD_TEST(a_readers_lock_counts_for_every_job_that_requires_the_point) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_open(world, "j-2", "3B", "t-2"));
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-1", "j-2"));
    world_isolate(world);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    world_reader(world, POWER3, "t-1", true);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    assert_true(world_tag_of(world, POWER3, "j-2", "t-1")->counts);
    world_reader(world, LINE3A, "t-1", true);
    assert_non_null(world_tag_of(world, LINE3A, "j-1", "t-1"));
    assert_null(world_tag_of(world, LINE3A, "j-2", "t-1"));
    world_reader(world, POWER3, "t-1", false);
    assert_int_equal(world_point(world, POWER3)->tag_count, 0);
}

WORLD_TEST(lifted_ends_also_what_was_hung_by_request) {
    world_to_tagged(world, "j-1");
    world_reader(world, POWER3, "t-1", false);
    assert_null(world_tag_of(world, POWER3, "j-1", "t-1"));
    assert_int_equal(world_job(world, "j-1")->isolation, GATE_ISOLATION_NONE);
}

WORLD_TEST(a_lock_hung_on_a_live_point_does_not_count) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    world_reader(world, POWER3, "t-1", true);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    world_isolate(world);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    world_reader(world, POWER3, "t-1", true);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

WORLD_TEST(a_lock_of_nobodys_job_is_listed_without_one) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    world_reader(world, POWER3, "t-2", true);
    world_reader(world, POWER3, "badge-77", true);
    const struct gate_tag *theirs = world_tag_of(world, POWER3, "", "t-2");
    assert_string_equal(theirs->person, "t-2");
    const struct gate_tag *unknown = world_tag_of(world, POWER3, "", "badge-77");
    assert_string_equal(unknown->person, "");
    assert_string_equal(unknown->badge, "badge-77");
    world_reader(world, POWER3, "badge-77", false);
    assert_null(world_tag_of(world, POWER3, "", "badge-77"));
    assert_non_null(world_tag_of(world, POWER3, "", "t-2"));
}

WORLD_TEST(it_becomes_a_tag_of_the_job_that_one_joins) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    world_reader(world, POWER3, "t-2", true);
    world_reader(world, POWER4, "t-2", true);
    int64_t since = world_tag_of(world, POWER3, "", "t-2")->since.mono;
    world_pass_heard(world, 5000);
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_null(world_tag_of(world, POWER3, "", "t-2"));
    assert_true(world_tag_of(world, POWER3, "j-1", "t-2")->counts);
    assert_int_equal(world_tag_of(world, POWER3, "j-1", "t-2")->since.mono, since);
    assert_non_null(world_tag_of(world, POWER4, "", "t-2"));
}

WORLD_TEST(also_of_the_job_that_one_is_given) {
    world_isolate(world);
    world_reader(world, POWER3, "t-1", true);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_non_null(world_tag_of(world, POWER3, "j-1", "t-1"));
    world_reader(world, VALVE3, "t-2", true);
    assert_true(world_open(world, "j-2", "3B", NULL));
    assert_true(world_ask(world, (struct gate_request){.verb = GATE_VERB_ASSIGN_JOB,
                                                       .person = "k-1",
                                                       .job = "j-2",
                                                       .technician = "t-2"}));
    assert_non_null(world_tag_of(world, VALVE3, "j-2", "t-2"));
}

WORLD_TEST(it_counts_no_more_than_before) {
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    world_reader(world, POWER3, "t-1", true);
    world_isolate(world);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

WORLD_TEST(it_protects_nobody_while_without_a_job) {
    world_to_tagged(world, "j-1");
    assert_true(world_lift(world, "t-1", "j-1", POWER3));
    world_reader(world, POWER3, "badge-77", true);
    assert_int_equal(world_job(world, "j-1")->isolation, GATE_ISOLATION_NONE);
}

// --- Badges ---

static void badge_of(struct world *world, const char *person, const char *badge, bool hung) {
    const struct gate_tagging tagging = {.hung = hung, .person = person, .badge = badge};
    gate_hear_tagging(world->gate, 0, POWER3, &tagging, world->now);
}

static void badge_at(struct world *world, const char *badge, bool hung) {
    badge_of(world, NULL, badge, hung);
}

static bool remove_badge(struct world *world, const char *badge) {
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_LIFT_ABSENT_TAG,
                                                  .person = "s-1",
                                                  .point = "3-power",
                                                  .badge = badge,
                                                  .reason = "nobody knows it",
                                                  .not_on_site = true,
                                                  .contact_tried = true,
                                                  .will_be_told = true});
}

WORLD_TEST(an_unknown_badge_is_listed_as_read_and_removed_as_listed) {
    badge_at(world, "04:A2 \xC3\xA9", true);
    assert_int_equal(world_point(world, POWER3)->tag_count, 1);
    assert_string_equal(world_point(world, POWER3)->tags[0].badge, "04:A2 \xC3\xA9");
    assert_string_equal(world_point(world, POWER3)->tags[0].person, "");
    assert_false(remove_badge(world, "04_3aA2"));
    assert_true(remove_badge(world, "04:A2 \xC3\xA9"));
    assert_int_equal(world_point(world, POWER3)->tag_count, 0);
}

WORLD_TEST(a_badge_that_reads_like_an_id_is_nobodys) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    badge_at(world, "t-1", true);
    assert_null(world_tag_of(world, POWER3, "j-1", "t-1"));
    badge_of(world, "t-1", "0451", true);
    assert_non_null(world_tag_of(world, POWER3, "j-1", "t-1"));
    assert_int_equal(world_point(world, POWER3)->tag_count, 2);
    badge_at(world, "t-1", false);
    assert_non_null(world_tag_of(world, POWER3, "j-1", "t-1"));
    assert_int_equal(world_point(world, POWER3)->tag_count, 1);
    badge_at(world, "t-1", true);
    badge_of(world, "t-1", "0451", false);
    assert_int_equal(world_point(world, POWER3)->tag_count, 1);
    assert_string_equal(world_point(world, POWER3)->tags[0].badge, "t-1");
}

// Somebody was given the badge while its lock hung there.
WORLD_TEST(a_badge_that_is_somebodys_since_is_seen_to_go) {
    badge_at(world, "0452", true);
    badge_of(world, "t-2", "0452", false);
    assert_int_equal(world_point(world, POWER3)->tag_count, 0);
}

// --- Order ---

WORLD_TEST(a_copy_after_the_lift_is_listed_and_does_not_count) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    int64_t at = world->now.wall - 2000;
    world_reader_at(world, POWER3, "t-1", true, at);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    assert_int_equal(world_tag_of(world, POWER3, "j-1", "t-1")->since.wall, at);
    world_reader_at(world, POWER3, "t-1", false, at + 1000);
    world_reader_at(world, POWER3, "t-1", true, at);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    world_reader_at(world, POWER3, "t-1", true, at + 1000);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    world_reader_at(world, POWER3, "t-1", true, at + 1001);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

WORLD_TEST(a_lift_is_taken_however_late) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    world_reader_at(world, POWER3, "t-1", true, world->now.wall);
    world_reader_at(world, POWER3, "t-1", false, world->now.wall - 60000);
    assert_null(world_tag_of(world, POWER3, "j-1", "t-1"));
}

WORLD_TEST(too_old_a_lock_is_listed_and_does_not_count) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    world_pass_heard(world, 60000);
    world_reader_at(world, POWER3, "t-1", true, world->now.wall - WORLD_MAX_AGE_MS - 1);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    world_reader_at(world, POWER3, "t-1", true, world->now.wall - WORLD_MAX_AGE_MS);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

WORLD_TEST(on_a_point_without_sensors_the_default_age_serves) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_pass(world, 60000);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    world_reader_at(world, LINE3A, "t-1", true, world->now.wall - 30001);
    assert_false(world_tag_of(world, LINE3A, "j-1", "t-1")->counts);
    world_reader_at(world, LINE3A, "t-1", true, world->now.wall - 30000);
    assert_true(world_tag_of(world, LINE3A, "j-1", "t-1")->counts);
}

WORLD_TEST(a_lock_from_before_the_point_was_last_live_does_not_count) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    world_pass(world, 5000);
    world_hear(world, S_POWER3, MODEL_POINT_ISOLATED);
    int64_t isolated = world->now.wall;
    world_pass(world, 1000);
    world_reader_at(world, POWER3, "t-1", true, isolated);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    world_reader_at(world, POWER3, "t-1", true, isolated + 1);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

WORLD_TEST(dated_ahead_does_not_count_and_moves_no_mark) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    world_reader_at(world, POWER3, "t-1", true, world->now.wall + GATE_AHEAD_MS + 1);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    world_reader_at(world, POWER3, "t-1", true, world->now.wall);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

WORLD_TEST(a_late_lock_makes_no_tag_worse) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    world_reader_at(world, POWER3, "t-1", true, world->now.wall);
    world_reader_at(world, POWER3, "t-1", true, world->now.wall - 1000);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

// Each hangs the lock by number, after a lift that the number does not matter to.
static bool counts_by_number(struct world *world, uint64_t seq) {
    world_reader_seq(world, POWER3, "t-1", true, seq);
    bool counts = world_tag_of(world, POWER3, "j-1", "t-1")->counts;
    struct gate_tagging lift = {.hung = false, .person = "t-1", .has_seq = true, .seq = 0};
    gate_hear_tagging(world->gate, 0, POWER3, &lift, world->now);
    return counts;
}

WORLD_TEST(numbers_order_a_reader_and_a_restarted_one_is_taken) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    assert_true(counts_by_number(world, 100));
    assert_false(counts_by_number(world, 100));
    assert_false(counts_by_number(world, 99));
    assert_true(counts_by_number(world, 101));
    world_pass_heard(world, WORLD_MAX_AGE_MS);
    assert_false(counts_by_number(world, 5));
    world_pass_heard(world, 1000);
    assert_true(counts_by_number(world, 5));
    assert_false(counts_by_number(world, 4));
}

WORLD_TEST(a_controller_online_again_forgets_the_readers_number) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    assert_true(counts_by_number(world, 100));
    world_controller(world, false);
    world_controller(world, true);
    world_isolate(world);
    assert_true(counts_by_number(world, 5));
    assert_false(counts_by_number(world, 4));
}

WORLD_TEST(a_readers_counter_may_wrap) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    struct gate_tagging hung = {
        .hung = true, .person = "t-1", .has_seq = true, .seq = 250, .modulus = 256};
    gate_hear_tagging(world->gate, 0, POWER3, &hung, world->now);
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    world_hear(world, S_POWER3, MODEL_POINT_ISOLATED);
    hung.seq = 249;
    gate_hear_tagging(world->gate, 0, POWER3, &hung, world->now);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    hung.seq = 2;
    gate_hear_tagging(world->gate, 0, POWER3, &hung, world->now);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

WORLD_TEST(marks_are_each_persons_own) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    world_isolate(world);
    world_reader_at(world, POWER3, "t-1", true, world->now.wall);
    world_reader_at(world, POWER3, "t-2", true, world->now.wall - 1000);
    assert_true(world_tag_of(world, POWER3, "j-1", "t-2")->counts);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(a_readers_lock_counts_for_every_job_that_requires_the_point),
        cmocka_unit_test(lifted_ends_also_what_was_hung_by_request),
        cmocka_unit_test(a_lock_hung_on_a_live_point_does_not_count),
        cmocka_unit_test(a_lock_of_nobodys_job_is_listed_without_one),
        cmocka_unit_test(it_becomes_a_tag_of_the_job_that_one_joins),
        cmocka_unit_test(also_of_the_job_that_one_is_given),
        cmocka_unit_test(it_counts_no_more_than_before),
        cmocka_unit_test(it_protects_nobody_while_without_a_job),
        cmocka_unit_test(an_unknown_badge_is_listed_as_read_and_removed_as_listed),
        cmocka_unit_test(a_badge_that_reads_like_an_id_is_nobodys),
        cmocka_unit_test(a_badge_that_is_somebodys_since_is_seen_to_go),
        cmocka_unit_test(a_copy_after_the_lift_is_listed_and_does_not_count),
        cmocka_unit_test(a_lift_is_taken_however_late),
        cmocka_unit_test(too_old_a_lock_is_listed_and_does_not_count),
        cmocka_unit_test(on_a_point_without_sensors_the_default_age_serves),
        cmocka_unit_test(a_lock_from_before_the_point_was_last_live_does_not_count),
        cmocka_unit_test(dated_ahead_does_not_count_and_moves_no_mark),
        cmocka_unit_test(a_late_lock_makes_no_tag_worse),
        cmocka_unit_test(numbers_order_a_reader_and_a_restarted_one_is_taken),
        cmocka_unit_test(a_controller_online_again_forgets_the_readers_number),
        cmocka_unit_test(a_readers_counter_may_wrap),
        cmocka_unit_test(marks_are_each_persons_own),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
