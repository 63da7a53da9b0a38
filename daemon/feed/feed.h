// Foreign topics and payloads become readings, as the configured feeds say (docs/feeds.md).
//
// Pure: no I/O and no clock. Nothing is guessed: what cannot be read says why, and makes the sensor
// or measure that it speaks of unknown, the controller offline. One message may match several feeds
// and hold several readings; each comes out by itself.
#pragma once

#include "gate/gate.h"
#include "model/feed.h"

#define FEED_WHY_SIZE 240

// What became of one reading. Each is a label of the metrics.
enum feed_outcome {
    FEED_MAPPED,
    FEED_BAD_QUALITY,   // the hardware itself does not vouch for it, or says nothing about it
    FEED_UNREADABLE,    // the payload is not what the feed says it is
    FEED_NO_LIST,       // `each` finds no list, or an empty one
    FEED_CAPTURE,       // a capture is missing, too long, or not in its map
    FEED_ANOTHERS,      // of a site that is not configured here
    FEED_UNCONFIGURED,  // no such sensor, point, controller or measure
    FEED_MISSING,       // the value is not there
    FEED_UNKNOWN_VALUE, // the value is on neither list, or no number
    FEED_TIME_WRONG,    // no time, or not written as the feed says
    FEED_SEQ_WRONG,     // no counter's value
    FEED_PERSON_WRONG,  // no badge
    FEED_RETAINED,      // kept by the broker, and without a time: no evidence
    FEED_OUTCOME_COUNT,
};
// As the metrics and the tool spell it ("mapped", "unknown-value", …).
const char *feed_outcome_name(enum feed_outcome outcome);

struct feed_reading {
    uint32_t feed; // index in the model
    enum model_feed_to to;
    enum feed_outcome outcome;
    uint32_t site;  // index; MODEL_NONE: not known
    uint32_t index; // of the sensor, point, controller or measure; MODEL_NONE: not known
    // Whether the gate is to hear it: everything that names something of ours, except a tag's event
    // that says nothing, and what the broker kept without a time.
    bool take;
    struct gate_reading signal;          // to a signal
    struct gate_measure_reading measure; // to a measure
    struct gate_tagging tag;             // to a tag; its badge lies in badge
    char badge[MODEL_ID_SIZE];
    bool online;             // to a controller
    char why[FEED_WHY_SIZE]; // one line; "" if it was mapped
};

// The state that the reading gives, as the configuration spells it; NULL: it gives none, as a
// measure, whose value stands in the reading.
const char *feed_state_text(const struct feed_reading *reading);

struct feed_message {
    const char *topic;
    const char *payload; // followed by a NUL that is not counted
    size_t length;       // [bytes]
    bool retained;       // kept by the broker, and sent because of a subscription
};

// Which feeds look at a message: tags come by the durable connection, all else by the live one.
enum { FEED_LIVE = 1, FEED_DURABLE = 2 };

struct feed_callbacks {
    void (*reading)(void *user, const struct feed_reading *reading); // borrowed until it returns
    // Each step of the mapping in words; NULL: nobody asks, and nothing is made up for it.
    void (*step)(void *user, uint32_t feed, const char *what, const char *text);
    void *user;
};

struct feed_set;

// The model's feeds, made ready. The model must outlive it. NULL: out of memory.
struct feed_set *feed_set_new(const struct model *model);
void feed_set_free(struct feed_set *set); // NULL is fine

// Maps a message by every feed of that kind whose topic it matches, in the order configured.
// Returns how many those were; 0: the topic is nobody's. Not to be called from a callback of its
// own.
size_t feed_map(struct feed_set *set, const struct feed_message *message, unsigned which,
                const struct feed_callbacks *callbacks);

// The feed whose topic is nearest to one that matches none, and where it misses, in words.
// MODEL_NONE: there are no feeds.
uint32_t feed_nearest(const struct feed_set *set, const char *topic, char *why, size_t size);

// The subscriptions that feeds of a kind need: each filter once, captures as "+". Captures of the
// site are spelled out as long as there are few. The list is one allocation, for the caller to
// free(); NULL: out of memory.
const char **feed_filters(const struct model *model, unsigned which, size_t *count);
