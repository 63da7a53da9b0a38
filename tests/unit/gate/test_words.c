// Words: what people say of a point without a sensor, for whom it counts, how long.
#include "gate/cause.h"
#include "gate/point.h"
#include "world.h"

static struct gate_view seen_for(struct world *world, const char *job) {
    int64_t next = INT64_MAX;
    return gate_point_for_job(world->gate, world_site(world), world_job(world, job), LINE3A,
                              world->now, &next);
}

WORLD_TEST(one_word_of_the_crew_is_enough_where_one_is_asked) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_point(world, LINE3A, UNKNOWN, SILENT);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    assert_point(world, LINE3A, ISOLATED, WITNESSED);
}

// Two are asked of 3A-line, and one has said that it is isolated.
static struct world *one_of_two(void) {
    static struct world_copy copy;
    world_copy(&copy);
    copy.points[LINE3A].witnesses = 2;
    struct world *world = world_new_of(&copy.model);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    return world;
}

static void two_witnesses(void **state) {
    (void)state;
    struct world *world = one_of_two();
    assert_point(world, LINE3A, UNKNOWN, SETTLING);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    assert_point(world, LINE3A, UNKNOWN, SETTLING);
    assert_refused(world, world_tag(world, "t-1", "j-1", LINE3A), MODEL_CODE_POINT_SETTLING);
    assert_true(world_witness(world, "s-1", "j-1", MODEL_POINT_ISOLATED));
    assert_point(world, LINE3A, ISOLATED, WITNESSED);
    assert_true(world_tag(world, "t-1", "j-1", LINE3A));
    world_free(world);
}

// The older of two words ages first, and then too few stand.
static void each_word_ages_alone(void **state) {
    (void)state;
    struct world *world = one_of_two();
    world_pass(world, 1000);
    assert_true(world_witness(world, "s-1", "j-1", MODEL_POINT_ISOLATED));
    world_pass(world, WORLD_WITNESS_MS - 1000);
    assert_point(world, LINE3A, ISOLATED, WITNESSED);
    world_pass(world, 1);
    assert_point(world, LINE3A, UNKNOWN, SETTLING);
    world_pass(world, 1000);
    assert_point(world, LINE3A, UNKNOWN, STALE);
    world_free(world);
}

WORLD_TEST(a_word_ages) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    world_pass(world, WORLD_WITNESS_MS);
    assert_point(world, LINE3A, ISOLATED, WITNESSED);
    world_pass(world, 1);
    assert_point(world, LINE3A, UNKNOWN, STALE);
    assert_refused(world, world_tag(world, "t-1", "j-1", LINE3A), MODEL_CODE_POINT_STALE);
}

WORLD_TEST(a_word_of_live_ages_too) {
    assert_true(world_witness(world, "v-1", NULL, MODEL_POINT_LIVE));
    world_pass(world, WORLD_WITNESS_MS);
    assert_point(world, LINE3A, LIVE, WITNESSED);
    world_pass(world, 1);
    assert_point(world, LINE3A, UNKNOWN, STALE);
}

WORLD_TEST(anybody_says_live_and_it_ends_the_words) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    assert_true(world_witness(world, "v-1", NULL, MODEL_POINT_LIVE));
    assert_point(world, LINE3A, LIVE, WITNESSED);
    assert_int_equal(world_point(world, LINE3A)->statement_count, 0);
    assert_refused(world, world_tag(world, "t-1", "j-1", LINE3A), MODEL_CODE_POINT_LIVE);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    assert_point(world, LINE3A, ISOLATED, WITNESSED);
}

WORLD_TEST(live_is_taken_whatever_job_it_names) {
    world_to_returned(world, "j-1");
    world_forget(world);
    assert_accepted(world, world_witness(world, "v-1", "j-9", MODEL_POINT_LIVE));
    assert_accepted(world, world_witness(world, "v-1", "j-1", MODEL_POINT_LIVE));
    assert_string_equal(world->answer.job, "j-1");
    assert_false(world->answer.has_phase); // it was taken without it
    assert_refused(world, world_witness(world, "t-1", "j-9", MODEL_POINT_ISOLATED),
                   MODEL_CODE_UNKNOWN_JOB);
}

WORLD_TEST(a_word_from_before_the_job_does_not_count_for_it) {
    assert_true(world_open(world, "j-1", "3A", NULL));
    assert_true(world_witness(world, "m-1", "j-1", MODEL_POINT_ISOLATED));
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"));
    world_pass(world, 1);
    assert_true(world_open(world, "j-2", "3A", "t-1"));
    assert_point(world, LINE3A, ISOLATED, WITNESSED);
    assert_int_equal(seen_for(world, "j-2").trust, MODEL_TRUST_SILENT);
    assert_refused(world, world_tag(world, "t-1", "j-2", LINE3A), MODEL_CODE_POINT_UNKNOWN);
}

WORLD_TEST(a_word_counts_for_the_jobs_in_whose_crew_it_was_said) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_open(world, "j-4", "4A", "t-2"));
    assert_true(world_witness(world, "t-2", "j-4", MODEL_POINT_ISOLATED));
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_int_equal(seen_for(world, "j-1").state, MODEL_POINT_UNKNOWN);
    assert_true(world_witness(world, "t-2", "j-4", MODEL_POINT_ISOLATED));
    assert_int_equal(seen_for(world, "j-1").state, MODEL_POINT_ISOLATED);
}

WORLD_TEST(an_overseers_word_counts_for_every_job) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_open(world, "j-4", "4A", "t-2"));
    assert_true(world_witness(world, "s-1", "j-4", MODEL_POINT_ISOLATED));
    assert_int_equal(seen_for(world, "j-1").state, MODEL_POINT_ISOLATED);
    assert_true(world_tag(world, "t-1", "j-1", LINE3A));
}

WORLD_TEST(who_may_say_isolated) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_refused(world, world_witness(world, "t-2", "j-1", MODEL_POINT_ISOLATED),
                   MODEL_CODE_NOT_IN_CREW);
    assert_refused(world, world_witness(world, "v-1", "j-1", MODEL_POINT_ISOLATED),
                   MODEL_CODE_NOT_ALLOWED);
    assert_refused(world, world_witness(world, "m-1", NULL, MODEL_POINT_ISOLATED),
                   MODEL_CODE_UNKNOWN_JOB);
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"));
    assert_refused(world, world_witness(world, "m-1", "j-1", MODEL_POINT_ISOLATED),
                   MODEL_CODE_WRONG_PHASE);
}

WORLD_TEST(no_word_stands_for_a_point_with_sensors) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_refused(world, world_word(world, "t-1", "j-1", "3-power", MODEL_POINT_ISOLATED),
                   MODEL_CODE_NOT_ALLOWED);
    assert_refused(world, world_word(world, "m-1", NULL, "3-power", MODEL_POINT_LIVE),
                   MODEL_CODE_NOT_ALLOWED);
    assert_refused(world, world_word(world, "m-1", NULL, "5-power", MODEL_POINT_LIVE),
                   MODEL_CODE_UNKNOWN_POINT);
}

WORLD_TEST(proved_live_by_the_crew_or_an_overseer) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_open(world, "j-4", "4A", "t-2"));
    struct gate_site *site = world_site(world);
    assert_true(world_witness(world, "v-1", NULL, MODEL_POINT_LIVE));
    assert_false(gate_point_proved_live(world->gate, site, LINE3A, NULL, world->now));
    assert_true(world_witness(world, "t-2", "j-4", MODEL_POINT_LIVE));
    assert_false(gate_point_proved_live(world->gate, site, LINE3A, NULL, world->now));
    assert_true(world_witness(world, "t-1", NULL, MODEL_POINT_LIVE));
    assert_true(gate_point_proved_live(world->gate, site, LINE3A, NULL, world->now));
    assert_true(world_witness(world, "v-1", NULL, MODEL_POINT_LIVE));
    assert_true(world_witness(world, "s-1", NULL, MODEL_POINT_LIVE));
    assert_true(gate_point_proved_live(world->gate, site, LINE3A, NULL, world->now));
    world_pass(world, WORLD_WITNESS_MS + 1);
    assert_false(gate_point_proved_live(world->gate, site, LINE3A, NULL, world->now));
}

WORLD_TEST(live_said_anew_raises_again_while_stopped) {
    world_to_working(world, "j-1");
    assert_true(world_witness(world, "v-1", NULL, MODEL_POINT_LIVE));
    assert_job(world, "j-1", STOPPED, BROKEN);
    world_acknowledge(world);
    assert_true(world_witness(world, "m-1", NULL, MODEL_POINT_LIVE)); // it is still so
    assert_int_equal(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN)->state,
                     MODEL_ALARM_ACKNOWLEDGED);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    world_pass(world, GATE_CAUSE_AWAY_MS);
    assert_true(world_witness(world, "m-1", NULL, MODEL_POINT_LIVE));
    assert_alarm(world);
}

static bool proved(struct world *world, const char *job) {
    return gate_point_proved_live(world->gate, world_site(world), LINE3A,
                                  job != NULL ? world_job(world, job) : NULL, world->now);
}

WORLD_TEST(live_said_again_by_an_outsider_changes_nothing) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_LIVE));
    assert_true(proved(world, "j-1"));
    world_forget(world);
    world_pass(world, 1000);
    assert_accepted(world, world_witness(world, "v-1", NULL, MODEL_POINT_LIVE));
    assert_true(proved(world, "j-1"));
    assert_false(world_told(world, GATE_FACT_POINT_WITNESSED));
}

WORLD_TEST(a_provers_word_renews_its_age) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_LIVE));
    world_pass(world, WORLD_WITNESS_MS);
    assert_accepted(world, world_witness(world, "v-1", NULL, MODEL_POINT_LIVE));
    assert_accepted(world, world_witness(world, "t-1", "j-1", MODEL_POINT_LIVE));
    world_pass(world, WORLD_WITNESS_MS);
    assert_true(proved(world, "j-1"));
    world_pass(world, 1);
    assert_false(proved(world, "j-1"));
}

// An outsider's word stands beside that of the crew, and does not renew it.
WORLD_TEST(the_word_that_proves_ages_alone) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_witness(world, "v-1", NULL, MODEL_POINT_LIVE));
    world_pass(world, 1000);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_LIVE));
    assert_int_equal(world_point(world, LINE3A)->live_statement_count, 2);
    world_pass(world, WORLD_WITNESS_MS);
    assert_point(world, LINE3A, LIVE, WITNESSED);
    assert_true(proved(world, "j-1"));
    world_pass(world, 1);
    assert_point(world, LINE3A, UNKNOWN, STALE);
}

WORLD_TEST(isolated_ends_the_words_of_live) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_witness(world, "v-1", NULL, MODEL_POINT_LIVE));
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    assert_int_equal(world_point(world, LINE3A)->live_statement_count, 0);
    assert_true(world_witness(world, "v-1", NULL, MODEL_POINT_LIVE));
    assert_int_equal(world_point(world, LINE3A)->live_statement_count, 1);
    assert_false(proved(world, "j-1"));
}

// 3-power requires no words; 3A-line is required by the job on 3A alone, so that another's crew
// proves nothing for it, though a manager does.
WORLD_TEST(the_crew_of_another_job_proves_nothing_for_this_one) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_open(world, "j-4", "4A", "t-2"));
    assert_true(world_witness(world, "t-2", "j-4", MODEL_POINT_LIVE));
    assert_false(proved(world, "j-1"));
    assert_true(proved(world, "j-4"));
    assert_false(proved(world, NULL));
    assert_true(world_witness(world, "m-1", NULL, MODEL_POINT_LIVE));
    assert_true(proved(world, "j-1"));
}

WORLD_TEST(without_a_job_the_crew_of_the_last_one_proves_live) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"));
    world_pass(world, 1);
    assert_true(world_open(world, "j-2", "3A", "t-2"));
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-2"));
    assert_true(world_witness(world, "t-1", NULL, MODEL_POINT_LIVE));
    assert_false(proved(world, NULL));
    assert_true(world_witness(world, "t-2", NULL, MODEL_POINT_LIVE));
    assert_true(proved(world, NULL));
}

static bool say_late(struct world *world, const char *person) {
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_WITNESS_POINT,
                                                  .person = person,
                                                  .point = "3A-line",
                                                  .has_state = true,
                                                  .waited = true,
                                                  .state = MODEL_POINT_LIVE});
}

// The job on 4A requires the line too and has isolated nothing: what the crew of 3A proved stays
// proved when their job has ended.
static void a_job_beside_does_not_end_what_a_crew_proved(void **state) {
    (void)state;
    static uint32_t of_4a[] = {POWER4, VALVE4, LINE3A}, on_both[] = {P3A, P4A};
    struct world_copy copy;
    world_copy(&copy);
    copy.points[LINE3A].isolates = on_both;
    copy.points[LINE3A].isolates_count = 2;
    copy.positions[P4A].points = of_4a;
    copy.positions[P4A].point_count = 3;
    struct world *world = world_new_of(&copy.model);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_LIVE));
    world_pass(world, 1);
    assert_true(world_open(world, "j-2", "4A", "t-2"));
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"));
    assert_true(proved(world, NULL));
    assert_false(proved(world, "j-2"));
    world_free(world);
}

// A manager's word keeps the point live; the outsider's own has aged, and is evidence once more.
WORLD_TEST(a_word_of_live_that_has_aged_is_said_anew) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_witness(world, "v-1", NULL, MODEL_POINT_LIVE));
    world_pass(world, WORLD_WITNESS_MS / 2);
    assert_true(say_late(world, "m-1")); // it waited, and proves nothing
    world_pass(world, WORLD_WITNESS_MS / 2 + 1);
    assert_true(world_witness(world, "v-1", NULL, MODEL_POINT_LIVE));
    world_pass(world, WORLD_WITNESS_MS);
    assert_point(world, LINE3A, LIVE, WITNESSED);
}

WORLD_TEST(a_late_word_of_live_breaks_and_proves_nothing) {
    world_to_working(world, "j-1");
    assert_accepted(world, say_late(world, "m-1"));
    assert_point(world, LINE3A, LIVE, WITNESSED);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_false(proved(world, "j-1"));
    assert_true(world_witness(world, "m-1", NULL, MODEL_POINT_LIVE));
    assert_true(proved(world, "j-1"));
    assert_accepted(world, say_late(world, "m-1"));
    assert_true(proved(world, "j-1"));
}

// t-3 is one of the crew of both, and a helper in j-4 alone.
static void a_helper_speaks_for_no_job_that_asks_for_more(void **state) {
    (void)state;
    struct world_copy copy;
    world_copy(&copy);
    copy.procedures[1].credential_count = 0;
    struct world *world = world_new_of(&copy.model);
    world_open_at(world, "j-1", "3A", "cabinet", "t-1");
    world_open_at(world, "j-4", "4A", "spout", "t-2");
    assert_accepted(world, world_verb(world, GATE_VERB_JOIN_JOB, "t-3", "j-1"));
    assert_accepted(world, world_verb(world, GATE_VERB_JOIN_JOB, "t-3", "j-4"));
    assert_refused(world, world_witness(world, "t-3", "j-1", MODEL_POINT_ISOLATED),
                   MODEL_CODE_CREDENTIAL_MISSING);
    assert_accepted(world, world_witness(world, "t-3", "j-4", MODEL_POINT_ISOLATED));
    assert_int_equal(seen_for(world, "j-4").state, MODEL_POINT_ISOLATED);
    assert_int_equal(seen_for(world, "j-1").state, MODEL_POINT_UNKNOWN);
    world_free(world);
}

// --- Ageing ---

#define FIFTH 1800000 // of eight hours it would be more: half an hour is enough

WORLD_TEST(that_a_word_ages_is_told_once) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    world_pass(world, WORLD_WITNESS_MS - FIFTH - 1);
    assert_false(world_told(world, GATE_FACT_POINT_AGEING));
    world_pass(world, 1);
    assert_int_equal(world_times_told(world, GATE_FACT_POINT_AGEING), 1);
    assert_string_equal(world_fact(world, GATE_FACT_POINT_AGEING)->person, "t-1");
    world_review(world);
    world_pass(world, 1000);
    assert_int_equal(world_times_told(world, GATE_FACT_POINT_AGEING), 1);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    world_pass(world, WORLD_WITNESS_MS - FIFTH - 1);
    assert_int_equal(world_times_told(world, GATE_FACT_POINT_AGEING), 1);
    assert_point(world, LINE3A, ISOLATED, WITNESSED);
    world_pass(world, 1);
    assert_int_equal(world_times_told(world, GATE_FACT_POINT_AGEING), 2);
}

static void of_a_short_word_a_fifth_is_told(void **state) {
    (void)state;
    struct world_copy copy;
    world_copy(&copy);
    copy.points[LINE3A].witness_valid_ms = 50000;
    struct world *world = world_new_of(&copy.model);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    world_pass(world, 39999);
    assert_false(world_told(world, GATE_FACT_POINT_AGEING));
    world_pass(world, 1);
    assert_true(world_told(world, GATE_FACT_POINT_AGEING));
    world_free(world);
}

WORLD_TEST(words_on_which_no_job_rests_age_untold) {
    assert_true(world_witness(world, "m-1", NULL, MODEL_POINT_LIVE));
    assert_true(world_open(world, "j-4", "4A", "t-2"));
    assert_true(world_witness(world, "t-2", "j-4", MODEL_POINT_ISOLATED));
    world_pass(world, WORLD_WITNESS_MS);
    assert_false(world_told(world, GATE_FACT_POINT_AGEING));
}

WORLD_TEST(a_word_of_live_that_proves_is_told_of_too) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_witness(world, "v-1", "j-1", MODEL_POINT_LIVE));
    world_pass(world, 1000);
    assert_true(world_witness(world, "t-1", "j-1", MODEL_POINT_LIVE));
    world_pass(world, WORLD_WITNESS_MS - FIFTH);
    assert_int_equal(world_times_told(world, GATE_FACT_POINT_AGEING), 1);
    assert_string_equal(world_fact(world, GATE_FACT_POINT_AGEING)->person, "t-1");
}

// Said again while it stands, so that the work never rests on a word that is over.
WORLD_TEST(a_word_renewed_in_time_goes_on_under_the_work) {
    world_to_working(world, "j-1");
    for (int i = 0; i < 3; i++) {
        world_pass_heard(world, WORLD_WITNESS_MS - 60000);
        assert_accepted(world, world_witness(world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    }
    assert_job(world, "j-1", WORKING, CONFIRMED);
    world_pass_heard(world, WORLD_WITNESS_MS + 1);
    assert_job(world, "j-1", STOPPED, BROKEN);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(one_word_of_the_crew_is_enough_where_one_is_asked),
        cmocka_unit_test(two_witnesses),
        cmocka_unit_test(each_word_ages_alone),
        cmocka_unit_test(a_word_ages),
        cmocka_unit_test(a_word_of_live_ages_too),
        cmocka_unit_test(anybody_says_live_and_it_ends_the_words),
        cmocka_unit_test(live_is_taken_whatever_job_it_names),
        cmocka_unit_test(a_word_from_before_the_job_does_not_count_for_it),
        cmocka_unit_test(a_word_counts_for_the_jobs_in_whose_crew_it_was_said),
        cmocka_unit_test(an_overseers_word_counts_for_every_job),
        cmocka_unit_test(who_may_say_isolated),
        cmocka_unit_test(no_word_stands_for_a_point_with_sensors),
        cmocka_unit_test(proved_live_by_the_crew_or_an_overseer),
        cmocka_unit_test(live_said_anew_raises_again_while_stopped),
        cmocka_unit_test(live_said_again_by_an_outsider_changes_nothing),
        cmocka_unit_test(a_provers_word_renews_its_age),
        cmocka_unit_test(the_word_that_proves_ages_alone),
        cmocka_unit_test(isolated_ends_the_words_of_live),
        cmocka_unit_test(the_crew_of_another_job_proves_nothing_for_this_one),
        cmocka_unit_test(without_a_job_the_crew_of_the_last_one_proves_live),
        cmocka_unit_test(a_job_beside_does_not_end_what_a_crew_proved),
        cmocka_unit_test(a_word_of_live_that_has_aged_is_said_anew),
        cmocka_unit_test(a_late_word_of_live_breaks_and_proves_nothing),
        cmocka_unit_test(a_helper_speaks_for_no_job_that_asks_for_more),
        cmocka_unit_test(that_a_word_ages_is_told_once),
        cmocka_unit_test(of_a_short_word_a_fifth_is_told),
        cmocka_unit_test(words_on_which_no_job_rests_age_untold),
        cmocka_unit_test(a_word_of_live_that_proves_is_told_of_too),
        cmocka_unit_test(a_word_renewed_in_time_goes_on_under_the_work),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
