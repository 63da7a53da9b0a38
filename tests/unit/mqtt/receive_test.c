// Receiving: acknowledgement after the commit, redelivery, what a message carries, floods, and
// many sites.
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

static void start(const char *instance) {
    struct mqtt_options options = rig_options(&broker);
    options.instance = instance;
    rig_link(&rig, &options, true);
}

static void unacknowledged_comes_again_after_a_kill(void **state) {
    (void)state;
    rig.acknowledge = false;
    start("killed");
    rig_probe(&rig, "none/#");
    rig_publish(&rig, "lock/juniper/request/t-104/join-job", "{\"job\":\"1\"}", false);
    rig_wait(&rig, &rig.seen_count, 1, 5000);
    rig_pass(&rig, 100); // would be enough for an acknowledgement to leak
    assert_int_equal(mqtt_counters(rig.mqtt)->acknowledged, 0);
    rig_cut(&rig);

    rig.acknowledge = true;
    start("killed");
    assert_true(rig.resumed);
    rig_wait(&rig, &rig.seen_count, 2, 5000);
    assert_string_equal(rig.seen[1].topic, "lock/juniper/request/t-104/join-job");
    assert_string_equal(rig.seen[1].payload, "{\"job\":\"1\"}");
    assert_int_equal(rig.seen[1].connection, MQTT_DURABLE);
    assert_int_equal(mqtt_counters(rig.mqtt)->acknowledged, 1);
    rig_pass(&rig, 50);
    rig_cut(&rig);

    start("killed");
    rig_pass(&rig, 200);
    assert_int_equal(rig.seen_count, 2); // acknowledged: not again
}

// The window of unacknowledged messages is the broker's bound; more come when it is opened.
static void holding_back_bounds_what_is_sent(void **state) {
    (void)state;
    struct mqtt_options options = rig_options(&broker);
    options.instance = "bounded";
    options.receive_maximum = 5;
    rig.acknowledge = false;
    rig_link(&rig, &options, true);
    rig_probe(&rig, "none/#");
    for (int i = 0; i < 12; i++) {
        rig_publish(&rig, "lock/juniper/request/t-104/lift-tag", "{}", false);
    }
    rig_wait(&rig, &rig.seen_count, 5, 5000);
    rig_pass(&rig, 100);
    assert_int_equal(rig.seen_count, 5);
    rig.acknowledge = true;
    mqtt_acknowledge(rig.mqtt);
    rig_wait(&rig, &rig.seen_count, 12, 5000);
}

static void what_is_kept_is_told_from_what_is_published(void **state) {
    (void)state;
    rig_probe(&rig, "none/#");
    rig_publish(&rig, "lock/juniper/signal/before", "{\"state\":\"live\"}", true);
    rig_publish(&rig, "lock/juniper/request/t-104/start-work", "{}", true);
    rig_pass(&rig, 50);
    start("retains");
    rig_wait(&rig, &rig.seen_count, 2, 5000);
    assert_int_equal(rig.subscribes[MQTT_LIVE], 1);
    assert_int_equal(rig.seen_before[MQTT_LIVE], 0); // said before what is kept comes
    assert_true(rig_find(&rig, "lock/juniper/signal/before")->retained);
    assert_true(rig_find(&rig, "lock/juniper/request/t-104/start-work")->retained);

    rig_publish(&rig, "lock/juniper/signal/kept", "{\"state\":\"live\"}", true);
    rig_publish(&rig, "lock/juniper/signal/passing", "{\"state\":\"live\"}", false);
    rig_publish(&rig, "lock/juniper/request/t-104/stop-work", "{}", true);
    rig_publish(&rig, "lock/juniper/request/t-104/lift-tag", "{}", false);
    rig_wait(&rig, &rig.seen_count, 6, 5000);
    assert_false(rig_find(&rig, "lock/juniper/signal/kept")->retained);
    assert_false(rig_find(&rig, "lock/juniper/signal/passing")->retained);
    assert_int_equal(rig_find(&rig, "lock/juniper/signal/kept")->connection, MQTT_LIVE);
    assert_true(rig_find(&rig, "lock/juniper/request/t-104/stop-work")->retained);
    assert_false(rig_find(&rig, "lock/juniper/request/t-104/lift-tag")->retained);
    // A resumed session does not fetch what is retained again.
    rig_cut(&rig);
    start("retains");
    assert_int_equal(rig.subscribes[MQTT_LIVE], 2);
    rig_pass(&rig, 100);
    assert_int_equal(mqtt_counters(rig.mqtt)->received[MQTT_DURABLE], 0);
    assert_int_equal(mqtt_counters(rig.mqtt)->received[MQTT_LIVE], 2);
    rig_publish(&rig, "lock/juniper/signal/before", "", true);
    rig_publish(&rig, "lock/juniper/signal/kept", "", true);
    rig_publish(&rig, "lock/juniper/request/t-104/start-work", "", true);
    rig_publish(&rig, "lock/juniper/request/t-104/stop-work", "", true);
    rig_pass(&rig, 50);
}

static void response_topic_and_correlation_arrive(void **state) {
    (void)state;
    static const char CORRELATION[] = {0, 1, (char)0xff, 'x', 0};
    start("answers");
    rig_probe(&rig, "none/#");
    rig_ask(&rig, "lock/juniper/request/t-104/hang-tag", "{\"job\":\"7\"}",
            "lock/juniper/reply/t-104/phone", CORRELATION, sizeof(CORRELATION));
    rig_publish(&rig, "lock/juniper/request/t-104/hang-tag", "", false);
    rig_wait(&rig, &rig.seen_count, 2, 5000);
    assert_string_equal(rig.seen[0].response_topic, "lock/juniper/reply/t-104/phone");
    assert_int_equal(rig.seen[0].correlation_length, sizeof(CORRELATION));
    assert_memory_equal(rig.seen[0].correlation, CORRELATION, sizeof(CORRELATION));
    assert_string_equal(rig.seen[1].response_topic, "");
    assert_int_equal(rig.seen[1].correlation_length, 0);
    assert_string_equal(rig.seen[1].payload, "");
}

static void each_topic_comes_on_its_connection(void **state) {
    (void)state;
    static const char *const FURTHER_LIVE[] = {"plant/+/panel/+/status"};
    static const char *const FURTHER_DURABLE[] = {"plant/+/reader/+"};
    struct mqtt_options options = rig_options(&broker);
    options.instance = "places";
    options.live_filters = FURTHER_LIVE;
    options.live_filter_count = 1;
    options.durable_filters = FURTHER_DURABLE;
    options.durable_filter_count = 1;
    rig_link(&rig, &options, true);
    rig_probe(&rig, "none/#");
    static const char *const TOPICS[] = {"lock/a/controller/panel-1", "lock/daemon/other",
                                         "plant/a/panel/3/status", "plant/a/reader/3-power"};
    for (size_t i = 0; i < 4; i++) {
        rig_publish(&rig, TOPICS[i], "online", false);
    }
    rig_publish(&rig, "lock/a/position/3A", "not ours to hear", false);
    rig_wait(&rig, &rig.seen_count, 4, 5000);
    rig_pass(&rig, 50);
    assert_int_equal(rig.seen_count, 4);
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(rig_find(&rig, TOPICS[i])->connection, i < 3 ? MQTT_LIVE : MQTT_DURABLE);
    }
}

#define SITES 1000

static void a_thousand_sites_are_subscribed(void **state) {
    (void)state;
    static char names[SITES][24];
    static const char *sites[SITES];
    for (int i = 0; i < SITES; i++) {
        snprintf(names[i], sizeof(names[i]), "site-%d", i);
        sites[i] = names[i];
    }
    struct mqtt_options options = rig_options(&broker);
    options.instance = "many";
    options.sites = sites;
    options.site_count = SITES;
    rig_link(&rig, &options, true);
    rig_probe(&rig, "none/#");
    for (int i = 0; i < SITES; i++) {
        char topic[64];
        snprintf(topic, sizeof(topic), "lock/site-%d/signal/s", i);
        rig_publish(&rig, topic, "{}", false);
        snprintf(topic, sizeof(topic), "lock/site-%d/tagging/p", i);
        rig_publish(&rig, topic, "{}", false);
    }
    rig_publish(&rig, "lock/another/signal/s", "{}", false);
    rig_wait(&rig, &rig.seen_count, 2 * SITES, 20000);
    rig_pass(&rig, 50);
    assert_int_equal(rig.seen_count, 2 * SITES);
    assert_non_null(rig_find(&rig, "lock/site-999/signal/s"));
    assert_non_null(rig_find(&rig, "lock/site-0/tagging/p"));
}

#define FLOOD 20000

static void a_flood_loses_nothing_and_is_bounded(void **state) {
    (void)state;
    struct mqtt_options options = rig_options(&broker);
    options.instance = "flooded";
    options.batch = 100;
    rig_link(&rig, &options, true);
    rig_probe(&rig, "none/#");
    for (int i = 0; i < FLOOD; i++) {
        char payload[64];
        snprintf(payload, sizeof(payload), "{\"state\":\"isolated\",\"seq\":%d}", i);
        rig_publish(&rig, "lock/juniper/signal/3-power", payload, false);
    }
    rig_wait(&rig, &rig.seen_count, FLOOD, 60000);
    rig_pass(&rig, 50);
    assert_int_equal(rig.seen_count, FLOOD);
    for (int i = 0; i < RIG_SEEN; i++) {
        char payload[64];
        snprintf(payload, sizeof(payload), "{\"state\":\"isolated\",\"seq\":%d}", i);
        assert_string_equal(rig.seen[i].payload, payload);
    }
    assert_true(rig.largest_batch <= 120); // the library may read a few at once
    assert_true(rig.batches < FLOOD);
    assert_int_equal(mqtt_counters(rig.mqtt)->received[MQTT_LIVE], FLOOD);
}

static void a_flood_of_requests_is_acknowledged_whole(void **state) {
    (void)state;
    start("requests");
    rig_probe(&rig, "none/#");
    for (int i = 0; i < FLOOD; i++) {
        rig_publish(&rig, "lock/juniper/request/t-104/sign-check", "{}", false);
    }
    rig_wait(&rig, &rig.seen_count, FLOOD, 60000);
    rig_pass(&rig, 100);
    assert_int_equal(rig.seen_count, FLOOD);
    assert_int_equal(mqtt_counters(rig.mqtt)->acknowledged, FLOOD);
    rig_cut(&rig);
    start("requests");
    rig_pass(&rig, 200);
    assert_int_equal(rig.seen_count, FLOOD);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(unacknowledged_comes_again_after_a_kill, set_up, tear_down),
        cmocka_unit_test_setup_teardown(holding_back_bounds_what_is_sent, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_is_kept_is_told_from_what_is_published, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(response_topic_and_correlation_arrive, set_up, tear_down),
        cmocka_unit_test_setup_teardown(each_topic_comes_on_its_connection, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_thousand_sites_are_subscribed, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_flood_loses_nothing_and_is_bounded, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_flood_of_requests_is_acknowledged_whole, set_up,
                                        tear_down),
    };
    broker_prepare(&broker);
    broker_start(&broker, "");
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    broker_remove(&broker);
    return failed;
}
