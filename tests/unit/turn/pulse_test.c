// What proves a connection, and what is done when nothing does.
#include "rig.h"

#include <stdio.h>
#include <string.h>

#define DURABLE "say-kept forelock/daemon/edge-1/pulse/durable"
#define LIVE "say forelock/daemon/edge-1/pulse/live"

static const struct gate_alarm *alarm_of(const struct rig *rig, const char *subject) {
    const struct gate_site *site = &turn_gate(rig->turn)->sites[0];
    for (size_t i = 0; i < site->alarm_count; i++) {
        if (site->alarms[i].kind == MODEL_ALARM_LINK_DOWN &&
            strcmp(site->alarms[i].subject, subject) == 0 &&
            site->alarms[i].state != MODEL_ALARM_RETURNED_UNACKNOWLEDGED) {
            return &site->alarms[i];
        }
    }
    return NULL;
}

static bool is_up(const struct rig *rig) {
    return turn_view(rig->turn).link_up;
}

// Seconds go by, with everything that they bring.
static void seconds(struct rig *rig, int count) {
    for (int i = 0; i < count; i++) {
        rig_pass(rig, 1000);
        turn_tick(rig->turn);
        turn_second(rig->turn);
        rig_settle(rig);
    }
}

static void a_connection_is_up_once_its_pulse_came_back(void **state) {
    (void)state;
    struct rig *rig = rig_new_down();
    turn_connection(rig->turn, GATE_DURABLE, true, true);
    turn_connection(rig->turn, GATE_LIVE, true, false);
    assert_false(is_up(rig));
    assert_int_equal(rig_count(rig, DURABLE), 1);
    assert_int_equal(rig_count(rig, LIVE), 1);
    rig->mute[GATE_LIVE] = true;
    rig_echo(rig);
    assert_false(is_up(rig));
    rig->mute[GATE_LIVE] = false;
    turn_second(rig->turn);
    rig_echo(rig);
    assert_true(is_up(rig));
    rig_free(rig);
}

RIG_TEST(the_pulse_is_said_each_second_and_not_while_down) {
    seconds(rig, 3);
    assert_int_equal(rig_count(rig, DURABLE), 3);
    assert_int_equal(rig_count(rig, LIVE), 3);
    const char *payload = rig_payload(rig, DURABLE);
    assert_non_null(strstr(payload, "{\"boot\":\"boot-1\",\"n\":"));
    rig_disconnect(rig, GATE_DURABLE);
    rig_forget(rig);
    seconds(rig, 2);
    assert_int_equal(rig_count(rig, DURABLE), 0);
    assert_int_equal(rig_count(rig, LIVE), 2);
}

RIG_TEST(a_pulse_out_for_over_five_seconds_is_a_link_down) {
    rig->mute[GATE_LIVE] = true;
    seconds(rig, 6);
    assert_true(is_up(rig)); // the first of them is 5 s old
    assert_null(alarm_of(rig, "live"));
    seconds(rig, 1);
    assert_false(is_up(rig));
    assert_non_null(alarm_of(rig, "live"));
    assert_null(alarm_of(rig, "durable"));
    rig->mute[GATE_LIVE] = false;
    seconds(rig, 1);
    assert_true(is_up(rig));
    assert_null(alarm_of(rig, "live"));
}

// It stands behind much else.
RIG_TEST(while_something_is_read_no_connection_is_down) {
    rig->mute[GATE_DURABLE] = true;
    for (int i = 0; i < 20; i++) {
        seconds(rig, 1);
        turn_read(rig->turn, GATE_DURABLE);
        assert_true(is_up(rig));
    }
    seconds(rig, 6);
    assert_false(is_up(rig));
}

RIG_TEST(what_another_says_proves_nothing) {
    static const char topic[] = "forelock/daemon/edge-1/pulse/durable";
    turn_connection(rig->turn, GATE_DURABLE, true, true);
    const char *const words[] = {"{\"boot\":\"boot-2\",\"n\":3}",
                                 "{\"boot\":\"boot-1\",\"n\":99}",
                                 "{\"boot\":\"boot-1\"}",
                                 "{\"boot\":\"boot-1\",\"n\":\"3\"}",
                                 "[]",
                                 "nonsense",
                                 "{\"boot\":\"boot-1\",\"n\":1}"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        assert_true(turn_hear_own(rig->turn, GATE_DURABLE, topic, words[i], strlen(words[i])));
        assert_false(is_up(rig));
    }
    assert_false(turn_hear_own(rig->turn, GATE_LIVE, topic, words[0], strlen(words[0])));
    rig_echo(rig);
    assert_true(is_up(rig));
}

// --- The outage ---

static void work(struct rig *rig) {
    rig_to_confirmed(rig);
    rig_ask(rig, "t-1", "start-work", "{\"job\":\"J-1\"}");
    rig_settle(rig);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_WORKING);
}

// The points are heard all the while.
static void seconds_heard(struct rig *rig, int count) {
    for (int i = 0; i < count; i++) {
        rig_hear_all(rig, MODEL_POINT_ISOLATED);
        seconds(rig, 1);
    }
}

RIG_TEST(a_network_that_dies_silently_stops_the_work) {
    work(rig);
    rig->mute[GATE_DURABLE] = true;
    seconds_heard(rig, 31); // the oldest pulse is 30 s old
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_WORKING);
    seconds_heard(rig, 1);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_STOPPED);
    assert_int_equal(rig_job(rig, "J-1")->lockout, MODEL_LOCKOUT_BROKEN);
    assert_int_equal(rig_rows(rig, GATE_FACT_LOCKOUT_BROKEN), 1);
    // The library notices it at last: it is the same outage.
    rig_disconnect(rig, GATE_DURABLE);
    seconds_heard(rig, 40);
    assert_int_equal(rig_rows(rig, GATE_FACT_LOCKOUT_BROKEN), 1);
}

RIG_TEST(a_connection_that_is_down_counts_from_its_oldest_pulse) {
    work(rig);
    rig->mute[GATE_DURABLE] = true;
    seconds_heard(rig, 10);
    rig_disconnect(rig, GATE_DURABLE);
    seconds_heard(rig, 21);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_WORKING);
    seconds_heard(rig, 1);
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_STOPPED);
}

RIG_TEST(a_short_outage_stops_nothing) {
    work(rig);
    for (int i = 0; i < 3; i++) {
        rig_disconnect(rig, GATE_DURABLE);
        seconds_heard(rig, 25);
        rig_connect(rig, GATE_DURABLE);
        seconds_heard(rig, 1);
    }
    assert_int_equal(rig_job(rig, "J-1")->phase, MODEL_PHASE_WORKING);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(a_connection_is_up_once_its_pulse_came_back),
        cmocka_unit_test(the_pulse_is_said_each_second_and_not_while_down),
        cmocka_unit_test(a_pulse_out_for_over_five_seconds_is_a_link_down),
        cmocka_unit_test(while_something_is_read_no_connection_is_down),
        cmocka_unit_test(what_another_says_proves_nothing),
        cmocka_unit_test(a_network_that_dies_silently_stops_the_work),
        cmocka_unit_test(a_connection_that_is_down_counts_from_its_oldest_pulse),
        cmocka_unit_test(a_short_outage_stops_nothing),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
