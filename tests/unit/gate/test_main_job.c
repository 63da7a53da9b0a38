// The whole repair through the gate, step by step.
#include "world.h"

static void whole_repair(void **state) {
    (void)state;
    struct world *world = world_new();
    world_hear_all(world, MODEL_POINT_LIVE);
    assert_true(world_witness(world, "m-1", NULL, MODEL_POINT_LIVE));
    assert_int_equal(world_site(world)->positions[P3A].service, MODEL_SERVICE_IN);
    world_forget(world);
    world_to_returned(world, "j-1");
    assert_true(world_told(world, GATE_FACT_POSITION_OUT_OF_SERVICE));
    assert_true(world_told(world, GATE_FACT_JOB_RETURNED));
    assert_true(world_told(world, GATE_FACT_POSITION_RETURNED));
    assert_int_equal(world_site(world)->positions[P3A].service, MODEL_SERVICE_IN);
    assert_int_equal(world_site(world)->positions[P3B].service, MODEL_SERVICE_IN);
    assert_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));
    world_free(world);
}

static void live_while_working_stops(void **state) {
    (void)state;
    struct world *world = world_new();
    world_to_working(world, "j-1");
    world_forget(world);
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    assert_int_equal(world_job(world, "j-1")->phase, MODEL_PHASE_STOPPED);
    assert_int_equal(world_job(world, "j-1")->lockout, MODEL_LOCKOUT_BROKEN);
    assert_int_equal(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN)->state,
                     MODEL_ALARM_UNACKNOWLEDGED);
    assert_int_equal(world_fact(world, GATE_FACT_LOCKOUT_BROKEN)->why, MODEL_CODE_POINT_LIVE);
    world_free(world);
}

static void restart_while_working_is_proved_again(void **state) {
    (void)state;
    struct world *world = world_new();
    world_to_working(world, "j-1");
    world_restart(world, 5000);
    assert_int_equal(world_job(world, "j-1")->phase, MODEL_PHASE_WORKING);
    assert_int_equal(world_job(world, "j-1")->lockout, MODEL_LOCKOUT_UNPROVEN);
    world_controller(world, true);
    world_isolate(world);
    assert_int_equal(world_job(world, "j-1")->phase, MODEL_PHASE_WORKING);
    assert_int_equal(world_job(world, "j-1")->lockout, MODEL_LOCKOUT_CONFIRMED);
    world_free(world);
}

static void restart_unheard_breaks(void **state) {
    (void)state;
    struct world *world = world_new();
    world_to_working(world, "j-1");
    world_restart(world, 5000);
    world_pass(world, WORLD_MAX_AGE_MS);
    assert_int_equal(world_job(world, "j-1")->phase, MODEL_PHASE_STOPPED);
    assert_int_equal(world_job(world, "j-1")->lockout, MODEL_LOCKOUT_BROKEN);
    world_free(world);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(whole_repair),
        cmocka_unit_test(live_while_working_stops),
        cmocka_unit_test(restart_while_working_is_proved_again),
        cmocka_unit_test(restart_unheard_breaks),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
