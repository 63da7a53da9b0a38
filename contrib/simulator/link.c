// The link: libmosquitto without its thread, so that the world has one thread and one order.
#include "simulator/link.h"

#include "base/clock.h"

#include <errno.h>
#include <mosquitto.h>
#include <mqtt_protocol.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>

#define KEEPALIVE_S 30
#define RETRY_MS 1000

struct sim_link {
    struct mosquitto *client;
    bool connected;
    int refusal; // reason code of a refused connection, 0: none
    int denied;  // reason code of a refused message, 0: none
    size_t unacknowledged;
    int64_t retry; // when to connect again
};

static void on_connect(struct mosquitto *client, void *context, int reason, int flags,
                       const mosquitto_property *properties) {
    (void)client;
    (void)flags;
    (void)properties;
    struct sim_link *link = context;
    link->connected = reason == 0;
    link->refusal = reason;
}

static void on_disconnect(struct mosquitto *client, void *context, int reason,
                          const mosquitto_property *properties) {
    (void)client;
    (void)reason;
    (void)properties;
    struct sim_link *link = context;
    link->connected = false;
    link->retry = base_clock_mono_ms() + RETRY_MS;
}

static void on_publish(struct mosquitto *client, void *context, int id, int reason,
                       const mosquitto_property *properties) {
    (void)client;
    (void)id;
    (void)properties;
    struct sim_link *link = context;
    if (link->unacknowledged > 0) {
        link->unacknowledged--;
    }
    if (reason >= 0x80) {
        link->denied = reason;
    }
}

static bool prepare(struct sim_link *link, const struct sim_link_options *options) {
    link->client = mosquitto_new(NULL, true, link);
    if (link->client == NULL) {
        return false;
    }
    mosquitto_int_option(link->client, MOSQ_OPT_PROTOCOL_VERSION, MQTT_PROTOCOL_V5);
    mosquitto_connect_v5_callback_set(link->client, on_connect);
    mosquitto_disconnect_v5_callback_set(link->client, on_disconnect);
    mosquitto_publish_v5_callback_set(link->client, on_publish);
    return options->username == NULL ||
           mosquitto_username_pw_set(link->client, options->username, options->password) ==
               MOSQ_ERR_SUCCESS;
}

// The sentence for what a call of the library returned.
static const char *explain(int result) {
    return result == MOSQ_ERR_ERRNO ? strerror(errno) : mosquitto_strerror(result);
}

static bool await_connection(struct sim_link *link, const struct sim_link_options *options,
                             int patience, struct sim_note *note) {
    int64_t deadline = base_clock_mono_ms() + patience;
    int result = MOSQ_ERR_NO_CONN;
    sim_fail(note, "no broker answered");
    while (!link->connected && link->refusal == 0 && base_clock_mono_ms() < deadline) {
        if (mosquitto_socket(link->client) < 0) {
            result = mosquitto_connect_bind_v5(link->client, options->host, options->port,
                                               KEEPALIVE_S, NULL, NULL);
        }
        if (result == MOSQ_ERR_SUCCESS) {
            sim_link_wait(link, -1, 50);
        } else {
            sim_fail(note, "%s:%d does not answer: %s", options->host, options->port,
                     explain(result));
            poll(NULL, 0, 100);
        }
    }
    if (link->refusal != 0) {
        sim_fail(note, "the broker at %s:%d refuses the connection: %s", options->host,
                 options->port, mosquitto_reason_string(link->refusal));
    }
    return link->connected;
}

struct sim_link *sim_link_open(const struct sim_link_options *options, int patience,
                               struct sim_note *note) {
    mosquitto_lib_init();
    struct sim_link *link = calloc(1, sizeof *link);
    if (link == NULL) {
        sim_fail(note, "no memory for the connection");
        mosquitto_lib_cleanup();
        return NULL;
    }
    bool ready = prepare(link, options) ? await_connection(link, options, patience, note)
                                        : sim_fail(note, "no memory for the connection");
    if (!ready) {
        sim_link_close(link);
        return NULL;
    }
    return link;
}

void sim_link_close(struct sim_link *link) {
    if (link == NULL) {
        return;
    }
    if (link->client != NULL) {
        mosquitto_disconnect_v5(link->client, 0, NULL);
        mosquitto_destroy(link->client);
    }
    free(link);
    mosquitto_lib_cleanup();
}

bool sim_link_send(void *context, const struct sim_message *message) {
    struct sim_link *link = context;
    // Without a connection the library would keep the message and send it later, as if the device
    // had spoken then.
    if (!link->connected) {
        return false;
    }
    int result = mosquitto_publish_v5(link->client, NULL, message->topic, (int)message->length,
                                      message->payload, 1, message->retain, NULL);
    if (result != MOSQ_ERR_SUCCESS) {
        return false;
    }
    link->unacknowledged++;
    return true;
}

// Messages on their way when the connection broke are sent again by the library itself.
static void reconnect(struct sim_link *link) {
    int64_t now = base_clock_mono_ms();
    if (now >= link->retry) {
        link->retry = now + RETRY_MS;
        mosquitto_reconnect(link->client);
    }
}

// Handles what the socket is ready for, one packet a call: poll asks again for the next.
static void serve(struct sim_link *link, short events) {
    if ((events & (POLLIN | POLLHUP | POLLERR)) != 0) {
        mosquitto_loop_read(link->client, 1);
    }
    if (mosquitto_want_write(link->client)) {
        mosquitto_loop_write(link->client, 1);
    }
    mosquitto_loop_misc(link->client);
}

bool sim_link_wait(struct sim_link *link, int input, int timeout) {
    int socket = mosquitto_socket(link->client);
    if (socket < 0) {
        reconnect(link);
        socket = mosquitto_socket(link->client);
    }
    short write = socket >= 0 && mosquitto_want_write(link->client) ? POLLOUT : 0;
    struct pollfd polled[2] = {{socket, (short)(POLLIN | write), 0}, {input, POLLIN, 0}};
    int limit = socket < 0 && timeout > RETRY_MS ? RETRY_MS : timeout;
    if (poll(polled, 2, limit) < 0) {
        return false;
    }
    if (socket >= 0) {
        serve(link, polled[0].revents);
    }
    return (polled[1].revents & (POLLIN | POLLHUP | POLLERR)) != 0;
}

bool sim_link_flush(struct sim_link *link, int patience, struct sim_note *note) {
    int64_t deadline = base_clock_mono_ms() + patience;
    while (link->unacknowledged > 0 && link->connected && base_clock_mono_ms() < deadline) {
        sim_link_wait(link, -1, 20);
    }
    int denied = link->denied;
    link->denied = 0;
    if (!link->connected) {
        return sim_fail(note, "the connection to the broker is down");
    }
    if (link->unacknowledged > 0) {
        return sim_fail(note, "the broker has not taken %zu messages after %d ms",
                        link->unacknowledged, patience);
    }
    return denied == 0 ||
           sim_fail(note, "the broker refused a message: %s", mosquitto_reason_string(denied));
}
