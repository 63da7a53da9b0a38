// The link to the broker: what comes by it goes to the turn, what the turn publishes goes by it.
#include "serve/daemon.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// --- What the turn publishes ---

void serve_link_read(void *user) {
    struct daemon *daemon = user;
    if (daemon->mqtt != NULL) {
        mqtt_read(daemon->mqtt);
    }
}

bool serve_link_is_up(void *user) {
    const struct daemon *daemon = user;
    return daemon->mqtt != NULL && mqtt_up(daemon->mqtt, MQTT_LIVE);
}

static const enum mqtt_connection connections[] = {
    [GATE_DURABLE] = MQTT_DURABLE, [GATE_LIVE] = MQTT_LIVE};

static enum gate_connection connection_of(enum mqtt_connection connection) {
    return connection == MQTT_LIVE ? GATE_LIVE : GATE_DURABLE;
}

bool serve_link_say(void *user, enum gate_connection which, const char *topic, const char *payload,
                    size_t length, bool kept) {
    struct daemon *daemon = user;
    return daemon->mqtt != NULL &&
           mqtt_say(daemon->mqtt, connections[which], topic, payload, length, kept ? 1 : 0);
}

bool serve_link_publish(void *user, const struct turn_publication *publication) {
    struct daemon *daemon = user;
    const struct mqtt_publication message = {.topic = publication->topic,
                                             .payload = publication->payload,
                                             .length = publication->length,
                                             .qos = 1,
                                             .retain = publication->retain,
                                             .urgent = publication->urgent,
                                             .content_type = publication->content_type,
                                             .correlation = publication->correlation,
                                             .correlation_length = publication->correlation_length,
                                             .number = publication->number};
    return daemon->mqtt != NULL && mqtt_publish(daemon->mqtt, &message);
}

size_t serve_link_room(void *user) {
    const struct daemon *daemon = user;
    return daemon->mqtt != NULL ? mqtt_room(daemon->mqtt) : 0;
}

uint64_t serve_link_oldest(void *user) {
    const struct daemon *daemon = user;
    return daemon->mqtt != NULL ? mqtt_oldest(daemon->mqtt) : 0;
}

void serve_link_flush(void *user) {
    struct daemon *daemon = user;
    mqtt_flush(daemon->mqtt);
}

void serve_link_acknowledge(void *user) {
    struct daemon *daemon = user;
    mqtt_acknowledge(daemon->mqtt);
}

char *serve_offline_text(struct daemon *daemon, size_t *length) {
    struct json_out text = {0};
    if (!turn_write_self(daemon->turn, false, &text)) {
        json_out_free(&text);
        return NULL;
    }
    *length = text.length;
    char *copy = strndup(text.data, text.length);
    json_out_free(&text);
    return copy;
}

// --- What the broker keeps ---

static void on_retained(void *user, const struct mqtt_message *message) {
    struct daemon *daemon = user;
    if (message->length > 0) {
        turn_retained(daemon->turn, message->topic, message->payload, message->length);
    }
}

static void on_survey_end(void *user, bool complete) {
    struct daemon *daemon = user;
    turn_surveyed(daemon->turn, complete);
}

// Alarms first: what they tell to have been stopped or broken is to hold again before anything else
// is said under their names.
bool serve_link_survey(void *user) {
    static const char *const kinds[] = {"alarm", "job", "position", "point"};
    struct daemon *daemon = user;
    size_t sites = daemon->model->site_count, count = sites * 4;
    char **filters = calloc(count + 1, sizeof *filters);
    bool whole = filters != NULL;
    for (size_t i = 0; whole && i < count; i++) {
        whole = asprintf(&filters[i], "%s/%s/%s/+", daemon->model->root,
                         daemon->model->sites[i % sites].site, kinds[i / sites]) >= 0;
    }
    bool begun = whole && mqtt_survey(daemon->mqtt, (const char *const *)filters, count,
                                      on_retained, on_survey_end, daemon);
    for (size_t i = 0; filters != NULL && i < count; i++) {
        free(filters[i]);
    }
    free(filters);
    return begun;
}

// --- What comes ---

static void on_message(void *user, const struct mqtt_message *message) {
    serve_inbound_message(user, message);
}

static void on_subscribe(void *user, enum mqtt_connection connection) {
    struct daemon *daemon = user;
    if (connection == MQTT_LIVE) {
        turn_subscribed(daemon->turn);
    }
}

static void on_link(void *user, enum mqtt_connection connection, bool up, bool resumed) {
    struct daemon *daemon = user;
    serve_log_info("link", "connection=%s %s%s", connection == MQTT_LIVE ? "live" : "durable",
                   up ? "up" : "down",
                   connection == MQTT_DURABLE && up && !resumed ? " new session" : "");
    turn_connection(daemon->turn, connection_of(connection), up, resumed);
}

static void on_batch_end(void *user, enum mqtt_connection connection) {
    struct daemon *daemon = user;
    turn_read(daemon->turn, connection_of(connection));
}

static void on_trouble(void *user, enum mqtt_connection connection, enum mqtt_trouble trouble,
                       const char *about, const char *text) {
    struct daemon *daemon = user;
    uint64_t left_out;
    if (trouble == MQTT_TROUBLE_SUBSCRIBE) {
        turn_denied(daemon->turn, connection_of(connection), about);
    }
    if (serve_log_allowed(&daemon->trouble_limit, loop_now(daemon->loop).mono_ms, &left_out)) {
        serve_log_warn("link", "connection=%s about=%s: %s left_out=%llu",
                       connection == MQTT_LIVE ? "live" : "durable", about, text,
                       (unsigned long long)left_out);
    }
}

// --- The beginning ---

bool serve_link_new(struct daemon *daemon) {
    const struct model *model = daemon->model;
    char error[256];
    size_t length = 0;
    char *will = serve_offline_text(daemon, &length);
    const char **sites = calloc(model->site_count + 1, sizeof *sites);
    size_t durable_count = 0, live_count = 0;
    const char **durable = feed_filters(model, FEED_DURABLE, &durable_count);
    const char **live = feed_filters(model, FEED_LIVE, &live_count);
    bool memory = will != NULL && sites != NULL && durable != NULL && live != NULL;
    for (size_t s = 0; sites != NULL && s < model->site_count; s++) {
        sites[s] = model->sites[s].site;
    }
    const struct mqtt_options options = {.host = model->broker.host,
                                         .port = model->broker.port,
                                         .username = model->broker.username,
                                         .password = model->broker.password,
                                         .ca_file = model->broker.ca_file,
                                         .cert_file = model->broker.cert_file,
                                         .key_file = model->broker.key_file,
                                         .instance = model->instance,
                                         .root = model->root,
                                         .sites = sites,
                                         .site_count = model->site_count,
                                         .durable_filters = durable,
                                         .durable_filter_count = durable_count,
                                         .live_filters = live,
                                         .live_filter_count = live_count,
                                         .will = will,
                                         .will_length = length};
    const struct mqtt_callbacks callbacks = {.on_message = on_message,
                                             .on_batch_end = on_batch_end,
                                             .on_subscribe = on_subscribe,
                                             .on_link = on_link,
                                             .on_trouble = on_trouble};
    if (memory) {
        daemon->mqtt = mqtt_new(daemon->loop, &options, &callbacks, daemon, error, sizeof error);
    }
    if (daemon->mqtt == NULL) {
        serve_log_error("link", "%s", memory ? error : "out of memory");
    }
    free(will);
    free(sites);
    free(durable);
    free(live);
    return daemon->mqtt != NULL;
}
