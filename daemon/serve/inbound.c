// What comes in from the broker: split by topic, given to the gate. Everything that is not taken is
// counted with its reason and logged, at most once in a while.
#include "serve/daemon.h"

#include <string.h>

static const char *const drop_names[DAEMON_DROP_COUNT] = {
    [DAEMON_DROP_TOPIC] = "wrong topic",
    [DAEMON_DROP_SITE] = "another's site",
    [DAEMON_DROP_NAME] = "not configured",
    [DAEMON_DROP_RETAINED] = "retained",
    [DAEMON_DROP_PAYLOAD] = "unreadable",
    [DAEMON_DROP_COPY] = "a copy",
    [DAEMON_DROP_OLDER] = "older",
    [DAEMON_DROP_CLAIMED] = "claimed by a feed",
    [DAEMON_DROP_RESPONSE_TOPIC] = "response topic outside the reply prefix",
};

const char *daemon_drop_name(enum daemon_drop why) {
    return drop_names[why];
}

void daemon_drop(struct daemon *daemon, enum daemon_drop why, const char *topic, const char *text) {
    daemon->drops[why]++;
    if (why == DAEMON_DROP_COPY || why == DAEMON_DROP_OLDER || why == DAEMON_DROP_SITE) {
        return; // of the ordinary course; the counters tell
    }
    uint64_t left_out;
    if (log_allowed(&daemon->limits[why], loop_now(daemon->loop).mono_ms, &left_out)) {
        log_warn("inbound", "dropped=\"%s\" topic=%.200s%s%s left_out=%llu", drop_names[why], topic,
                 text[0] != '\0' ? " why=" : "", text, (unsigned long long)left_out);
    }
}

void daemon_count_heard(struct daemon *daemon, enum gate_heard heard, const char *topic,
                        const char *error) {
    switch (heard) {
    case GATE_HEARD_COPY:
        daemon_drop(daemon, DAEMON_DROP_COPY, topic, "");
        break;
    case GATE_HEARD_OLDER:
        daemon_drop(daemon, DAEMON_DROP_OLDER, topic, "");
        break;
    case GATE_HEARD_RETAINED:
        daemon_drop(daemon, DAEMON_DROP_RETAINED, topic, "a signal without `at` is no evidence");
        break;
    case GATE_HEARD_BAD:
        if (error[0] != '\0') {
            daemon_drop(daemon, DAEMON_DROP_PAYLOAD, topic, error);
        }
        break;
    default:
        break;
    }
}

static void hear_signal(struct daemon *daemon, const struct model_site *site, const char *name,
                        const struct mqtt_message *message) {
    uint32_t sensor = model_sensor_find(site, name);
    if (sensor == MODEL_NONE) {
        daemon_drop(daemon, DAEMON_DROP_NAME, message->topic, "");
        return;
    }
    if (site->sensors[sensor].claimed) {
        daemon_drop(daemon, DAEMON_DROP_CLAIMED, message->topic, "");
        return;
    }
    char error[256];
    error[0] = '\0';
    struct gate_reading reading;
    feed_signal_read(&daemon->tape, message->payload, message->length, message->retained, &reading,
                     error, sizeof error);
    enum gate_heard heard =
        gate_hear(daemon->gate, site->index, sensor, &reading, daemon_now(daemon));
    if (heard != GATE_HEARD_UNCHANGED) {
        daemon_count_heard(daemon, heard, message->topic, error);
    }
}

static void hear_measure(struct daemon *daemon, const struct model_site *site, const char *name,
                         const struct mqtt_message *message) {
    uint32_t measure = model_measure_find(site, name);
    if (measure == MODEL_NONE) {
        daemon_drop(daemon, DAEMON_DROP_NAME, message->topic, "");
        return;
    }
    if (site->measures[measure].claimed) {
        daemon_drop(daemon, DAEMON_DROP_CLAIMED, message->topic, "");
        return;
    }
    char error[256];
    error[0] = '\0';
    struct gate_measure_reading reading;
    feed_measure_read(&daemon->tape, message->payload, message->length, message->retained,
                      site->measures[measure].unit, &reading, error, sizeof error);
    enum gate_heard heard =
        gate_hear_measure(daemon->gate, site->index, measure, &reading, daemon_now(daemon));
    daemon_count_heard(daemon, heard, message->topic, error);
}

static void hear_controller(struct daemon *daemon, const struct model_site *site, const char *name,
                            const struct mqtt_message *message) {
    uint32_t controller = model_controller_find(site, name);
    if (controller == MODEL_NONE) {
        daemon_drop(daemon, DAEMON_DROP_NAME, message->topic, "");
        return;
    }
    gate_hear_controller(daemon->gate, site->index, controller,
                         feed_controller_online(message->payload, message->length),
                         daemon_now(daemon));
}

static void hear_tagging(struct daemon *daemon, const struct model_site *site, const char *name,
                         const struct daemon_message *message) {
    uint32_t point = model_point_find(site, name);
    if (point == MODEL_NONE) {
        daemon_drop(daemon, DAEMON_DROP_NAME, message->topic, "");
        return;
    }
    char error[256], who[MODEL_ID_SIZE];
    struct gate_tagging tagging;
    if (!feed_tagging_read(&daemon->tape, message->payload, message->length, who, &tagging, error,
                           sizeof error)) {
        daemon_drop(daemon, DAEMON_DROP_PAYLOAD, message->topic, error);
        return;
    }
    gate_hear_tagging(daemon->gate, site->index, point, &tagging, daemon_now(daemon));
}

void daemon_take(struct daemon *daemon, const struct daemon_message *message) {
    struct feed_topic topic;
    if (!feed_topic_is_ours(daemon->model->root, message->topic)) {
        const struct feed_message foreign = {
            .topic = message->topic, .payload = message->payload, .length = message->length};
        if (!daemon_hear_feeds(daemon, &foreign, FEED_DURABLE)) {
            daemon_drop(daemon, DAEMON_DROP_TOPIC, message->topic, ""); // of an earlier feed
        }
        return;
    }
    if (!feed_topic_split(daemon->model->root, message->topic, &topic)) {
        return;
    }
    const struct model_site *site = model_site_find(daemon->model, topic.site);
    if (site == NULL) {
        daemon_drop(daemon, DAEMON_DROP_SITE, message->topic, "");
    } else if (topic.kind == FEED_TOPIC_TAGGING) {
        hear_tagging(daemon, site, topic.name, message);
    } else if (topic.kind == FEED_TOPIC_REQUEST) {
        daemon_ask(daemon, site->index, topic.name, topic.verb, message);
    }
}

bool daemon_come(struct daemon *daemon, const struct mqtt_message *message, uint64_t ticket) {
    // The journal is the worker's while a flight is under way: what is asked then waits.
    bool waits = loop_work_busy(daemon->writer);
    struct daemon_turn *turn = &daemon->turn;
    struct daemon_message *kept =
        daemon_message_keep(waits ? &turn->waiting : &turn->messages, message);
    if (kept == NULL) {
        return false;
    }
    kept->ticket = ticket;
    if (!waits) {
        daemon_take(daemon, kept);
    }
    return true;
}

// A reader's event on a topic of its own is taken as a tag event is. One kept by the broker is only
// counted, by its feed.
static void on_durable_foreign(struct daemon *daemon, const struct mqtt_message *message) {
    const struct feed_message foreign = {.topic = message->topic,
                                         .payload = message->payload,
                                         .length = message->length,
                                         .retained = true};
    if (message->retained) {
        daemon_hear_feeds(daemon, &foreign, FEED_DURABLE);
    } else if (!daemon_come(daemon, message, 0)) {
        daemon->turn.failed = true; // the broker delivers it again
    }
}

static void on_durable(struct daemon *daemon, const struct mqtt_message *message) {
    daemon->acknowledge_due = true; // also of what is not taken
    if (!feed_topic_is_ours(daemon->model->root, message->topic)) {
        on_durable_foreign(daemon, message);
        return;
    }
    if (message->retained) {
        daemon_drop(daemon, DAEMON_DROP_RETAINED, message->topic,
                    "requests and tagging are never retained");
        return;
    }
    struct feed_topic topic;
    if (!feed_topic_split(daemon->model->root, message->topic, &topic) ||
        (topic.kind != FEED_TOPIC_TAGGING && topic.kind != FEED_TOPIC_REQUEST)) {
        daemon_drop(daemon, DAEMON_DROP_TOPIC, message->topic, "");
        return;
    }
    if (!daemon_come(daemon, message, 0)) {
        daemon->turn.failed = true; // the broker delivers it again
    }
}

// No canonical topic: the hardware's own, or nobody's.
static void on_live_foreign(struct daemon *daemon, const struct mqtt_message *message) {
    const struct feed_message foreign = {.topic = message->topic,
                                         .payload = message->payload,
                                         .length = message->length,
                                         .retained = message->retained};
    if (feed_topic_is_ours(daemon->model->root, message->topic) ||
        !daemon_hear_feeds(daemon, &foreign, FEED_LIVE)) {
        daemon_drop(daemon, DAEMON_DROP_TOPIC, message->topic, "");
    }
}

static void on_live(struct daemon *daemon, const struct mqtt_message *message) {
    struct feed_topic topic;
    if (!feed_topic_split(daemon->model->root, message->topic, &topic)) {
        on_live_foreign(daemon, message);
        return;
    }
    if (topic.kind == FEED_TOPIC_DAEMON) {
        daemon_hear_other(daemon, topic.name, message->payload, message->length);
        return;
    }
    const struct model_site *site = model_site_find(daemon->model, topic.site);
    if (site == NULL) {
        daemon_drop(daemon, DAEMON_DROP_SITE, message->topic, "");
    } else if (topic.kind == FEED_TOPIC_SIGNAL) {
        hear_signal(daemon, site, topic.name, message);
    } else if (topic.kind == FEED_TOPIC_CONTROLLER) {
        hear_controller(daemon, site, topic.name, message);
    } else if (topic.kind == FEED_TOPIC_MEASURE) {
        hear_measure(daemon, site, topic.name, message);
    } else {
        daemon_drop(daemon, DAEMON_DROP_TOPIC, message->topic, "");
    }
}

void daemon_on_message(void *user, const struct mqtt_message *message) {
    struct daemon *daemon = user;
    if (message->connection == MQTT_DURABLE) {
        on_durable(daemon, message);
    } else {
        on_live(daemon, message);
    }
    daemon_publish_breaks(daemon);
}
