// The canonical topics of the hardware: their payloads become readings, reader events and
// controller states. Nothing is guessed: what cannot be read says so and makes its sensor unknown.
#pragma once

#include "gate/gate.h"
#include "json/json.h"

// The fixed kinds of topics under the root (contract, section 3).
enum feed_topic_kind {
    FEED_TOPIC_NONE, // wrong levels or ids
    FEED_TOPIC_SIGNAL,
    FEED_TOPIC_TAGGING,
    FEED_TOPIC_CONTROLLER,
    FEED_TOPIC_MEASURE,
    FEED_TOPIC_REQUEST,
    FEED_TOPIC_DAEMON,
};

struct feed_topic {
    enum feed_topic_kind kind;
    char site[MODEL_ID_SIZE]; // "" for daemon
    char name[MODEL_ID_SIZE]; // sensor, point, controller, measure, person or instance
    char verb[MODEL_ID_SIZE]; // of a request; any text, it is judged later
};

// Whether a topic lies under the root: no feed is looked at for it.
bool feed_topic_is_ours(const char *root, const char *topic);
// Splits a topic under the root. False: it is none of ours, or an id in it is none.
bool feed_topic_split(const char *root, const char *topic, struct feed_topic *split);

// {"state":"isolated"|"live","at"?,"seq"?,"quality"?}. An unreadable payload gives readable =
// false. *error then says what is wrong, in one line; it may be NULL.
void feed_signal_read(struct json_tape *tape, const char *payload, size_t length, bool retained,
                      struct gate_reading *reading, char *error, size_t error_size);
// {"value":number,"unit"?,"at"?,"seq"?,"quality"?}. unit is the measure's own; a reading in another
// one, an unreadable one and one of bad quality are bad.
void feed_measure_read(struct json_tape *tape, const char *payload, size_t length, bool retained,
                       const char *unit, struct gate_measure_reading *reading, char *error,
                       size_t error_size);
// {"state":"hung"|"lifted","person","at"?,"seq"?}. badge: what stands for the person, as it is
// listed (feed_badge_list), borrowed by tagging. A time or number that cannot be read makes it
// undated. False: not to be taken at all.
bool feed_tagging_read(const struct model *model, struct json_tape *tape, const char *payload,
                       size_t length, char badge[MODEL_ID_SIZE], struct gate_tagging *tagging,
                       char *error, size_t error_size);
// "online", anything else is offline.
bool feed_controller_online(const char *payload, size_t length);
