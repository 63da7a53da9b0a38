// Shared by the files of this folder that map foreign topics.
#pragma once

#include "feed/feed.h"
#include "json/json.h"

// The longest text of a capture, with its NUL.
#define FEED_TEXT_SIZE 256

// One level of the topics of all feeds, as a tree: a message walks down it once.
struct feed_node {
    const char *text; // NULL: any one level
    uint32_t sibling; // index + 1; 0: none
    uint32_t child;   // the same, of the first
    uint32_t feed;    // index + 1 of the first feed whose topic ends here
};

// A feed's value lists, read.
struct feed_lists {
    struct json_tape values[MODEL_FEED_STATES], good;
};

struct feed_set {
    const struct model *model;
    struct feed_node *nodes; // node 0 is the root
    size_t node_count;
    uint32_t *next;    // by feed: index + 1 of the next whose topic ends at the same node
    uint32_t *matches; // scratch: feeds
    size_t match_count;
    struct feed_lists *lists;      // by feed
    char (*texts)[FEED_TEXT_SIZE]; // scratch: by capture of the feed at work
    struct json_tape tape, number; // scratch
    bool scanned, is_json;         // of the message at work
    struct json_error wrong;
};

// One reading at work.
struct feed_work {
    struct feed_set *set;
    const struct model_feed *feed;
    const struct feed_lists *lists;
    const struct feed_message *message;
    const struct feed_callbacks *callbacks;
    const struct json_node *element; // what pointers start from; NULL: text
    struct feed_reading *reading;
    bool badge_missing; // the capture that names the badge has none
    bool badge_foreign; // or one that its map does not have: nobody's, whatever it reads like
};

// --- index.c ---

// Finds the feeds of a topic, in the order configured, in set->matches.
void feed_match(struct feed_set *set, const char *topic, unsigned which);

// --- value.c ---

// Tells a step, if anybody asks.
void feed_step(struct feed_work *work, const char *what, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
// Notes what is wrong, of a reading of which nothing was wrong before. Returns false.
bool feed_wrong(struct feed_work *work, enum feed_outcome outcome, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
// The value at a place; NULL: missing or null.
const struct json_node *feed_node_at(const struct feed_work *work, const struct model_feed_at *at);
// A text, or a whole number as its digits. False: it is neither, or does not fit.
bool feed_text_of(const struct feed_work *work, const struct json_node *node, char *buffer,
                  size_t size);
// What a map has for a text, or NULL.
const char *feed_map_text(const struct model_feed_map *map, const char *text);
// Which of the state's two lists has the value: 0 or 1. -1: said in the reading.
int feed_state_of(struct feed_work *work);
// Whether the hardware vouches for the reading; else it is said in the reading.
bool feed_quality_of(struct feed_work *work);
// The marks that the feed names. False: one is wrong, said in the reading.
bool feed_time_of(struct feed_work *work, bool *has_at, int64_t *at);
bool feed_seq_of(struct feed_work *work, bool *has_seq, uint64_t *seq);
// A measure's number in its unit.
bool feed_number_of(struct feed_work *work, double *value);
