// What goes out: a queue of our own in front of the library's.
//
// The library's has no bound, gives out 16-bit ids without looking whether they are taken, and
// cannot be overtaken. Here no more is given to it than the broker's window takes, so that an
// urgent message waits for one acknowledgement at most, and a document that was not sent yet can be
// replaced.
#include "mqtt/internal.h"

#include <mqtt_protocol.h>
#include <stdlib.h>
#include <string.h>

static void list_init(struct outgoing_list *list) {
    list->first = NULL;
    list->end = &list->first;
    list->count = 0;
}

static void append(struct outgoing_list *list, struct outgoing *message) {
    message->next = NULL;
    *list->end = message;
    list->end = &message->next;
    list->count++;
}

// Takes out the message that `place` points at.
static struct outgoing *take_at(struct outgoing_list *list, struct outgoing **place) {
    struct outgoing *message = *place;
    *place = message->next;
    if (*place == NULL) {
        list->end = place;
    }
    list->count--;
    return message;
}

void mqtt_queue_init(struct send_queue *queue) {
    list_init(&queue->queued);
    list_init(&queue->inflight);
    list_init(&queue->refused);
    queue->window = 1;
}

static void discard(struct mqtt *mqtt, struct outgoing *message) {
    mqtt->counters.queued_messages--;
    mqtt->counters.queued_bytes -= message->bytes;
    free(message);
}

static void discard_all(struct mqtt *mqtt, struct outgoing_list *list) {
    while (list->first != NULL) {
        discard(mqtt, take_at(list, &list->first));
    }
}

void mqtt_queue_free(struct mqtt *mqtt) {
    discard_all(mqtt, &mqtt->queue.queued);
    discard_all(mqtt, &mqtt->queue.inflight);
    discard_all(mqtt, &mqtt->queue.refused);
}

static size_t length_of(const char *text) {
    return text != NULL ? strlen(text) + 1 : 0;
}

static const char *put(char **at, const void *bytes, size_t length) {
    char *begin = *at;
    if (bytes != NULL) {
        memcpy(begin, bytes, length);
    }
    *at += length;
    return begin;
}

static struct outgoing *outgoing_new(const struct mqtt_publication *publication) {
    size_t topic = length_of(publication->topic);
    size_t type = length_of(publication->content_type);
    size_t bytes = sizeof(struct outgoing) + topic + type + publication->length +
                   publication->correlation_length;
    struct outgoing *message = calloc(1, bytes);
    if (message == NULL) {
        return NULL;
    }
    char *at = (char *)(message + 1);
    message->bytes = bytes;
    message->qos = publication->qos;
    message->retain = publication->retain;
    message->number = publication->number;
    message->length = publication->length;
    message->correlation_length =
        publication->correlation != NULL ? publication->correlation_length : 0;
    message->topic = put(&at, publication->topic, topic);
    message->content_type = type > 0 ? put(&at, publication->content_type, type) : NULL;
    message->payload = put(&at, publication->payload, publication->length);
    message->correlation = put(&at, publication->correlation, message->correlation_length);
    return message;
}

static bool make_properties(const struct outgoing *message, mosquitto_property **properties) {
    return (message->content_type == NULL ||
            mosquitto_property_add_string(properties, MQTT_PROP_CONTENT_TYPE,
                                          message->content_type) == MOSQ_ERR_SUCCESS) &&
           (message->correlation_length == 0 ||
            mosquitto_property_add_binary(
                properties, MQTT_PROP_CORRELATION_DATA, message->correlation,
                (uint16_t)message->correlation_length) == MOSQ_ERR_SUCCESS);
}

static int give(struct mqtt *mqtt, struct outgoing *message) {
    mosquitto_property *properties = NULL;
    int code = MOSQ_ERR_NOMEM;
    if (make_properties(message, &properties)) {
        code = mosquitto_publish_v5(mqtt->links[MQTT_LIVE].client, &message->mid, message->topic,
                                    (int)message->length,
                                    message->length > 0 ? message->payload : NULL, message->qos,
                                    message->retain, properties);
    }
    mosquitto_property_free_all(&properties);
    return code;
}

// The message itself cannot be sent to this broker, now or later.
static bool is_hopeless(int code) {
    return code == MOSQ_ERR_INVAL || code == MOSQ_ERR_PAYLOAD_SIZE ||
           code == MOSQ_ERR_MALFORMED_UTF8 || code == MOSQ_ERR_OVERSIZE_PACKET ||
           code == MOSQ_ERR_QOS_NOT_SUPPORTED || code == MOSQ_ERR_RETAIN_NOT_SUPPORTED;
}

// Gives one message to the library. Most failures break the link, as what the library then has done
// with the message is not known: documents are published anew, other messages sent again.
static void send_one(struct mqtt *mqtt, struct outgoing *message) {
    struct link *link = &mqtt->links[MQTT_LIVE];
    int code = give(mqtt, message);
    if (is_hopeless(code)) {
        message->reason = -code;
        append(&mqtt->queue.refused, message);
        loop_timer_soon(link->settle); // it is reported from the loop
        return;
    }
    if (code == MOSQ_ERR_SUCCESS) {
        mqtt->counters.published++;
    } else {
        mqtt_link_break(link, MQTT_TROUBLE_LOST, "cannot publish on %.60s: %s", message->topic,
                        mosquitto_strerror(code));
    }
    if (message->qos > 0) {
        append(&mqtt->queue.inflight, message);
    } else {
        discard(mqtt, message);
    }
}

static bool may_send(const struct mqtt *mqtt) {
    const struct link *link = &mqtt->links[MQTT_LIVE];
    return link->state == LINK_UP && !link->broken;
}

// PUBACKs come in the order of the messages, so the one meant is the first or near it.
void mqtt_queue_confirm(struct mqtt *mqtt, int mid, int reason) {
    struct send_queue *queue = &mqtt->queue;
    struct outgoing **place = &queue->inflight.first;
    while (*place != NULL && (*place)->mid != mid) {
        place = &(*place)->next;
    }
    if (*place == NULL) {
        return; // of QoS 0
    }
    struct outgoing *message = take_at(&queue->inflight, place);
    if (reason < MQTT_RC_UNSPECIFIED) {
        mqtt->counters.confirmed++;
        discard(mqtt, message);
    } else {
        message->reason = reason;
        append(&queue->refused, message);
    }
}

static void report_refused(struct mqtt *mqtt) {
    struct outgoing_list *refused = &mqtt->queue.refused;
    while (refused->first != NULL) {
        struct outgoing *message = take_at(refused, &refused->first);
        mqtt_link_trouble(&mqtt->links[MQTT_LIVE], MQTT_TROUBLE_PUBLISH, message->topic,
                          message->reason > 0 ? mosquitto_reason_string(message->reason)
                                              : mosquitto_strerror(-message->reason));
        discard(mqtt, message);
    }
}

static void fill_window(struct mqtt *mqtt) {
    struct send_queue *queue = &mqtt->queue;
    while (queue->queued.first != NULL && queue->inflight.count < queue->window && may_send(mqtt)) {
        send_one(mqtt, take_at(&queue->queued, &queue->queued.first));
    }
}

void mqtt_queue_pump(struct mqtt *mqtt) {
    struct send_queue *queue = &mqtt->queue;
    report_refused(mqtt);
    fill_window(mqtt);
    if (queue->was_full && may_send(mqtt) &&
        mqtt->counters.queued_bytes < mqtt->options.queue_bytes / 4) {
        queue->was_full = false;
        if (mqtt->callbacks.on_room != NULL && !mqtt->stopping) {
            mqtt->callbacks.on_room(mqtt->user);
        }
    }
}

// Moves what is not a document to `to`, and discards the rest.
static void sift(struct mqtt *mqtt, struct outgoing_list *from, struct outgoing_list *to) {
    while (from->first != NULL) {
        struct outgoing *message = take_at(from, &from->first);
        if (message->retain) {
            mqtt->counters.dropped_stale++;
            discard(mqtt, message);
        } else {
            append(to, message);
        }
    }
}

void mqtt_queue_down(struct mqtt *mqtt) {
    struct send_queue *queue = &mqtt->queue;
    struct outgoing_list waiting;
    report_refused(mqtt);
    list_init(&waiting);
    sift(mqtt, &queue->inflight, &waiting);
    sift(mqtt, &queue->queued, &waiting);
    while (waiting.first != NULL) {
        append(&queue->queued, take_at(&waiting, &waiting.first));
    }
    queue->was_full = false;
}

// An urgent document replaces those of its topic that still wait, or an older one would follow it.
static void replace(struct mqtt *mqtt, const char *topic) {
    struct outgoing_list *queued = &mqtt->queue.queued;
    struct outgoing **place = &queued->first;
    while (*place != NULL) {
        if ((*place)->retain && strcmp((*place)->topic, topic) == 0) {
            discard(mqtt, take_at(queued, place));
        } else {
            place = &(*place)->next;
        }
    }
}

static bool is_sound(const struct mqtt_publication *publication) {
    return publication->topic[0] != '\0' && publication->qos >= 0 && publication->qos <= 1 &&
           publication->length <= INT32_MAX && publication->correlation_length <= UINT16_MAX &&
           (publication->payload != NULL || publication->length == 0) &&
           mosquitto_pub_topic_check(publication->topic) == MOSQ_ERR_SUCCESS;
}

static bool overflow(struct mqtt *mqtt) {
    mqtt->counters.dropped_full++;
    mqtt_link_break(&mqtt->links[MQTT_LIVE], MQTT_TROUBLE_OVERFLOW,
                    "%zu messages wait for the broker, and there is no room for more",
                    mqtt->counters.queued_messages);
    return false;
}

bool mqtt_publish(struct mqtt *mqtt, const struct mqtt_publication *publication) {
    if (!may_send(mqtt) || !is_sound(publication)) {
        mqtt->counters.dropped_down++;
        return false;
    }
    struct outgoing *message = outgoing_new(publication);
    if (message == NULL ||
        message->bytes > mqtt->options.queue_bytes - mqtt->counters.queued_bytes) {
        free(message);
        return overflow(mqtt);
    }
    mqtt->counters.queued_messages++;
    mqtt->counters.queued_bytes += message->bytes;
    mqtt->queue.was_full = mqtt->queue.was_full || mqtt_room(mqtt) == 0;
    if (publication->urgent) {
        replace(mqtt, message->topic);
        send_one(mqtt, message);
    } else {
        append(&mqtt->queue.queued, message);
        fill_window(mqtt);
    }
    mqtt_link_refresh(&mqtt->links[MQTT_LIVE]);
    return true;
}

size_t mqtt_room(const struct mqtt *mqtt) {
    size_t half = mqtt->options.queue_bytes / 2;
    return mqtt->counters.queued_bytes < half ? half - mqtt->counters.queued_bytes : 0;
}

static uint64_t first_number(const struct outgoing_list *list) {
    const struct outgoing *message = list->first;
    while (message != NULL && message->number == 0) {
        message = message->next;
    }
    return message != NULL ? message->number : 0;
}

// What is in flight was published before what is queued.
uint64_t mqtt_oldest(const struct mqtt *mqtt) {
    uint64_t inflight = first_number(&mqtt->queue.inflight);
    return inflight != 0 ? inflight : first_number(&mqtt->queue.queued);
}
