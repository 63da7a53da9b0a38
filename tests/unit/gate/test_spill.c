// Spills: recorded, judged, and reported where they must be (40 CFR 280.53).
#include "gate/alarm.h"
#include "gate/spill.h"
#include "world.h"

#define HOUR_MS (3600 * 1000LL)

static struct gate_request spill_of(double quantity) {
    return (struct gate_request){.verb = GATE_VERB_RECORD_SPILL,
                                 .person = "t-1",
                                 .position = "3A",
                                 .product = "regular",
                                 .unit = "gal",
                                 .quantity = {true, quantity}};
}

static bool spill(struct world *world, double quantity) {
    return world_ask(world, spill_of(quantity));
}

static bool report(struct world *world, const char *person, const char *id) {
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_REPORT_SPILL,
                                                  .person = person,
                                                  .spill = id,
                                                  .reference = "case 12-345"});
}

static const struct gate_alarm *alarm(struct world *world) {
    return world_alarm(world, MODEL_ALARM_SPILL_REPORT_DUE);
}

WORLD_TEST(over_25_gallons_is_reported) {
    assert_accepted(world, spill(world, 25));
    assert_true(world->answer.has_spill);
    assert_string_equal(world->answer.spill, "s1");
    assert_int_equal(world->answer.report_due, 0);
    assert_null(alarm(world));
    assert_accepted(world, spill(world, 25.1));
    assert_string_equal(world->answer.spill, "s2");
    assert_int_equal(world->answer.report_due, world->now.wall + 24 * HOUR_MS);
    assert_non_null(alarm(world));
    assert_int_equal(gate_alarm_priority(alarm(world)), MODEL_PRIORITY_LOW);
    assert_string_equal(alarm(world)->subject, "s2");
}

WORLD_TEST(liters_are_judged_as_gallons) {
    struct gate_request request = spill_of(94); // 24.8 gal
    request.unit = "L";
    assert_accepted(world, world_ask(world, request));
    assert_null(alarm(world));
    request.quantity.value = 95; // 25.1 gal
    assert_accepted(world, world_ask(world, request));
    assert_non_null(alarm(world));
}

WORLD_TEST(a_sheen_is_reported_and_a_correction_ends_it) {
    struct gate_request request = spill_of(1);
    request.sheen = true;
    assert_accepted(world, world_ask(world, request));
    assert_non_null(alarm(world));
    world_pass(world, 10 * HOUR_MS);
    request.sheen = false; // it was not one
    request.spill = "s1";
    request.cleaned = world->now.wall;
    assert_accepted(world, world_ask(world, request));
    assert_int_equal(world_site(world)->spill_count, 1);
    assert_int_equal(alarm(world)->state, MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
    world_pass(world, 20 * HOUR_MS); // it is clean
    assert_int_equal(alarm(world)->state, MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
    request.spill = "s9";
    assert_refused(world, world_ask(world, request), MODEL_CODE_MALFORMED);
}

WORLD_TEST(what_is_not_cleaned_up_in_a_day_is_reported) {
    struct gate_request ahead = spill_of(1);
    ahead.cleaned = world->now.wall + HOUR_MS;
    assert_refused(world, world_ask(world, ahead), MODEL_CODE_MALFORMED);
    assert_accepted(world, spill(world, 1));
    world_pass(world, 23 * HOUR_MS);
    assert_accepted(world, world_ask(world, (struct gate_request){.verb = GATE_VERB_RECORD_SPILL,
                                                                  .person = "t-1",
                                                                  .position = "3A",
                                                                  .product = "regular",
                                                                  .unit = "gal",
                                                                  .quantity = {true, 2},
                                                                  .spill = "s1"}));
    assert_null(alarm(world));
    world_pass(world, HOUR_MS + 1); // a day after it was recorded first
    assert_non_null(alarm(world));
    assert_int_equal(gate_alarm_priority(alarm(world)), MODEL_PRIORITY_HIGH);
}

WORLD_TEST(a_report_that_is_due_raises_the_alarm_again) {
    assert_accepted(world, spill(world, 30));
    world_acknowledge(world);
    assert_int_equal(alarm(world)->state, MODEL_ALARM_ACKNOWLEDGED);
    world_pass(world, 24 * HOUR_MS);
    assert_int_equal(alarm(world)->count, 1);
    world_pass(world, 1);
    assert_int_equal(alarm(world)->count, 2);
    assert_int_equal(alarm(world)->state, MODEL_ALARM_UNACKNOWLEDGED);
    assert_int_equal(gate_alarm_priority(alarm(world)), MODEL_PRIORITY_HIGH);
    world_pass(world, 10 * HOUR_MS);
    assert_int_equal(alarm(world)->count, 2);
    world_restart(world, HOUR_MS);
    assert_int_equal(alarm(world)->count, 2);
}

WORLD_TEST(an_overseer_reports_it_once) {
    assert_accepted(world, spill(world, 30));
    assert_refused(world, report(world, "t-1", "s1"), MODEL_CODE_NOT_ALLOWED);
    assert_accepted(world, report(world, "m-1", "s1"));
    assert_null(alarm(world));
    assert_true(world_told(world, GATE_FACT_SPILL_REPORTED));
    assert_int_equal(world_site(world)->spill_count, 0);
    assert_refused(world, report(world, "s-1", "s1"), MODEL_CODE_MALFORMED);
}

WORLD_TEST(anybody_of_the_site_records_a_spill) {
    struct gate_request request = spill_of(1);
    request.person = "v-1";
    assert_accepted(world, world_ask(world, request));
    request.position = "9Z";
    assert_refused(world, world_ask(world, request), MODEL_CODE_UNKNOWN_POSITION);
}

WORLD_TEST(what_needs_no_report_is_forgotten_after_a_week) {
    struct gate_request request = spill_of(1);
    request.cleaned = world->now.wall;
    assert_accepted(world, world_ask(world, request));
    world_pass(world, 8 * 24 * HOUR_MS);
    request.cleaned = world->now.wall;
    assert_accepted(world, world_ask(world, request));
    assert_int_equal(world_site(world)->spill_count, 1);
    assert_string_equal(world_site(world)->spills[0].spill, "s2");
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(over_25_gallons_is_reported),
        cmocka_unit_test(liters_are_judged_as_gallons),
        cmocka_unit_test(a_sheen_is_reported_and_a_correction_ends_it),
        cmocka_unit_test(what_is_not_cleaned_up_in_a_day_is_reported),
        cmocka_unit_test(a_report_that_is_due_raises_the_alarm_again),
        cmocka_unit_test(an_overseer_reports_it_once),
        cmocka_unit_test(anybody_of_the_site_records_a_spill),
        cmocka_unit_test(what_needs_no_report_is_forgotten_after_a_week),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
