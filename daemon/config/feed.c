// Feeds: how the hardware's own topics and payloads become signals. Their shape is checked whole
// and their claims are marked; the mapping itself is not part of this version, and each feed says
// so.
#include "config/internal.h"

#include <string.h>

#define POINTER_MAX 250
#define TOPIC_MAX 500

enum {
    FEED,
    FEED_TOPIC,
    FEED_TO,
    FEED_PAYLOAD,
    FEED_SENSOR,
    FEED_POINT,
    FEED_CONTROLLER,
    FEED_STATE,
    FEED_PERSON,
    FEED_TIME,
    FEED_SEQ,
    FEED_QUALITY,
    FEED_COUNT,
};
static const struct config_field feed_fields[FEED_COUNT] = {
    [FEED] = {"feed", CONFIG_ID, true, 0, 0, 0},
    [FEED_TOPIC] = {"topic", CONFIG_TEXT, true, 1, TOPIC_MAX, 0},
    [FEED_TO] = {"to", CONFIG_TEXT, true, 0, 0, 0},
    [FEED_PAYLOAD] = {"payload", CONFIG_TEXT, true, 0, 0, 0},
    [FEED_SENSOR] = {"sensor", CONFIG_TEXT, false, 1, 200, 0},
    [FEED_POINT] = {"point", CONFIG_TEXT, false, 1, 200, 0},
    [FEED_CONTROLLER] = {"controller", CONFIG_TEXT, false, 1, 200, 0},
    [FEED_STATE] = {"state", CONFIG_OBJECT, true, 0, 0, 0},
    [FEED_PERSON] = {"person", CONFIG_OBJECT, false, 0, 0, 0},
    [FEED_TIME] = {"time", CONFIG_OBJECT, false, 0, 0, 0},
    [FEED_SEQ] = {"seq", CONFIG_OBJECT, false, 0, 0, 0},
    [FEED_QUALITY] = {"quality", CONFIG_OBJECT, false, 0, 0, 0},
};

#define BIT(field) (1u << (field))
#define FOR_JSON (BIT(FEED_PERSON) | BIT(FEED_TIME) | BIT(FEED_SEQ) | BIT(FEED_QUALITY))
// What a feed is to; the fields it needs and may have beside those that all have, and the two words
// of its state.
static const struct target {
    const char *to;
    int name; // the field whose template names what it speaks of
    unsigned needs, may;
    const char *words[2];
} targets[] = {
    {"signal",
     FEED_SENSOR,
     BIT(FEED_SENSOR),
     BIT(FEED_TIME) | BIT(FEED_SEQ) | BIT(FEED_QUALITY),
     {"isolated", "live"}},
    {"tag",
     FEED_POINT,
     BIT(FEED_POINT) | BIT(FEED_PERSON),
     BIT(FEED_TIME) | BIT(FEED_SEQ),
     {"hung", "lifted"}},
    {"controller", FEED_CONTROLLER, BIT(FEED_CONTROLLER), 0, {"online", "offline"}},
};

struct feed {
    struct config_file *file;
    const struct json_node *node;
    const struct target *target;
    bool json;
    struct config_names captures; // of the topic
};

static bool capture_char(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_';
}

// The name of a capture "{name}" at text, copied. Its length with the braces; 0: it is none.
static size_t capture_at(const char *text, char name[64]) {
    size_t length = 0;
    while (capture_char(text[1 + length])) {
        length++;
    }
    if (text[0] != '{' || length == 0 || length >= 64 || text[1 + length] != '}') {
        return 0;
    }
    memcpy(name, text + 1, length);
    name[length] = '\0';
    return length + 2;
}

// One level of a topic: all of it literal, or all of it a capture.
static bool topic_level(struct feed *feed, const struct json_node *node, const char *level,
                        size_t length) {
    char name[64];
    if (length == 0) {
        config_error(feed->file, node, "has an empty level; leave out the extra \"/\"");
        return false;
    }
    if (memchr(level, '{', length) == NULL && memchr(level, '}', length) == NULL) {
        return true;
    }
    if (capture_at(level, name) != length) {
        config_error(feed->file, node,
                     "a capture is one whole level of the topic, like \"plant/{site}/status\"");
        return false;
    }
    if (config_names_add(feed->file->config, &feed->captures, name, 0) != MODEL_NONE) {
        config_error(feed->file, node, "captures \"{%s}\" twice; give each its own name", name);
        return false;
    }
    return true;
}

static void check_topic(struct feed *feed, const struct config_value *value) {
    const struct config *config = feed->file->config;
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
    bool named = config_names_find(&feed->captures, "site") != MODEL_NONE;
    if (!named && config->model->site_count != 1 && !config->sites_broken) {
        config_error(feed->file, value->node,
                     "names no site and there are %zu; make one level \"{site}\"",
                     config->model->site_count);
    }
}

static bool id_char(char c) {
    return capture_char(c) || c == '.' || c == '-';
}

// A template made of captures of the topic and of what an id is made of.
static bool check_template(struct feed *feed, const struct config_value *value) {
    struct config_names used = {.brief = true};
    for (const char *text = value->text; *text != '\0';) {
        char name[64];
        size_t length = capture_at(text, name);
        if (length == 0 && !id_char(*text)) {
            config_error(feed->file, value->node,
                         "must be made of letters, digits, \".\", \"_\", \"-\" and {captures}");
            return false;
        }
        if (length > 0 && config_names_find(&feed->captures, name) == MODEL_NONE) {
            config_error(feed->file, value->node, "the topic captures no \"{%s}\"", name);
            return false;
        }
        if (length > 0 && config_names_add(feed->file->config, &used, name, 0) != MODEL_NONE) {
            config_error(feed->file, value->node, "uses \"{%s}\" twice; once is enough", name);
            return false;
        }
        text += length > 0 ? length : 1;
    }
    return true;
}

// Whether a text is an RFC 6901 pointer.
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

static void check_at(struct feed *feed, const struct json_node *object, const char *what,
                     const struct config_value *at) {
    if (at->ok && !is_pointer(at->text)) {
        config_error(feed->file, at->node, "must be a JSON Pointer like \"/contact\"");
    }
    if (at->node == NULL && feed->json) {
        config_missing(feed->file, object, what, "at");
    } else if (at->node != NULL && !feed->json) {
        config_error(feed->file, at->node,
                     "goes with a payload of \"json\"; of \"text\" the whole is the value");
    }
}

// A list of values: plain ones, each once, also across the lists of one object.
static void check_list(struct feed *feed, const struct json_node *list,
                       const struct json_node *other) {
    const struct json_tape *tape = &feed->file->tape;
    for (const struct json_node *node = json_first(tape, list); node != NULL;
         node = json_next(tape, list, node)) {
        if (node->kind == JSON_ARRAY || node->kind == JSON_OBJECT || node->kind == JSON_NULL) {
            config_error(feed->file, node, "must be a text, a number, true or false, not %s",
                         config_kind_name(node));
        } else if (!feed->json && node->kind != JSON_STRING) {
            config_error(feed->file, node, "must be a text, because the payload is \"text\"");
        }
        const struct json_node *before = other != NULL ? json_first(tape, other) : NULL;
        for (; before != NULL; before = json_next(tape, other, before)) {
            if (json_same(tape, before, tape, node)) {
                config_error(feed->file, node,
                             "stands in the other list too; a value means one state");
            }
        }
    }
}

static void check_state(struct feed *feed, const struct json_node *object) {
    const struct config_field fields[] = {
        {"at", CONFIG_TEXT, false, 0, POINTER_MAX, 0},
        {feed->target->words[0], CONFIG_ARRAY, true, 1, 100, 0},
        {feed->target->words[1], CONFIG_ARRAY, true, 1, 100, 0},
    };
    struct config_value values[CONFIG_COUNT(fields)];
    if (!config_read(feed->file, object, "a state", fields, CONFIG_COUNT(fields), values)) {
        return;
    }
    check_at(feed, object, "a state", &values[0]);
    if (values[1].ok) {
        check_list(feed, values[1].node, NULL);
    }
    if (values[2].ok) {
        check_list(feed, values[2].node, values[1].ok ? values[1].node : NULL);
    }
}

static void check_time(struct feed *feed, const struct json_node *object) {
    static const struct config_field fields[] = {
        {"at", CONFIG_TEXT, false, 0, POINTER_MAX, 0},
        {"as", CONFIG_TEXT, true, 0, 0, 0},
    };
    struct config_value values[CONFIG_COUNT(fields)];
    if (!config_read(feed->file, object, "a time", fields, CONFIG_COUNT(fields), values)) {
        return;
    }
    check_at(feed, object, "a time", &values[0]);
    if (values[1].ok && strcmp(values[1].text, "rfc3339") != 0 &&
        strcmp(values[1].text, "unix-s") != 0 && strcmp(values[1].text, "unix-ms") != 0) {
        config_error(feed->file, values[1].node,
                     "must be \"rfc3339\", \"unix-s\" or \"unix-ms\", not \"%s\"", values[1].text);
    }
}

static void check_seq(struct feed *feed, const struct json_node *object) {
    static const struct config_field fields[] = {
        {"at", CONFIG_TEXT, false, 0, POINTER_MAX, 0},
        {"modulus", CONFIG_INTEGER, false, 2, 4294967296.0, 0},
    };
    struct config_value values[CONFIG_COUNT(fields)];
    if (config_read(feed->file, object, "a seq", fields, CONFIG_COUNT(fields), values)) {
        check_at(feed, object, "a seq", &values[0]);
    }
}

static void check_quality(struct feed *feed, const struct json_node *object) {
    static const struct config_field fields[] = {
        {"at", CONFIG_TEXT, false, 0, POINTER_MAX, 0},
        {"good", CONFIG_ARRAY, true, 1, 100, 0},
    };
    struct config_value values[CONFIG_COUNT(fields)];
    if (!config_read(feed->file, object, "a quality", fields, CONFIG_COUNT(fields), values)) {
        return;
    }
    check_at(feed, object, "a quality", &values[0]);
    if (values[1].ok) {
        check_list(feed, values[1].node, NULL);
    }
}

static void check_badges(struct feed *feed, const struct json_node *map) {
    static const struct config_field id = {"", CONFIG_ID, true, 0, 0, 0};
    const struct config *config = feed->file->config;
    const struct json_tape *tape = &feed->file->tape;
    const struct json_node *key = json_first(tape, map);
    while (key != NULL) {
        const struct json_node *node = json_next(tape, map, key);
        struct config_value value;
        config_read_value(feed->file, node, &id, &value);
        if (value.ok && !config->people_broken &&
            config_names_find(&config->people, value.id) == MODEL_NONE) {
            config_error(feed->file, node, "there is no person \"%s\"", value.id);
        }
        key = json_next(tape, map, node);
    }
}

static void check_person(struct feed *feed, const struct json_node *object) {
    static const struct config_field fields[] = {
        {"at", CONFIG_TEXT, false, 0, POINTER_MAX, 0},
        {"map", CONFIG_OBJECT, false, 0, 0, 0},
    };
    struct config_value values[CONFIG_COUNT(fields)];
    if (!config_read(feed->file, object, "a person", fields, CONFIG_COUNT(fields), values)) {
        return;
    }
    check_at(feed, object, "a person", &values[0]);
    if (values[1].ok) {
        check_badges(feed, values[1].node);
    }
}

static void check_parts(struct feed *feed, const struct config_value *values) {
    static void (*const checks[FEED_COUNT])(struct feed *, const struct json_node *) = {
        [FEED_STATE] = check_state, [FEED_PERSON] = check_person,   [FEED_TIME] = check_time,
        [FEED_SEQ] = check_seq,     [FEED_QUALITY] = check_quality,
    };
    const struct target *target = feed->target;
    const unsigned parts = FOR_JSON | BIT(FEED_SENSOR) | BIT(FEED_POINT) | BIT(FEED_CONTROLLER);
    for (int field = 0; field < FEED_COUNT; field++) {
        const struct config_value *value = &values[field];
        bool special = (parts & BIT(field)) != 0;
        if ((target->needs & BIT(field)) != 0 && value->node == NULL) {
            config_missing(feed->file, feed->node, "such a feed", feed_fields[field].name);
        } else if (special && value->node != NULL &&
                   ((target->needs | target->may) & BIT(field)) == 0) {
            config_error(feed->file, value->node, "does not go with a feed to \"%s\"; leave it out",
                         target->to);
        } else if (value->ok && checks[field] != NULL) {
            checks[field](feed, value->node);
        }
    }
}

static const struct target *target_of(struct config_file *file, const struct config_value *value) {
    for (size_t i = 0; value->ok && i < CONFIG_COUNT(targets); i++) {
        if (strcmp(targets[i].to, value->text) == 0) {
            return &targets[i];
        }
    }
    if (value->ok) {
        config_error(file, value->node, "must be \"signal\", \"tag\" or \"controller\", not \"%s\"",
                     value->text);
    }
    return NULL;
}

static void check_payload(struct feed *feed, const struct config_value *value) {
    feed->json = !value->ok || strcmp(value->text, "text") != 0;
    if (value->ok && feed->json && strcmp(value->text, "json") != 0) {
        config_error(feed->file, value->node, "must be \"json\" or \"text\", not \"%s\"",
                     value->text);
    }
}

static void read_feed(struct config_file *file, const struct json_node *node) {
    struct feed feed = {.file = file, .node = node, .captures = {.brief = true}};
    struct config_value values[FEED_COUNT];
    if (!config_read(file, node, "a feed", feed_fields, FEED_COUNT, values)) {
        return;
    }
    const char *id = values[FEED].ok ? config_intern(file->config, values[FEED].id) : "?";
    if (values[FEED].ok &&
        config_names_add(file->config, &file->config->feeds, id, 0) != MODEL_NONE) {
        config_error(file, values[FEED].node, "the feed \"%s\" stands twice; ids are unique", id);
    }
    check_payload(&feed, &values[FEED_PAYLOAD]);
    if (values[FEED_TOPIC].ok) {
        check_topic(&feed, &values[FEED_TOPIC]);
    }
    feed.target = target_of(file, &values[FEED_TO]);
    if (feed.target == NULL) {
        return;
    }
    check_parts(&feed, values);
    const struct config_value *name = &values[feed.target->name];
    if (name->ok && check_template(&feed, name) && feed.target->name == FEED_SENSOR) {
        config_claim(file, name->node, id, name->text);
    }
    config_warn(file, node,
                "the feed \"%s\" is checked but not heard: mapping foreign topics is not part of "
                "this version, so what it claims stays unknown",
                id);
}

void config_feeds_load(struct config *config, const struct config_paths *paths) {
    static const struct config_field fields[] = {{"feeds", CONFIG_ARRAY, true, 0, 0, 0}};
    for (size_t i = 0; i < paths->count; i++) {
        struct config_file *file =
            config_open(config, config->root, paths->nodes[i], paths->paths[i]);
        if (file == NULL) {
            continue;
        }
        struct config_value value;
        const struct json_node *root = json_root(&file->tape);
        bool ok = config_read(file, root, "the file of feeds", fields, 1, &value) && value.ok;
        const struct json_node *node = ok ? json_first(&file->tape, value.node) : NULL;
        for (; node != NULL; node = json_next(&file->tape, value.node, node)) {
            read_feed(file, node);
        }
        config_close(file);
    }
}
