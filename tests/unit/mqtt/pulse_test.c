// What a connection says to itself, what has arrived before it is asked for, and how long a message
// is good for.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>
#include <mosquitto.h>

#include "rig.h"

#define DURABLE_PULSE "lock/daemon/edge/pulse/durable"
#define LIVE_PULSE "lock/daemon/edge/pulse/live"
#define REQUEST "lock/juniper/request/t-104/join-job"
#define SIGNAL "lock/juniper/signal/3-power"

static struct broker broker;
static struct rig rig;

static int set_up(void **state) {
    (void)state;
    rig_open(&rig, &broker);
    return 0;
}

static int tear_down(void **state) {
    (void)state;
    rig_pass(&rig, 20); // what was acknowledged leaves before the cut
    rig_close(&rig);
    return 0;
}

static void start(void) {
    struct mqtt_options options = rig_options(&broker);
    rig_link(&rig, &options, true);
}

static void say(enum mqtt_connection connection, const char *topic) {
    assert_true(mqtt_say(rig.mqtt, connection, topic, "7", 1, connection == MQTT_DURABLE));
}

static void each_connection_hears_its_own_word(void **state) {
    (void)state;
    start();
    say(MQTT_LIVE, LIVE_PULSE);
    say(MQTT_DURABLE, DURABLE_PULSE);
    rig_wait(&rig, &rig.seen_count, 2, 5000);
    assert_int_equal(rig_find(&rig, LIVE_PULSE)->connection, MQTT_LIVE);
    assert_int_equal(rig_find(&rig, LIVE_PULSE)->qos, 0);
    assert_int_equal(rig_find(&rig, DURABLE_PULSE)->connection, MQTT_DURABLE);
    assert_int_equal(rig_find(&rig, DURABLE_PULSE)->qos, 1);
    assert_int_equal(mqtt_counters(rig.mqtt)->acknowledged, 1);
}

// So that whoever hears it knows that what was kept has come.
static void the_durable_word_stands_behind_what_the_session_kept(void **state) {
    (void)state;
    start();
    rig_probe(&rig, "none/#");
    rig_cut(&rig);
    for (int i = 0; i < 300; i++) { // more than the broker sends unacknowledged
        rig_publish(&rig, REQUEST, "{}", false);
    }
    rig_wait(&rig, &rig.confirmed, 300, 10000);
    start();
    say(MQTT_DURABLE, DURABLE_PULSE);
    rig_wait(&rig, &rig.seen_count, 301, 10000);
    assert_string_equal(rig.seen[300].topic, DURABLE_PULSE);
}

static void while_a_connection_is_down_nothing_is_said(void **state) {
    (void)state;
    struct mqtt_options options = rig_options(&broker);
    rig_link(&rig, &options, false);
    assert_false(mqtt_say(rig.mqtt, MQTT_DURABLE, DURABLE_PULSE, "7", 1, 1));
    rig_wait(&rig, &rig.ups[MQTT_DURABLE], 1, 5000);
    rig_pass(&rig, 100);
    assert_int_equal(rig.seen_count, 0);
}

// On both connections, without a turn of the loop.
static void what_has_arrived_is_read_when_it_is_asked_for(void **state) {
    (void)state;
    start();
    rig_probe(&rig, REQUEST); // sees each, so that the broker has sent each
    for (int i = 0; i < 10; i++) {
        rig_publish(&rig, SIGNAL, "{}", false);
        rig_publish(&rig, REQUEST, "{}", false);
    }
    while (rig.probed_count < 10) {
        assert_int_equal(mosquitto_loop(rig.probe, 100, 1), 0);
    }
    assert_int_equal(rig.seen_count, 0);
    mqtt_read(rig.mqtt);
    assert_int_equal(rig.seen_count, 20);
    mqtt_read(rig.mqtt);
    assert_int_equal(rig.seen_count, 20);
}

static void how_long_a_message_is_good_for_arrives(void **state) {
    (void)state;
    start();
    rig_probe(&rig, "none/#");
    rig_publish(&rig, REQUEST, "{}", false);
    rig_wait(&rig, &rig.seen_count, 1, 5000);
    assert_false(rig.seen[0].expires);
    rig_publish_for(&rig, REQUEST, "{}", 40);
    rig_wait(&rig, &rig.seen_count, 2, 5000);
    assert_true(rig.seen[1].expires);
    assert_in_range(rig.seen[1].expiry_s, 39, 40);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(each_connection_hears_its_own_word, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_durable_word_stands_behind_what_the_session_kept,
                                        set_up, tear_down),
        cmocka_unit_test_setup_teardown(while_a_connection_is_down_nothing_is_said, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(what_has_arrived_is_read_when_it_is_asked_for, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(how_long_a_message_is_good_for_arrives, set_up, tear_down),
    };
    broker_prepare(&broker);
    broker_start(&broker, "");
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    broker_remove(&broker);
    return failed;
}
