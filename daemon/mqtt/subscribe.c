// Subscribing, a packet of filters at a time; the link is up when the last one is answered.
#include "mqtt/internal.h"

#include "base/clock.h"

#include <mqtt_protocol.h>

static void link_is_up(struct link *link) {
    struct mqtt *mqtt = link->mqtt;
    link->state = LINK_UP;
    link->up_since = base_clock_mono_ms();
    loop_timer_once(link->timer, MQTT_TICK_MS);
    mqtt->counters.connected[link->which]++;
    if (mqtt->callbacks.on_link != NULL) {
        mqtt->callbacks.on_link(mqtt->user, link->which, true, link->resumed);
    }
}

static void subscribe_next(struct link *link) {
    size_t left = link->filter_count - link->subscribed;
    if (left == 0) {
        link_is_up(link);
        return;
    }
    // A session that is resumed does not fetch retained requests a second time: they are ignored
    // anyway, but counted. On the live connection "retained" tells what the broker sends because we
    // subscribed from what comes by itself, however that was published.
    int options = link->which == MQTT_DURABLE
                      ? MQTT_SUB_OPT_RETAIN_AS_PUBLISHED | MQTT_SUB_OPT_SEND_RETAIN_NEW
                      : MQTT_SUB_OPT_SEND_RETAIN_ALWAYS;
    link->asked = left < MQTT_CHUNK ? left : MQTT_CHUNK;
    int code = mosquitto_subscribe_multiple(
        link->client, &link->subscribe_mid, (int)link->asked,
        (char *const *)(uintptr_t)(link->filters + link->subscribed), 1, options, NULL);
    if (code != MOSQ_ERR_SUCCESS) {
        mqtt_link_break(link, MQTT_TROUBLE_CONNECT, "cannot subscribe: %s",
                        mosquitto_strerror(code));
    }
}

void mqtt_subscribe_begin(struct link *link) {
    struct mqtt *mqtt = link->mqtt;
    link->state = LINK_SUBSCRIBING;
    link->filters = (const char *const *)mqtt->filters[link->which];
    link->filter_count = mqtt->filter_count[link->which];
    link->subscribed = 0;
    loop_timer_once(link->timer, MQTT_SUBSCRIBE_DEADLINE_MS);
    if (mqtt->callbacks.on_subscribe != NULL) {
        mqtt->callbacks.on_subscribe(mqtt->user, link->which);
    }
    subscribe_next(link);
}

void mqtt_subscribe_answered(struct link *link) {
    const struct answers *answers = &link->answers;
    if (answers->subscribe_mid != link->subscribe_mid) {
        return;
    }
    for (size_t i = 0; i < link->asked; i++) {
        int granted = (int)i < answers->granted_count ? answers->granted[i] : MQTT_RC_UNSPECIFIED;
        if (granted >= MQTT_RC_UNSPECIFIED) {
            mqtt_link_trouble(link, MQTT_TROUBLE_SUBSCRIBE, link->filters[link->subscribed + i],
                              mosquitto_reason_string(granted));
        }
    }
    link->subscribed += link->asked;
    loop_timer_once(link->timer, MQTT_SUBSCRIBE_DEADLINE_MS);
    subscribe_next(link);
}
