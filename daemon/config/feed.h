// Shared by the files that read feeds.
#pragma once

#include "config/field.h"
#include "model/feed.h"

#define CONFIG_POINTER_MAX 250
#define CONFIG_CAPTURE_SIZE 64

// Reads feeds, after the sites.
void config_feeds_load(struct config *config, const struct config_paths *paths);

// A feed while it is read.
struct config_feed {
    struct config_file *file;
    const struct json_node *node;
    struct model_feed *model;
    bool *used;        // by capture: the template uses it
    bool topic_ok;     // so that what it captures is known
    const char *whats; // "sensor", "point", …
};

// --- feed_capture.c ---

// Whether a capture's name may hold it.
bool config_capture_char(char c);
// The name of a capture "{name}" at text, copied. Its length with the braces; 0: it is none.
size_t config_capture_at(const char *text, char name[CONFIG_CAPTURE_SIZE]);
// The capture of a name. MODEL_NONE: there is none.
uint32_t config_capture_find(const struct model_feed *feed, const char *name);
// A new capture behind the others; the array has room for it.
struct model_feed_capture *config_capture_add(struct config_feed *feed, const char *name);
// The capture of a name, marked as used. MODEL_NONE: there is none.
uint32_t config_feed_capture(struct config_feed *feed, const char *name);
// Lays out the template that names what the feed speaks of. False: reported.
bool config_feed_template(struct config_feed *feed, const struct config_value *value);
// Warns of captures that no template uses.
void config_feed_unused(struct config_feed *feed, const struct config_value *topic,
                        const struct config_value *captures);

// --- feed_topic.c ---

// Lays out the topic's levels and captures; captures is the object that may hold more, or not ok.
void config_feed_topic(struct config_feed *feed, const struct config_value *topic,
                       const struct config_value *captures);

// --- feed_value.c ---

// Takes the fields "at" and "from" of an object. `needed`: a payload of JSON must have "at".
void config_feed_at(struct config_feed *feed, const struct json_node *object, const char *what,
                    const struct config_value *at, const struct config_value *from, bool needed,
                    struct model_feed_at *to);
// Whether a text is an RFC 6901 pointer; reports it if not.
bool config_feed_pointer(struct config_feed *feed, const struct config_value *value);
// Texts for texts; `people`: what they stand for are persons.
void config_feed_map(struct config_feed *feed, const struct json_node *map, bool people,
                     struct model_feed_map *to);
// The parts of a feed, each an object.
void config_feed_state(struct config_feed *feed, const struct json_node *object);
void config_feed_value(struct config_feed *feed, const struct json_node *object);
void config_feed_time(struct config_feed *feed, const struct json_node *object);
void config_feed_seq(struct config_feed *feed, const struct json_node *object);
void config_feed_quality(struct config_feed *feed, const struct json_node *object);
void config_feed_person(struct config_feed *feed, const struct json_node *object);

// --- feed_claim.c: what a feed's template can name ---

// A zeroed feed at the end of the model's. The pointers to those before it end.
struct model_feed *config_feed_new(struct config *config);
// Marks the sensors or measures, of every site, that the feed (the last of the model) can name;
// reports at node those that another feed claims already, and a feed that can name nothing.
void config_feed_claim(struct config_file *file, const struct json_node *node,
                       const struct model_feed *feed);
