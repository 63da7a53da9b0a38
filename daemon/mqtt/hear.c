// Reading: drains the socket packet by packet, up to the bound of a turn, and delivers each message
// outside the library's callback.
#include "mqtt/internal.h"

#include "base/array.h"

#include <errno.h>
#include <mqtt_protocol.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>

// Calls in a row that handle nothing and yet do not say that the socket is dry.
#define IDLE_READS 16

void mqtt_inbox_clear(struct inbox *inbox) {
    inbox->used = 0;
    inbox->count = 0;
}

void mqtt_inbox_free(struct inbox *inbox) {
    free(inbox->bytes);
    free(inbox->items);
    *inbox = (struct inbox){0};
}

static struct inbox_item *new_item(struct inbox *inbox) {
    bool fits = BASE_ARRAY_ROOM(inbox->items, inbox->count, inbox->capacity);
    return fits ? &inbox->items[inbox->count] : NULL;
}

// Copies the bytes and a NUL after them; room for both was reserved.
static size_t put(struct inbox *inbox, const void *bytes, size_t length) {
    size_t at = inbox->used;
    if (length > 0) {
        memcpy(inbox->bytes + at, bytes, length);
    }
    inbox->bytes[at + length] = '\0';
    inbox->used += length + 1;
    return at;
}

struct extras {
    char *response_topic;
    void *correlation;
    uint16_t correlation_length;
    bool surveyed, expires;
    uint32_t expiry_s;
};

static void read_extras(struct extras *extras, const mosquitto_property *properties) {
    uint32_t identifier = 0;
    mosquitto_property_read_string(properties, MQTT_PROP_RESPONSE_TOPIC, &extras->response_topic,
                                   false);
    mosquitto_property_read_binary(properties, MQTT_PROP_CORRELATION_DATA, &extras->correlation,
                                   &extras->correlation_length, false);
    mosquitto_property_read_varint(properties, MQTT_PROP_SUBSCRIPTION_IDENTIFIER, &identifier,
                                   false);
    extras->surveyed = identifier == MQTT_SURVEY_IDENTIFIER;
    extras->expires = mosquitto_property_read_int32(properties, MQTT_PROP_MESSAGE_EXPIRY_INTERVAL,
                                                    &extras->expiry_s, false) != NULL;
}

static bool keep(struct inbox *inbox, const struct mosquitto_message *message,
                 const struct extras *extras) {
    size_t topic = strlen(message->topic), length = (size_t)message->payloadlen;
    size_t response = extras->response_topic != NULL ? strlen(extras->response_topic) : 0;
    struct inbox_item *item = new_item(inbox);
    if (item == NULL ||
        !BASE_ARRAY_RESERVE(inbox->bytes, inbox->used,
                            topic + length + response + extras->correlation_length + 4,
                            inbox->size)) {
        return false;
    }
    *item = (struct inbox_item){.length = length,
                                .response_topic = SIZE_MAX,
                                .correlation = SIZE_MAX,
                                .correlation_length = extras->correlation_length,
                                .qos = message->qos,
                                .retained = message->retain,
                                .surveyed = extras->surveyed,
                                .expires = extras->expires,
                                .expiry_s = extras->expiry_s};
    item->topic = put(inbox, message->topic, topic);
    item->payload = put(inbox, message->payload, length);
    if (extras->response_topic != NULL) {
        item->response_topic = put(inbox, extras->response_topic, response);
    }
    if (extras->correlation != NULL) {
        item->correlation = put(inbox, extras->correlation, extras->correlation_length);
    }
    inbox->count++;
    return true;
}

void mqtt_hear_message(struct mosquitto *client, void *user,
                       const struct mosquitto_message *message,
                       const mosquitto_property *properties) {
    struct link *link = user;
    struct extras extras = {0};
    (void)client;
    link->answers.any = true;
    if (properties != NULL) {
        read_extras(&extras, properties);
    }
    if (!keep(&link->inbox, message, &extras)) {
        // Nothing that was sent to us is passed over in silence: what has a session comes again,
        // and without the link nothing is believed.
        link->mqtt->counters.dropped_memory++;
        mqtt_link_break(link, MQTT_TROUBLE_LOST, "no memory for a message");
    }
    free(extras.response_topic);
    free(extras.correlation);
}

static void deliver(struct link *link, const struct inbox_item *item) {
    struct mqtt *mqtt = link->mqtt;
    const char *bytes = link->inbox.bytes;
    const struct mqtt_message message = {
        .connection = link->which,
        .topic = bytes + item->topic,
        .payload = bytes + item->payload,
        .length = item->length,
        .qos = item->qos,
        .after = link->dry_at,
        .retained = item->retained,
        .expires = item->expires,
        .expiry_s = item->expiry_s,
        .response_topic = item->response_topic != SIZE_MAX ? bytes + item->response_topic : NULL,
        .correlation = item->correlation != SIZE_MAX ? bytes + item->correlation : NULL,
        .correlation_length = item->correlation_length,
    };
    if (link->which == MQTT_DURABLE && item->qos > 0) {
        link->held++;
    }
    if (mqtt->stopping) {
        return;
    }
    if (item->surveyed) {
        mqtt_survey_message(mqtt, &message);
        return;
    }
    mqtt->counters.received[link->which]++;
    if (mqtt->callbacks.on_message != NULL) {
        mqtt->callbacks.on_message(mqtt->user, &message);
    }
}

// Bytes of a message on its way, at least: its fixed header, the lengths of topic and properties.
static size_t size_of(const struct link *link, const struct inbox_item *item) {
    return strlen(link->inbox.bytes + item->topic) + item->length + (item->qos > 0 ? 7 : 5);
}

struct delivered {
    size_t messages, bytes; // bytes: at least so many
};

// Hands over what one call into the library brought.
static void dispatch(struct link *link, struct delivered *delivered) {
    struct inbox *inbox = &link->inbox;
    struct answers *answers = &link->answers;
    if (answers->connected && !link->broken) {
        answers->connected = false;
        link->resumed = answers->session_present;
        mqtt_subscribe_begin(link);
        if (inbox->count == 0) {
            mqtt_link_write(link); // before the first redelivery holds all writing back
        }
    }
    for (size_t i = 0; i < inbox->count; i++) {
        delivered->messages++;
        delivered->bytes += size_of(link, &inbox->items[i]);
        deliver(link, &inbox->items[i]);
    }
    mqtt_inbox_clear(inbox);
    if (answers->subscribed && !link->broken) {
        answers->subscribed = false;
        if (link->state == LINK_SUBSCRIBING) {
            mqtt_subscribe_answered(link);
        } else {
            mqtt_survey_answered(link->mqtt);
        }
    }
    if (link->which == MQTT_LIVE) {
        mqtt_queue_pump(link->mqtt);
    }
}

static bool has_decrypted(struct link *link) {
    const SSL *ssl = link->mqtt->tls != NULL ? mosquitto_ssl_get(link->client) : NULL;
    return ssl != NULL && SSL_pending(ssl) > 0;
}

// One call. Returns whether to go on: errno alone does not tell that the socket is dry, because
// the library's write to its own full wake-up pair leaves EAGAIN behind as well.
static bool read_once(struct link *link, unsigned *idle) {
    link->answers.any = false;
    errno = 0;
    if (mosquitto_loop_read(link->client, 1) != MOSQ_ERR_SUCCESS) {
        mqtt_link_break(link, MQTT_TROUBLE_LOST, "the connection broke");
        return false;
    }
    bool dry = errno == EAGAIN || errno == EWOULDBLOCK;
    if (link->answers.any) {
        *idle = 0;
        return true;
    }
    return (!dry || has_decrypted(link)) && ++*idle < IDLE_READS;
}

// Reads until dry, or until so much of both was delivered.
static void read_most(struct link *link, size_t messages, size_t bytes) {
    struct mqtt *mqtt = link->mqtt;
    const uint64_t *received = &mqtt->counters.received[link->which];
    uint64_t before = *received;
    struct delivered delivered = {0};
    unsigned idle = 0;
    bool more = true;
    while (more && !link->broken && (delivered.messages < messages || delivered.bytes < bytes)) {
        more = read_once(link, &idle);
        dispatch(link, &delivered);
    }
    if (!more) {
        link->dry_at = loop_now(mqtt->loop).mono_ms;
    }
    if (!link->broken && has_decrypted(link)) {
        loop_watch_soon(link->io); // epoll sees only what is still encrypted
    }
    if (*received > before && mqtt->callbacks.on_batch_end != NULL && !mqtt->stopping) {
        mqtt->callbacks.on_batch_end(mqtt->user, link->which);
    }
    mqtt_link_write(link);
}

void mqtt_link_read(struct link *link) {
    read_most(link, (size_t)link->mqtt->options.batch, 0);
}

// What comes while we read is not waited for: a broker that never pauses does not hold us here.
void mqtt_link_drain(struct link *link) {
    int arrived = 0;
    bool open = link->client != NULL && !link->broken && link->state >= LINK_SUBSCRIBING;
    if (!open || ioctl(link->fd, FIONREAD, &arrived) != 0) {
        return;
    }
    const SSL *ssl = link->mqtt->tls != NULL ? mosquitto_ssl_get(link->client) : NULL;
    size_t decrypted = ssl != NULL ? (size_t)SSL_pending(ssl) : 0;
    if (arrived > 0 || decrypted > 0) {
        read_most(link, 0, (size_t)arrived + decrypted);
        mqtt_link_refresh(link);
    }
}
