// What comes in from the broker: split by topic, read, given to the turn or heard by the gate.
#include "serve/daemon.h"

#include <stdlib.h>

#include "feed/canonical.h"

struct serve_inbound {
    struct json_tape tape; // scratch
};

struct serve_inbound *serve_inbound_new(void) {
    return calloc(1, sizeof(struct serve_inbound));
}

void serve_inbound_free(struct serve_inbound *inbound) {
    if (inbound != NULL) {
        json_tape_free(&inbound->tape);
        free(inbound);
    }
}

// --- The live connection: signals, measures, controllers, other daemons ---

static void hear_signal(struct daemon *daemon, const struct model_site *site, const char *name,
                        const struct mqtt_message *message) {
    uint32_t sensor = model_sensor_find(site, name);
    if (sensor == MODEL_NONE) {
        serve_drop(daemon, SERVE_DROP_NAME, message->topic, "");
        return;
    }
    if (site->sensors[sensor].claimed) {
        serve_drop(daemon, SERVE_DROP_CLAIMED, message->topic, "");
        return;
    }
    char error[256];
    error[0] = '\0';
    struct gate_reading reading;
    feed_signal_read(&daemon->inbound->tape, message->payload, message->length, message->retained,
                     &reading, error, sizeof error);
    enum gate_heard heard =
        gate_hear(turn_gate(daemon->turn), site->index, sensor, &reading, turn_now(daemon->turn));
    if (heard != GATE_HEARD_UNCHANGED) {
        serve_drop_heard(daemon, heard, message->topic, error);
    }
}

static void hear_measure(struct daemon *daemon, const struct model_site *site, const char *name,
                         const struct mqtt_message *message) {
    uint32_t measure = model_measure_find(site, name);
    if (measure == MODEL_NONE) {
        serve_drop(daemon, SERVE_DROP_NAME, message->topic, "");
        return;
    }
    if (site->measures[measure].claimed) {
        serve_drop(daemon, SERVE_DROP_CLAIMED, message->topic, "");
        return;
    }
    char error[256];
    error[0] = '\0';
    struct gate_measure_reading reading;
    feed_measure_read(&daemon->inbound->tape, message->payload, message->length, message->retained,
                      site->measures[measure].unit, &reading, error, sizeof error);
    enum gate_heard heard = gate_hear_measure(turn_gate(daemon->turn), site->index, measure,
                                              &reading, turn_now(daemon->turn));
    serve_drop_heard(daemon, heard, message->topic, error);
}

static void hear_controller(struct daemon *daemon, const struct model_site *site, const char *name,
                            const struct mqtt_message *message) {
    uint32_t controller = model_controller_find(site, name);
    if (controller == MODEL_NONE) {
        serve_drop(daemon, SERVE_DROP_NAME, message->topic, "");
        return;
    }
    gate_hear_controller(turn_gate(daemon->turn), site->index, controller,
                         feed_controller_online(message->payload, message->length),
                         turn_now(daemon->turn));
}

// No canonical topic: the hardware's own, or nobody's.
static void on_live_foreign(struct daemon *daemon, const struct mqtt_message *message) {
    const struct feed_message foreign = {.topic = message->topic,
                                         .payload = message->payload,
                                         .length = message->length,
                                         .retained = message->retained};
    bool ours = feed_topic_is_ours(daemon->model->root, message->topic);
    if (ours &&
        turn_hear_own(daemon->turn, GATE_LIVE, message->topic, message->payload, message->length)) {
        return;
    }
    if (ours || !serve_feeds_hear(daemon, &foreign, FEED_LIVE)) {
        serve_drop(daemon, SERVE_DROP_TOPIC, message->topic, "");
    }
}

static void on_live(struct daemon *daemon, const struct mqtt_message *message) {
    struct feed_topic topic;
    if (!feed_topic_split(daemon->model->root, message->topic, &topic)) {
        on_live_foreign(daemon, message);
        return;
    }
    if (topic.kind == FEED_TOPIC_DAEMON) {
        turn_hear_daemon(daemon->turn, topic.name, message->payload, message->length,
                         message->retained);
        return;
    }
    const struct model_site *site = model_site_find(daemon->model, topic.site);
    if (site == NULL) {
        serve_drop(daemon, SERVE_DROP_SITE, message->topic, "");
    } else if (topic.kind == FEED_TOPIC_SIGNAL) {
        hear_signal(daemon, site, topic.name, message);
    } else if (topic.kind == FEED_TOPIC_CONTROLLER) {
        hear_controller(daemon, site, topic.name, message);
    } else if (topic.kind == FEED_TOPIC_MEASURE) {
        hear_measure(daemon, site, topic.name, message);
    } else {
        serve_drop(daemon, SERVE_DROP_TOPIC, message->topic, "");
    }
}

// --- The durable connection: requests and tag events ---

static void take_tagging(struct daemon *daemon, const struct model_site *site, const char *name,
                         const struct mqtt_message *message) {
    char error[256], badge[MODEL_ID_SIZE];
    struct turn_tagging event = {.site = site->index, .point = model_point_find(site, name)};
    if (event.point == MODEL_NONE) {
        serve_drop(daemon, SERVE_DROP_NAME, message->topic, "");
    } else if (!feed_tagging_read(daemon->model, &daemon->inbound->tape, message->payload,
                                  message->length, badge, &event.tagging, error, sizeof error)) {
        serve_drop(daemon, SERVE_DROP_PAYLOAD, message->topic, error);
    } else if (!turn_submit_tagging(daemon->turn, &event)) {
        turn_fail(daemon->turn); // the broker delivers it again
    }
}

// Until when it is good (mono ms). It says for how long from when the broker sent it, and we may
// have been stopped since: then it is as old as it may be.
static int64_t good_until(struct daemon *daemon, const struct mqtt_message *message) {
    int64_t age = loop_now(daemon->loop).mono_ms - message->after;
    return turn_now(daemon->turn).mono - age + (int64_t)message->expiry_s * 1000;
}

static void take_request(struct daemon *daemon, const struct model_site *site,
                         const struct feed_topic *topic, const struct mqtt_message *message) {
    const struct wire_request_in request = {.site = site->index,
                                            .person = topic->name,
                                            .verb = topic->verb,
                                            .body = message->payload,
                                            .length = message->length,
                                            .expires = message->expires,
                                            .until = good_until(daemon, message),
                                            .response_topic = message->response_topic,
                                            .correlation = message->correlation,
                                            .correlation_length = message->correlation_length};
    if (!turn_submit_request(daemon->turn, &request)) {
        turn_fail(daemon->turn); // the broker delivers it again
    }
}

// A reader's event on a topic of its own is taken as a tag event is. One kept by the broker is only
// counted, by its feed.
static void on_durable_foreign(struct daemon *daemon, const struct mqtt_message *message) {
    const struct feed_message foreign = {.topic = message->topic,
                                         .payload = message->payload,
                                         .length = message->length,
                                         .retained = message->retained};
    if (!serve_feeds_hear(daemon, &foreign, FEED_DURABLE) && !message->retained) {
        serve_drop(daemon, SERVE_DROP_TOPIC, message->topic, ""); // of an earlier feed
    }
}

static void on_durable(struct daemon *daemon, const struct mqtt_message *message) {
    turn_delivered(daemon->turn); // to be acknowledged, also what is not taken
    if (!feed_topic_is_ours(daemon->model->root, message->topic)) {
        on_durable_foreign(daemon, message);
        return;
    }
    if (message->retained) {
        serve_drop(daemon, SERVE_DROP_RETAINED, message->topic,
                   "requests and tagging are never retained");
        return;
    }
    if (turn_hear_own(daemon->turn, GATE_DURABLE, message->topic, message->payload,
                      message->length)) {
        return;
    }
    struct feed_topic topic;
    if (!feed_topic_split(daemon->model->root, message->topic, &topic) ||
        (topic.kind != FEED_TOPIC_TAGGING && topic.kind != FEED_TOPIC_REQUEST)) {
        serve_drop(daemon, SERVE_DROP_TOPIC, message->topic, "");
        return;
    }
    const struct model_site *site = model_site_find(daemon->model, topic.site);
    if (site == NULL) {
        serve_drop(daemon, SERVE_DROP_SITE, message->topic, "");
    } else if (topic.kind == FEED_TOPIC_TAGGING) {
        take_tagging(daemon, site, topic.name, message);
    } else {
        take_request(daemon, site, &topic, message);
    }
}

void serve_inbound_message(struct daemon *daemon, const struct mqtt_message *message) {
    if (message->connection == MQTT_DURABLE) {
        on_durable(daemon, message);
    } else {
        on_live(daemon, message);
    }
    turn_heard(daemon->turn);
}
