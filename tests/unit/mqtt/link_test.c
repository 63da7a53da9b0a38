// The life of the link: last will, good-bye, restarts, deadlines, silence and names.
#include <arpa/inet.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#include "rig.h"

static const char WILL[] = "{\"state\":\"offline\",\"will\":true}";
static const char GOODBYE[] = "{\"state\":\"offline\"}";

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

static struct mqtt_options with_will(void) {
    struct mqtt_options options = rig_options(&broker);
    options.will = WILL;
    options.will_length = sizeof(WILL) - 1;
    return options;
}

static double cpu_seconds(void) {
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    return (double)(usage.ru_utime.tv_sec + usage.ru_stime.tv_sec) +
           (double)(usage.ru_utime.tv_usec + usage.ru_stime.tv_usec) / 1e6;
}

static void a_kill_publishes_the_will(void **state) {
    (void)state;
    struct mqtt_options options = with_will();
    rig_link(&rig, &options, true);
    rig_probe(&rig, "lock/daemon/+");
    assert_true(rig_send(&rig, "lock/daemon/edge", "online", true, false));
    rig_wait(&rig, &rig.probed_count, 1, 5000);
    rig_cut(&rig);
    rig_wait(&rig, &rig.probed_count, 2, 5000);
    assert_string_equal(rig.probed[1].topic, "lock/daemon/edge");
    assert_string_equal(rig.probed[1].payload, WILL);
}

static void our_own_documents_are_heard(void **state) {
    (void)state;
    struct mqtt_options options = with_will();
    rig_link(&rig, &options, true);
    rig_pass(&rig, 50);
    size_t before = rig.seen_count;
    assert_true(rig_send(&rig, "lock/daemon/edge", "online", true, false));
    rig_wait(&rig, &rig.seen_count, before + 1, 5000);
    assert_string_equal(rig_find(&rig, "lock/daemon/edge")->payload, "online");
}

static void stopping_says_offline_and_sends_no_will(void **state) {
    (void)state;
    struct mqtt_options options = with_will();
    rig_link(&rig, &options, true);
    rig_probe(&rig, "lock/#");
    rig_pass(&rig, 50);
    size_t before = rig.probed_count;
    for (int i = 0; i < 500; i++) { // more than a window: the last words do not overtake them
        assert_true(rig_send(&rig, "lock/a/event", "event", false, false));
    }
    size_t downs = rig.downs[MQTT_LIVE];
    assert_true(mqtt_stop(rig.mqtt, GOODBYE, sizeof(GOODBYE) - 1, 5000));
    assert_false(mqtt_up(rig.mqtt, MQTT_LIVE));
    assert_false(mqtt_up(rig.mqtt, MQTT_DURABLE));
    assert_int_equal(rig.downs[MQTT_LIVE], downs); // no callbacks any more
    rig_cut(&rig);
    rig_wait(&rig, &rig.probed_count, before + 501, 5000);
    rig_pass(&rig, 200);
    assert_int_equal(rig.probed_count, before + 501);
    assert_string_equal(rig.probed[before + 500].topic, "lock/daemon/edge");
    assert_string_equal(rig.probed[before + 500].payload, GOODBYE);
}

static void stopping_leaves_the_unacknowledged_with_the_broker(void **state) {
    (void)state;
    struct mqtt_options options = rig_options(&broker);
    options.instance = "leaves";
    rig.acknowledge = false;
    rig_link(&rig, &options, true);
    rig_probe(&rig, "none/#");
    rig_publish(&rig, "lock/a/request/t-104/lift-tag", "{}", false);
    rig_wait(&rig, &rig.seen_count, 1, 5000);
    assert_true(mqtt_stop(rig.mqtt, GOODBYE, sizeof(GOODBYE) - 1, 2000));
    rig_cut(&rig);
    rig.acknowledge = true;
    rig_link(&rig, &options, true);
    rig_wait(&rig, &rig.ups[MQTT_DURABLE], 2, 5000);
    rig_pass(&rig, 100);
    assert_non_null(rig_find(&rig, "lock/a/request/t-104/lift-tag"));
    assert_int_equal(mqtt_counters(rig.mqtt)->acknowledged, 1);
}

static void stopping_without_words_leaves_the_will_to_speak(void **state) {
    (void)state;
    struct mqtt_options options = with_will();
    rig_link(&rig, &options, true);
    rig_probe(&rig, "lock/daemon/+");
    assert_true(rig_send(&rig, "lock/daemon/edge", "online", true, false));
    rig_wait(&rig, &rig.probed_count, 1, 5000);
    size_t before = rig.probed_count;
    assert_false(mqtt_stop(rig.mqtt, NULL, 0, 2000));
    rig_wait(&rig, &rig.probed_count, before + 1, 5000);
    assert_string_equal(rig.probed[rig.probed_count - 1].payload, WILL);
}

static void stopping_a_dead_link_does_not_hang(void **state) {
    (void)state;
    struct mqtt_options options = rig_options(&broker);
    rig_link(&rig, &options, true);
    broker_freeze(&broker, true);
    time_t begin = time(NULL);
    assert_false(mqtt_stop(rig.mqtt, GOODBYE, sizeof(GOODBYE) - 1, 500));
    assert_true(time(NULL) - begin <= 2);
    broker_freeze(&broker, false);
}

static void a_restarted_broker_is_found_again(void **state) {
    (void)state;
    struct mqtt_options options = with_will();
    rig_link(&rig, &options, true);
    broker_kill(&broker);
    rig_wait(&rig, &rig.downs[MQTT_DURABLE], 1, 5000);
    rig_wait(&rig, &rig.downs[MQTT_LIVE], 1, 5000);
    assert_false(mqtt_up(rig.mqtt, MQTT_LIVE));
    broker_start(&broker, "");
    rig_wait(&rig, &rig.ups[MQTT_DURABLE], 2, 5000);
    rig_wait(&rig, &rig.ups[MQTT_LIVE], 2, 5000);
    assert_false(rig.resumed); // this broker forgot the session
    rig_probe(&rig, "lock/a/event");
    rig_publish(&rig, "lock/a/signal/1", "{}", false);
    rig_publish(&rig, "lock/a/tagging/1", "{}", false);
    assert_true(rig_send(&rig, "lock/a/event", "{}", false, false));
    rig_wait(&rig, &rig.probed_count, 1, 5000);
    rig_wait(&rig, &rig.seen_count, 2, 5000);
    const struct mqtt_counters *counters = mqtt_counters(rig.mqtt);
    for (int i = 0; i < MQTT_CONNECTION_COUNT; i++) {
        assert_int_equal(rig.ups[i], 2);
        assert_int_equal(rig.downs[i], 1);
        assert_int_equal(counters->connected[i], 2);
        assert_int_equal(counters->lost[i], 1);
    }
}

// A broker that was never there is tried again, and not in a rush.
static void the_back_off_grows(void **state) {
    (void)state;
    struct mqtt_options options = rig_options(&broker);
    options.port = broker_free_port();
    double before = cpu_seconds();
    rig_link(&rig, &options, false);
    rig_pass(&rig, 3000);
    // Each connection tries after at most 0, 0.25, 0.75, 1.75 and 3.75 s, at least after half that.
    assert_in_range(rig.troubles, 2 * 3, 2 * 6);
    assert_true(cpu_seconds() - before < 1);
    assert_int_equal(rig.ups[MQTT_LIVE] + rig.downs[MQTT_LIVE], 0);
}

static void a_silent_broker_is_noticed_by_its_pings(void **state) {
    (void)state;
    struct mqtt_options options = rig_options(&broker);
    options.keepalive_s = 5;
    rig_link(&rig, &options, true);
    broker_freeze(&broker, true);
    rig_wait(&rig, &rig.downs[MQTT_LIVE], 1, 14000);
    rig_wait(&rig, &rig.downs[MQTT_DURABLE], 1, 5000);
    broker_freeze(&broker, false);
    rig_wait(&rig, &rig.ups[MQTT_LIVE], 2, 10000);
    rig_wait(&rig, &rig.ups[MQTT_DURABLE], 2, 10000);
}

static void an_idle_link_stays_up_and_costs_nothing(void **state) {
    (void)state;
    struct mqtt_options options = rig_options(&broker);
    options.keepalive_s = 5;
    rig_link(&rig, &options, true);
    double before = cpu_seconds();
    rig_pass(&rig, 12000);
    assert_true(cpu_seconds() - before < 2.5); // mostly the test's own 5 ms turns
    assert_int_equal(rig.downs[MQTT_LIVE] + rig.downs[MQTT_DURABLE], 0);
}

static int listen_on(int *port) {
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    socklen_t size = sizeof(address);
    int fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    assert_int_equal(bind(fd, (struct sockaddr *)&address, size), 0);
    assert_int_equal(listen(fd, 16), 0);
    assert_int_equal(getsockname(fd, (struct sockaddr *)&address, &size), 0);
    *port = ntohs(address.sin_port);
    return fd;
}

static void a_mute_peer_meets_the_deadline(void **state) {
    (void)state;
    struct mqtt_options options = rig_options(&broker);
    int fd = listen_on(&options.port); // connects, and never answers
    rig_link(&rig, &options, false);
    rig_pass(&rig, 4500);
    assert_int_equal(rig.troubles, 0);
    rig_wait(&rig, &rig.troubles, 2, 1500);
    assert_int_equal(rig.trouble, MQTT_TROUBLE_CONNECT);
    assert_string_equal(rig.text, "no CONNACK in time");
    close(fd);
}

static void a_wrong_password_is_told(void **state) {
    (void)state;
    broker_kill(&broker);
    broker_write(&broker, "passwords", "");
    char listener[200];
    snprintf(listener, sizeof(listener), "password_file %s\nallow_anonymous false",
             broker_path(&broker, "passwords"));
    // The later line on anonymous clients counts, so a name that is given is checked.
    broker_start(&broker, listener);
    struct mqtt_options options = rig_options(&broker);
    options.username = "forelock";
    options.password = "wrong";
    rig_link(&rig, &options, false);
    rig_wait(&rig, &rig.troubles_of[MQTT_TROUBLE_REFUSED], 2, 5000);
    assert_non_null(strstr(rig.text, "Not authorized"));
    broker_kill(&broker);
    broker_start(&broker, "");
}

static void a_name_is_resolved(void **state) {
    (void)state;
    struct mqtt_options options = rig_options(&broker);
    options.host = "localhost";
    rig_link(&rig, &options, false);
    // It may have an IPv6 address too, at which this broker does not listen: the next one is tried.
    rig_wait(&rig, &rig.ups[MQTT_LIVE], 1, 5000);
    rig_wait(&rig, &rig.ups[MQTT_DURABLE], 1, 5000);
}

static void an_unknown_name_is_told(void **state) {
    (void)state;
    struct mqtt_options options = rig_options(&broker);
    options.host = "no-such-host.invalid";
    rig_link(&rig, &options, false);
    rig_pass(&rig, 1);
    assert_int_equal(rig.ups[MQTT_LIVE], 0);
    rig_wait(&rig, &rig.troubles_of[MQTT_TROUBLE_RESOLVE], 1, 30000);
    assert_non_null(strstr(rig.about[MQTT_TROUBLE_RESOLVE], "no-such-host.invalid:"));
}

static void freeing_while_resolving_is_safe(void **state) {
    (void)state;
    struct mqtt_options options = rig_options(&broker);
    options.host = "no-such-host.invalid";
    for (int i = 0; i < 5; i++) {
        rig_link(&rig, &options, false);
        rig_cut(&rig);
    }
    rig_pass(&rig, 100);
    assert_int_equal(rig.ups[MQTT_LIVE], 0);
}

static void expect_error(const struct mqtt_options *options, const char *part) {
    const struct mqtt_callbacks callbacks = {0};
    char error[200] = "";
    assert_null(mqtt_new(rig.loop, options, &callbacks, NULL, error, sizeof(error)));
    if (strstr(error, part) == NULL) {
        print_error("%s does not tell of %s\n", error, part);
    }
    assert_non_null(strstr(error, part));
}

static void options_are_checked(void **state) {
    (void)state;
    static const char *const BAD[] = {"plant/#/status"};
    struct mqtt_options options = rig_options(&broker);
    options.port = 0;
    expect_error(&options, "port");
    options = rig_options(&broker);
    options.instance = NULL;
    expect_error(&options, "instance");
    options = rig_options(&broker);
    options.keepalive_s = 4;
    expect_error(&options, "out of range");
    options = rig_options(&broker);
    options.cert_file = "cert.pem";
    expect_error(&options, "key_file");
    options = rig_options(&broker);
    options.cert_file = options.key_file = "cert.pem";
    expect_error(&options, "ca_file");
    options = rig_options(&broker);
    options.live_filters = BAD;
    options.live_filter_count = 1;
    expect_error(&options, "plant/#/status");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_kill_publishes_the_will, set_up, tear_down),
        cmocka_unit_test_setup_teardown(our_own_documents_are_heard, set_up, tear_down),
        cmocka_unit_test_setup_teardown(stopping_says_offline_and_sends_no_will, set_up, tear_down),
        cmocka_unit_test_setup_teardown(stopping_leaves_the_unacknowledged_with_the_broker, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(stopping_without_words_leaves_the_will_to_speak, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(stopping_a_dead_link_does_not_hang, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_restarted_broker_is_found_again, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_back_off_grows, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_silent_broker_is_noticed_by_its_pings, set_up, tear_down),
        cmocka_unit_test_setup_teardown(an_idle_link_stays_up_and_costs_nothing, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_mute_peer_meets_the_deadline, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_wrong_password_is_told, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_name_is_resolved, set_up, tear_down),
        cmocka_unit_test_setup_teardown(an_unknown_name_is_told, set_up, tear_down),
        cmocka_unit_test_setup_teardown(freeing_while_resolving_is_safe, set_up, tear_down),
        cmocka_unit_test_setup_teardown(options_are_checked, set_up, tear_down),
    };
    signal(SIGPIPE, SIG_IGN);
    broker_prepare(&broker);
    broker_start(&broker, "");
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    broker_remove(&broker);
    return failed;
}
