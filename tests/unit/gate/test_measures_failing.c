// Measures that fail a check: what that stops, who overrules it, and when they answer it again.
#include <string.h>

#include "hardware.h"

static void a_failing_measure_stops_the_work(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    hardware_to_working(h);
    assert_int_equal(hardware_hear(h, M_VOLTS, 230), GATE_HEARD_CHANGED);
    assert_job(h->world, "j-1", STOPPED, BROKEN);
    assert_alarm(h->world);
    assert_false(world_job(h->world, "j-1")->crew[0].protected); // told in the same turn
    assert_int_equal(world_alarm(h->world, MODEL_ALARM_LOCKOUT_BROKEN)->why,
                     MODEL_CODE_CHECK_FAILED);
    const struct world_fact *stop = world_fact(h->world, GATE_FACT_WORK_STOPPED);
    assert_non_null(stop);
    assert_int_equal(stop->why, MODEL_CODE_CHECK_FAILED);
    size_t count = world_times_told(h->world, GATE_FACT_CHECK_SIGNED);
    hardware_hear(h, M_VOLTS, 229); // void already: no second alarm, no second signature
    world_review(h->world);
    assert_int_equal(world_times_told(h->world, GATE_FACT_CHECK_SIGNED), count);
    world_free(h->world);
}

static void the_way_back_is_proof_anew(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    hardware_to_working(h);
    hardware_hear(h, M_PSI, 9);
    assert_job(h->world, "j-1", STOPPED, BROKEN);
    hardware_steady(h, M_PSI, 1, 61000);
    hardware_hear(h, M_VOLTS, 0);
    assert_true(hardware_passed(h, "drained") && hardware_passed(h, "no-voltage"));
    assert_refused(h->world, world_verb(h->world, GATE_VERB_START_WORK, "t-1", "j-1"),
                   MODEL_CODE_CHECK_VOID, MODEL_CODE_ALARM_OPEN);
    world_free(h->world);
}

static void a_failing_measure_wins_over_a_signature_by_hand(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    world_to_tagged(h->world, "j-1");
    assert_true(world_sign_value(h->world, "t-1", "j-1", "drained", 1, "psi"));
    assert_true(world_sign(h->world, "t-1", "j-1", "no-flow"));
    assert_true(world_sign_value(h->world, "t-1", "j-1", "no-voltage", 0, "A"));
    assert_true(world_verb(h->world, GATE_VERB_START_WORK, "t-1", "j-1"));
    hardware_hear(h, M_VOLTS, 0.1);
    assert_string_equal(hardware_signed(h, "no-voltage")->by, "t-1");
    hardware_hear(h, M_VOLTS, 12);
    assert_job(h->world, "j-1", STOPPED, BROKEN);
    world_free(h->world);
}

static void a_persons_failed_reading_is_not_overruled(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    world_to_tagged(h->world, "j-1");
    assert_true(world_sign_value(h->world, "t-1", "j-1", "no-voltage", 30, "A"));
    hardware_hear(h, M_VOLTS, 0);
    assert_false(hardware_passed(h, "no-voltage"));
    world_tag_all(h->world, "t-1", "j-1");
    hardware_hear(h, M_VOLTS, 0);
    assert_false(hardware_passed(h, "no-voltage"));
    assert_true(world_sign_value(h->world, "t-1", "j-1", "no-voltage", 0, "A"));
    assert_true(hardware_passed(h, "no-voltage"));
    world_free(h->world);
}

static void a_roles_check_is_not_answered_but_failed(void **state) {
    (void)state;
    static struct hardware other;
    memset(&other, 0, sizeof other);
    struct hardware *h = &other;
    hardware_lay_out(h);
    hardware_check(h, "no-voltage")->by = MODEL_ROLE_SUPERVISOR;
    hardware_come_up(h);
    world_to_tagged(h->world, "j-1");
    hardware_hear(h, M_VOLTS, 0);
    assert_null(hardware_signed(h, "no-voltage"));
    assert_true(world_sign_value(h->world, "s-1", "j-1", "no-voltage", 0, "A"));
    hardware_hear(h, M_VOLTS, 7);
    assert_false(hardware_passed(h, "no-voltage"));
    world_free(h->world);
}

static void to_failed(struct hardware *h) {
    hardware_to_working(h);
    hardware_hear(h, M_PSI, 9);
    assert_job(h->world, "j-1", STOPPED, BROKEN);
}

static void one_that_failed_answers_again_after_a_minute_within_limits(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    to_failed(h);
    hardware_steady(h, M_PSI, 1, 60000);
    assert_false(hardware_passed(h, "drained"));
    hardware_steady(h, M_PSI, 1, 1000);
    assert_true(hardware_passed(h, "drained"));
    world_free(h->world);
}

static void a_reading_outside_begins_the_minute_anew(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    to_failed(h);
    hardware_steady(h, M_PSI, 1, 50000);
    hardware_hear(h, M_PSI, 2.5);
    hardware_steady(h, M_PSI, 1, 60000);
    assert_false(hardware_passed(h, "drained"));
    hardware_steady(h, M_PSI, 1, 1000);
    assert_true(hardware_passed(h, "drained"));
    world_free(h->world);
}

static void the_minute_is_heard_without_a_gap(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    to_failed(h);
    hardware_steady(h, M_PSI, 1, 20000);
    world_pass_heard(h->world, 41000);
    hardware_hear(h, M_PSI, 1);
    assert_false(hardware_passed(h, "drained"));
    hardware_steady(h, M_PSI, 1, 60000);
    assert_true(hardware_passed(h, "drained"));
    world_free(h->world);
}

static void a_person_need_not_wait_for_it(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    to_failed(h);
    hardware_hear(h, M_PSI, 1);
    assert_accepted(h->world, world_sign_value(h->world, "t-1", "j-1", "drained", 1, "psi"));
    assert_true(hardware_passed(h, "drained"));
    world_free(h->world);
}

static void while_the_journal_is_down_only_failures_are_signed(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    hardware_to_working(h);
    hardware_hear(h, M_VOLTS, 0.5);
    gate_journal(h->world->gate, false, h->world->now);
    hardware_hear(h, M_PSI, 7);
    assert_job(h->world, "j-1", STOPPED, BROKEN);
    hardware_steady(h, M_PSI, 0.5, 61000);
    assert_false(hardware_passed(h, "drained"));
    gate_journal(h->world->gate, true, h->world->now);
    assert_true(hardware_passed(h, "drained"));
    world_free(h->world);
}

static void an_offline_controllers_measure_fails_but_proves_nothing(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    // The panel carries the measure of 3A and not the breaker's sensor.
    struct model_point *power = &h->copy.points[POWER3];
    power->controller = MODEL_NONE;
    world_to_tagged(h->world, "j-1");
    world_controller(h->world, false);
    hardware_hear(h, M_VOLTS, 0);
    assert_null(hardware_signed(h, "no-voltage"));
    world_controller(h->world, true); // online again: heard anew
    world_review(h->world);
    assert_null(hardware_signed(h, "no-voltage"));
    hardware_hear(h, M_VOLTS, 0);
    assert_true(hardware_passed(h, "no-voltage"));
    world_controller(h->world, false);
    hardware_hear(h, M_VOLTS, 7);
    assert_false(hardware_passed(h, "no-voltage"));
    world_free(h->world);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_failing_measure_stops_the_work),
        cmocka_unit_test(the_way_back_is_proof_anew),
        cmocka_unit_test(a_failing_measure_wins_over_a_signature_by_hand),
        cmocka_unit_test(a_persons_failed_reading_is_not_overruled),
        cmocka_unit_test(a_roles_check_is_not_answered_but_failed),
        cmocka_unit_test(one_that_failed_answers_again_after_a_minute_within_limits),
        cmocka_unit_test(a_reading_outside_begins_the_minute_anew),
        cmocka_unit_test(the_minute_is_heard_without_a_gap),
        cmocka_unit_test(a_person_need_not_wait_for_it),
        cmocka_unit_test(while_the_journal_is_down_only_failures_are_signed),
        cmocka_unit_test(an_offline_controllers_measure_fails_but_proves_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
