// The feeds' side of the daemon: what the hardware says on topics of its own is mapped and given to
// the gate; what became of it is counted by feed and reason.
#include "serve/daemon.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// What came of a feed's messages.
struct feed_counts {
    uint64_t counts[FEED_OUTCOME_COUNT];
    struct serve_log_limit limits[FEED_OUTCOME_COUNT];
};

struct serve_feeds {
    struct feed_set *set;
    struct feed_counts *counts; // by feed
    int64_t *heard;             // by feed and site
};

// Whether a feed can name anything of a site, that has to be heard all the time.
static bool speaks_of(const struct model_feed *feed, const struct model_site *site) {
    bool speaks = false;
    if (feed->to == MODEL_FEED_SIGNAL) {
        for (size_t i = 0; !speaks && i < site->sensor_count; i++) {
            speaks = model_feed_names(feed, site->site, site->sensors[i].sensor);
        }
    } else if (feed->to == MODEL_FEED_MEASURE) {
        for (size_t i = 0; !speaks && i < site->measure_count; i++) {
            speaks = model_feed_names(feed, site->site, site->measures[i].measure);
        }
    }
    return speaks;
}

struct serve_feeds *serve_feeds_new(struct daemon *daemon) {
    const struct model *model = daemon->model;
    size_t sites = model->site_count;
    struct serve_feeds *feeds = calloc(1, sizeof *feeds);
    if (feeds == NULL) {
        return NULL;
    }
    feeds->set = feed_set_new(model);
    feeds->counts = calloc(model->feed_count + 1, sizeof *feeds->counts);
    feeds->heard = calloc(model->feed_count * sites + 1, sizeof *feeds->heard);
    if (feeds->set == NULL || feeds->counts == NULL || feeds->heard == NULL) {
        serve_feeds_free(feeds);
        return NULL;
    }
    int64_t now = turn_now(daemon->turn).mono;
    for (size_t i = 0; i < model->feed_count; i++) {
        for (size_t s = 0; s < sites; s++) {
            feeds->heard[i * sites + s] = speaks_of(&model->feeds[i], &model->sites[s]) ? now : -1;
        }
    }
    return feeds;
}

void serve_feeds_free(struct serve_feeds *feeds) {
    if (feeds != NULL) {
        feed_set_free(feeds->set);
        free(feeds->counts);
        free(feeds->heard);
        free(feeds);
    }
}

const int64_t *serve_feeds_heard(const struct serve_feeds *feeds) {
    return feeds->heard;
}

// --- Hearing ---

struct hearing {
    struct daemon *daemon;
    const char *topic;
};

static void complain(const struct hearing *hearing, const struct feed_reading *reading) {
    struct daemon *daemon = hearing->daemon;
    struct serve_log_limit *limit = &daemon->feeds->counts[reading->feed].limits[reading->outcome];
    uint64_t left_out;
    if (reading->outcome == FEED_ANOTHERS) {
        return; // of the ordinary course; the counters tell
    }
    if (serve_log_allowed(limit, loop_now(daemon->loop).mono_ms, &left_out)) {
        serve_log_warn("feed", "feed=%s not_mapped=%s topic=%.200s why=%s left_out=%llu",
                       daemon->model->feeds[reading->feed].feed,
                       feed_outcome_name(reading->outcome), hearing->topic, reading->why,
                       (unsigned long long)left_out);
    }
}

// A tag event is a request of its kind: it may have to wait for a commit.
static void give_tagging(struct daemon *daemon, const struct feed_reading *reading) {
    const struct turn_tagging event = {
        .site = reading->site, .point = reading->index, .from_feed = true, .tagging = reading->tag};
    if (!turn_submit_tagging(daemon->turn, &event)) {
        turn_fail(daemon->turn); // the broker delivers it again
    }
}

static void give(const struct hearing *hearing, const struct feed_reading *reading) {
    struct daemon *daemon = hearing->daemon;
    struct gate *gate = turn_gate(daemon->turn);
    struct gate_time now = turn_now(daemon->turn);
    enum gate_heard heard = GATE_HEARD_CHANGED;
    switch (reading->to) {
    case MODEL_FEED_SIGNAL:
        heard = gate_hear(gate, reading->site, reading->index, &reading->signal, now);
        break;
    case MODEL_FEED_MEASURE:
        heard = gate_hear_measure(gate, reading->site, reading->index, &reading->measure, now);
        break;
    case MODEL_FEED_TAG:
        give_tagging(daemon, reading);
        break;
    default:
        gate_hear_controller(gate, reading->site, reading->index, reading->online, now);
    }
    serve_drop_heard(daemon, heard, hearing->topic, "");
}

static void on_reading(void *user, const struct feed_reading *reading) {
    const struct hearing *hearing = user;
    struct daemon *daemon = hearing->daemon;
    daemon->feeds->counts[reading->feed].counts[reading->outcome]++;
    if (reading->outcome != FEED_MAPPED) {
        complain(hearing, reading);
    } else {
        int64_t *heard =
            &daemon->feeds->heard[reading->feed * daemon->model->site_count + reading->site];
        *heard = *heard < 0 ? -1 : turn_now(daemon->turn).mono;
    }
    if (reading->take) {
        give(hearing, reading);
    }
}

bool serve_feeds_hear(struct daemon *daemon, const struct feed_message *message, unsigned which) {
    struct hearing hearing = {.daemon = daemon, .topic = message->topic};
    const struct feed_callbacks callbacks = {.reading = on_reading, .user = &hearing};
    return feed_map(daemon->feeds->set, message, which, &callbacks) > 0;
}

// --- Metrics ---

void serve_feeds_metrics(const struct daemon *daemon, struct http_metrics *into) {
    const struct model *model = daemon->model;
    char labels[160];
    if (model->feed_count == 0) {
        return;
    }
    http_metric(into, "feed_total", "counter",
                "Readings of the hardware's own topics, by feed and what became of them.");
    for (size_t i = 0; i < model->feed_count; i++) {
        for (int outcome = 0; outcome < FEED_OUTCOME_COUNT; outcome++) {
            snprintf(labels, sizeof labels, "feed=\"%s\",outcome=\"%s\"", model->feeds[i].feed,
                     feed_outcome_name((enum feed_outcome)outcome));
            http_sample(into, labels, daemon->feeds->counts[i].counts[outcome]);
        }
    }
}
