// What came in and was not taken: counted by its reason, and logged at most once in a while.
#include "serve/daemon.h"

#include <stdio.h>
#include <stdlib.h>

static const char *const drop_names[SERVE_DROP_COUNT] = {
    [SERVE_DROP_TOPIC] = "wrong topic",
    [SERVE_DROP_SITE] = "another's site",
    [SERVE_DROP_NAME] = "not configured",
    [SERVE_DROP_RETAINED] = "retained",
    [SERVE_DROP_PAYLOAD] = "unreadable",
    [SERVE_DROP_COPY] = "a copy",
    [SERVE_DROP_OLDER] = "older",
    [SERVE_DROP_CLAIMED] = "claimed by a feed",
    [SERVE_DROP_RESPONSE_TOPIC] = "response topic outside the reply prefix",
};

struct serve_drops {
    uint64_t counts[SERVE_DROP_COUNT];
    struct serve_log_limit limits[SERVE_DROP_COUNT];
};

struct serve_drops *serve_drops_new(void) {
    return calloc(1, sizeof(struct serve_drops));
}

void serve_drops_free(struct serve_drops *drops) {
    free(drops);
}

void serve_drop(struct daemon *daemon, enum serve_drop why, const char *topic, const char *text) {
    daemon->drops->counts[why]++;
    if (why == SERVE_DROP_COPY || why == SERVE_DROP_OLDER || why == SERVE_DROP_SITE) {
        return; // of the ordinary course; the counters tell
    }
    uint64_t left_out;
    if (serve_log_allowed(&daemon->drops->limits[why], loop_now(daemon->loop).mono_ms, &left_out)) {
        serve_log_warn("inbound", "dropped=\"%s\" topic=%.200s%s%s left_out=%llu", drop_names[why],
                       topic, text[0] != '\0' ? " why=" : "", text, (unsigned long long)left_out);
    }
}

void serve_drop_heard(struct daemon *daemon, enum gate_heard heard, const char *topic,
                      const char *error) {
    switch (heard) {
    case GATE_HEARD_COPY:
        serve_drop(daemon, SERVE_DROP_COPY, topic, "");
        break;
    case GATE_HEARD_OLDER:
        serve_drop(daemon, SERVE_DROP_OLDER, topic, "");
        break;
    case GATE_HEARD_RETAINED:
        serve_drop(daemon, SERVE_DROP_RETAINED, topic, "a signal without `at` is no evidence");
        break;
    case GATE_HEARD_BAD:
        if (error[0] != '\0') {
            serve_drop(daemon, SERVE_DROP_PAYLOAD, topic, error);
        }
        break;
    default:
        break;
    }
}

// Of tag events that feeds made, the turn knows what became of them.
static uint64_t taggings(const struct daemon *daemon, enum serve_drop why) {
    const struct turn_figures *figures = turn_figures(daemon->turn);
    return why == SERVE_DROP_COPY       ? figures->taggings[GATE_HEARD_COPY]
           : why == SERVE_DROP_OLDER    ? figures->taggings[GATE_HEARD_OLDER]
           : why == SERVE_DROP_RETAINED ? figures->taggings[GATE_HEARD_RETAINED]
                                        : 0;
}

void serve_drops_metrics(const struct daemon *daemon, struct http_metrics *into) {
    char labels[128];
    http_metric(into, "dropped_total", "counter", "Messages that were not taken, by reason.");
    for (int i = 0; i < SERVE_DROP_COUNT; i++) {
        snprintf(labels, sizeof labels, "reason=\"%s\"", drop_names[i]);
        http_sample(into, labels, daemon->drops->counts[i] + taggings(daemon, (enum serve_drop)i));
    }
}
