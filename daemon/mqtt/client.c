// One libmosquitto client for one attempt to connect. A new one is made for each: it starts without
// held-back acknowledgements, without stale publications that the library would resend, and with an
// empty wake-up socket pair, which nobody drains here.
#include "mqtt/internal.h"

#include <mqtt_protocol.h>

// More than any message that the contract allows, and a bound on what a broker can make us hold.
#define MAXIMUM_PACKET (256 * 1024)
#define SEND_MAXIMUM 65535

static void on_connect(struct mosquitto *client, void *user, int reason, int flags,
                       const mosquitto_property *properties) {
    struct link *link = user;
    uint16_t window = 0;
    (void)client;
    link->answers.any = true;
    if (reason != MQTT_RC_SUCCESS) {
        mqtt_link_break(link, MQTT_TROUBLE_REFUSED, "refused: %s", mosquitto_reason_string(reason));
        return;
    }
    link->answers.connected = true;
    link->answers.session_present = (flags & 1) != 0;
    mosquitto_property_read_int16(properties, MQTT_PROP_RECEIVE_MAXIMUM, &window, false);
    if (link->which == MQTT_LIVE) {
        link->mqtt->queue.window = window > 0 && window < 200 ? window : 200;
    }
}

static void on_disconnect(struct mosquitto *client, void *user, int reason,
                          const mosquitto_property *properties) {
    struct link *link = user;
    (void)client;
    (void)properties;
    link->answers.any = true;
    // Codes from 128 on came from the broker, lower ones are the library's own.
    mqtt_link_break(link, link->state == LINK_CONNECTING ? MQTT_TROUBLE_CONNECT : MQTT_TROUBLE_LOST,
                    "disconnected: %s",
                    reason >= 128 ? mosquitto_reason_string(reason) : mosquitto_strerror(reason));
}

static void on_answered(struct mosquitto *client, void *user, int mid, int count,
                        const int *granted, const mosquitto_property *properties) {
    struct answers *answers = &((struct link *)user)->answers;
    (void)client;
    (void)properties;
    answers->any = true;
    answers->subscribed = true;
    answers->subscribe_mid = mid;
    answers->granted_count = count < MQTT_CHUNK ? count : MQTT_CHUNK;
    for (int i = 0; i < answers->granted_count; i++) {
        answers->granted[i] = granted[i];
    }
}

static void on_unsubscribed(struct mosquitto *client, void *user, int mid,
                            const mosquitto_property *properties) {
    on_answered(client, user, mid, 0, NULL, properties);
}

static void on_published(struct mosquitto *client, void *user, int mid, int reason,
                         const mosquitto_property *properties) {
    struct link *link = user;
    (void)client;
    (void)properties;
    link->answers.any = true;
    if (link->which == MQTT_LIVE) { // the durable one says nothing that is waited for
        mqtt_queue_confirm(link->mqtt, mid, reason);
    }
}

static void set_callbacks(struct mosquitto *client) {
    mosquitto_connect_v5_callback_set(client, on_connect);
    mosquitto_disconnect_v5_callback_set(client, on_disconnect);
    mosquitto_message_v5_callback_set(client, mqtt_hear_message);
    mosquitto_subscribe_v5_callback_set(client, on_answered);
    mosquitto_unsubscribe_v5_callback_set(client, on_unsubscribed);
    mosquitto_publish_v5_callback_set(client, on_published);
}

static bool set_common(struct mosquitto *client, const struct link *link) {
    const struct mqtt *mqtt = link->mqtt;
    const struct mqtt_options *options = &mqtt->options;
    set_callbacks(client);
    return mosquitto_int_option(client, MOSQ_OPT_PROTOCOL_VERSION, MQTT_PROTOCOL_V5) == 0 &&
           mosquitto_int_option(client, MOSQ_OPT_RECEIVE_MAXIMUM, options->receive_maximum) == 0 &&
           mosquitto_int_option(client, MOSQ_OPT_SEND_MAXIMUM, SEND_MAXIMUM) == 0 &&
           // Without it a second small packet waits for the first one's delayed TCP ACK: 40 ms.
           mosquitto_int_option(client, MOSQ_OPT_TCP_NODELAY, 1) == 0 &&
           (mqtt->tls == NULL ||
            (mosquitto_int_option(client, MOSQ_OPT_SSL_CTX_WITH_DEFAULTS, 0) == 0 &&
             mosquitto_opts_set(client, MOSQ_OPT_SSL_CTX, mqtt->tls) == 0)) &&
           mosquitto_username_pw_set(client, options->username, options->password) == 0;
}

static bool set_will(struct mosquitto *client, const struct mqtt *mqtt) {
    return mqtt->options.will == NULL ||
           mosquitto_will_set_v5(client, mqtt->own_topic, (int)mqtt->options.will_length,
                                 mqtt->options.will, 1, true, NULL) == MOSQ_ERR_SUCCESS;
}

// The call that connects takes no CONNECT properties; one that takes them and must fail leaves them
// in the client for the next call.
static bool set_properties(struct mosquitto *client, const struct link *link) {
    const struct mqtt_options *options = &link->mqtt->options;
    mosquitto_property *properties = NULL;
    bool added =
        mosquitto_property_add_int32(&properties, MQTT_PROP_MAXIMUM_PACKET_SIZE, MAXIMUM_PACKET) ==
            MOSQ_ERR_SUCCESS &&
        (link->which != MQTT_DURABLE ||
         mosquitto_property_add_int32(&properties, MQTT_PROP_SESSION_EXPIRY_INTERVAL,
                                      (uint32_t)options->session_expiry_s) == MOSQ_ERR_SUCCESS);
    if (added) {
        mosquitto_connect_bind_v5(client, "/nonexistent", 0, options->keepalive_s, NULL,
                                  properties);
    }
    mosquitto_property_free_all(&properties);
    return added;
}

struct mosquitto *mqtt_client_new(struct link *link) {
    struct mqtt *mqtt = link->mqtt;
    bool durable = link->which == MQTT_DURABLE;
    struct mosquitto *client = mosquitto_new(mqtt->client_id[link->which], !durable, link);
    if (client == NULL) {
        return NULL;
    }
    // Told that there are threads, the library queues every packet until it is asked to write: so
    // an acknowledgement leaves after the commit, not before our callback.
    if (!set_common(client, link) || (!durable && !set_will(client, mqtt)) ||
        (durable && mosquitto_threaded_set(client, true) != MOSQ_ERR_SUCCESS) ||
        !set_properties(client, link)) {
        mosquitto_destroy(client);
        return NULL;
    }
    return client;
}

int mqtt_client_connect(struct link *link, const char *address) {
    const struct mqtt_options *options = &link->mqtt->options;
    return mosquitto_connect_async(link->client, address, options->port, options->keepalive_s);
}
