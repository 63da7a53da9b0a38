// `forelock feed watch`: what is on the broker, as the feeds see it: mapped, refused or unmapped.
//
// A topic is listed when it comes first and whenever what becomes of it changes, and summed up with
// its rate at the end. It subscribes as a client of its own, without a session, and publishes
// nothing, so the daemon does not notice.
#include "base/clock.h"
#include "tool/broker_client.h"
#include "tool/feed_text.h"
#include "tool/print.h"
#include "tool/tool.h"

#include <signal.h>
#include <stdlib.h>
#include <string.h>

#define CONNECT_MS 5000
#define TOPICS_MAX 20000

enum sort { SORT_MAPPED, SORT_REFUSED, SORT_UNMAPPED, SORT_COUNT };
static const char *const sorts[SORT_COUNT] = {"mapped", "refused", "unmapped"};

// A topic and, where it brings several things, one of them.
struct topic {
    char *topic;
    uint32_t feed, site, index; // MODEL_NONE: none
    enum sort sort;
    enum feed_outcome outcome;
    uint64_t count;
};

struct watch {
    const struct model *model;
    struct feed_set *set;
    bool json, failed;
    struct topic *topics; // an open hash, a power of two in size
    size_t size, count;
    uint64_t left_out; // topics too many to remember
    uint64_t sums[SORT_COUNT];
    uint64_t *by_feed; // by feed and outcome
    const char *topic; // of the message at work
    int64_t begun;
};

static volatile sig_atomic_t stopped;

static void on_signal(int number) {
    (void)number;
    stopped = 1;
}

// --- Topics seen ---

static size_t hash_of(const char *topic, uint32_t feed, uint32_t site, uint32_t index) {
    uint64_t hash = 14695981039346656037u; // FNV-1a
    for (; *topic != '\0'; topic++) {
        hash = (hash ^ (unsigned char)*topic) * 1099511628211u;
    }
    hash = (hash ^ feed) * 1099511628211u;
    hash = (hash ^ site) * 1099511628211u;
    hash = (hash ^ index) * 1099511628211u;
    return (size_t)(hash ^ (hash >> 32));
}

static struct topic *slot_of(const struct watch *watch, const char *topic, uint32_t feed,
                             uint32_t site, uint32_t index) {
    size_t at = hash_of(topic, feed, site, index) & (watch->size - 1);
    for (;; at = (at + 1) & (watch->size - 1)) {
        struct topic *slot = &watch->topics[at];
        if (slot->topic == NULL || (slot->feed == feed && slot->site == site &&
                                    slot->index == index && strcmp(slot->topic, topic) == 0)) {
            return slot;
        }
    }
}

// Counts one of a topic. Whether it is to be listed: it is new, or another thing became of it.
static bool note(struct watch *watch, const struct topic *seen) {
    struct topic *slot = slot_of(watch, watch->topic, seen->feed, seen->site, seen->index);
    watch->sums[seen->sort]++;
    if (slot->topic == NULL) {
        if (watch->count >= TOPICS_MAX) {
            watch->left_out++;
            return false;
        }
        *slot = *seen;
        slot->topic = strdup(watch->topic);
        watch->failed |= slot->topic == NULL;
        watch->count += slot->topic != NULL;
        slot->count = 1;
        return true;
    }
    bool changed = slot->sort != seen->sort || slot->outcome != seen->outcome;
    slot->sort = seen->sort;
    slot->outcome = seen->outcome;
    slot->count++;
    return changed;
}

// --- Listing ---

static void list_line(struct watch *watch, enum sort sort, const struct feed_reading *reading,
                      uint32_t nearest, const char *why) {
    struct tool_text text = {0};
    if (reading != NULL) {
        tool_feed_text_reading(&text, watch->model, reading);
    } else if (nearest != MODEL_NONE) {
        tool_text_add(&text, "the nearest feed is %s: ", watch->model->feeds[nearest].feed);
        tool_text_add(&text, "%s", why);
    } else {
        tool_text_add(&text, "%s", why);
    }
    tool_line(stdout, "%-8s %s  %s", sorts[sort], watch->topic, tool_text_of(&text));
    tool_text_free(&text);
}

static void list_json(struct watch *watch, enum sort sort, const struct feed_reading *reading,
                      uint32_t nearest, const char *why) {
    struct json_out out = {0};
    json_out_object(&out);
    json_out_key(&out, "sort");
    json_out_string(&out, sorts[sort]);
    json_out_key(&out, "topic");
    json_out_string(&out, watch->topic);
    if (reading != NULL) {
        tool_feed_text_json(&out, watch->model, reading);
    } else {
        json_out_key(&out, "nearest");
        json_out_string(&out, nearest != MODEL_NONE ? watch->model->feeds[nearest].feed : NULL);
        json_out_key(&out, "why");
        json_out_string(&out, why);
    }
    json_out_object_end(&out);
    watch->failed |= !tool_print_json(&out);
}

static void list(struct watch *watch, enum sort sort, const struct feed_reading *reading,
                 uint32_t nearest, const char *why) {
    if (watch->json) {
        list_json(watch, sort, reading, nearest, why);
    } else {
        list_line(watch, sort, reading, nearest, why);
    }
    fflush(stdout);
}

// --- Hearing ---

static void on_reading(void *user, const struct feed_reading *reading) {
    struct watch *watch = user;
    enum sort sort = reading->outcome == FEED_MAPPED ? SORT_MAPPED : SORT_REFUSED;
    const struct topic seen = {.feed = reading->feed,
                               .site = reading->site,
                               .index = reading->index,
                               .sort = sort,
                               .outcome = reading->outcome};
    watch->by_feed[reading->feed * FEED_OUTCOME_COUNT + reading->outcome]++;
    if (note(watch, &seen)) {
        list(watch, sort, reading, MODEL_NONE, "");
    }
}

static void on_message(void *user, const struct broker_message *message) {
    struct watch *watch = user;
    const struct feed_callbacks callbacks = {.reading = on_reading, .user = watch};
    if (tool_feed_text_is_ours(watch->model, message->topic)) {
        return;
    }
    char *payload = malloc(message->length + 1); // with a NUL, as feed_map needs it
    if (payload == NULL) {
        watch->failed = true;
        return;
    }
    if (message->length > 0) {
        memcpy(payload, message->payload, message->length);
    }
    payload[message->length] = '\0';
    const struct feed_message foreign = {.topic = message->topic,
                                         .payload = payload,
                                         .length = message->length,
                                         .retained = message->retained};
    watch->topic = message->topic;
    if (feed_map(watch->set, &foreign, FEED_LIVE | FEED_DURABLE, &callbacks) == 0) {
        const struct topic seen = {
            .feed = MODEL_NONE, .site = MODEL_NONE, .index = MODEL_NONE, .sort = SORT_UNMAPPED};
        if (note(watch, &seen)) {
            char why[400];
            uint32_t nearest = feed_nearest(watch->set, message->topic, why, sizeof why);
            list(watch, SORT_UNMAPPED, NULL, nearest, why);
        }
    }
    free(payload);
}

// --- Summing up ---

static void sum_feeds(const struct watch *watch, double seconds, struct json_out *out) {
    for (size_t i = 0; i < watch->model->feed_count * FEED_OUTCOME_COUNT; i++) {
        const char *feed = watch->model->feeds[i / FEED_OUTCOME_COUNT].feed;
        const char *outcome = feed_outcome_name((enum feed_outcome)(i % FEED_OUTCOME_COUNT));
        uint64_t count = watch->by_feed[i];
        if (count == 0) {
            continue;
        }
        if (!watch->json) {
            tool_line(stdout, "  feed %-20s %-15s %10llu  %10.1f /s", feed, outcome,
                      (unsigned long long)count, (double)count / seconds);
            continue;
        }
        json_out_object(out);
        json_out_key(out, "feed");
        json_out_string(out, feed);
        json_out_key(out, "outcome");
        json_out_string(out, outcome);
        json_out_key(out, "count");
        json_out_int(out, (int64_t)count);
        json_out_key(out, "rate");
        json_out_double(out, (double)count / seconds);
        json_out_object_end(out);
    }
}

// The feeds that brought nothing while it watched.
static void say_silent(const struct watch *watch) {
    for (size_t i = 0; i < watch->model->feed_count; i++) {
        bool heard = false;
        for (size_t k = 0; k < FEED_OUTCOME_COUNT; k++) {
            heard |= watch->by_feed[i * FEED_OUTCOME_COUNT + k] > 0;
        }
        if (!heard) {
            tool_line(stdout, "  feed %-20s nothing came on %s", watch->model->feeds[i].feed,
                      watch->model->feeds[i].topic);
        }
    }
}

static void sum_up_json(struct watch *watch, double seconds) {
    struct json_out out = {0};
    json_out_object(&out);
    json_out_key(&out, "sort");
    json_out_string(&out, "summary");
    json_out_key(&out, "seconds");
    json_out_double(&out, seconds);
    for (int sort = 0; sort < SORT_COUNT; sort++) {
        json_out_key(&out, sorts[sort]);
        json_out_object(&out);
        json_out_key(&out, "count");
        json_out_int(&out, (int64_t)watch->sums[sort]);
        json_out_key(&out, "rate");
        json_out_double(&out, (double)watch->sums[sort] / seconds);
        json_out_object_end(&out);
    }
    json_out_key(&out, "topics");
    json_out_int(&out, (int64_t)watch->count);
    json_out_key(&out, "left_out");
    json_out_int(&out, (int64_t)watch->left_out);
    json_out_key(&out, "feeds");
    json_out_array(&out);
    sum_feeds(watch, seconds, &out);
    json_out_array_end(&out);
    json_out_object_end(&out);
    watch->failed |= !tool_print_json(&out);
}

static void sum_up(struct watch *watch) {
    double seconds = (double)(base_clock_mono_ms() - watch->begun) / 1000;
    seconds = seconds > 0.001 ? seconds : 0.001;
    if (watch->json) {
        sum_up_json(watch, seconds);
        return;
    }
    tool_line(stdout, "In %.1f s:", seconds);
    for (int sort = 0; sort < SORT_COUNT; sort++) {
        tool_line(stdout, "  %-41s %10llu  %10.1f /s", sorts[sort],
                  (unsigned long long)watch->sums[sort], (double)watch->sums[sort] / seconds);
    }
    sum_feeds(watch, seconds, NULL);
    say_silent(watch);
    if (watch->left_out > 0) {
        tool_line(stdout, "  %llu messages of topics past the first %d were counted only",
                  (unsigned long long)watch->left_out, TOPICS_MAX);
    }
}

// --- The visit ---

static struct broker_client *open_client(struct watch *watch, char *error, size_t size) {
    const struct broker_client_options options = {.broker = &watch->model->broker,
                                                  .deadline = base_clock_mono_ms() + CONNECT_MS,
                                                  .on_message = on_message,
                                                  .user = watch,
                                                  .error = error,
                                                  .size = size};
    error[0] = '\0';
    return tool_broker_open(&options, NULL);
}

static bool subscribe_feeds(struct watch *watch, struct broker_client *client) {
    size_t count = 0;
    const char **filters = feed_filters(watch->model, FEED_LIVE | FEED_DURABLE, &count);
    bool good = filters != NULL;
    for (size_t i = 0; good && i < count; i++) {
        good = tool_broker_subscribe(client, filters[i]);
    }
    free(filters);
    return good;
}

// Everything that the broker lets this login read; or, where it does not let that be asked for, the
// topics of the feeds.
static struct broker_client *begin(struct watch *watch, const char *filter, char *error,
                                   size_t size) {
    struct broker_client *client = open_client(watch, error, size);
    if (client == NULL || tool_broker_subscribe(client, filter != NULL ? filter : "#")) {
        return client;
    }
    tool_broker_close(client);
    if (filter != NULL) {
        return NULL;
    }
    tool_error("this login may not read everything (%s): only topics of feeds are listed", error);
    client = open_client(watch, error, size);
    if (client != NULL && !subscribe_feeds(watch, client)) {
        tool_broker_close(client);
        return NULL;
    }
    return client;
}

static int visit(struct watch *watch, const struct tool_call *call) {
    char error[256];
    watch->begun = base_clock_mono_ms();
    struct broker_client *client =
        begin(watch, call->argc > 0 ? call->argv[0] : NULL, error, sizeof error);
    if (client == NULL) {
        tool_error("the broker %s:%u: %s", watch->model->broker.host, watch->model->broker.port,
                   error);
        return TOOL_REACH;
    }
    int64_t end = call->seconds > 0 ? base_clock_mono_ms() + call->seconds * 1000 : INT64_MAX;
    bool linked = true;
    tool_broker_extend(client, INT64_MAX);
    while (linked && stopped == 0 && !watch->failed && base_clock_mono_ms() < end) {
        linked = tool_broker_work(client);
    }
    tool_broker_close(client);
    sum_up(watch);
    if (!linked || watch->failed) {
        tool_error("%s", watch->failed ? "out of memory" : error);
    }
    return linked && !watch->failed ? TOOL_DONE : TOOL_REACH;
}

static int run(const struct tool_call *call) {
    const struct sigaction action = {.sa_handler = on_signal};
    struct model *model = tool_model(call);
    if (model == NULL) {
        return TOOL_CONFIGURATION;
    }
    struct watch watch = {.model = model,
                          .json = call->json,
                          .set = feed_set_new(model),
                          .size = 4 * (size_t)8192,
                          .topics = calloc(4 * (size_t)8192, sizeof(struct topic)),
                          .by_feed =
                              calloc(model->feed_count * FEED_OUTCOME_COUNT + 1, sizeof(uint64_t))};
    int status = TOOL_REACH;
    stopped = 0;
    sigaction(SIGINT, &action, NULL);
    sigaction(SIGTERM, &action, NULL);
    if (watch.set == NULL || watch.topics == NULL || watch.by_feed == NULL) {
        tool_error("out of memory");
    } else {
        status = visit(&watch, call);
    }
    for (size_t i = 0; watch.topics != NULL && i < watch.size; i++) {
        free(watch.topics[i].topic);
    }
    free(watch.topics);
    free(watch.by_feed);
    feed_set_free(watch.set);
    model_free(model);
    return status;
}

const struct tool_command tool_feed_watch = {
    .name = "feed",
    .part = "watch",
    .words = "[FILTER]",
    .options = "-c FILE [--seconds N] [--json]",
    .about = "Lists what is on the broker as the feeds see it: mapped, refused or unmapped, and "
             "how often.",
    .most = 1,
    .run = run,
};
