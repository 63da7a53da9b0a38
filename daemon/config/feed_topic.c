// Feeds: the topic's levels, and what they and the payload capture.
#include "config/feed.h"

#include <string.h>

// One level of a topic: all of it literal, or all of it a capture.
static bool topic_level(struct config_feed *feed, const struct json_node *node, const char *level,
                        size_t length) {
    struct model_feed *model = feed->model;
    char name[CONFIG_CAPTURE_SIZE];
    if (length == 0) {
        config_error(feed->file, node, "has an empty level; leave out the extra \"/\"");
        return false;
    }
    if (memchr(level, '{', length) == NULL && memchr(level, '}', length) == NULL) {
        const char *text = model_text(feed->file->config->model, level, length);
        if (text == NULL) {
            config_no_memory(feed->file->config);
        }
        model->levels[model->level_count++].text = text;
        return true;
    }
    if (config_capture_at(level, name) != length) {
        config_error(feed->file, node,
                     "a capture is one whole level of the topic, like \"plant/{site}/status\"");
        return false;
    }
    if (config_capture_find(model, name) != MODEL_NONE) {
        config_error(feed->file, node, "captures \"{%s}\" twice; give each its own name", name);
        return false;
    }
    config_capture_add(feed, name)->level = model->level_count++;
    return true;
}

static size_t levels_of(const char *topic) {
    size_t count = 1;
    for (; *topic != '\0'; topic++) {
        count += *topic == '/';
    }
    return count;
}

// Whether every topic of the feed begins with the levels of the daemon's own root.
static bool is_under_root(const struct model_feed *feed, const char *root) {
    for (uint32_t i = 0; i < feed->level_count; i++) {
        size_t length = strcspn(root, "/");
        const char *text = feed->levels[i].text;
        if (text == NULL || strlen(text) != length || memcmp(text, root, length) != 0) {
            return false;
        }
        if (root[length] == '\0') {
            return i + 1 < feed->level_count;
        }
        root += length + 1;
    }
    return false;
}

static void read_topic(struct config_feed *feed, const struct config_value *value) {
    const char *text = value->text;
    if (strpbrk(text, "+#") != NULL || text[0] == '$') {
        config_error(feed->file, value->node,
                     "may not hold the wildcards + and # nor begin with $; use a {capture}");
        return;
    }
    for (;;) {
        size_t length = strcspn(text, "/");
        if (!topic_level(feed, value->node, text, length)) {
            return;
        }
        if (text[length] == '\0') {
            break;
        }
        text += length + 1;
    }
    feed->topic_ok = true;
    if (is_under_root(feed->model, feed->file->config->model->root)) {
        config_error(feed->file, value->node,
                     "is never reached: below the daemon's own root \"%s\" no feed is looked at",
                     feed->file->config->model->root);
    }
}

// --- What the payload captures ---

static void check_capture(struct config_feed *feed, const struct json_node *key,
                          const struct json_node *object, const char *name, bool of_topic) {
    static const struct config_field fields[] = {
        {"at", CONFIG_TEXT, false, 0, CONFIG_POINTER_MAX, 0},
        {"map", CONFIG_OBJECT, false, 0, 0, 0},
        {"from", CONFIG_TEXT, false, 0, 0, 0},
    };
    struct config_value values[CONFIG_COUNT(fields)];
    uint32_t index = config_capture_find(feed->model, name);
    if (!of_topic && !feed->model->json) {
        config_error(feed->file, key, "the topic captures no \"{%s}\", and a text is one value",
                     name);
        return;
    }
    if (!config_read(feed->file, object, "a capture", fields, CONFIG_COUNT(fields), values)) {
        return;
    }
    struct model_feed_capture *capture =
        index != MODEL_NONE ? &feed->model->captures[index] : config_capture_add(feed, name);
    if (of_topic && values[0].node != NULL) {
        config_error(feed->file, key, "the topic captures \"{%s}\" already; leave \"at\" out",
                     name);
    } else if (of_topic && values[1].node == NULL) {
        config_missing(feed->file, object, "a capture of the topic", "map");
    } else if (!of_topic) {
        config_feed_at(feed, object, "a capture of the payload", &values[0], &values[2], true,
                       &capture->at);
    }
    capture->mapped = values[1].ok;
    if (values[1].ok) {
        config_feed_map(feed, values[1].node, false, &capture->map);
    }
}

static bool is_capture_name(const char *name) {
    size_t length = 0;
    while (config_capture_char(name[length])) {
        length++;
    }
    return length > 0 && name[length] == '\0';
}

static void read_captures(struct config_feed *feed, const struct json_node *object) {
    const struct json_tape *tape = &feed->file->tape;
    const struct json_node *key = json_first(tape, object);
    while (key != NULL) {
        const struct json_node *node = json_next(tape, object, key);
        char name[CONFIG_CAPTURE_SIZE];
        if (!json_copy(tape, key, name, sizeof name) || !is_capture_name(name)) {
            config_error(feed->file, key, "a capture's name is letters, digits and \"_\"");
        } else {
            check_capture(feed, key, node, name,
                          config_capture_find(feed->model, name) != MODEL_NONE);
        }
        key = json_next(tape, object, node);
    }
}

void config_feed_topic(struct config_feed *feed, const struct config_value *topic,
                       const struct config_value *captures) {
    struct config *config = feed->file->config;
    struct model_feed *model = feed->model;
    size_t levels = topic->ok ? levels_of(topic->text) : 0;
    size_t most = levels + (captures->ok ? captures->node->count : 0);
    model->topic = topic->ok ? topic->text : "";
    model->levels = config_alloc(config, levels, sizeof *model->levels);
    model->captures = config_alloc(config, most, sizeof *model->captures);
    feed->used = config_brief(config, most + 1, sizeof *feed->used);
    if (topic->ok) {
        read_topic(feed, topic);
    }
    if (captures->ok) {
        read_captures(feed, captures->node);
    }
    model->site_capture = config_capture_find(model, "site");
    if (feed->topic_ok && model->site_capture == MODEL_NONE && config->model->site_count != 1 &&
        !config->sites_broken) {
        config_error(feed->file, topic->node,
                     "names no site and there are %zu; make one level \"{site}\"",
                     config->model->site_count);
    }
}
