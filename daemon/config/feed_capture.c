// Feeds: what a topic and its payload capture by name, and the templates made of that.
#include "config/feed.h"

#include <string.h>

bool config_capture_char(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_';
}

size_t config_capture_at(const char *text, char name[CONFIG_CAPTURE_SIZE]) {
    size_t length = 0;
    if (text[0] != '{') {
        return 0;
    }
    while (config_capture_char(text[1 + length])) {
        length++;
    }
    if (length == 0 || length >= CONFIG_CAPTURE_SIZE || text[1 + length] != '}') {
        return 0;
    }
    memcpy(name, text + 1, length);
    name[length] = '\0';
    return length + 2;
}

uint32_t config_capture_find(const struct model_feed *feed, const char *name) {
    for (uint32_t i = 0; i < feed->capture_count; i++) {
        if (strcmp(feed->captures[i].name, name) == 0) {
            return i;
        }
    }
    return MODEL_NONE;
}

struct model_feed_capture *config_capture_add(struct config_feed *feed, const char *name) {
    struct model_feed_capture *capture = &feed->model->captures[feed->model->capture_count++];
    *capture = (struct model_feed_capture){.name = config_intern(feed->file->config, name),
                                           .level = MODEL_NONE};
    return capture;
}

uint32_t config_feed_capture(struct config_feed *feed, const char *name) {
    uint32_t index = config_capture_find(feed->model, name);
    if (index != MODEL_NONE) {
        feed->used[index] = true;
    }
    return index;
}

static bool id_char(char c) {
    return config_capture_char(c) || c == '.' || c == '-';
}

// Takes one piece of the template. Its length; 0: reported.
static size_t take_piece(struct config_feed *feed, const struct config_value *value,
                         const char *text) {
    struct model_feed_piece *piece = &feed->model->pieces[feed->model->piece_count];
    char name[CONFIG_CAPTURE_SIZE];
    size_t length = config_capture_at(text, name);
    if (length == 0) {
        while (id_char(text[length])) {
            length++;
        }
        if (length == 0) {
            config_error(feed->file, value->node,
                         "must be made of letters, digits, \".\", \"_\", \"-\" and {captures}");
            return 0;
        }
        piece->text = model_text(feed->file->config->model, text, length);
        if (piece->text == NULL) {
            config_no_memory(feed->file->config);
        }
    } else {
        piece->capture = config_capture_find(feed->model, name);
        if (piece->capture == MODEL_NONE) {
            config_error(feed->file, value->node, "the topic captures no \"{%s}\"", name);
            return 0;
        }
        if (feed->used[piece->capture]) {
            config_error(feed->file, value->node, "uses \"{%s}\" twice; once is enough", name);
            return 0;
        }
        feed->used[piece->capture] = true;
    }
    feed->model->piece_count++;
    return length;
}

bool config_feed_template(struct config_feed *feed, const struct config_value *value) {
    const char *text = value->text;
    feed->model->pieces =
        config_alloc(feed->file->config, strlen(text), sizeof *feed->model->pieces);
    while (*text != '\0') {
        size_t length = take_piece(feed, value, text);
        if (length == 0) {
            feed->model->piece_count = 0; // half a template names what it should not
            return false;
        }
        text += length;
    }
    return true;
}

void config_feed_unused(struct config_feed *feed, const struct config_value *topic,
                        const struct config_value *captures) {
    const struct model_feed *model = feed->model;
    for (uint32_t i = 0; i < model->capture_count; i++) {
        bool of_topic = model->captures[i].level != MODEL_NONE;
        if (feed->used[i] || i == model->site_capture) {
            continue;
        }
        config_warn(feed->file, of_topic ? topic->node : captures->node,
                    "captures \"{%s}\" and does not use it: whatever it is, the message speaks of "
                    "the same %s",
                    model->captures[i].name, feed->whats);
    }
}
