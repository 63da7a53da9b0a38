// The feeds' topics as one tree, so that a message finds its feeds by walking its own levels.
#include "feed/internal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// Captures of the site are spelled out in subscriptions for at most so many sites.
#define SITES_SPELLED 64

const char *feed_outcome_name(enum feed_outcome outcome) {
    static const char *const names[FEED_OUTCOME_COUNT] = {
        [FEED_MAPPED] = "mapped",
        [FEED_BAD_QUALITY] = "bad-quality",
        [FEED_UNREADABLE] = "unreadable",
        [FEED_NO_LIST] = "no-list",
        [FEED_CAPTURE] = "capture",
        [FEED_ANOTHERS] = "anothers-site",
        [FEED_UNCONFIGURED] = "not-configured",
        [FEED_MISSING] = "missing",
        [FEED_UNKNOWN_VALUE] = "unknown-value",
        [FEED_TIME_WRONG] = "time",
        [FEED_SEQ_WRONG] = "seq",
        [FEED_PERSON_WRONG] = "person",
        [FEED_RETAINED] = "retained",
    };
    return names[outcome];
}

// Which connection brings a feed's messages.
static unsigned which_of(const struct model_feed *feed) {
    return feed->to == MODEL_FEED_TAG ? FEED_DURABLE : FEED_LIVE;
}

// --- Making ---

static bool same_level(const char *a, const char *b) {
    return a == NULL || b == NULL ? a == b : strcmp(a, b) == 0;
}

// The child of a node for a level, made if there is none. There is room for it.
static uint32_t child_of(struct feed_set *set, uint32_t node, const char *text) {
    uint32_t *link = &set->nodes[node].child;
    while (*link != 0) {
        if (same_level(set->nodes[*link - 1].text, text)) {
            return *link - 1;
        }
        link = &set->nodes[*link - 1].sibling;
    }
    set->nodes[set->node_count].text = text;
    *link = (uint32_t)++set->node_count;
    return *link - 1;
}

static void plant(struct feed_set *set, uint32_t index) {
    const struct model_feed *feed = &set->model->feeds[index];
    uint32_t node = 0;
    for (uint32_t i = 0; i < feed->level_count; i++) {
        node = child_of(set, node, feed->levels[i].text);
    }
    set->next[index] = set->nodes[node].feed;
    set->nodes[node].feed = index + 1;
}

static bool read_list(struct json_tape *tape, const char *json) {
    return json == NULL || json_scan(tape, json, strlen(json), &json_config_limits, NULL);
}

static bool read_lists(struct feed_set *set, uint32_t index) {
    const struct model_feed *feed = &set->model->feeds[index];
    struct feed_lists *lists = &set->lists[index];
    for (int state = 0; state < MODEL_FEED_STATES; state++) {
        if (!read_list(&lists->values[state], feed->values[state])) {
            return false;
        }
    }
    return read_list(&lists->good, feed->good);
}

struct feed_set *feed_set_new(const struct model *model) {
    struct feed_set *set = calloc(1, sizeof *set);
    size_t levels = 1, captures = 1, count = model->feed_count;
    if (set == NULL) {
        return NULL;
    }
    for (size_t i = 0; i < count; i++) {
        levels += model->feeds[i].level_count;
        captures =
            model->feeds[i].capture_count > captures ? model->feeds[i].capture_count : captures;
    }
    set->model = model;
    set->nodes = calloc(levels, sizeof *set->nodes);
    set->next = calloc(count + 1, sizeof *set->next);
    set->matches = calloc(count + 1, sizeof *set->matches);
    set->lists = calloc(count + 1, sizeof *set->lists);
    set->texts = calloc(captures, sizeof *set->texts);
    bool good = set->nodes != NULL && set->next != NULL && set->matches != NULL &&
                set->lists != NULL && set->texts != NULL;
    set->node_count = 1;
    for (uint32_t i = 0; good && i < count; i++) {
        plant(set, i);
        good = read_lists(set, i);
    }
    if (!good) {
        feed_set_free(set);
        return NULL;
    }
    return set;
}

void feed_set_free(struct feed_set *set) {
    if (set == NULL) {
        return;
    }
    for (size_t i = 0; set->lists != NULL && i < set->model->feed_count; i++) {
        for (int state = 0; state < MODEL_FEED_STATES; state++) {
            json_tape_free(&set->lists[i].values[state]);
        }
        json_tape_free(&set->lists[i].good);
    }
    json_tape_free(&set->tape);
    json_tape_free(&set->number);
    free(set->nodes);
    free(set->next);
    free(set->matches);
    free(set->lists);
    free(set->texts);
    free(set);
}

// --- Matching ---

// Keeps the matches in the order configured.
static void take_match(struct feed_set *set, uint32_t index) {
    size_t at = set->match_count++;
    for (; at > 0 && set->matches[at - 1] > index; at--) {
        set->matches[at] = set->matches[at - 1];
    }
    set->matches[at] = index;
}

static void take_matches(struct feed_set *set, uint32_t feed, unsigned which) {
    for (; feed != 0; feed = set->next[feed - 1]) {
        if ((which_of(&set->model->feeds[feed - 1]) & which) != 0) {
            take_match(set, feed - 1);
        }
    }
}

// Walks down from a node; as deep as the deepest topic, which the configuration bounds.
static void walk(struct feed_set *set, uint32_t node, const char *rest, unsigned which) {
    size_t length = strcspn(rest, "/");
    for (uint32_t child = set->nodes[node].child; child != 0;
         child = set->nodes[child - 1].sibling) {
        const char *text = set->nodes[child - 1].text;
        if (text != NULL && (strncmp(text, rest, length) != 0 || text[length] != '\0')) {
            continue;
        }
        if (rest[length] == '\0') {
            take_matches(set, set->nodes[child - 1].feed, which);
        } else {
            walk(set, child - 1, rest + length + 1, which);
        }
    }
}

void feed_match(struct feed_set *set, const char *topic, unsigned which) {
    set->match_count = 0;
    walk(set, 0, topic, which);
}

// --- Missing ---

struct miss {
    int score;
    uint32_t level;   // the first that does not fit; MODEL_NONE: all that are on both sides do
    uint32_t levels;  // of the topic
    const char *text; // of the topic at that level
    size_t length;
};

static struct miss miss_of(const struct model_feed *feed, const char *topic) {
    struct miss miss = {.level = MODEL_NONE};
    for (const char *rest = topic;; miss.levels++) {
        size_t length = strcspn(rest, "/");
        if (miss.levels < feed->level_count) {
            const char *text = feed->levels[miss.levels].text;
            bool fits = text == NULL || (strncmp(text, rest, length) == 0 && text[length] == '\0');
            miss.score += fits ? text != NULL ? 3 : 1 : 0;
            if (!fits && miss.level == MODEL_NONE) {
                miss.level = miss.levels;
                miss.text = rest;
                miss.length = length;
            }
        }
        if (rest[length] == '\0') {
            break;
        }
        rest += length + 1;
    }
    miss.levels++;
    miss.score -= 2 * abs((int)miss.levels - (int)feed->level_count);
    return miss;
}

uint32_t feed_nearest(const struct feed_set *set, const char *topic, char *why, size_t size) {
    uint32_t nearest = MODEL_NONE;
    struct miss best = {0};
    for (uint32_t i = 0; i < set->model->feed_count; i++) {
        struct miss miss = miss_of(&set->model->feeds[i], topic);
        if (nearest == MODEL_NONE || miss.score > best.score) {
            nearest = i;
            best = miss;
        }
    }
    if (nearest == MODEL_NONE) {
        snprintf(why, size, "no feed is configured");
        return nearest;
    }
    const struct model_feed *feed = &set->model->feeds[nearest];
    if (best.levels != feed->level_count) {
        snprintf(why, size, "it has %u level%s; the feed's topic %.120s has %u", best.levels,
                 best.levels == 1 ? "" : "s", feed->topic, feed->level_count);
    } else if (best.level != MODEL_NONE) {
        snprintf(why, size, "level %u is \"%.*s\"; the feed's topic %.120s has \"%.60s\"",
                 best.level + 1, (int)(best.length < 60 ? best.length : 60), best.text, feed->topic,
                 feed->levels[best.level].text);
    } else {
        snprintf(why, size, "the feed's topic %.120s matches it", feed->topic);
    }
    return nearest;
}

// --- Subscriptions ---

static size_t filter_write(const struct model_feed *feed, const char *site, char *buffer,
                           size_t size) {
    size_t used = 0;
    for (uint32_t i = 0; i < feed->level_count; i++) {
        bool is_site = feed->site_capture != MODEL_NONE &&
                       feed->captures[feed->site_capture].level == i &&
                       !feed->captures[feed->site_capture].mapped;
        const char *text = feed->levels[i].text != NULL ? feed->levels[i].text
                           : is_site && site != NULL    ? site
                                                        : "+";
        int wrote = snprintf(buffer != NULL ? buffer + used : NULL,
                             buffer != NULL ? size - used : 0, "%s%s", i > 0 ? "/" : "", text);
        used += wrote > 0 ? (size_t)wrote : 0;
    }
    return used;
}

struct filters {
    const char **list;
    size_t count, text; // bytes of texts
    char *next;         // where the next text goes; NULL: only counted
    size_t room;        // behind it
};

static void add_filter(struct filters *filters, const struct model_feed *feed, const char *site) {
    size_t length = filter_write(feed, site, filters->next, filters->room);
    if (filters->next == NULL) {
        filters->count++;
        filters->text += length + 1;
        return;
    }
    for (size_t i = 0; i < filters->count; i++) {
        if (strcmp(filters->list[i], filters->next) == 0) {
            return;
        }
    }
    filters->list[filters->count++] = filters->next;
    filters->next += length + 1;
    filters->room -= length + 1;
}

static void each_filter(struct filters *filters, const struct model *model, unsigned which) {
    bool spelled = model->site_count <= SITES_SPELLED;
    for (size_t i = 0; i < model->feed_count; i++) {
        const struct model_feed *feed = &model->feeds[i];
        bool by_site = spelled && feed->site_capture != MODEL_NONE &&
                       feed->captures[feed->site_capture].level != MODEL_NONE;
        for (size_t s = 0; s < (by_site ? model->site_count : 1); s++) {
            if ((which_of(feed) & which) != 0) {
                add_filter(filters, feed, by_site ? model->sites[s].site : NULL);
            }
        }
    }
}

const char **feed_filters(const struct model *model, unsigned which, size_t *count) {
    struct filters filters = {0};
    each_filter(&filters, model, which);
    size_t list = (filters.count + 1) * sizeof *filters.list;
    filters.list = malloc(list + filters.text + 1);
    if (filters.list == NULL) {
        return NULL;
    }
    filters.next = (char *)filters.list + list;
    filters.room = filters.text + 1;
    filters.count = 0;
    each_filter(&filters, model, which);
    *count = filters.count;
    return filters.list;
}
