// Measures of the site's hardware: when they answer a check, and what they never prove.
#include <math.h>
#include <string.h>

#include "hardware.h"

static uint32_t on_3a[] = {P3A};

static enum gate_heard hear_at(struct hardware *h, enum measure measure, double value, int64_t at) {
    struct gate_measure_reading reading = {.value = value, .has_at = true, .at = at};
    return gate_hear_measure(h->world->gate, 0, measure, &reading, h->world->now);
}

static void in_its_window_a_measure_answers_its_check(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    world_to_tagged(h->world, "j-1");
    assert_int_equal(hardware_hear(h, M_PSI, 0.5), GATE_HEARD_CHANGED);
    const struct gate_signature *drained = hardware_signed(h, "drained");
    assert_non_null(drained);
    assert_true(drained->pass && drained->has_value);
    assert_true(drained->value == 0.5);
    assert_string_equal(drained->unit, "psi");
    assert_string_equal(drained->by, "");
    assert_string_equal(drained->instrument, "");
    const struct gate_fact *fact = world_journal_last(GATE_FACT_CHECK_SIGNED);
    assert_null(fact->person);
    assert_null(fact->by);
    assert_string_equal(fact->note, "3-psi"); // which measure it was
    world_pass(h->world, 10);
    hardware_hear(h, M_VOLTS, 0.25);
    assert_true(hardware_passed(h, "no-voltage"));
    assert_true(world_sign(h->world, "t-1", "j-1", "no-flow"));
    assert_job(h->world, "j-1", OPEN, CONFIRMED);
    assert_accepted(h->world, world_verb(h->world, GATE_VERB_START_WORK, "t-1", "j-1"));
    world_free(h->world);
}

static void out_of_its_window_nothing_is_signed(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    assert_true(world_open(h->world, "j-1", "3A", "t-1"));
    world_sign_prepare(h->world, "t-1", "j-1");
    assert_int_equal(hardware_hear(h, M_PSI, 0.5), GATE_HEARD_UNCHANGED);
    world_isolate(h->world);
    assert_true(world_witness(h->world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    hardware_hear(h, M_PSI, 0.5);
    assert_true(world_tag(h->world, "t-1", "j-1", POWER3));
    assert_true(world_tag(h->world, "t-1", "j-1", VALVE3));
    hardware_hear(h, M_PSI, 0.5);
    assert_null(hardware_signed(h, "drained"));
    world_free(h->world);
}

static void what_was_read_before_the_hold_proves_nothing(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    assert_true(world_open(h->world, "j-1", "3A", "t-1"));
    world_sign_prepare(h->world, "t-1", "j-1");
    world_isolate(h->world);
    assert_true(world_witness(h->world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    hardware_hear(h, M_PSI, 0.5);
    world_pass(h->world, 10);
    world_tag_all(h->world, "t-1", "j-1");
    assert_int_equal(world_job(h->world, "j-1")->isolation, GATE_ISOLATION_HELD);
    world_review(h->world);
    assert_null(hardware_signed(h, "drained"));
    world_pass(h->world, 10);
    hear_at(h, M_PSI, 0.5, h->world->now.wall - 15); // read before, heard after
    assert_null(hardware_signed(h, "drained"));
    hear_at(h, M_PSI, 0.5, h->world->now.wall - 5);
    assert_true(hardware_passed(h, "drained"));
    world_free(h->world);
}

static void what_was_read_before_the_relief_verifies_nothing(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    world_to_tagged(h->world, "j-1");
    hardware_hear(h, M_VOLTS, 0);
    assert_true(hardware_passed(h, "no-voltage"));
    world_pass(h->world, 10);
    hardware_hear(h, M_PSI, 0.5); // relieved: what was verified before is void
    assert_true(hardware_passed(h, "drained"));
    assert_false(hardware_passed(h, "no-voltage"));
    world_review(h->world);
    assert_false(hardware_passed(h, "no-voltage"));
    hardware_hear(h, M_VOLTS, 0);
    assert_true(hardware_passed(h, "no-voltage"));
    world_free(h->world);
}

static void what_was_read_before_a_stop_proves_nothing_after_it(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    hardware_to_working(h);
    assert_true(hardware_passed(h, "drained"));
    world_pass(h->world, 10);
    assert_true(world_stop(h->world, "t-2", "j-1", NULL));
    assert_false(hardware_passed(h, "drained"));
    world_pass(h->world, 10);
    world_sign_prepare(h->world, "t-1", "j-1");
    world_review(h->world);
    assert_false(hardware_passed(h, "drained"));
    hardware_hear(h, M_PSI, 0.5);
    assert_true(hardware_passed(h, "drained"));
    world_free(h->world);
}

static void a_steady_measure_signs_once(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    world_to_tagged(h->world, "j-1");
    hardware_hear(h, M_PSI, 0.5);
    size_t count = world_times_told(h->world, GATE_FACT_CHECK_SIGNED);
    for (int i = 0; i < 20; i++) {
        world_pass(h->world, 100);
        assert_int_equal(hardware_hear(h, M_PSI, 0.5 + i * 0.01), GATE_HEARD_UNCHANGED);
    }
    assert_int_equal(world_times_told(h->world, GATE_FACT_CHECK_SIGNED), count);
    hardware_hear(h, M_PSI, 3); // it fails, once
    hardware_hear(h, M_PSI, 4);
    assert_int_equal(world_times_told(h->world, GATE_FACT_CHECK_SIGNED), count + 1);
    assert_false(hardware_signed(h, "drained")->pass);
    hardware_hear(h, M_PSI, 2); // the limit itself passes, in its time
    hardware_steady(h, M_PSI, 2, 60000);
    assert_int_equal(world_times_told(h->world, GATE_FACT_CHECK_SIGNED), count + 2);
    assert_true(hardware_passed(h, "drained"));
    world_free(h->world);
}

static void stale_or_bad_says_nothing_and_voids_nothing(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    world_to_tagged(h->world, "j-1");
    struct gate_measure_reading bad = {.value = 0.5, .bad = true};
    struct gate_measure_reading nan_ = {.value = (double)NAN};
    struct gate *gate = h->world->gate;
    assert_int_equal(gate_hear_measure(gate, 0, M_PSI, &bad, h->world->now), GATE_HEARD_BAD);
    assert_int_equal(gate_hear_measure(gate, 0, M_PSI, &nan_, h->world->now), GATE_HEARD_BAD);
    assert_int_equal(hear_at(h, M_PSI, 0.5, h->world->now.wall + 6000), GATE_HEARD_BAD);
    assert_non_null(world_alarm(h->world, MODEL_ALARM_CLOCK));
    assert_null(hardware_signed(h, "drained"));
    hardware_hear(h, M_PSI, 0.5);
    assert_true(hardware_passed(h, "drained"));
    gate_hear_measure(gate, 0, M_PSI, &bad, h->world->now);
    assert_true(hardware_passed(h, "drained"));
    world_pass_heard(h->world, 40000);
    assert_true(hardware_passed(h, "drained"));
    hear_at(h, M_PSI, 9, h->world->now.wall - 30001); // fails, but of too long ago
    assert_true(hardware_passed(h, "drained"));
    world_free(h->world);
}

static void a_stale_measure_answers_nothing(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    world_to_tagged(h->world, "j-1");
    assert_true(world_sign_value(h->world, "t-1", "j-1", "drained", 5, "psi")); // fails
    hardware_hear(h, M_PSI, 0.5);
    world_pass_heard(h->world, 31000);
    assert_true(world_sign_value(h->world, "t-1", "j-1", "drained", 1, "psi"));
    assert_true(world_sign_value(h->world, "t-1", "j-1", "no-voltage", 0, "A"));
    hear_at(h, M_VOLTS, 9, h->world->now.wall - 20000);
    assert_false(hardware_passed(h, "no-voltage"));
    assert_int_equal(hear_at(h, M_VOLTS, 0.5, h->world->now.wall - 20000), GATE_HEARD_COPY);
    assert_int_equal(hear_at(h, M_VOLTS, 0.5, h->world->now.wall - 21000), GATE_HEARD_OLDER);
    world_free(h->world);
}

static void after_a_bad_word_the_value_before_it_is_not_used(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    world_to_tagged(h->world, "j-1");
    assert_true(world_sign_value(h->world, "t-1", "j-1", "drained", 5, "psi")); // fails
    hardware_hear(h, M_PSI, 9);
    struct gate_measure_reading bad = {.value = 9, .bad = true};
    gate_hear_measure(h->world->gate, 0, M_PSI, &bad, h->world->now);
    assert_true(world_sign_value(h->world, "t-1", "j-1", "drained", 1, "psi"));
    assert_true(hardware_passed(h, "drained"));
    world_free(h->world);
}

static void retained_without_a_time_is_not_heard(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    world_to_tagged(h->world, "j-1");
    struct gate_measure_reading kept = {.value = 0.5, .retained = true};
    assert_int_equal(gate_hear_measure(h->world->gate, 0, M_PSI, &kept, h->world->now),
                     GATE_HEARD_RETAINED);
    assert_null(hardware_signed(h, "drained"));
    world_free(h->world);
}

static void every_measure_of_the_kind_must_agree(void **state) {
    (void)state;
    static struct hardware two;
    memset(&two, 0, sizeof two);
    struct hardware *h = &two;
    hardware_lay_out(h);
    h->measures[M_PSI_B].positions = on_3a;
    hardware_come_up(h);
    world_to_tagged(h->world, "j-1");
    hardware_hear(h, M_PSI, 0.5);
    assert_null(hardware_signed(h, "drained")); // the other was never heard
    hardware_hear(h, M_PSI_B, 9);
    assert_null(hardware_signed(h, "drained"));
    hardware_hear(h, M_PSI_B, 1.5);
    assert_true(hardware_passed(h, "drained"));
    assert_true(hardware_signed(h, "drained")->value == 1.5); // the worst of them
    world_free(h->world);
}

static void a_measure_of_another_position_says_nothing(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    world_to_tagged(h->world, "j-1");
    hardware_hear(h, M_PSI_B, 0.5);
    assert_null(hardware_signed(h, "drained"));
    hardware_hear(h, M_PSI, 0.5);
    hardware_hear(h, M_PSI_B, 9);
    assert_true(hardware_passed(h, "drained"));
    world_free(h->world);
}

static void a_measure_in_another_unit_proves_nothing(void **state) {
    (void)state;
    static struct hardware other;
    memset(&other, 0, sizeof other);
    struct hardware *h = &other;
    hardware_lay_out(h);
    h->measures[M_PSI].unit = "kPa";
    hardware_come_up(h);
    world_to_tagged(h->world, "j-1");
    hardware_hear(h, M_PSI, 0.5);
    assert_null(hardware_signed(h, "drained"));
    world_free(h->world);
}

static void without_limits_nothing_is_answered(void **state) {
    (void)state;
    static struct hardware other;
    memset(&other, 0, sizeof other);
    struct hardware *h = &other;
    hardware_lay_out(h);
    hardware_check(h, "drained")->limits = (struct model_limits){0};
    hardware_come_up(h);
    world_to_tagged(h->world, "j-1");
    hardware_hear(h, M_PSI, 0.5);
    assert_null(hardware_signed(h, "drained"));
    world_free(h->world);
}

static void a_check_in_words_is_not_answered(void **state) {
    (void)state;
    static struct hardware other;
    memset(&other, 0, sizeof other);
    struct hardware *h = &other;
    hardware_lay_out(h);
    hardware_check(h, "no-voltage")->note = true;
    hardware_come_up(h);
    world_to_tagged(h->world, "j-1");
    hardware_hear(h, M_VOLTS, 0);
    assert_null(hardware_signed(h, "no-voltage"));
    assert_refused(h->world, world_sign_value(h->world, "t-1", "j-1", "no-voltage", 0, "A"),
                   MODEL_CODE_MALFORMED);
    assert_true(world_refused(h->world, MODEL_CODE_MALFORMED, "/note"));
    assert_accepted(h->world,
                    world_ask(h->world, (struct gate_request){.verb = GATE_VERB_SIGN_CHECK,
                                                              .person = "t-1",
                                                              .job = "j-1",
                                                              .check = "no-voltage",
                                                              .has_value = true,
                                                              .unit = "A",
                                                              .note = "L1-L2, L1-PE"}));
    world_free(h->world);
}

static void unprepared_or_beside_a_test_nothing_is_proved(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    world_open_at(h->world, "j-1", "3A", "spout", "t-1");
    world_isolate(h->world);
    assert_true(world_witness(h->world, "t-1", "j-1", MODEL_POINT_ISOLATED));
    world_tag_all(h->world, "t-1", "j-1");
    hardware_hear(h, M_PSI, 1);
    assert_null(hardware_signed(h, "drained"));
    world_sign_prepare(h->world, "t-1", "j-1");
    assert_true(hardware_passed(h, "drained"));
    world_end(h->world);
    hardware_come_up(h);
    world_work_at(h->world, "j-2", "3B", "cabinet", "t-2"); // nothing of it is measured
    world_finish(h->world, "j-2", "t-2");
    world_lift_all(h->world, "t-2", "j-2");
    assert_true(world_verb(h->world, GATE_VERB_BEGIN_TEST, "t-2", "j-2"));
    world_to_tagged(h->world, "j-1");
    hardware_hear(h, M_PSI, 1);
    assert_null(hardware_signed(h, "drained"));
    assert_true(world_verb(h->world, GATE_VERB_STOP_WORK, "m-1", "j-2"));
    assert_true(hardware_passed(h, "drained"));
    world_free(h->world);
}

static void after_a_restart_measures_are_heard_anew(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    hardware_to_working(h);
    world_restart(h->world, 5000);
    assert_job(h->world, "j-1", WORKING, UNPROVEN);
    assert_true(world_site(h->world)->measures[M_VOLTS].heard == 0);
    assert_true(hardware_passed(h, "no-voltage"));
    world_forget(h->world);
    hardware_hear(h, M_PSI, 0.5);
    assert_false(world_told(h->world, GATE_FACT_CHECK_SIGNED));
    hardware_hear(h, M_VOLTS, 7); // unproven: a failed reading counts
    assert_job(h->world, "j-1", STOPPED, BROKEN);
    world_free(h->world);
}

static void a_work_check_is_answered_while_working(void **state) {
    (void)state;
    static struct hardware other;
    memset(&other, 0, sizeof other);
    struct hardware *h = &other;
    hardware_lay_out(h);
    h->measures[M_PSI_B] = (struct model_measure){"3A-nut", "torque", "N.m",      "Nut", NULL,
                                                  on_3a,    1,        MODEL_NONE, 30000, false};
    hardware_check(h, "spout-nut")->measure = "torque";
    hardware_come_up(h);
    world_to_tagged(h->world, "j-1");
    hardware_hear(h, M_PSI_B, 45);
    hardware_hear(h, M_PSI, 0.5);
    world_pass(h->world, 10);
    hardware_hear(h, M_VOLTS, 0.25);
    assert_true(world_sign(h->world, "t-1", "j-1", "no-flow"));
    assert_true(world_verb(h->world, GATE_VERB_START_WORK, "t-1", "j-1"));
    assert_null(hardware_signed(h, "spout-nut")); // read before the work began
    hardware_hear(h, M_PSI_B, 46);
    assert_true(hardware_passed(h, "spout-nut"));
    hardware_hear(h, M_PSI_B, 50);
    assert_false(hardware_passed(h, "spout-nut"));
    assert_job(h->world, "j-1", WORKING, CONFIRMED);
    world_sign_clear(h->world, "t-1", "j-1");
    assert_refused(h->world, world_verb(h->world, GATE_VERB_FINISH_WORK, "t-1", "j-1"),
                   MODEL_CODE_CHECK_FAILED);
    world_free(h->world);
}

static void a_finish_check_is_answered_after_the_last_test(void **state) {
    (void)state;
    static struct hardware other;
    memset(&other, 0, sizeof other);
    struct hardware *h = &other;
    hardware_lay_out(h);
    struct model_check *finish = hardware_check(h, "barricade-removed");
    finish->unit = "psi";
    finish->limits = (struct model_limits){.has_min = true, .min = 20};
    finish->measure = "line-pressure";
    hardware_check(h, "drained")->measure = NULL;
    hardware_check(h, "drained")->unit = "L";
    hardware_check(h, "drained")->limits = (struct model_limits){.has_min = true};
    hardware_check(h, "no-voltage")->measure = NULL;
    hardware_check(h, "no-voltage")->unit = "V";
    hardware_come_up(h);
    world_to_testing(h->world, "j-1");
    hardware_hear(h, M_PSI, 30);
    assert_true(hardware_passed(h, "barricade-removed"));
    world_pass(h->world, 10);
    assert_true(world_test(h->world, "t-1", "j-1", "leak", true));
    assert_true(world_test(h->world, "t-1", "j-1", "continuity", true));
    assert_false(hardware_passed(h, "barricade-removed")); // read before the test
    world_pass(h->world, 10);
    hardware_hear(h, M_PSI, 30);
    assert_true(hardware_passed(h, "barricade-removed"));
    assert_accepted(h->world, world_verb(h->world, GATE_VERB_RETURN_POSITION, "t-1", "j-1"));
    world_free(h->world);
}

static void who_has_not_led_cannot_lead_by_a_measure(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    hardware_to_working(h);
    world_join_tagged(h->world, "t-2", "j-1");
    assert_true(world_ask(
        h->world, (struct gate_request){
                      .verb = GATE_VERB_HAND_OVER, .person = "t-1", .job = "j-1", .to = "t-2"}));
    assert_refused(h->world, world_verb(h->world, GATE_VERB_ACCEPT_LEAD, "t-2", "j-1"),
                   MODEL_CODE_CHECK_MISSING);
    world_free(h->world);
}

static void later_rules_without_the_measure_leave_it_to_people(void **state) {
    (void)state;
    struct hardware *h = hardware_new();
    static struct world_copy plain;
    world_copy(&plain);
    assert_true(world_open(h->world, "j-1", "3A", "t-1"));
    assert_string_equal(gate_check_of(world_job(h->world, "j-1"), "no-voltage")->measure,
                        "voltage");
    world_restart_with(h->world, &plain.model, 1000);
    assert_null(gate_check_of(world_job(h->world, "j-1"), "no-voltage")->measure);
    world_free(h->world);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(in_its_window_a_measure_answers_its_check),
        cmocka_unit_test(out_of_its_window_nothing_is_signed),
        cmocka_unit_test(what_was_read_before_the_hold_proves_nothing),
        cmocka_unit_test(what_was_read_before_the_relief_verifies_nothing),
        cmocka_unit_test(what_was_read_before_a_stop_proves_nothing_after_it),
        cmocka_unit_test(a_steady_measure_signs_once),
        cmocka_unit_test(stale_or_bad_says_nothing_and_voids_nothing),
        cmocka_unit_test(a_stale_measure_answers_nothing),
        cmocka_unit_test(after_a_bad_word_the_value_before_it_is_not_used),
        cmocka_unit_test(retained_without_a_time_is_not_heard),
        cmocka_unit_test(every_measure_of_the_kind_must_agree),
        cmocka_unit_test(a_measure_of_another_position_says_nothing),
        cmocka_unit_test(a_measure_in_another_unit_proves_nothing),
        cmocka_unit_test(without_limits_nothing_is_answered),
        cmocka_unit_test(a_check_in_words_is_not_answered),
        cmocka_unit_test(unprepared_or_beside_a_test_nothing_is_proved),
        cmocka_unit_test(after_a_restart_measures_are_heard_anew),
        cmocka_unit_test(a_work_check_is_answered_while_working),
        cmocka_unit_test(a_finish_check_is_answered_after_the_last_test),
        cmocka_unit_test(who_has_not_led_cannot_lead_by_a_measure),
        cmocka_unit_test(later_rules_without_the_measure_leave_it_to_people),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
