// A link under test and what it called back, and a plain client ("probe") on the same broker.
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "broker.h"
#include "mqtt/mqtt.h"

// A message that was received, copied.
struct seen {
    enum mqtt_connection connection;
    char topic[128], payload[256];
    int qos;
    bool retained, expires;
    uint32_t expiry_s;
    char response_topic[128];
    char correlation[32];
    size_t correlation_length;
};

#define RIG_SEEN 4096

struct rig {
    struct broker *broker;
    struct loop *loop;
    struct mqtt *mqtt;
    struct seen *seen; // the first RIG_SEEN
    size_t seen_count;
    size_t batch, largest_batch, batches;
    size_t ups[MQTT_CONNECTION_COUNT], downs[MQTT_CONNECTION_COUNT];
    size_t subscribes[MQTT_CONNECTION_COUNT];  // calls of on_subscribe
    size_t seen_before[MQTT_CONNECTION_COUNT]; // seen when the last of them came
    bool resumed;
    size_t troubles;
    enum mqtt_trouble trouble; // the last one
    size_t troubles_of[MQTT_TROUBLE_OVERFLOW + 1];
    char about[MQTT_TROUBLE_OVERFLOW + 1][128]; // the last of each
    char text[200];                             // of the last one
    size_t room;                                // calls of on_room
    bool acknowledge;                           // what on_batch_end does
    // The probe.
    struct mosquitto *probe;
    struct seen *probed;
    size_t probed_count;
    bool probe_subscribed;
    size_t confirmed; // of what the probe published
};

// Options for the broker of the rig, to be changed before rig_link.
struct mqtt_options rig_options(const struct broker *broker);

void rig_open(struct rig *rig, struct broker *broker);
void rig_close(struct rig *rig);

// Makes and starts a link; waits until it is up if `wait`.
void rig_link(struct rig *rig, const struct mqtt_options *options, bool wait);

// Cuts the link without a good-bye, as if the program had been killed.
void rig_cut(struct rig *rig);

// Runs the loop and the probe until `*count` reaches `target`, or fails the test after `ms`.
void rig_wait(struct rig *rig, const size_t *count, size_t target, int ms);

// Runs them for some time.
void rig_pass(struct rig *rig, int ms);

// Connects the probe, and subscribes it to a filter.
void rig_probe(struct rig *rig, const char *filter);

// Publishes from the probe at QoS 1. The second form carries a response topic and correlation data.
void rig_publish(struct rig *rig, const char *topic, const char *payload, bool retain);
void rig_ask(struct rig *rig, const char *topic, const char *payload, const char *response_topic,
             const void *correlation, size_t length);

// The same of one that is good for so many seconds.
void rig_publish_for(struct rig *rig, const char *topic, const char *payload, uint32_t expiry_s);

// The newest message seen on a topic by the link, or by the probe; NULL if none.
const struct seen *rig_find(const struct rig *rig, const char *topic);
const struct seen *rig_probed(const struct rig *rig, const char *topic);

// Publishes by the link; QoS 1.
bool rig_send(struct rig *rig, const char *topic, const char *payload, bool retain, bool urgent);
