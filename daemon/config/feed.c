// Feeds: how the hardware's own topics and payloads become readings. Each is checked whole, laid
// out in the model, and claims what its template can name.
#include "config/feed.h"

#include <string.h>

#define TOPIC_MAX 500

enum {
    FEED,
    FEED_TOPIC,
    FEED_TO,
    FEED_PAYLOAD,
    FEED_EACH,
    FEED_CAPTURES,
    FEED_SENSOR,
    FEED_POINT,
    FEED_CONTROLLER,
    FEED_MEASURE,
    FEED_STATE,
    FEED_VALUE,
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
    [FEED_EACH] = {"each", CONFIG_TEXT, false, 0, CONFIG_POINTER_MAX, 0},
    [FEED_CAPTURES] = {"captures", CONFIG_OBJECT, false, 0, 0, 0},
    [FEED_SENSOR] = {"sensor", CONFIG_TEXT, false, 1, 200, 0},
    [FEED_POINT] = {"point", CONFIG_TEXT, false, 1, 200, 0},
    [FEED_CONTROLLER] = {"controller", CONFIG_TEXT, false, 1, 200, 0},
    [FEED_MEASURE] = {"measure", CONFIG_TEXT, false, 1, 200, 0},
    [FEED_STATE] = {"state", CONFIG_OBJECT, false, 0, 0, 0},
    [FEED_VALUE] = {"value", CONFIG_OBJECT, false, 0, 0, 0},
    [FEED_PERSON] = {"person", CONFIG_OBJECT, false, 0, 0, 0},
    [FEED_TIME] = {"time", CONFIG_OBJECT, false, 0, 0, 0},
    [FEED_SEQ] = {"seq", CONFIG_OBJECT, false, 0, 0, 0},
    [FEED_QUALITY] = {"quality", CONFIG_OBJECT, false, 0, 0, 0},
};

#define BIT(field) (1u << (field))
#define SPECIAL                                                                                    \
    (BIT(FEED_SENSOR) | BIT(FEED_POINT) | BIT(FEED_CONTROLLER) | BIT(FEED_MEASURE) |               \
     BIT(FEED_STATE) | BIT(FEED_VALUE) | BIT(FEED_PERSON) | BIT(FEED_TIME) | BIT(FEED_SEQ) |       \
     BIT(FEED_QUALITY))
// What a feed is to: the field whose template names what it speaks of, the fields it needs and may
// have beside those that all have.
static const struct target {
    int name;
    unsigned needs, may;
} targets[MODEL_FEED_TO_COUNT] = {
    [MODEL_FEED_SIGNAL] = {FEED_SENSOR, BIT(FEED_SENSOR) | BIT(FEED_STATE),
                           BIT(FEED_TIME) | BIT(FEED_SEQ) | BIT(FEED_QUALITY)},
    [MODEL_FEED_TAG] = {FEED_POINT, BIT(FEED_POINT) | BIT(FEED_STATE) | BIT(FEED_PERSON),
                        BIT(FEED_TIME) | BIT(FEED_SEQ)},
    [MODEL_FEED_CONTROLLER] = {FEED_CONTROLLER, BIT(FEED_CONTROLLER) | BIT(FEED_STATE), 0},
    [MODEL_FEED_MEASURE] = {FEED_MEASURE, BIT(FEED_MEASURE) | BIT(FEED_VALUE),
                            BIT(FEED_TIME) | BIT(FEED_SEQ) | BIT(FEED_QUALITY)},
};

static void read_parts(struct config_feed *feed, const struct target *target,
                       const struct config_value *values) {
    static void (*const parts[FEED_COUNT])(struct config_feed *, const struct json_node *) = {
        [FEED_STATE] = config_feed_state,   [FEED_VALUE] = config_feed_value,
        [FEED_PERSON] = config_feed_person, [FEED_TIME] = config_feed_time,
        [FEED_SEQ] = config_feed_seq,       [FEED_QUALITY] = config_feed_quality,
    };
    for (int field = 0; field < FEED_COUNT; field++) {
        const struct config_value *value = &values[field];
        if ((target->needs & BIT(field)) != 0 && value->node == NULL) {
            config_missing(feed->file, feed->node, "such a feed", feed_fields[field].name);
        } else if ((SPECIAL & BIT(field)) != 0 && value->node != NULL &&
                   ((target->needs | target->may) & BIT(field)) == 0) {
            config_error(feed->file, value->node, "does not go with a feed to \"%s\"; leave it out",
                         model_feed_to_name(feed->model->to));
        } else if (value->ok && parts[field] != NULL) {
            parts[field](feed, value->node);
        }
    }
}

static bool read_to(struct config_feed *feed, const struct config_value *value) {
    for (int to = 0; value->ok && to < MODEL_FEED_TO_COUNT; to++) {
        if (strcmp(model_feed_to_name((enum model_feed_to)to), value->text) == 0) {
            feed->model->to = (enum model_feed_to)to;
            feed->whats = feed_fields[targets[to].name].name;
            return true;
        }
    }
    if (value->ok) {
        config_error(feed->file, value->node,
                     "must be \"signal\", \"tag\", \"controller\" or \"measure\", not \"%s\"",
                     value->text);
    }
    return false;
}

static void read_payload(struct config_feed *feed, const struct config_value *value) {
    feed->model->json = !value->ok || strcmp(value->text, "text") != 0;
    if (value->ok && feed->model->json && strcmp(value->text, "json") != 0) {
        config_error(feed->file, value->node, "must be \"json\" or \"text\", not \"%s\"",
                     value->text);
    }
}

static void read_each(struct config_feed *feed, const struct config_value *value) {
    if (value->ok && !feed->model->json) {
        config_error(feed->file, value->node, "goes with a payload of \"json\" alone");
    } else if (config_feed_pointer(feed, value)) {
        feed->model->each = value->text;
    }
}

// One mark stands in each message: two that are the same value cannot both be.
static void check_marks(struct config_feed *feed, const struct config_value *values) {
    static const int marks[] = {FEED_TIME, FEED_SEQ, FEED_QUALITY, FEED_PERSON};
    for (size_t i = 0; i < CONFIG_COUNT(marks); i++) {
        bool elsewhere = marks[i] == FEED_PERSON && feed->model->person_capture != MODEL_NONE;
        if (!feed->model->json && values[marks[i]].ok && !elsewhere) {
            config_error(feed->file, values[marks[i]].node,
                         "goes with a payload of \"json\": the whole of a \"text\" is the %s",
                         feed->model->to == MODEL_FEED_MEASURE ? "value" : "state");
        }
    }
}

static void read_feed(struct config_file *file, const struct json_node *node) {
    struct config *config = file->config;
    struct config_value values[FEED_COUNT];
    if (!config_read(file, node, "a feed", feed_fields, FEED_COUNT, values)) {
        return;
    }
    struct model_feed *model = config_feed_new(config);
    struct config_feed feed = {.file = file, .node = node, .model = model};
    model->feed = values[FEED].ok ? config_intern(config, values[FEED].id) : "?";
    model->site_capture = model->person_capture = MODEL_NONE;
    if (values[FEED].ok && config_names_add(config, &config->feeds, model->feed, 0) != MODEL_NONE) {
        config_error(file, values[FEED].node, "the feed \"%s\" stands twice; ids are unique",
                     model->feed);
    }
    bool known = read_to(&feed, &values[FEED_TO]);
    read_payload(&feed, &values[FEED_PAYLOAD]);
    read_each(&feed, &values[FEED_EACH]);
    config_feed_topic(&feed, &values[FEED_TOPIC], &values[FEED_CAPTURES]);
    if (!known) {
        return;
    }
    const struct target *target = &targets[model->to];
    read_parts(&feed, target, values);
    check_marks(&feed, values);
    const struct config_value *name = &values[target->name];
    if (name->ok && config_feed_template(&feed, name) && feed.topic_ok) {
        config_feed_unused(&feed, &values[FEED_TOPIC], &values[FEED_CAPTURES]);
        config_feed_claim(file, name->node, model);
    }
}

void config_feeds_load(struct config *config, const struct config_paths *paths) {
    static const struct config_field fields[] = {{"feeds", CONFIG_ARRAY, true, 0, 0, 0}};
    for (size_t i = 0; i < paths->count; i++) {
        struct config_file *file =
            config_open(config, config->root, paths->items[i].node, paths->items[i].path);
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
