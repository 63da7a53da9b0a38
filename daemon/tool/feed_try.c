// `forelock feed try`: one message through the feeds, step by step, without a broker.
#include "tool/feed_text.h"
#include "tool/tool.h"

#include <stdlib.h>
#include <string.h>

struct trial {
    const struct model *model;
    bool json;
    struct json_out out;    // of the whole answer
    struct json_out steps;  // of the reading under way
    struct tool_text lines; // the same in words
    size_t mapped, readings;
};

static void on_step(void *user, uint32_t feed, const char *what, const char *text) {
    struct trial *trial = user;
    (void)feed;
    if (!trial->json) {
        tool_text_add(&trial->lines, "  %-14s ", what);
        tool_text_add(&trial->lines, "%s", text);
        tool_line(stdout, "%s", tool_text_of(&trial->lines));
        tool_text_cut(&trial->lines, 0);
        return;
    }
    json_out_object(&trial->steps);
    json_out_key(&trial->steps, "step");
    json_out_string(&trial->steps, what);
    json_out_key(&trial->steps, "say");
    json_out_string(&trial->steps, text);
    json_out_object_end(&trial->steps);
}

static void steps_begin(struct trial *trial) {
    json_out_reset(&trial->steps);
    json_out_array(&trial->steps);
}

static void on_reading(void *user, const struct feed_reading *reading) {
    struct trial *trial = user;
    trial->readings++;
    trial->mapped += reading->outcome == FEED_MAPPED;
    if (!trial->json) {
        tool_feed_text_reading(&trial->lines, trial->model, reading);
        tool_line(stdout, "%s %s", reading->outcome == FEED_MAPPED ? "mapped" : "refused",
                  tool_text_of(&trial->lines));
        tool_text_cut(&trial->lines, 0);
        return;
    }
    json_out_object(&trial->out);
    tool_feed_text_json(&trial->out, trial->model, reading);
    json_out_array_end(&trial->steps);
    json_out_key(&trial->out, "steps");
    if (!trial->steps.failed) {
        json_out_raw(&trial->out, trial->steps.data, trial->steps.length);
    } else {
        json_out_null(&trial->out);
    }
    json_out_object_end(&trial->out);
    steps_begin(trial);
}

// Says what a topic that no feed reads is, or is nearest to.
static void say_nearest(struct trial *trial, struct feed_set *set, const char *topic) {
    char why[400] = "";
    uint32_t nearest = MODEL_NONE;
    if (tool_feed_text_is_ours(trial->model, topic)) {
        snprintf(why, sizeof why,
                 "the topic lies under the daemon's own root \"%s\", where no feed "
                 "is looked at",
                 trial->model->root);
    } else {
        nearest = feed_nearest(set, topic, why, sizeof why);
    }
    const char *feed = nearest != MODEL_NONE ? trial->model->feeds[nearest].feed : NULL;
    if (trial->json) {
        json_out_key(&trial->out, "nearest");
        json_out_string(&trial->out, feed);
        json_out_key(&trial->out, "why");
        json_out_string(&trial->out, why);
    } else if (feed != NULL) {
        tool_line(stdout, "unmapped: no feed reads this topic; the nearest is %s: %s", feed, why);
    } else {
        tool_line(stdout, "unmapped: %s", why);
    }
}

static size_t try_message(struct trial *trial, struct feed_set *set,
                          const struct feed_message *message) {
    const struct feed_callbacks callbacks = {.reading = on_reading, .step = on_step, .user = trial};
    size_t matched = 0;
    json_out_object(&trial->out);
    json_out_key(&trial->out, "topic");
    json_out_string(&trial->out, message->topic);
    json_out_key(&trial->out, "readings");
    json_out_array(&trial->out);
    steps_begin(trial);
    if (!tool_feed_text_is_ours(trial->model, message->topic)) {
        matched = feed_map(set, message, FEED_LIVE | FEED_DURABLE, &callbacks);
    }
    json_out_array_end(&trial->out);
    json_out_key(&trial->out, "feeds");
    json_out_int(&trial->out, (int64_t)matched);
    if (matched == 0) {
        say_nearest(trial, set, message->topic);
    }
    json_out_object_end(&trial->out);
    return matched;
}

static int print(struct trial *trial) {
    bool good = !trial->out.failed && !trial->steps.failed && !trial->lines.failed;
    if (good && trial->json) {
        printf("%s\n", trial->out.data);
    }
    if (!good) {
        tool_error("out of memory");
        return TOOL_REACH;
    }
    return trial->readings > 0 && trial->mapped == trial->readings ? TOOL_DONE : TOOL_NO;
}

static int run(const struct tool_call *call) {
    struct model *model = tool_model(call);
    if (model == NULL) {
        return TOOL_CONFIGURATION;
    }
    struct feed_set *set = feed_set_new(model);
    struct trial trial = {.model = model, .json = call->json};
    const struct feed_message message = {.topic = call->argv[0],
                                         .payload = call->argv[1],
                                         .length = strlen(call->argv[1]),
                                         .retained = call->retained};
    int status = TOOL_REACH;
    if (set == NULL) {
        tool_error("out of memory");
    } else {
        try_message(&trial, set, &message);
        status = print(&trial);
    }
    json_out_free(&trial.out);
    json_out_free(&trial.steps);
    tool_text_free(&trial.lines);
    feed_set_free(set);
    model_free(model);
    return status;
}

const struct tool_command tool_feed_try = {
    .name = "feed",
    .part = "try",
    .words = "TOPIC PAYLOAD",
    .options = "-c FILE [--retained] [--json]",
    .about =
        "Says which feeds read a message, each step of the mapping, and the result or why there is "
        "none.",
    .least = 2,
    .most = 2,
    .run = run,
};
