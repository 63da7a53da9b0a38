// A sensor, or a reader, out of order: who says so, what then speaks for the point, and how it
// ends.
#include "gate/distrust.h"
#include "gate/emit.h"
#include "gate/point.h"
#include "world.h"

#include <string.h>

#define HOUR 3600000

static bool distrust(struct world *world, const char *person, const char *sensor, double hours) {
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_DISTRUST_SENSOR,
                                                  .person = person,
                                                  .sensor = sensor,
                                                  .hours = hours,
                                                  .reason = "sticks"});
}

static bool distrust_reader(struct world *world, const char *person, const char *point) {
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_DISTRUST_SENSOR,
                                                  .person = person,
                                                  .reader = point,
                                                  .hours = 12,
                                                  .reason = "sees nothing"});
}

static bool trust(struct world *world, const char *person, const char *sensor) {
    return world_ask(
        world,
        (struct gate_request){.verb = GATE_VERB_TRUST_SENSOR, .person = person, .sensor = sensor});
}

static bool proved(struct world *world, enum world_point point, const char *job) {
    return gate_point_proved_live(world->gate, world_site(world), point,
                                  job != NULL ? world_job(world, job) : NULL, world->now);
}

// A job led by t-1 with t-2 of its crew; 3-power says nothing and is out of order by s-1's word.
static void without_power(struct world *world) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_accepted(world, distrust(world, "s-1", "3-power", 12));
}

static void both_say(struct world *world, enum model_point_state state) {
    assert_accepted(world, world_word(world, "t-1", "j-1", "3-power", state));
    assert_accepted(world, world_word(world, "t-2", "j-1", "3-power", state));
}

static void both_say_live(struct world *world) {
    both_say(world, MODEL_POINT_LIVE);
    assert_point(world, POWER3, LIVE, WITNESSED);
}

// --- Who says it, and of what ---

WORLD_TEST(a_supervisor_of_no_such_crew_says_it) {
    assert_refused(world, distrust(world, "m-1", "3-power", 1), MODEL_CODE_NOT_ALLOWED);
    assert_refused(world, distrust(world, "t-1", "3-power", 1), MODEL_CODE_NOT_ALLOWED);
    assert_accepted(world, distrust(world, "s-1", "3-power", 1));
    assert_true(gate_is_distrusted(world_site(world), POWER3, S_POWER3));
    assert_true(world_told(world, GATE_FACT_SENSOR_DISTRUSTED));
}

static struct world *with_another_supervisor(struct world_copy *copy, const char *person) {
    world_copy(copy);
    for (size_t i = 0; i < copy->model.person_count; i++) {
        if (strcmp(copy->people[i].person, person) == 0) {
            copy->people[i].roles |= MODEL_ROLE_SUPERVISOR;
        }
    }
    return world_new_of(&copy->model);
}

static void a_supervisor_of_the_crew_does_not(void **state) {
    (void)state;
    struct world_copy copy;
    struct world *world = with_another_supervisor(&copy, "t-2");
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_refused(world, distrust(world, "t-2", "3-power", 1), MODEL_CODE_NOT_ALLOWED);
    assert_accepted(world, distrust(world, "t-2", "4-power", 1));
    world_free(world);
}

WORLD_TEST(of_what_there_is_not) {
    assert_refused(world, distrust(world, "s-1", "9-power", 1), MODEL_CODE_UNKNOWN_SENSOR);
    assert_refused(world, distrust_reader(world, "s-1", "9-power"), MODEL_CODE_UNKNOWN_POINT);
    assert_refused(world, trust(world, "s-1", "9-power"), MODEL_CODE_UNKNOWN_SENSOR);
}

WORLD_TEST(not_of_one_that_says_live_now) {
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_refused(world, distrust(world, "s-1", "3-power", 1), MODEL_CODE_POINT_LIVE);
    world_pass(world, WORLD_MAX_AGE_MS);
    assert_refused(world, distrust(world, "s-1", "3-power", 1), MODEL_CODE_POINT_LIVE);
    world_pass(world, 1);
    assert_accepted(world, distrust(world, "s-1", "3-power", 1));
}

// Its newest word says isolated, and it says live all the same.
WORLD_TEST(nor_of_one_whose_clock_went_back_and_that_says_live) {
    world_hear_at(world, S_POWER3, MODEL_POINT_ISOLATED, world->now.wall);
    world_pass(world, 1000);
    world_hear_at(world, S_POWER3, MODEL_POINT_LIVE, world->now.wall - HOUR);
    assert_point(world, POWER3, UNKNOWN, BAD_QUALITY);
    assert_refused(world, distrust(world, "s-1", "3-power", 1), MODEL_CODE_POINT_LIVE);
    world_pass(world, WORLD_MAX_AGE_MS + 1);
    assert_accepted(world, distrust(world, "s-1", "3-power", 1));
}

WORLD_TEST(nothing_of_it_while_the_journal_cannot_write) {
    assert_accepted(world, distrust(world, "s-1", "4-power", 1));
    gate_journal(world->gate, false, world->now);
    assert_refused(world, distrust(world, "s-1", "3-power", 1), MODEL_CODE_JOURNAL_DOWN);
    assert_refused(world, trust(world, "s-1", "4-power"), MODEL_CODE_JOURNAL_DOWN);
}

// --- What speaks for the point ---

WORLD_TEST(two_witnesses_speak_for_it) {
    without_power(world);
    world_controller(world, false); // its controller counts for nothing either
    assert_point(world, POWER3, UNKNOWN, SILENT);
    assert_accepted(world, world_word(world, "t-1", "j-1", "3-power", MODEL_POINT_ISOLATED));
    assert_point(world, POWER3, UNKNOWN, SETTLING);
    assert_accepted(world, world_word(world, "t-2", "j-1", "3-power", MODEL_POINT_ISOLATED));
    assert_point(world, POWER3, ISOLATED, WITNESSED);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
}

WORLD_TEST(what_it_says_counts_for_nothing) {
    without_power(world);
    world_hear(world, S_POWER3, MODEL_POINT_ISOLATED);
    assert_point(world, POWER3, UNKNOWN, SILENT);
    both_say(world, MODEL_POINT_ISOLATED);
    world_bad(world, S_POWER3);
    assert_point(world, POWER3, ISOLATED, WITNESSED);
}

WORLD_TEST(not_who_distrusts_it) {
    without_power(world);
    assert_refused(world, world_word(world, "s-1", "j-1", "3-power", MODEL_POINT_ISOLATED),
                   MODEL_CODE_NOT_ALLOWED);
    assert_accepted(world, world_word(world, "m-1", "j-1", "3-power", MODEL_POINT_ISOLATED));
    assert_accepted(world, world_word(world, "t-1", "j-1", "3-power", MODEL_POINT_ISOLATED));
    assert_point(world, POWER3, ISOLATED, WITNESSED);
}

// Another supervisor's word stands until they say of the sensor what the first did.
static void nor_who_distrusts_it_afterwards(void **state) {
    (void)state;
    struct world_copy copy;
    struct world *world = with_another_supervisor(&copy, "t-2");
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_accepted(world, distrust(world, "s-1", "3-power", 12));
    both_say(world, MODEL_POINT_ISOLATED);
    assert_point(world, POWER3, ISOLATED, WITNESSED);
    assert_accepted(world, distrust(world, "t-2", "3-power", 12));
    assert_point(world, POWER3, UNKNOWN, SETTLING);
    assert_int_equal(world_point(world, POWER3)->distrust_count, 2);
    both_say_live(world);
    assert_false(proved(world, POWER3, "j-1"));
    assert_accepted(world, trust(world, "s-1", "3-power"));
    assert_int_equal(world_point(world, POWER3)->distrust_count, 0);
    world_free(world);
}

// It had no sensor when its words were given: they do not stand for one that it got.
static void no_word_from_before_counts(void **state) {
    (void)state;
    static struct world_copy copy;
    world_copy(&copy);
    copy.points[POWER4].sensor_count = 0;
    copy.points[POWER4].controller = MODEL_NONE;
    copy.points[POWER4].witnesses = 2;
    copy.points[POWER4].witness_valid_ms = WORLD_WITNESS_MS;
    struct world *world = world_new_of(&copy.model);
    assert_true(world_open(world, "j-4", "4A", "t-1"));
    assert_accepted(world, world_word(world, "t-1", "j-4", "4-power", MODEL_POINT_ISOLATED));
    assert_accepted(world, world_word(world, "m-1", "j-4", "4-power", MODEL_POINT_ISOLATED));
    assert_point(world, POWER4, ISOLATED, WITNESSED);
    world_restart_with(world, world_model(), 1000);
    assert_accepted(world, distrust(world, "s-1", "4-power", 12));
    assert_point(world, POWER4, UNKNOWN, SILENT);
    world_free(world);
}

WORLD_TEST(two_prove_live_and_one_breaks) {
    without_power(world);
    both_say(world, MODEL_POINT_ISOLATED);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    assert_accepted(world, world_word(world, "s-1", NULL, "3-power", MODEL_POINT_LIVE));
    assert_point(world, POWER3, LIVE, WITNESSED);
    assert_alarm(world);
    assert_false(proved(world, POWER3, "j-1"));
    assert_accepted(world, world_word(world, "t-1", "j-1", "3-power", MODEL_POINT_LIVE));
    assert_false(proved(world, POWER3, "j-1"));
    assert_accepted(world, world_word(world, "m-1", NULL, "3-power", MODEL_POINT_LIVE));
    assert_true(proved(world, POWER3, "j-1"));
}

WORLD_TEST(their_words_age_by_four_hours) {
    without_power(world);
    both_say(world, MODEL_POINT_ISOLATED);
    world_pass(world, 4 * HOUR);
    assert_point(world, POWER3, ISOLATED, WITNESSED);
    world_pass(world, 1);
    assert_point(world, POWER3, UNKNOWN, STALE);
}

WORLD_TEST(another_sensor_carries_the_point) {
    world_hear(world, S_VALVE3A, MODEL_POINT_ISOLATED);
    assert_point(world, VALVE3, UNKNOWN, SILENT);
    assert_accepted(world, distrust(world, "s-1", "3-valve-b", 1));
    world_pass(world, WORLD_SETTLE_MS);
    assert_point(world, VALVE3, ISOLATED, FRESH);
    assert_refused(world, world_word(world, "m-1", NULL, "3-valve", MODEL_POINT_LIVE),
                   MODEL_CODE_NOT_ALLOWED);
    assert_accepted(world, distrust(world, "s-1", "3-valve-a", 1));
    assert_point(world, VALVE3, UNKNOWN, SILENT);
}

WORLD_TEST(in_working_it_stops_the_work_unless_another_sensor_carries_the_point) {
    world_to_working(world, "j-1");
    assert_accepted(world, distrust(world, "s-1", "3-valve-b", 1));
    assert_job(world, "j-1", WORKING, CONFIRMED);
    assert_accepted(world, distrust(world, "s-1", "3-power", 1));
    assert_job(world, "j-1", STOPPED, BROKEN);
}

// For the service of its positions it is no point that nobody has to speak for.
WORLD_TEST(for_service_the_point_still_counts_as_one_with_a_sensor) {
    world_hear(world, S_VALVE4, MODEL_POINT_LIVE);
    assert_int_equal(world_site(world)->positions[P4A].service, MODEL_SERVICE_OUT);
    assert_accepted(world, distrust(world, "s-1", "4-power", 12));
    assert_int_equal(world_site(world)->positions[P4A].service, MODEL_SERVICE_OUT);
    assert_accepted(world, world_word(world, "m-1", NULL, "4-power", MODEL_POINT_LIVE));
    assert_int_equal(world_site(world)->positions[P4A].service, MODEL_SERVICE_OUT);
}

// --- How it ends ---

WORLD_TEST(a_live_by_itself_ends_it_and_breaks) {
    without_power(world);
    both_say(world, MODEL_POINT_ISOLATED);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    world_forget(world);
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_point(world, POWER3, LIVE, FRESH);
    assert_alarm(world);
    assert_true(world_told(world, GATE_FACT_SENSOR_TRUSTED));
    assert_int_equal(world_point(world, POWER3)->statement_count, 0);
}

WORLD_TEST(one_from_an_offline_controller_too) {
    without_power(world);
    both_say(world, MODEL_POINT_ISOLATED);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    world_controller(world, false);
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_false(gate_is_distrusted(world_site(world), POWER3, S_POWER3));
    assert_point(world, POWER3, UNKNOWN, CONTROLLER_OFFLINE);
    assert_alarm(world);
}

WORLD_TEST(and_one_whose_clock_went_back) {
    world_hear_at(world, S_POWER3, MODEL_POINT_ISOLATED, world->now.wall);
    without_power(world);
    both_say(world, MODEL_POINT_ISOLATED);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    world_hear_at(world, S_POWER3, MODEL_POINT_LIVE, world->now.wall - HOUR);
    assert_false(gate_is_distrusted(world_site(world), POWER3, S_POWER3));
    assert_point(world, POWER3, UNKNOWN, BAD_QUALITY);
}

WORLD_TEST(and_one_that_is_dated_ahead) {
    without_power(world);
    both_say(world, MODEL_POINT_ISOLATED);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    world_hear_at(world, S_POWER3, MODEL_POINT_LIVE, world->now.wall + HOUR);
    assert_false(gate_is_distrusted(world_site(world), POWER3, S_POWER3));
    assert_point(world, POWER3, UNKNOWN, BAD_QUALITY);
    assert_alarm(world);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

WORLD_TEST(nor_is_one_that_is_dated_ahead_out_of_order) {
    world_hear_at(world, S_POWER3, MODEL_POINT_LIVE, world->now.wall + HOUR);
    assert_refused(world, distrust(world, "s-1", "3-power", 1), MODEL_CODE_POINT_LIVE);
    world_pass(world, WORLD_MAX_AGE_MS + 1);
    assert_accepted(world, distrust(world, "s-1", "3-power", 1));
    world_hear_at(world, S_POWER3, MODEL_POINT_ISOLATED, world->now.wall + HOUR);
    assert_true(gate_is_distrusted(world_site(world), POWER3, S_POWER3));
}

WORLD_TEST(what_the_broker_kept_is_not_said_by_itself) {
    without_power(world);
    both_say(world, MODEL_POINT_ISOLATED);
    const struct gate_reading kept = {.state = MODEL_POINT_LIVE, .retained = true};
    gate_subscribed(world->gate);
    assert_int_equal(world_say(world, S_POWER3, kept), GATE_HEARD_RETAINED);
    assert_point(world, POWER3, ISOLATED, WITNESSED);
}

WORLD_TEST(it_ends_when_its_hours_are_over) {
    without_power(world);
    world_pass(world, 9 * HOUR);
    both_say(world, MODEL_POINT_ISOLATED);
    world_pass(world, 3 * HOUR - 1);
    assert_point(world, POWER3, ISOLATED, WITNESSED);
    world_forget(world);
    world_pass(world, 1);
    assert_point(world, POWER3, UNKNOWN, SILENT);
    assert_true(world_told(world, GATE_FACT_SENSOR_TRUSTED));
    assert_int_equal(world_point(world, POWER3)->statement_count, 0);
}

WORLD_TEST(said_again_it_goes_on_from_then) {
    without_power(world);
    world_pass(world, 11 * HOUR);
    assert_accepted(world, distrust(world, "s-1", "3-power", 12));
    assert_int_equal(world_point(world, POWER3)->distrust_count, 1);
    world_pass(world, 12 * HOUR - 1);
    assert_true(gate_is_distrusted(world_site(world), POWER3, S_POWER3));
    world_pass(world, 1);
    assert_false(gate_is_distrusted(world_site(world), POWER3, S_POWER3));
}

WORLD_TEST(a_supervisor_says_that_it_is_no_longer) {
    without_power(world);
    world_hear(world, S_POWER3, MODEL_POINT_ISOLATED);
    both_say(world, MODEL_POINT_ISOLATED);
    world_pass(world, WORLD_SETTLE_MS);
    assert_refused(world, trust(world, "m-1", "3-power"), MODEL_CODE_NOT_ALLOWED);
    assert_accepted(world, trust(world, "s-1", "3-power"));
    assert_point(world, POWER3, ISOLATED, FRESH);
    world_forget(world);
    assert_accepted(world, trust(world, "s-1", "3-power"));
    assert_false(world_told(world, GATE_FACT_SENSOR_TRUSTED));
}

WORLD_TEST(it_survives_a_restart_with_its_end_and_its_words) {
    without_power(world);
    both_say(world, MODEL_POINT_ISOLATED);
    world_restart(world, HOUR);
    assert_true(gate_is_distrusted(world_site(world), POWER3, S_POWER3));
    assert_point(world, POWER3, ISOLATED, WITNESSED);
    world_pass(world, 3 * HOUR + 1);
    assert_point(world, POWER3, UNKNOWN, STALE);
    world_pass(world, 8 * HOUR - 2);
    assert_true(gate_is_distrusted(world_site(world), POWER3, S_POWER3));
    world_pass(world, 1);
    assert_false(gate_is_distrusted(world_site(world), POWER3, S_POWER3));
}

// --- What is said of it ---

WORLD_TEST(the_evidence_says_so) {
    without_power(world);
    struct gate_evidence of_power =
        gate_evidence_of(world->gate, world_site(world), POWER3, world->now);
    struct gate_evidence of_valve =
        gate_evidence_of(world->gate, world_site(world), VALVE3, world->now);
    assert_true(of_power.distrusted);
    assert_false(of_valve.distrusted);
}

// --- A whole repair, from a dead sensor in testing on ---

WORLD_TEST(with_a_sensor_dead_in_testing_there_is_a_way_to_the_return) {
    world_to_testing(world, "j-1");
    world_pass(world, WORLD_MAX_AGE_MS + 1);
    world_hear(world, S_VALVE3A, MODEL_POINT_LIVE);
    world_hear(world, S_VALVE3B, MODEL_POINT_LIVE);
    assert_refused(world, world_test(world, "t-1", "j-1", "leak", true),
                   MODEL_CODE_POINT_NOT_RESTORED);
    assert_accepted(world, distrust(world, "s-1", "3-power", 1));
    assert_accepted(world, world_word(world, "t-1", "j-1", "3-power", MODEL_POINT_LIVE));
    assert_refused(world, world_test(world, "t-1", "j-1", "leak", true),
                   MODEL_CODE_POINT_NOT_RESTORED);
    assert_accepted(world, world_word(world, "m-1", NULL, "3-power", MODEL_POINT_LIVE));
    assert_accepted(world, world_test(world, "t-1", "j-1", "leak", true));
    assert_true(world_test(world, "t-1", "j-1", "continuity", true));
    assert_true(world_sign(world, "t-1", "j-1", "barricade-removed"));
    assert_accepted(world, world_verb(world, GATE_VERB_RETURN_POSITION, "t-1", "j-1"));
}

// --- A reader ---

WORLD_TEST(what_a_reader_out_of_order_sees_hung_does_not_count) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    assert_accepted(world, distrust_reader(world, "s-1", "3-power"));
    assert_point(world, POWER3, ISOLATED, FRESH); // its sensor is another matter
    world_reader(world, POWER3, "t-1", true);
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    world_reader(world, POWER3, "t-1", false);
    assert_null(world_tag_of(world, POWER3, "j-1", "t-1"));
}

WORLD_TEST(a_tag_that_it_alone_vouched_for_is_hung_again) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    world_reader(world, POWER3, "t-1", true);
    assert_true(world_tag(world, "t-1", "j-1", VALVE3));
    assert_accepted(world, distrust_reader(world, "s-1", "3-power"));
    assert_false(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
    assert_true(world_tag_of(world, VALVE3, "j-1", "t-1")->counts);
    assert_true(world_tag(world, "t-1", "j-1", POWER3));
    assert_true(world_tag_of(world, POWER3, "j-1", "t-1")->counts);
}

static void meanwhile_a_tag_is_hung_by_request_at_its_point(void **state) {
    (void)state;
    struct world_copy copy;
    world_copy(&copy);
    copy.points[POWER3].locks_by_reader = true;
    struct world *world = world_new_of(&copy.model);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
    assert_refused(world, world_tag(world, "t-1", "j-1", POWER3), MODEL_CODE_TAG_BY_READER);
    assert_accepted(world, distrust_reader(world, "s-1", "3-power"));
    assert_accepted(world, world_tag(world, "t-1", "j-1", POWER3));
    world_free(world);
}

WORLD_TEST(in_working_a_reader_out_of_order_stops_the_work_that_counted_on_it) {
    world_to_working_seen(world, "j-1");
    assert_accepted(world, distrust_reader(world, "s-1", "3-valve"));
    assert_job(world, "j-1", WORKING, CONFIRMED);
    assert_accepted(world, distrust_reader(world, "s-1", "3-power"));
    assert_job(world, "j-1", STOPPED, BROKEN);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(a_supervisor_of_no_such_crew_says_it),
        cmocka_unit_test(a_supervisor_of_the_crew_does_not),
        cmocka_unit_test(of_what_there_is_not),
        cmocka_unit_test(not_of_one_that_says_live_now),
        cmocka_unit_test(nor_of_one_whose_clock_went_back_and_that_says_live),
        cmocka_unit_test(nothing_of_it_while_the_journal_cannot_write),
        cmocka_unit_test(two_witnesses_speak_for_it),
        cmocka_unit_test(what_it_says_counts_for_nothing),
        cmocka_unit_test(not_who_distrusts_it),
        cmocka_unit_test(nor_who_distrusts_it_afterwards),
        cmocka_unit_test(no_word_from_before_counts),
        cmocka_unit_test(two_prove_live_and_one_breaks),
        cmocka_unit_test(their_words_age_by_four_hours),
        cmocka_unit_test(another_sensor_carries_the_point),
        cmocka_unit_test(in_working_it_stops_the_work_unless_another_sensor_carries_the_point),
        cmocka_unit_test(for_service_the_point_still_counts_as_one_with_a_sensor),
        cmocka_unit_test(a_live_by_itself_ends_it_and_breaks),
        cmocka_unit_test(one_from_an_offline_controller_too),
        cmocka_unit_test(and_one_whose_clock_went_back),
        cmocka_unit_test(and_one_that_is_dated_ahead),
        cmocka_unit_test(nor_is_one_that_is_dated_ahead_out_of_order),
        cmocka_unit_test(what_the_broker_kept_is_not_said_by_itself),
        cmocka_unit_test(it_ends_when_its_hours_are_over),
        cmocka_unit_test(said_again_it_goes_on_from_then),
        cmocka_unit_test(a_supervisor_says_that_it_is_no_longer),
        cmocka_unit_test(it_survives_a_restart_with_its_end_and_its_words),
        cmocka_unit_test(the_evidence_says_so),
        cmocka_unit_test(with_a_sensor_dead_in_testing_there_is_a_way_to_the_return),
        cmocka_unit_test(what_a_reader_out_of_order_sees_hung_does_not_count),
        cmocka_unit_test(a_tag_that_it_alone_vouched_for_is_hung_again),
        cmocka_unit_test(meanwhile_a_tag_is_hung_by_request_at_its_point),
        cmocka_unit_test(in_working_a_reader_out_of_order_stops_the_work_that_counted_on_it),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
