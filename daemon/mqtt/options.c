// The options: checked, copied, and turned into client ids and subscription filters.
#include "mqtt/internal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DEFAULT_KEEPALIVE_S 10
#define DEFAULT_SESSION_S (7 * 24 * 3600)
#define DEFAULT_RECEIVE_MAXIMUM 200
#define DEFAULT_BATCH 500
#define DEFAULT_QUEUE_BYTES ((size_t)48 << 20)

// What is subscribed for each site, below the root.
static const char *const DURABLE_KINDS[] = {"request/+/+", "tagging/+"};
// Controllers first: their kept words come before those of the sensors that hang on them.
static const char *const LIVE_KINDS[] = {"controller/+", "signal/+", "measure/+"};

#define COUNT(array) (sizeof(array) / sizeof(*(array)))

static bool complain(char *error, size_t size, const char *text, const char *about) {
    snprintf(error, size, "%s%s", text, about);
    return false;
}

static int or_default(int value, int otherwise) {
    return value != 0 ? value : otherwise;
}

static void take_numbers(struct mqtt_options *own) {
    own->keepalive_s = or_default(own->keepalive_s, DEFAULT_KEEPALIVE_S);
    own->session_expiry_s = or_default(own->session_expiry_s, DEFAULT_SESSION_S);
    own->receive_maximum = or_default(own->receive_maximum, DEFAULT_RECEIVE_MAXIMUM);
    own->batch = or_default(own->batch, DEFAULT_BATCH);
    own->queue_bytes = own->queue_bytes != 0 ? own->queue_bytes : DEFAULT_QUEUE_BYTES;
}

static bool check(const struct mqtt_options *own, char *error, size_t size) {
    if (own->host == NULL || own->instance == NULL || own->root == NULL) {
        return complain(error, size, "host, instance and root are required", "");
    }
    if (own->port < 1 || own->port > 65535) {
        return complain(error, size, "the broker's port is not 1 to 65535", "");
    }
    if (own->keepalive_s < 5 || own->keepalive_s > 65535 || own->session_expiry_s < 0 ||
        own->receive_maximum < 1 || own->receive_maximum > 65535 || own->batch < 1) {
        return complain(error, size, "a number of the broker's options is out of range", "");
    }
    if ((own->cert_file == NULL) != (own->key_file == NULL)) {
        return complain(error, size, "the broker's cert_file and key_file go together", "");
    }
    if (own->cert_file != NULL && own->ca_file == NULL) {
        return complain(error, size, "the broker's cert_file needs a ca_file", "");
    }
    return true;
}

static bool own_string(const char **place) {
    if (*place == NULL) {
        return true;
    }
    *place = strdup(*place);
    return *place != NULL;
}

// Every string is replaced by a copy, or by NULL if there was no memory for it, so that what is
// there can always be freed.
static bool own_strings(struct mqtt_options *own) {
    const char **const places[] = {&own->host,     &own->username,  &own->password,
                                   &own->ca_file,  &own->cert_file, &own->key_file,
                                   &own->instance, &own->root,      &own->will};
    bool complete = true;
    char *will = own->will != NULL ? malloc(own->will_length + 1) : NULL;
    if (will != NULL) {
        memcpy(will, own->will, own->will_length);
        will[own->will_length] = '\0';
    }
    complete = own->will == NULL || will != NULL;
    own->will = NULL;
    for (size_t i = 0; i < COUNT(places); i++) {
        complete = own_string(places[i]) && complete;
    }
    own->will = will;
    return complete;
}

static bool own_names(struct mqtt *mqtt) {
    const char *instance = mqtt->options.instance;
    static const char *const SUFFIXES[MQTT_CONNECTION_COUNT] = {"durable", "live"};
    for (int i = 0; i < MQTT_CONNECTION_COUNT; i++) {
        if (asprintf(&mqtt->client_id[i], "%s-%s", instance, SUFFIXES[i]) < 0) {
            mqtt->client_id[i] = NULL;
            return false;
        }
    }
    if (asprintf(&mqtt->own_topic, "%s/daemon/%s", mqtt->options.root, instance) < 0) {
        mqtt->own_topic = NULL;
        return false;
    }
    return true;
}

// A list with room for `count` filters that is filled one by one.
static char **list_new(size_t count) {
    return calloc(count + 1, sizeof(char *));
}

static bool add_filter(struct mqtt *mqtt, enum mqtt_connection which, const char *root,
                       const char *site, const char *kind) {
    char *filter = NULL;
    if (asprintf(&filter, "%s/%s%s%s", root, site, *site != '\0' ? "/" : "", kind) < 0) {
        return false;
    }
    mqtt->filters[which][mqtt->filter_count[which]++] = filter;
    return true;
}

static bool add_sites(struct mqtt *mqtt, const struct mqtt_options *given,
                      enum mqtt_connection which, const char *const *kinds, size_t kind_count) {
    static const char *const EVERY[] = {"+"};
    const char *const *sites = given->site_count > 0 ? given->sites : EVERY;
    size_t count = given->site_count > 0 ? given->site_count : 1;
    for (size_t i = 0; i < count * kind_count; i++) {
        if (!add_filter(mqtt, which, mqtt->options.root, sites[i / kind_count],
                        kinds[i % kind_count])) {
            return false;
        }
    }
    return true;
}

static bool add_further(struct mqtt *mqtt, enum mqtt_connection which, const char *const *filters,
                        size_t count) {
    for (size_t i = 0; i < count; i++) {
        char *filter = strdup(filters[i]);
        if (filter == NULL) {
            return false;
        }
        mqtt->filters[which][mqtt->filter_count[which]++] = filter;
    }
    return true;
}

// What a connection says to itself, by which it is proved.
static bool add_pulse(struct mqtt *mqtt, enum mqtt_connection which, const char *name) {
    char kind[2 * 64 + 32];
    snprintf(kind, sizeof kind, "%.64s/pulse/%s", mqtt->options.instance, name);
    return add_filter(mqtt, which, mqtt->options.root, "daemon", kind);
}

static bool make_filters(struct mqtt *mqtt, const struct mqtt_options *given) {
    size_t sites = given->site_count > 0 ? given->site_count : 1;
    mqtt->filters[MQTT_DURABLE] =
        list_new(sites * COUNT(DURABLE_KINDS) + 1 + given->durable_filter_count);
    mqtt->filters[MQTT_LIVE] = list_new(sites * COUNT(LIVE_KINDS) + 2 + given->live_filter_count);
    return mqtt->filters[MQTT_DURABLE] != NULL && mqtt->filters[MQTT_LIVE] != NULL &&
           add_pulse(mqtt, MQTT_DURABLE, "durable") && add_pulse(mqtt, MQTT_LIVE, "live") &&
           add_sites(mqtt, given, MQTT_DURABLE, DURABLE_KINDS, COUNT(DURABLE_KINDS)) &&
           add_further(mqtt, MQTT_DURABLE, given->durable_filters, given->durable_filter_count) &&
           add_filter(mqtt, MQTT_LIVE, mqtt->options.root, "", "daemon/+") &&
           add_sites(mqtt, given, MQTT_LIVE, LIVE_KINDS, COUNT(LIVE_KINDS)) &&
           add_further(mqtt, MQTT_LIVE, given->live_filters, given->live_filter_count);
}

static bool check_filters(const struct mqtt *mqtt, char *error, size_t size) {
    for (int which = 0; which < MQTT_CONNECTION_COUNT; which++) {
        for (size_t i = 0; i < mqtt->filter_count[which]; i++) {
            if (mosquitto_sub_topic_check(mqtt->filters[which][i]) != MOSQ_ERR_SUCCESS) {
                return complain(error, size, "not a topic filter: ", mqtt->filters[which][i]);
            }
        }
    }
    return true;
}

bool mqtt_options_take(struct mqtt *mqtt, const struct mqtt_options *options, char *error,
                       size_t size) {
    struct mqtt_options checked = *options;
    take_numbers(&checked);
    if (!check(&checked, error, size)) {
        return false;
    }
    mqtt->options = checked;
    // Only the derived filters are kept of these.
    mqtt->options.sites = mqtt->options.durable_filters = mqtt->options.live_filters = NULL;
    mqtt->options.site_count = 0;
    mqtt->options.durable_filter_count = mqtt->options.live_filter_count = 0;
    if (!own_strings(&mqtt->options) || !own_names(mqtt) || !make_filters(mqtt, options)) {
        return complain(error, size, "no memory for the broker's options", "");
    }
    return check_filters(mqtt, error, size);
}

static void free_filters(char **filters, size_t count) {
    for (size_t i = 0; i < count; i++) {
        free(filters[i]);
    }
    free(filters);
}

static void free_string(const char *text) {
    free((void *)(uintptr_t)text);
}

void mqtt_options_free(struct mqtt *mqtt) {
    struct mqtt_options *own = &mqtt->options;
    const char *const strings[] = {own->host,     own->username,  own->password,
                                   own->ca_file,  own->cert_file, own->key_file,
                                   own->instance, own->root,      own->will};
    for (size_t i = 0; i < COUNT(strings); i++) {
        free_string(strings[i]);
    }
    for (int which = 0; which < MQTT_CONNECTION_COUNT; which++) {
        free_filters(mqtt->filters[which], mqtt->filter_count[which]);
        free(mqtt->client_id[which]);
    }
    free(mqtt->own_topic);
}
