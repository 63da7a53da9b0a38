// Publishing: what arrives, what is refused, urgent messages, the bounded queue, and how a link
// that breaks treats what waits.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "rig.h"

static struct broker broker;
static struct rig rig;

static int set_up(void **state) {
    (void)state;
    rig_open(&rig, &broker);
    return 0;
}

static int tear_down(void **state) {
    (void)state;
    rig_close(&rig);
    return 0;
}

static void start(void) {
    struct mqtt_options options = rig_options(&broker);
    rig_link(&rig, &options, true);
}

static void arrives_with_its_properties(void **state) {
    (void)state;
    static const char CORRELATION[] = {0, 'a', (char)0xfe};
    start();
    rig_probe(&rig, "lock/+/reply/#");
    const struct mqtt_publication answer = {.topic = "lock/juniper/reply/t-104",
                                            .payload = "{\"accepted\":true}",
                                            .length = 17,
                                            .qos = 1,
                                            .content_type = "application/json",
                                            .correlation = CORRELATION,
                                            .correlation_length = sizeof(CORRELATION)};
    assert_true(mqtt_publish(rig.mqtt, &answer));
    rig_wait(&rig, &rig.probed_count, 1, 5000);
    assert_string_equal(rig.probed[0].payload, "{\"accepted\":true}");
    assert_int_equal(rig.probed[0].qos, 1);
    assert_false(rig.probed[0].retained);
    assert_int_equal(rig.probed[0].correlation_length, sizeof(CORRELATION));
    assert_memory_equal(rig.probed[0].correlation, CORRELATION, sizeof(CORRELATION));
    rig_pass(&rig, 50);
    assert_int_equal(mqtt_counters(rig.mqtt)->confirmed, 1);
    assert_int_equal(mqtt_counters(rig.mqtt)->queued_messages, 0);
    assert_int_equal(mqtt_counters(rig.mqtt)->queued_bytes, 0);
}

static void retained_is_kept_and_emptied(void **state) {
    (void)state;
    start();
    assert_true(rig_send(&rig, "lock/juniper/alarm/1", "{\"alarm\":\"1\"}", true, true));
    rig_pass(&rig, 50);
    rig_probe(&rig, "lock/juniper/alarm/+");
    rig_wait(&rig, &rig.probed_count, 1, 5000);
    assert_true(rig.probed[0].retained);
    assert_true(rig_send(&rig, "lock/juniper/alarm/1", "", true, false));
    rig_wait(&rig, &rig.probed_count, 2, 5000);
    assert_string_equal(rig.probed[1].payload, "");
}

static void unsound_is_refused(void **state) {
    (void)state;
    start();
    assert_false(rig_send(&rig, "lock/+/event", "{}", false, false));
    assert_false(rig_send(&rig, "", "{}", false, false));
    const struct mqtt_publication twice = {.topic = "lock/a/event", .qos = 2};
    assert_false(mqtt_publish(rig.mqtt, &twice));
    const struct mqtt_publication hollow = {.topic = "lock/a/event", .length = 1, .qos = 1};
    assert_false(mqtt_publish(rig.mqtt, &hollow));
    assert_true(mqtt_up(rig.mqtt, MQTT_LIVE));
}

static void qos_0_leaves_nothing_behind(void **state) {
    (void)state;
    start();
    rig_probe(&rig, "lock/a/event");
    const struct mqtt_publication event = {.topic = "lock/a/event", .payload = "{}", .length = 2};
    assert_true(mqtt_publish(rig.mqtt, &event));
    rig_wait(&rig, &rig.probed_count, 1, 5000);
    assert_int_equal(mqtt_counters(rig.mqtt)->queued_messages, 0);
}

#define MANY 5000

// More than the broker's window and than the library's 16-bit ids would bear at once are in order.
static void many_arrive_in_order(void **state) {
    (void)state;
    start();
    rig_probe(&rig, "lock/a/event");
    for (int i = 0; i < MANY; i++) {
        char payload[16];
        snprintf(payload, sizeof(payload), "%d", i);
        assert_true(rig_send(&rig, "lock/a/event", payload, false, false));
    }
    assert_true(mqtt_counters(rig.mqtt)->queued_messages > 0);
    rig_wait(&rig, &rig.probed_count, MANY, 20000);
    for (int i = 0; i < RIG_SEEN; i++) {
        assert_int_equal(strtol(rig.probed[i].payload, NULL, 10), i);
    }
    rig_pass(&rig, 50);
    assert_int_equal(mqtt_counters(rig.mqtt)->confirmed, MANY);
}

// Position of a payload in what the probe saw of a topic.
static size_t place_of(const char *topic, const char *payload) {
    for (size_t i = 0; i < rig.probed_count && i < RIG_SEEN; i++) {
        if (strcmp(rig.probed[i].topic, topic) == 0 &&
            strcmp(rig.probed[i].payload, payload) == 0) {
            return i;
        }
    }
    return SIZE_MAX;
}

static void urgent_overtakes_and_replaces(void **state) {
    (void)state;
    start();
    rig_probe(&rig, "lock/#");
    broker_freeze(&broker, true);
    for (int i = 0; i < 1000; i++) {
        assert_true(rig_send(&rig, "lock/a/event", "waits", false, false));
    }
    assert_true(rig_send(&rig, "lock/a/job/1", "older", true, false));
    assert_true(rig_send(&rig, "lock/a/job/2", "another", true, false));
    assert_true(rig_send(&rig, "lock/a/alarm/1", "alarm", true, true));
    assert_true(rig_send(&rig, "lock/a/job/1", "newer", true, true));
    broker_freeze(&broker, false);
    rig_wait(&rig, &rig.probed_count, 1003, 20000);
    rig_pass(&rig, 50);
    assert_int_equal(rig.probed_count, 1003);
    assert_int_equal(place_of("lock/a/job/1", "older"), SIZE_MAX);
    assert_true(place_of("lock/a/alarm/1", "alarm") < place_of("lock/a/job/1", "newer"));
    assert_true(place_of("lock/a/job/1", "newer") <= 201); // behind one window, not behind 1,000
    assert_int_equal(place_of("lock/a/job/2", "another"), 1002);
}

static void overflow_drops_the_link_and_says_so(void **state) {
    (void)state;
    struct mqtt_options options = rig_options(&broker);
    options.queue_bytes = 100000;
    rig_link(&rig, &options, true);
    assert_int_equal(mqtt_room(rig.mqtt), 50000);
    broker_freeze(&broker, true);
    size_t sent = 0;
    while (rig_send(&rig, "lock/a/point/1", "a document that waits", true, false)) {
        sent++;
        assert_true(sent < 5000);
    }
    broker_freeze(&broker, false);
    assert_true(sent > 100);
    assert_false(mqtt_up(rig.mqtt, MQTT_LIVE));
    assert_int_equal(rig.downs[MQTT_LIVE], 0); // told from the loop, not from within
    assert_int_equal(mqtt_counters(rig.mqtt)->dropped_full, 1);
    rig_wait(&rig, &rig.downs[MQTT_LIVE], 1, 5000);
    assert_int_equal(rig.trouble, MQTT_TROUBLE_OVERFLOW);
    rig_wait(&rig, &rig.ups[MQTT_LIVE], 2, 5000);
    assert_int_equal(mqtt_counters(rig.mqtt)->queued_messages, 0);
    assert_int_equal(mqtt_counters(rig.mqtt)->dropped_stale + mqtt_counters(rig.mqtt)->confirmed,
                     sent);
}

static void room_is_told_once(void **state) {
    (void)state;
    struct mqtt_options options = rig_options(&broker);
    options.queue_bytes = 100000;
    rig_link(&rig, &options, true);
    broker_freeze(&broker, true);
    while (mqtt_room(rig.mqtt) > 0) {
        assert_true(rig_send(&rig, "lock/a/point/1", "a document that waits", true, false));
    }
    assert_int_equal(rig.room, 0);
    broker_freeze(&broker, false);
    rig_wait(&rig, &rig.room, 1, 5000);
    for (int i = 0; i < 500 && mqtt_room(rig.mqtt) < 50000; i++) {
        rig_pass(&rig, 10); // the broker takes what waits in its own time
    }
    assert_int_equal(rig.room, 1);
    assert_int_equal(mqtt_room(rig.mqtt), 50000);
}

static void nothing_is_taken_while_down(void **state) {
    (void)state;
    struct mqtt_options options = rig_options(&broker);
    options.port = broker_free_port();
    rig_link(&rig, &options, false);
    assert_false(rig_send(&rig, "lock/a/event", "{}", false, false));
    assert_int_equal(mqtt_counters(rig.mqtt)->dropped_down, 1);
    rig_wait(&rig, &rig.troubles, 2, 5000);
    assert_int_equal(rig.trouble, MQTT_TROUBLE_CONNECT);
    assert_non_null(strstr(rig.text, "refused"));
    assert_non_null(strstr(rig.about[MQTT_TROUBLE_CONNECT], "127.0.0.1:"));
}

// Events wait for the next connection; a document would be stale then.
static void a_break_keeps_events_and_drops_documents(void **state) {
    (void)state;
    start();
    broker_freeze(&broker, true);
    assert_true(rig_send(&rig, "lock/a/event", "event", false, false));
    assert_true(rig_send(&rig, "lock/a/job/3", "document", true, false));
    broker_kill(&broker);
    rig_wait(&rig, &rig.downs[MQTT_LIVE], 1, 5000);
    assert_int_equal(mqtt_counters(rig.mqtt)->dropped_stale, 1);
    assert_int_equal(mqtt_counters(rig.mqtt)->queued_messages, 1);
    broker_start(&broker, "");
    rig_probe(&rig, "lock/a/#");
    // Sent as soon as something moves the queue: the caller's birth does.
    rig_wait(&rig, &rig.ups[MQTT_LIVE], 2, 5000);
    rig_wait(&rig, &rig.probed_count, 1, 5000);
    rig_pass(&rig, 50);
    assert_int_equal(rig.probed_count, 1);
    assert_string_equal(rig.probed[0].payload, "event");
}

static void a_denied_publication_is_told(void **state) {
    (void)state;
    broker_kill(&broker);
    broker_write(&broker, "acl",
                 "topic read #\ntopic write lock/daemon/+\nuser probe\ntopic readwrite #\n");
    char listener[200];
    snprintf(listener, sizeof(listener), "acl_file %s", broker_path(&broker, "acl"));
    broker_start(&broker, listener);
    start();
    rig_probe(&rig, "lock/#");
    assert_true(rig_send(&rig, "lock/a/event", "denied", false, false));
    rig_wait(&rig, &rig.troubles_of[MQTT_TROUBLE_PUBLISH], 1, 5000);
    assert_string_equal(rig.about[MQTT_TROUBLE_PUBLISH], "lock/a/event");
    assert_int_equal(rig.troubles_of[MQTT_TROUBLE_PUBLISH], 1);
    // Whether the broker also cuts the link is its own affair (this version does): what is allowed
    // goes through all the same, and what was denied is not tried again.
    rig_pass(&rig, 50);
    rig_wait(&rig, &rig.ups[MQTT_LIVE], 1 + rig.downs[MQTT_LIVE], 5000);
    assert_true(rig_send(&rig, "lock/daemon/edge", "allowed", false, false));
    rig_wait(&rig, &rig.probed_count, 1, 5000);
    assert_string_equal(rig.probed[0].payload, "allowed");
    assert_int_equal(rig.troubles_of[MQTT_TROUBLE_PUBLISH], 1);
    broker_kill(&broker);
    broker_start(&broker, "");
}

// A message that this broker will never take is told and forgotten; it must not break the link
// again and again.
static void a_message_too_large_for_the_broker_is_told(void **state) {
    (void)state;
    broker_kill(&broker);
    broker_start(&broker, "max_packet_size 2000");
    start();
    static char large[4000];
    memset(large, 'x', sizeof(large) - 1);
    assert_true(rig_send(&rig, "lock/a/event", large, false, false));
    assert_true(rig_send(&rig, "lock/a/event", "small", false, false));
    rig_wait(&rig, &rig.troubles, 1, 5000);
    rig_pass(&rig, 50);
    assert_int_equal(rig.trouble, MQTT_TROUBLE_PUBLISH);
    assert_true(mqtt_up(rig.mqtt, MQTT_LIVE));
    assert_int_equal(mqtt_counters(rig.mqtt)->confirmed, 1);
    assert_int_equal(mqtt_counters(rig.mqtt)->queued_messages, 0);
    broker_kill(&broker);
    broker_start(&broker, "");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(arrives_with_its_properties, set_up, tear_down),
        cmocka_unit_test_setup_teardown(retained_is_kept_and_emptied, set_up, tear_down),
        cmocka_unit_test_setup_teardown(unsound_is_refused, set_up, tear_down),
        cmocka_unit_test_setup_teardown(qos_0_leaves_nothing_behind, set_up, tear_down),
        cmocka_unit_test_setup_teardown(many_arrive_in_order, set_up, tear_down),
        cmocka_unit_test_setup_teardown(urgent_overtakes_and_replaces, set_up, tear_down),
        cmocka_unit_test_setup_teardown(overflow_drops_the_link_and_says_so, set_up, tear_down),
        cmocka_unit_test_setup_teardown(room_is_told_once, set_up, tear_down),
        cmocka_unit_test_setup_teardown(nothing_is_taken_while_down, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_break_keeps_events_and_drops_documents, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(a_denied_publication_is_told, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_message_too_large_for_the_broker_is_told, set_up,
                                        tear_down),
    };
    broker_prepare(&broker);
    broker_start(&broker, "");
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    broker_remove(&broker);
    return failed;
}
