// The feeds' side of the daemon: what the hardware says on topics of its own is mapped and given to
// the gate; what became of it is counted by feed and reason.
#include "serve/daemon.h"

#include <stdlib.h>
#include <string.h>

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

bool daemon_feeds_new(struct daemon *daemon) {
    const struct model *model = daemon->model;
    size_t sites = model->site_count;
    daemon->feed_set = feed_set_new(model);
    daemon->feeds = calloc(model->feed_count + 1, sizeof *daemon->feeds);
    daemon->feed_heard = calloc(model->feed_count * sites + 1, sizeof *daemon->feed_heard);
    if (daemon->feed_set == NULL || daemon->feeds == NULL || daemon->feed_heard == NULL) {
        return false;
    }
    int64_t now = daemon_now(daemon).line;
    for (size_t i = 0; i < model->feed_count; i++) {
        for (size_t s = 0; s < sites; s++) {
            daemon->feed_heard[i * sites + s] =
                speaks_of(&model->feeds[i], &model->sites[s]) ? now : -1;
        }
    }
    return true;
}

void daemon_feeds_free(struct daemon *daemon) {
    feed_set_free(daemon->feed_set);
    free(daemon->feeds);
    free(daemon->feed_heard);
}

// --- Hearing ---

struct hearing {
    struct daemon *daemon;
    const char *topic;
};

static void complain(const struct hearing *hearing, const struct feed_reading *reading) {
    struct daemon *daemon = hearing->daemon;
    struct log_limit *limit = &daemon->feeds[reading->feed].limits[reading->outcome];
    uint64_t left_out;
    if (reading->outcome == FEED_ANOTHERS) {
        return; // of the ordinary course; the counters tell
    }
    if (log_allowed(limit, loop_now(daemon->loop).mono_ms, &left_out)) {
        log_warn("feed", "feed=%s not_mapped=%s topic=%.200s why=%s left_out=%llu",
                 daemon->model->feeds[reading->feed].feed, feed_outcome_name(reading->outcome),
                 hearing->topic, reading->why, (unsigned long long)left_out);
    }
}

static void give(const struct hearing *hearing, const struct feed_reading *reading) {
    struct daemon *daemon = hearing->daemon;
    struct gate_time now = daemon_now(daemon);
    enum gate_heard heard = GATE_HEARD_CHANGED;
    switch (reading->to) {
    case MODEL_FEED_SIGNAL:
        heard = gate_hear(daemon->gate, reading->site, reading->index, &reading->signal, now);
        break;
    case MODEL_FEED_MEASURE:
        heard =
            gate_hear_measure(daemon->gate, reading->site, reading->index, &reading->measure, now);
        break;
    case MODEL_FEED_TAG:
        heard = gate_hear_tagging(daemon->gate, reading->site, reading->index, &reading->tag, now);
        break;
    default:
        gate_hear_controller(daemon->gate, reading->site, reading->index, reading->online, now);
    }
    daemon_count_heard(daemon, heard, hearing->topic, "");
}

static void on_reading(void *user, const struct feed_reading *reading) {
    const struct hearing *hearing = user;
    struct daemon *daemon = hearing->daemon;
    daemon->feeds[reading->feed].counts[reading->outcome]++;
    if (reading->outcome != FEED_MAPPED) {
        complain(hearing, reading);
    } else {
        int64_t *heard =
            &daemon->feed_heard[reading->feed * daemon->model->site_count + reading->site];
        *heard = *heard < 0 ? -1 : daemon_now(daemon).line;
    }
    if (reading->take) {
        give(hearing, reading);
    }
}

bool daemon_hear_feeds(struct daemon *daemon, const struct feed_message *message, unsigned which) {
    struct hearing hearing = {.daemon = daemon, .topic = message->topic};
    const struct feed_hooks hooks = {.reading = on_reading, .user = &hearing};
    return feed_map(daemon->feed_set, message, which, &hooks) > 0;
}

// --- Metrics ---

void daemon_tell_feeds(const struct daemon *daemon, struct http_metrics *into) {
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
            http_sample(into, labels, daemon->feeds[i].counts[outcome]);
        }
    }
}
