// The rig: see rig.h.
#include "rig.h"

#include "loop/loop.h"

#include <mosquitto.h>
#include <mqtt_protocol.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

static int64_t now_ms(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static void copy(char *to, size_t size, const char *from, size_t length) {
    snprintf(to, size, "%.*s", (int)length, from != NULL ? from : "");
}

static void on_message(void *user, const struct mqtt_message *message) {
    struct rig *rig = user;
    rig->batch++;
    if (rig->seen_count < RIG_SEEN) {
        struct seen *seen = &rig->seen[rig->seen_count];
        *seen = (struct seen){.connection = message->connection,
                              .qos = message->qos,
                              .retained = message->retained,
                              .expires = message->expires,
                              .expiry_s = message->expiry_s,
                              .correlation_length = message->correlation_length};
        copy(seen->topic, sizeof(seen->topic), message->topic, strlen(message->topic));
        copy(seen->payload, sizeof(seen->payload), message->payload, message->length);
        assert_int_equal(message->payload[message->length], '\0');
        if (message->response_topic != NULL) {
            copy(seen->response_topic, sizeof(seen->response_topic), message->response_topic,
                 strlen(message->response_topic));
        }
        if (message->correlation != NULL) {
            assert_true(message->correlation_length <= sizeof(seen->correlation));
            memcpy(seen->correlation, message->correlation, message->correlation_length);
        }
    }
    rig->seen_count++;
}

static void on_batch_end(void *user, enum mqtt_connection connection) {
    struct rig *rig = user;
    assert_true(rig->batch > 0);
    rig->batches++;
    rig->largest_batch = rig->batch > rig->largest_batch ? rig->batch : rig->largest_batch;
    rig->batch = 0;
    if (connection == MQTT_DURABLE && rig->acknowledge) {
        mqtt_acknowledge(rig->mqtt);
    }
}

static void on_link(void *user, enum mqtt_connection connection, bool up, bool resumed) {
    struct rig *rig = user;
    assert_int_equal(mqtt_up(rig->mqtt, connection), up);
    if (up) {
        rig->ups[connection]++;
    } else {
        rig->downs[connection]++;
    }
    if (up && connection == MQTT_DURABLE) {
        rig->resumed = resumed;
    }
}

static void on_trouble(void *user, enum mqtt_connection connection, enum mqtt_trouble trouble,
                       const char *about, const char *text) {
    struct rig *rig = user;
    (void)connection;
    rig->troubles++;
    rig->trouble = trouble;
    rig->troubles_of[trouble]++;
    copy(rig->about[trouble], sizeof(rig->about[trouble]), about, strlen(about));
    copy(rig->text, sizeof(rig->text), text, strlen(text));
}

static void on_subscribe(void *user, enum mqtt_connection connection) {
    struct rig *rig = user;
    rig->subscribes[connection]++;
    rig->seen_before[connection] = rig->seen_count;
}

static void on_room(void *user) {
    ((struct rig *)user)->room++;
}

struct mqtt_options rig_options(const struct broker *broker) {
    return (struct mqtt_options){
        .host = "127.0.0.1", .port = broker->port, .instance = "edge", .root = "lock"};
}

void rig_open(struct rig *rig, struct broker *broker) {
    *rig = (struct rig){.broker = broker, .acknowledge = true};
    rig->loop = loop_new();
    rig->seen = calloc(RIG_SEEN, sizeof(*rig->seen));
    rig->probed = calloc(RIG_SEEN, sizeof(*rig->probed));
    assert_non_null(rig->loop);
    assert_non_null(rig->seen);
    assert_non_null(rig->probed);
}

void rig_cut(struct rig *rig) {
    mqtt_free(rig->mqtt);
    rig->mqtt = NULL;
}

void rig_close(struct rig *rig) {
    rig_cut(rig);
    if (rig->probe != NULL) {
        mosquitto_destroy(rig->probe);
        mosquitto_lib_cleanup();
    }
    loop_free(rig->loop);
    free(rig->seen);
    free(rig->probed);
}

void rig_link(struct rig *rig, const struct mqtt_options *options, bool wait) {
    const struct mqtt_callbacks callbacks = {.on_message = on_message,
                                             .on_batch_end = on_batch_end,
                                             .on_subscribe = on_subscribe,
                                             .on_link = on_link,
                                             .on_trouble = on_trouble,
                                             .on_room = on_room};
    char error[200] = "";
    size_t ups[] = {rig->ups[0] + 1, rig->ups[1] + 1};
    rig->mqtt = mqtt_new(rig->loop, options, &callbacks, rig, error, sizeof(error));
    assert_string_equal(error, "");
    assert_non_null(rig->mqtt);
    mqtt_start(rig->mqtt);
    if (wait) {
        rig_wait(rig, &rig->ups[MQTT_DURABLE], ups[MQTT_DURABLE], 10000);
        rig_wait(rig, &rig->ups[MQTT_LIVE], ups[MQTT_LIVE], 10000);
    }
}

// One turn of both sides, of at most 5 ms.
static void turn(struct rig *rig) {
    assert_true(loop_turn(rig->loop, rig->probe != NULL ? 1 : 5));
    for (int i = 0; rig->probe != NULL && i < 64; i++) {
        mosquitto_loop(rig->probe, 0, 1);
    }
}

void rig_wait(struct rig *rig, const size_t *count, size_t target, int ms) {
    int64_t end = now_ms() + ms;
    while (*count < target && now_ms() < end) {
        turn(rig);
    }
    if (*count < target) {
        print_error("waited for %zu, have %zu; last trouble: %s: %s\n", target, *count,
                    rig->about[rig->trouble], rig->text);
    }
    assert_true(*count >= target);
}

void rig_pass(struct rig *rig, int ms) {
    int64_t end = now_ms() + ms;
    while (now_ms() < end) {
        turn(rig);
    }
}

static void on_probed(struct mosquitto *client, void *user, const struct mosquitto_message *message,
                      const mosquitto_property *properties) {
    struct rig *rig = user;
    (void)client;
    if (rig->probed_count < RIG_SEEN) {
        struct seen *seen = &rig->probed[rig->probed_count];
        void *correlation = NULL;
        uint16_t length = 0;
        *seen = (struct seen){.qos = message->qos, .retained = message->retain};
        copy(seen->topic, sizeof(seen->topic), message->topic, strlen(message->topic));
        copy(seen->payload, sizeof(seen->payload), message->payload, (size_t)message->payloadlen);
        if (mosquitto_property_read_binary(properties, MQTT_PROP_CORRELATION_DATA, &correlation,
                                           &length, false) != NULL) {
            assert_true(length <= sizeof(seen->correlation));
            memcpy(seen->correlation, correlation, length);
            seen->correlation_length = length;
            free(correlation);
        }
    }
    rig->probed_count++;
}

static void on_probe_subscribed(struct mosquitto *client, void *user, int mid, int count,
                                const int *granted) {
    (void)client;
    (void)mid;
    (void)count;
    (void)granted;
    ((struct rig *)user)->probe_subscribed = true;
}

static void on_probe_confirmed(struct mosquitto *client, void *user, int mid) {
    (void)client;
    (void)mid;
    ((struct rig *)user)->confirmed++;
}

void rig_probe(struct rig *rig, const char *filter) {
    mosquitto_lib_init();
    rig->probe = mosquitto_new(NULL, true, rig);
    assert_non_null(rig->probe);
    mosquitto_int_option(rig->probe, MOSQ_OPT_PROTOCOL_VERSION, MQTT_PROTOCOL_V5);
    mosquitto_message_v5_callback_set(rig->probe, on_probed);
    mosquitto_subscribe_callback_set(rig->probe, on_probe_subscribed);
    mosquitto_publish_callback_set(rig->probe, on_probe_confirmed);
    mosquitto_username_pw_set(rig->probe, "probe", NULL);
    assert_int_equal(mosquitto_connect(rig->probe, "127.0.0.1", rig->broker->port, 60), 0);
    assert_int_equal(mosquitto_subscribe(rig->probe, NULL, filter, 1), 0);
    for (int i = 0; i < 500 && !rig->probe_subscribed; i++) {
        mosquitto_loop(rig->probe, 10, 1);
    }
    assert_true(rig->probe_subscribed);
}

void rig_publish(struct rig *rig, const char *topic, const char *payload, bool retain) {
    assert_int_equal(
        mosquitto_publish(rig->probe, NULL, topic, (int)strlen(payload), payload, 1, retain), 0);
}

void rig_ask(struct rig *rig, const char *topic, const char *payload, const char *response_topic,
             const void *correlation, size_t length) {
    mosquitto_property *properties = NULL;
    mosquitto_property_add_string(&properties, MQTT_PROP_RESPONSE_TOPIC, response_topic);
    mosquitto_property_add_binary(&properties, MQTT_PROP_CORRELATION_DATA, correlation,
                                  (uint16_t)length);
    assert_int_equal(mosquitto_publish_v5(rig->probe, NULL, topic, (int)strlen(payload), payload, 1,
                                          false, properties),
                     0);
    mosquitto_property_free_all(&properties);
}

void rig_publish_for(struct rig *rig, const char *topic, const char *payload, uint32_t expiry_s) {
    mosquitto_property *properties = NULL;
    mosquitto_property_add_int32(&properties, MQTT_PROP_MESSAGE_EXPIRY_INTERVAL, expiry_s);
    assert_int_equal(mosquitto_publish_v5(rig->probe, NULL, topic, (int)strlen(payload), payload, 1,
                                          false, properties),
                     0);
    mosquitto_property_free_all(&properties);
}

static const struct seen *find(const struct seen *list, size_t count, const char *topic) {
    count = count < RIG_SEEN ? count : RIG_SEEN;
    while (count > 0 && strcmp(list[count - 1].topic, topic) != 0) {
        count--;
    }
    return count > 0 ? &list[count - 1] : NULL;
}

const struct seen *rig_find(const struct rig *rig, const char *topic) {
    return find(rig->seen, rig->seen_count, topic);
}

const struct seen *rig_probed(const struct rig *rig, const char *topic) {
    return find(rig->probed, rig->probed_count, topic);
}

bool rig_send(struct rig *rig, const char *topic, const char *payload, bool retain, bool urgent) {
    const struct mqtt_publication publication = {.topic = topic,
                                                 .payload = payload,
                                                 .length = strlen(payload),
                                                 .qos = 1,
                                                 .retain = retain,
                                                 .urgent = urgent};
    return mqtt_publish(rig->mqtt, &publication);
}
