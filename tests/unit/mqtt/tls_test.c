// TLS towards the broker, with certificates made for the test by the openssl command.
#include <arpa/inet.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>

#include <cmocka.h>

#include "rig.h"

static struct broker broker;
static struct rig rig;

// One CA that signs the broker's certificate (for localhost and 127.0.0.1) and a client's, a
// second CA that signs nothing, and a certificate for another host.
static const char MAKE_CERTIFICATES[] =
    "cd %s && exec >openssl.log 2>&1\n"
    "ca() { openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 2"
    " -subj \"/CN=$1\" -keyout $1.key -out $1.pem; }\n"
    "leaf() { openssl req -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -subj \"/CN=$1\""
    " -keyout $1.key -out $1.csr &&"
    " { echo \"subjectAltName=$2\" >$1.ext; } &&"
    " openssl x509 -req -in $1.csr -CA ca.pem -CAkey ca.key -CAcreateserial -days 2"
    " -extfile $1.ext -out $1.pem; }\n"
    "ca ca && ca stranger && leaf broker DNS:localhost,IP:127.0.0.1 &&"
    " leaf elsewhere DNS:elsewhere.invalid && leaf client DNS:client && chmod 644 *.key";

static void start_broker(const char *certificate, bool clients_too) {
    char listener[1024];
    snprintf(listener, sizeof(listener), "cafile %s\ncertfile %s/%s.pem\nkeyfile %s/%s.key\n%s",
             broker_path(&broker, "ca.pem"), broker.directory, certificate, broker.directory,
             certificate, clients_too ? "require_certificate true" : "");
    broker_start(&broker, listener);
}

static int set_up(void **state) {
    (void)state;
    rig_open(&rig, &broker);
    return 0;
}

static int tear_down(void **state) {
    (void)state;
    rig_close(&rig);
    broker_kill(&broker);
    return 0;
}

static char *own_path(const char *name) {
    static char paths[3][128];
    static unsigned next;
    char *path = paths[next++ % 3];
    snprintf(path, sizeof(paths[0]), "%s", broker_path(&broker, name));
    return path;
}

static struct mqtt_options with_ca(const char *ca) {
    struct mqtt_options options = rig_options(&broker);
    options.ca_file = own_path(ca);
    return options;
}

static double cpu_seconds(void) {
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    return (double)(usage.ru_utime.tv_sec + usage.ru_stime.tv_sec) +
           (double)(usage.ru_utime.tv_usec + usage.ru_stime.tv_usec) / 1e6;
}

static void by_address_and_by_name(void **state) {
    (void)state;
    start_broker("broker", false);
    struct mqtt_options options = with_ca("ca.pem");
    rig_link(&rig, &options, true);
    rig_cut(&rig);
    options.host = "localhost";
    rig_link(&rig, &options, true);
    assert_int_equal(rig.troubles_of[MQTT_TROUBLE_LOST], 0);
}

#define FLOOD 10000

// Both ways at once, so that decrypted bytes wait inside the library while the socket is empty and
// its wake-up pair is full: each document that we publish is heard again by ourselves.
static void a_flood_loses_nothing(void **state) {
    (void)state;
    start_broker("broker", false);
    struct mqtt_options options = with_ca("ca.pem");
    options.batch = 50;
    rig_link(&rig, &options, true);
    for (size_t i = 0; i < FLOOD; i++) {
        char topic[64];
        snprintf(topic, sizeof(topic), "lock/a/%s/p", i % 2 == 0 ? "signal" : "request/t-104");
        assert_true(rig_send(&rig, topic, "{\"state\":\"isolated\"}", false, false));
        if (i % 100 == 0) {
            rig_pass(&rig, 1);
        }
    }
    rig_wait(&rig, &rig.seen_count, FLOOD, 60000);
    rig_pass(&rig, 50);
    assert_int_equal(rig.seen_count, FLOOD);
    assert_int_equal(mqtt_counters(rig.mqtt)->acknowledged, FLOOD / 2);
    assert_int_equal(mqtt_counters(rig.mqtt)->confirmed, FLOOD);
}

static void stopping_is_clean(void **state) {
    (void)state;
    static const char OFFLINE[] = "{\"state\":\"offline\"}";
    start_broker("broker", false);
    struct mqtt_options options = with_ca("ca.pem");
    options.will = "will";
    options.will_length = 4;
    rig_link(&rig, &options, true);
    assert_true(mqtt_stop(rig.mqtt, OFFLINE, sizeof(OFFLINE) - 1, 3000));
    rig_cut(&rig);
    rig_link(&rig, &options, true);
    rig_pass(&rig, 200);
    assert_string_equal(rig_find(&rig, "lock/daemon/edge")->payload, OFFLINE);
}

static void expect_refusal(const struct mqtt_options *options, const char *part) {
    double before = cpu_seconds();
    rig_link(&rig, options, false);
    rig_wait(&rig, &rig.troubles, 2, 5000); // at once, not by the deadline
    rig_pass(&rig, 1000);
    if (strstr(rig.text, part) == NULL) {
        print_error("%s does not tell of %s\n", rig.text, part);
    }
    assert_non_null(strstr(rig.text, part));
    assert_int_equal(rig.ups[MQTT_LIVE] + rig.ups[MQTT_DURABLE], 0);
    assert_true(cpu_seconds() - before < 1);
}

static void a_stranger_is_refused(void **state) {
    (void)state;
    start_broker("broker", false);
    struct mqtt_options options = with_ca("stranger.pem");
    expect_refusal(&options, "certificate");
}

static void another_host_is_refused(void **state) {
    (void)state;
    start_broker("elsewhere", false);
    struct mqtt_options options = with_ca("ca.pem");
    options.host = "localhost";
    expect_refusal(&options, "mismatch");
}

static void a_client_certificate_is_shown(void **state) {
    (void)state;
    start_broker("broker", true);
    struct mqtt_options options = with_ca("ca.pem");
    options.cert_file = own_path("client.pem");
    options.key_file = own_path("client.key");
    rig_link(&rig, &options, true);
}

static void a_missing_client_certificate_does_not_spin(void **state) {
    (void)state;
    start_broker("broker", true);
    struct mqtt_options options = with_ca("ca.pem");
    expect_refusal(&options, "");
}

static void a_plain_broker_is_no_tls_broker(void **state) {
    (void)state;
    broker_start(&broker, "");
    struct mqtt_options options = with_ca("ca.pem");
    expect_refusal(&options, "");
}

static void unusable_files_are_named(void **state) {
    (void)state;
    const struct mqtt_callbacks callbacks = {0};
    char error[300] = "";
    struct mqtt_options options = with_ca("nothing.pem");
    assert_null(mqtt_new(rig.loop, &options, &callbacks, NULL, error, sizeof(error)));
    assert_non_null(strstr(error, "nothing.pem"));
    options = with_ca("ca.pem");
    options.cert_file = own_path("client.pem");
    options.key_file = own_path("broker.key");
    assert_null(mqtt_new(rig.loop, &options, &callbacks, NULL, error, sizeof(error)));
    assert_non_null(strstr(error, "broker.key"));
}

static int make_certificates(void) {
    char command[2048];
    snprintf(command, sizeof(command), MAKE_CERTIFICATES, broker.directory);
    return system(command);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(by_address_and_by_name, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_flood_loses_nothing, set_up, tear_down),
        cmocka_unit_test_setup_teardown(stopping_is_clean, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_stranger_is_refused, set_up, tear_down),
        cmocka_unit_test_setup_teardown(another_host_is_refused, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_client_certificate_is_shown, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_missing_client_certificate_does_not_spin, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(a_plain_broker_is_no_tls_broker, set_up, tear_down),
        cmocka_unit_test_setup_teardown(unusable_files_are_named, set_up, tear_down),
    };
    signal(SIGPIPE, SIG_IGN);
    broker_prepare(&broker);
    if (make_certificates() != 0) {
        print_error("openssl could not make the certificates in %s\n", broker.directory);
        return 1;
    }
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    broker_remove(&broker);
    return failed;
}
