// Feeds: how the hardware's own topics and payloads become readings. Checked and laid out by the
// configuration; what they mean is in docs/feeds.md, and what does it is daemon/feed.
#pragma once

#include "model/model.h"

// What a feed's messages are to become.
enum model_feed_to {
    MODEL_FEED_SIGNAL,
    MODEL_FEED_TAG,
    MODEL_FEED_CONTROLLER,
    MODEL_FEED_MEASURE,
    MODEL_FEED_TO_COUNT,
};

// The most states that what a feed is to can have, and how many of them every feed must list: one
// that comes later may be left out, so that configurations of before go on.
#define MODEL_FEED_STATES 2
#define MODEL_FEED_STATES_NEEDED 2

enum model_feed_time { MODEL_FEED_RFC3339, MODEL_FEED_UNIX_S, MODEL_FEED_UNIX_MS };

// Where a value stands in a payload.
struct model_feed_at {
    const char *pointer; // RFC 6901; "" is the whole, and what a payload of text has. NULL: nowhere
    bool outer;          // from the whole message, not from the element of `each`
};

// Texts that stand for other texts.
struct model_feed_map {
    const char **from, **to;
    uint32_t count;
};

// A name that a template may use: a level of the topic, or a value of the payload.
struct model_feed_capture {
    const char *name;
    uint32_t level;          // of the topic; MODEL_NONE: of the payload
    struct model_feed_at at; // of the payload
    bool mapped;             // a text that the map does not have names nothing
    struct model_feed_map map;
};

// One level of the topic.
struct model_feed_level {
    const char *text; // NULL: a capture, any one level
};

// A piece of a template.
struct model_feed_piece {
    const char *text; // NULL: a capture's text
    uint32_t capture; // index
};

struct model_feed {
    const char *feed;  // id
    const char *topic; // as configured
    enum model_feed_to to;
    bool json; // else the whole payload is the value, a text
    struct model_feed_level *levels;
    uint32_t level_count;
    struct model_feed_capture *captures;
    uint32_t capture_count;
    uint32_t site_capture;           // MODEL_NONE: the only site
    struct model_feed_piece *pieces; // of what it names: a sensor, point, controller or measure
    uint32_t piece_count;
    const char
        *each; // pointer of an array, each element of which is a reading; NULL: the message is
    // The list of each state (model_feed_state_name), as a JSON array. NULL of a measure.
    struct model_feed_at state;
    const char *values[MODEL_FEED_STATES];
    struct model_feed_at value; // of a measure: a number, times scale, plus offset
    double scale, offset;
    struct model_feed_at time; // pointer NULL: it has none
    enum model_feed_time time_as;
    struct model_feed_at seq;
    uint64_t modulus; // 0: the counter does not wrap
    struct model_feed_at quality;
    const char *good; // a JSON array
    struct model_feed_at person;
    uint32_t person_capture; // MODEL_NONE: it is at person
    bool person_mapped;      // a badge that the map does not have is an unknown badge
    struct model_feed_map badges;
};

// Names of what feeds are to, as the configuration spells them ("signal", "tag", …).
const char *model_feed_to_name(enum model_feed_to to);
// A state's word by its number: 0 isolated, hung or online; 1 live, lifted or offline. NULL: there
// is none, as of a measure.
const char *model_feed_state_name(enum model_feed_to to, int state);

// Whether the feed can name a thing of this id at this site: the captures of its template can give
// exactly this text.
bool model_feed_names(const struct model_feed *feed, const char *site, const char *text);
// Whether the feed claims it: signals and measures only, which are then not heard elsewhere.
bool model_feed_claims(enum model_feed_to to);
