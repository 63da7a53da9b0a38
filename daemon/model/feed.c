// What a feed is to, and what its template can name.
#include "model/feed.h"

#include <string.h>

// What a feed is to, and the states that its hardware can be in. Who reads a configuration, a
// payload or a message of the tool takes the words from here.
static const struct {
    const char *name;
    const char *states[MODEL_FEED_STATES];
} targets[MODEL_FEED_TO_COUNT] = {
    [MODEL_FEED_SIGNAL] = {"signal", {"isolated", "live"}},
    [MODEL_FEED_TAG] = {"tag", {"hung", "lifted"}},
    [MODEL_FEED_CONTROLLER] = {"controller", {"online", "offline"}},
    [MODEL_FEED_MEASURE] = {"measure", {NULL}}, // it has a value instead
};

const char *model_feed_to_name(enum model_feed_to to) {
    return targets[to].name;
}

const char *model_feed_state_name(enum model_feed_to to, int state) {
    return state >= 0 && state < MODEL_FEED_STATES ? targets[to].states[state] : NULL;
}

bool model_feed_claims(enum model_feed_to to) {
    return to == MODEL_FEED_SIGNAL || to == MODEL_FEED_MEASURE;
}

// Which places of the text the pieces so far can end at; a bit for each, the end included. An id
// has at most 64 bytes.
struct reach {
    const char *text;
    size_t length;
    bool at[MODEL_ID_SIZE];
};

static void step_text(const struct reach *from, struct reach *to, const char *text) {
    size_t length = strlen(text);
    for (size_t i = 0; i + length <= from->length; i++) {
        if (from->at[i] && memcmp(from->text + i, text, length) == 0) {
            to->at[i + length] = true;
        }
    }
}

// Any text of at least one byte.
static void step_any(const struct reach *from, struct reach *to) {
    bool before = false;
    for (size_t i = 0; i <= from->length; i++) {
        to->at[i] = before;
        before |= from->at[i];
    }
}

static bool map_gives(const struct model_feed_map *map, const char *text) {
    for (uint32_t i = 0; i < map->count; i++) {
        if (strcmp(map->to[i], text) == 0) {
            return true;
        }
    }
    return false;
}

static void step(const struct model_feed *feed, const struct model_feed_piece *piece,
                 const char *site, const struct reach *from, struct reach *to) {
    if (piece->text != NULL) {
        step_text(from, to, piece->text);
        return;
    }
    const struct model_feed_capture *capture = &feed->captures[piece->capture];
    if (piece->capture == feed->site_capture) {
        step_text(from, to, site);
    } else if (!capture->mapped) {
        step_any(from, to);
    }
    for (uint32_t i = 0; piece->capture != feed->site_capture && i < capture->map.count; i++) {
        step_text(from, to, capture->map.to[i]);
    }
}

bool model_feed_names(const struct model_feed *feed, const char *site, const char *text) {
    struct reach reach = {.text = text, .length = strlen(text), .at = {true}};
    if (reach.length >= MODEL_ID_SIZE) {
        return false;
    }
    if (feed->site_capture != MODEL_NONE && feed->captures[feed->site_capture].mapped &&
        !map_gives(&feed->captures[feed->site_capture].map, site)) {
        return false;
    }
    for (uint32_t i = 0; i < feed->piece_count; i++) {
        struct reach next = {.text = text, .length = reach.length};
        step(feed, &feed->pieces[i], site, &reach, &next);
        reach = next;
    }
    return reach.at[reach.length];
}
