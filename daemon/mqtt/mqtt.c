// The link as a whole: making, starting, acknowledging, and ending in good order.
#include "mqtt/mqtt.h"

#include "base/clock.h"

#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <unistd.h>

#include "mqtt/internal.h"

static bool open_all(struct mqtt *mqtt) {
    return mqtt_link_open(&mqtt->links[MQTT_DURABLE], mqtt, MQTT_DURABLE) &&
           mqtt_link_open(&mqtt->links[MQTT_LIVE], mqtt, MQTT_LIVE) && mqtt_survey_open(mqtt);
}

static bool prepare(struct mqtt *mqtt, const struct mqtt_options *options, char *error,
                    size_t size) {
    if (!mqtt_options_take(mqtt, options, error, size)) {
        return false;
    }
    if (mqtt->options.ca_file != NULL) {
        mqtt->tls = mqtt_tls_new(mqtt, error, size);
        if (mqtt->tls == NULL) {
            return false;
        }
    }
    if (!open_all(mqtt)) {
        snprintf(error, size, "no memory for the broker link");
        return false;
    }
    return true;
}

struct mqtt *mqtt_new(struct loop *loop, const struct mqtt_options *options,
                      const struct mqtt_callbacks *callbacks, void *user, char *error,
                      size_t size) {
    struct mqtt *mqtt = calloc(1, sizeof(*mqtt));
    if (mqtt == NULL || mosquitto_lib_init() != MOSQ_ERR_SUCCESS) {
        snprintf(error, size, "no memory for the broker link");
        free(mqtt);
        return NULL;
    }
    mqtt->loop = loop;
    mqtt->callbacks = *callbacks;
    mqtt->user = user;
    mqtt_queue_init(&mqtt->queue);
    if (!prepare(mqtt, options, error, size)) {
        mqtt_free(mqtt);
        return NULL;
    }
    return mqtt;
}

void mqtt_free(struct mqtt *mqtt) {
    if (mqtt == NULL) {
        return;
    }
    mqtt->stopping = true;
    mqtt_link_close(&mqtt->links[MQTT_DURABLE]);
    mqtt_link_close(&mqtt->links[MQTT_LIVE]);
    mqtt_survey_close(mqtt);
    mqtt_queue_free(mqtt);
    SSL_CTX_free(mqtt->tls);
    mqtt_options_free(mqtt);
    free(mqtt);
    mosquitto_lib_cleanup();
}

void mqtt_start(struct mqtt *mqtt) {
    mqtt_link_start(&mqtt->links[MQTT_DURABLE]);
    mqtt_link_start(&mqtt->links[MQTT_LIVE]);
}

void mqtt_flush(struct mqtt *mqtt) {
    mqtt_link_write(&mqtt->links[MQTT_LIVE]);
    mqtt_link_refresh(&mqtt->links[MQTT_LIVE]);
}

void mqtt_read(struct mqtt *mqtt) {
    mqtt_link_drain(&mqtt->links[MQTT_LIVE]);
    mqtt_link_drain(&mqtt->links[MQTT_DURABLE]);
}

bool mqtt_say(struct mqtt *mqtt, enum mqtt_connection connection, const char *topic,
              const char *payload, size_t length, int qos) {
    struct link *link = &mqtt->links[connection];
    if (!mqtt_up(mqtt, connection) ||
        mosquitto_publish_v5(link->client, NULL, topic, (int)length, payload, qos, false, NULL) !=
            MOSQ_ERR_SUCCESS) {
        return false;
    }
    mqtt_link_write(link);
    mqtt_link_refresh(link);
    return true;
}

void mqtt_acknowledge(struct mqtt *mqtt) {
    struct link *link = &mqtt->links[MQTT_DURABLE];
    mqtt->counters.acknowledged += link->held;
    link->held = 0;
    mqtt_link_write(link);
    mqtt_link_refresh(link);
}

const struct mqtt_counters *mqtt_counters(const struct mqtt *mqtt) {
    return &mqtt->counters;
}

static bool is_sent(const struct mqtt *mqtt) {
    return mqtt->queue.queued.count == 0 && mqtt->queue.inflight.count == 0;
}

// One step of what the loop would do for a link, without it.
static void step(struct link *link, int timeout_ms) {
    struct pollfd wait = {.fd = mosquitto_socket(link->client), .events = POLLIN};
    if (mosquitto_want_write(link->client)) {
        wait.events |= POLLOUT;
    }
    if (poll(&wait, 1, timeout_ms) <= 0) {
        return;
    }
    if ((wait.revents & POLLOUT) != 0) {
        mqtt_link_write(link);
    }
    if ((wait.revents & ~POLLOUT) != 0 && !link->broken) {
        mqtt_link_read(link);
    }
}

static void send_rest(struct mqtt *mqtt, int64_t deadline) {
    struct link *link = &mqtt->links[MQTT_LIVE];
    int64_t left = deadline - base_clock_mono_ms();
    while (!is_sent(mqtt) && mqtt_up(mqtt, MQTT_LIVE) && left > 0) {
        step(link, (int)left);
        left = deadline - base_clock_mono_ms();
    }
}

// Reads what still comes until the broker closes. Had the socket been closed with unread bytes, the
// broker would see a reset, perhaps before it has read the DISCONNECT, and publish the will.
static void linger(int fd, int64_t deadline) {
    struct pollfd wait = {.fd = fd, .events = POLLIN};
    char bytes[4096];
    shutdown(fd, SHUT_WR);
    int64_t left = deadline - base_clock_mono_ms();
    while (left > 0 && poll(&wait, 1, (int)left) > 0 && read(fd, bytes, sizeof(bytes)) > 0) {
        left = deadline - base_clock_mono_ms();
    }
}

static void write_goodbye(struct link *link, int64_t deadline) {
    mqtt_link_write(link);
    int64_t left = deadline - base_clock_mono_ms();
    while (!link->broken && mosquitto_socket(link->client) >= 0 && left > 0) {
        step(link, (int)left);
        left = deadline - base_clock_mono_ms();
    }
}

// Takes leave of the broker. What was not acknowledged would be by the DISCONNECT, which queues
// behind it; such a connection is just closed. The library closes its socket as soon as the
// DISCONNECT is written, so a second descriptor keeps it open.
static void disconnect(struct link *link, int64_t deadline) {
    if (!mqtt_up(link->mqtt, link->which) || link->held > 0) {
        return;
    }
    int fd = fcntl(mosquitto_socket(link->client), F_DUPFD_CLOEXEC, 0);
    if (mosquitto_disconnect_v5(link->client, 0, NULL) == MOSQ_ERR_SUCCESS) {
        write_goodbye(link, deadline);
    }
    if (fd >= 0) {
        linger(fd, deadline);
        close(fd);
    }
}

static bool say_offline(struct mqtt *mqtt, const void *offline, size_t length) {
    const struct mqtt_publication last = {
        .topic = mqtt->own_topic, .payload = offline, .length = length, .qos = 1, .retain = true};
    return offline != NULL && mqtt_publish(mqtt, &last);
}

bool mqtt_stop(struct mqtt *mqtt, const void *offline, size_t length, int timeout_ms) {
    int64_t deadline = base_clock_mono_ms() + timeout_ms;
    mqtt->stopping = true;
    bool said = say_offline(mqtt, offline, length);
    send_rest(mqtt, deadline);
    bool confirmed = said && is_sent(mqtt);
    disconnect(&mqtt->links[MQTT_DURABLE], deadline);
    if (confirmed) {
        disconnect(&mqtt->links[MQTT_LIVE], deadline);
    }
    mqtt_link_stop(&mqtt->links[MQTT_DURABLE]);
    mqtt_link_stop(&mqtt->links[MQTT_LIVE]);
    return confirmed;
}
