// Feeds: where in a payload the values stand, and what they mean.
#include "config/feed.h"

#include <math.h>
#include <string.h>

static bool is_pointer(const char *text) {
    if (text[0] != '\0' && text[0] != '/') {
        return false;
    }
    for (; *text != '\0'; text++) {
        if (*text == '~' && text[1] != '0' && text[1] != '1') {
            return false;
        }
    }
    return true;
}

bool config_feed_pointer(struct config_feed *feed, const struct config_value *value) {
    if (value->ok && !is_pointer(value->text)) {
        config_error(feed->file, value->node, "must be a JSON Pointer like \"/contact\"");
        return false;
    }
    return value->ok;
}

static void check_from(struct config_feed *feed, const struct config_value *from,
                       struct model_feed_at *to) {
    to->outer = from->ok && strcmp(from->text, "message") == 0;
    if (from->ok && !to->outer && strcmp(from->text, "element") != 0) {
        config_error(feed->file, from->node, "must be \"element\" or \"message\", not \"%s\"",
                     from->text);
    } else if (from->ok && feed->model->each == NULL) {
        config_error(feed->file, from->node,
                     "goes with \"each\" alone; without it everything is from the message");
    }
}

void config_feed_at(struct config_feed *feed, const struct json_node *object, const char *what,
                    const struct config_value *at, const struct config_value *from, bool needed,
                    struct model_feed_at *to) {
    *to = (struct model_feed_at){.pointer = ""};
    check_from(feed, from, to);
    if (config_feed_pointer(feed, at)) {
        to->pointer = at->text;
    }
    if (at->node == NULL && feed->model->json && needed) {
        config_missing(feed->file, object, what, "at");
    } else if (at->node != NULL && !feed->model->json) {
        config_error(feed->file, at->node,
                     "goes with a payload of \"json\"; of \"text\" the whole is the value");
    }
}

// An empty pointer is the whole payload, and a text like any other.
#define AT                                                                                         \
    { "at", CONFIG_TEXT, false, 0, CONFIG_POINTER_MAX, 0 }
#define FROM                                                                                       \
    { "from", CONFIG_TEXT, false, 0, 0, 0 }

static bool list_holds(const struct json_tape *tape, const struct json_node *list,
                       const struct json_node *value) {
    for (const struct json_node *node = json_first(tape, list); node != NULL;
         node = json_next(tape, list, node)) {
        if (json_same(tape, node, tape, value)) {
            return true;
        }
    }
    return false;
}

// Lists of plain values, each once, also across the lists of one object: others are those before.
// As JSON, in the model.
static const char *read_list(struct config_feed *feed, const struct json_node *list,
                             const struct config_value *others, size_t other_count) {
    const struct json_tape *tape = &feed->file->tape;
    for (const struct json_node *node = json_first(tape, list); node != NULL;
         node = json_next(tape, list, node)) {
        if (node->kind == JSON_ARRAY || node->kind == JSON_OBJECT || node->kind == JSON_NULL) {
            config_error(feed->file, node, "must be a text, a number, true or false, not %s",
                         config_kind_name(node));
        } else if (!feed->model->json && node->kind != JSON_STRING) {
            config_error(feed->file, node, "must be a text, because the payload is \"text\"");
        }
        for (size_t i = 0; i < other_count; i++) {
            if (others[i].ok && list_holds(tape, others[i].node, node)) {
                config_error(feed->file, node,
                             "stands in the other list too; a value means one state");
            }
        }
    }
    struct json_out out = {0};
    json_out_node(&out, tape, list);
    const char *text =
        out.failed ? NULL : model_text(feed->file->config->model, out.data, out.length);
    json_out_free(&out);
    if (text == NULL) {
        config_no_memory(feed->file->config);
    }
    return text;
}

void config_feed_state(struct config_feed *feed, const struct json_node *object) {
    struct config_field fields[MODEL_FEED_STATES + 2] = {AT};
    struct config_value values[CONFIG_COUNT(fields)];
    size_t count = 1;
    for (int state = 0; state < MODEL_FEED_STATES; state++) {
        const char *word = model_feed_state_name(feed->model->to, state);
        if (word != NULL) {
            fields[count++] = (struct config_field){
                word, CONFIG_ARRAY, state < MODEL_FEED_STATES_NEEDED, 1, 100, 0};
        }
    }
    fields[count++] = (struct config_field)FROM;
    if (!config_read(feed->file, object, "a state", fields, count, values)) {
        return;
    }
    config_feed_at(feed, object, "a state", &values[0], &values[count - 1], true,
                   &feed->model->state);
    for (size_t i = 1; i + 1 < count; i++) {
        if (values[i].ok) {
            feed->model->values[i - 1] = read_list(feed, values[i].node, &values[1], i - 1);
        }
    }
}

void config_feed_value(struct config_feed *feed, const struct json_node *object) {
    static const struct config_field fields[] = {
        AT,
        {"scale", CONFIG_NUMBER, false, -1e9, 1e9, 1},
        {"offset", CONFIG_NUMBER, false, -1e9, 1e9, 0},
        FROM,
    };
    struct config_value values[CONFIG_COUNT(fields)];
    if (!config_read(feed->file, object, "a value", fields, CONFIG_COUNT(fields), values)) {
        return;
    }
    config_feed_at(feed, object, "a value", &values[0], &values[3], true, &feed->model->value);
    feed->model->scale = values[1].number;
    feed->model->offset = values[2].number;
    if (values[1].ok && fpclassify(values[1].number) == FP_ZERO) {
        config_error(feed->file, values[1].node, "may not be 0: every reading would be the same");
    }
}

void config_feed_time(struct config_feed *feed, const struct json_node *object) {
    static const char *const names[] = {"rfc3339", "unix-s", "unix-ms"};
    static const struct config_field fields[] = {AT, {"as", CONFIG_TEXT, true, 0, 0, 0}, FROM};
    struct config_value values[CONFIG_COUNT(fields)];
    if (!config_read(feed->file, object, "a time", fields, CONFIG_COUNT(fields), values)) {
        return;
    }
    config_feed_at(feed, object, "a time", &values[0], &values[2], true, &feed->model->time);
    for (int i = 0; values[1].ok && i < 3; i++) {
        if (strcmp(values[1].text, names[i]) == 0) {
            feed->model->time_as = (enum model_feed_time)i;
            return;
        }
    }
    if (values[1].ok) {
        config_error(feed->file, values[1].node,
                     "must be \"rfc3339\", \"unix-s\" or \"unix-ms\", not \"%s\"", values[1].text);
    }
}

void config_feed_seq(struct config_feed *feed, const struct json_node *object) {
    static const struct config_field fields[] = {
        AT,
        {"modulus", CONFIG_INTEGER, false, 2, 4294967296.0, 0},
        FROM,
    };
    struct config_value values[CONFIG_COUNT(fields)];
    if (config_read(feed->file, object, "a seq", fields, CONFIG_COUNT(fields), values)) {
        config_feed_at(feed, object, "a seq", &values[0], &values[2], true, &feed->model->seq);
        feed->model->modulus = values[1].ok ? (uint64_t)values[1].integer : 0;
    }
}

void config_feed_quality(struct config_feed *feed, const struct json_node *object) {
    static const struct config_field fields[] = {AT, {"good", CONFIG_ARRAY, true, 1, 100, 0}, FROM};
    struct config_value values[CONFIG_COUNT(fields)];
    if (!config_read(feed->file, object, "a quality", fields, CONFIG_COUNT(fields), values)) {
        return;
    }
    config_feed_at(feed, object, "a quality", &values[0], &values[2], true, &feed->model->quality);
    if (values[1].ok) {
        feed->model->good = read_list(feed, values[1].node, NULL, 0);
    }
}

static const char *key_text(struct config_feed *feed, const struct json_node *key) {
    size_t size = json_text_length(&feed->file->tape, key) + 1;
    char *text = config_brief(feed->file->config, size, 1);
    if (!json_copy(&feed->file->tape, key, text, size)) {
        config_error(feed->file, key, "may not hold U+0000");
    }
    return config_intern(feed->file->config, text);
}

void config_feed_map(struct config_feed *feed, const struct json_node *map, bool people,
                     struct model_feed_map *to) {
    static const struct config_field id = {"", CONFIG_ID, true, 0, 0, 0};
    struct config *config = feed->file->config;
    const struct json_tape *tape = &feed->file->tape;
    to->from = config_alloc(config, map->count, sizeof *to->from);
    to->to = config_alloc(config, map->count, sizeof *to->to);
    const struct json_node *key = json_first(tape, map);
    while (key != NULL) {
        const struct json_node *node = json_next(tape, map, key);
        struct config_value value;
        config_read_value(feed->file, node, &id, &value);
        if (value.ok && people && !config->people_broken &&
            config_names_find(&config->people, value.id) == MODEL_NONE) {
            config_error(feed->file, node, "there is no person \"%s\"", value.id);
        }
        if (value.ok) {
            to->from[to->count] = key_text(feed, key);
            to->to[to->count++] = config_intern(config, value.id);
        }
        key = json_next(tape, map, node);
    }
}

// The badge is a level of the topic, or a capture of the payload.
static void read_person_capture(struct config_feed *feed, const struct config_value *value) {
    feed->model->person_capture = config_feed_capture(feed, value->text);
    if (feed->model->person_capture == MODEL_NONE && feed->topic_ok) {
        config_error(feed->file, value->node, "nothing captures \"{%s}\"", value->text);
    }
}

void config_feed_person(struct config_feed *feed, const struct json_node *object) {
    static const struct config_field fields[] = {
        AT, {"map", CONFIG_OBJECT, false, 0, 0, 0}, FROM, {"capture", CONFIG_TEXT, false, 0, 0, 0}};
    struct config_value values[CONFIG_COUNT(fields)];
    if (!config_read(feed->file, object, "a person", fields, CONFIG_COUNT(fields), values)) {
        return;
    }
    if (values[3].ok && values[0].node != NULL) {
        config_error(feed->file, values[3].node, "does not go with \"at\": a badge stands once");
    } else if (values[3].ok) {
        read_person_capture(feed, &values[3]);
    } else {
        config_feed_at(feed, object, "a person", &values[0], &values[2], true,
                       &feed->model->person);
    }
    feed->model->person_mapped = values[1].ok;
    if (values[1].ok) {
        config_feed_map(feed, values[1].node, true, &feed->model->badges);
    }
}
