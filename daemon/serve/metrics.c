// The daemon's own figures, in the metrics of the HTTP API.
#include "serve/daemon.h"

#include <stdio.h>

static void one(struct http_metrics *into, const char *name, const char *type, const char *help,
                uint64_t value) {
    http_metric(into, name, type, help);
    http_sample(into, "", value);
}

static void tell_requests(const struct daemon *daemon, struct http_metrics *into) {
    static const char *const outcomes[] = {"accepted", "again", "refused"};
    const struct turn_figures *figures = turn_figures(daemon->turn);
    char labels[128];
    http_metric(into, "requests_total", "counter", "Requests decided, by verb and outcome.");
    for (int verb = 0; verb <= GATE_VERB_COUNT; verb++) {
        const char *name =
            verb < GATE_VERB_COUNT ? gate_verb_name((enum gate_verb)verb) : "unknown";
        for (int outcome = 0; outcome < TURN_DECISION_COUNT; outcome++) {
            snprintf(labels, sizeof labels, "verb=\"%s\",outcome=\"%s\"", name, outcomes[outcome]);
            http_sample(into, labels, figures->requests[verb][outcome]);
        }
    }
}

static void tell_standing(const struct daemon *daemon, struct http_metrics *into) {
    uint64_t jobs[MODEL_PHASE_COUNT] = {0}, alarms[MODEL_ALARM_KIND_COUNT] = {0};
    char labels[128];
    for (size_t s = 0; s < daemon->model->site_count; s++) {
        const struct gate_site *site = &turn_gate(daemon->turn)->sites[s];
        for (size_t i = 0; i < site->job_count; i++) {
            jobs[site->jobs[i]->phase]++;
        }
        for (size_t i = 0; i < site->alarm_count; i++) {
            alarms[site->alarms[i].kind]++;
        }
    }
    http_metric(into, "jobs", "gauge", "Jobs known, by phase; ended ones for a while.");
    for (int i = 0; i < MODEL_PHASE_COUNT; i++) {
        snprintf(labels, sizeof labels, "phase=\"%s\"", model_phase_name((enum model_phase)i));
        http_sample(into, labels, jobs[i]);
    }
    http_metric(into, "alarms", "gauge", "Alarms that stand, by kind.");
    for (int i = 0; i < MODEL_ALARM_KIND_COUNT; i++) {
        snprintf(labels, sizeof labels, "kind=\"%s\"",
                 model_alarm_kind_name((enum model_alarm_kind)i));
        http_sample(into, labels, alarms[i]);
    }
}

static void tell_connections(struct http_metrics *into, const char *name, const char *help,
                             const uint64_t by[MQTT_CONNECTION_COUNT]) {
    http_metric(into, name, "counter", help);
    http_sample(into, "connection=\"durable\"", by[MQTT_DURABLE]);
    http_sample(into, "connection=\"live\"", by[MQTT_LIVE]);
}

static void tell_mqtt(const struct mqtt_counters *counters, struct http_metrics *into) {
    tell_connections(into, "mqtt_received_total", "Messages from the broker.", counters->received);
    tell_connections(into, "mqtt_connected_total", "Times a connection went up.",
                     counters->connected);
    tell_connections(into, "mqtt_lost_total", "Times a connection went down.", counters->lost);
    one(into, "mqtt_published_total", "counter", "Messages given to the broker.",
        counters->published);
    one(into, "mqtt_confirmed_total", "counter", "Messages that the broker confirmed.",
        counters->confirmed);
    one(into, "mqtt_acknowledged_total", "counter", "Deliveries acknowledged after the commit.",
        counters->acknowledged);
    http_metric(into, "mqtt_dropped_total", "counter", "Messages not sent or not taken.");
    http_sample(into, "reason=\"down\"", counters->dropped_down);
    http_sample(into, "reason=\"full\"", counters->dropped_full);
    http_sample(into, "reason=\"stale\"", counters->dropped_stale);
    http_sample(into, "reason=\"memory\"", counters->dropped_memory);
    one(into, "mqtt_queued_messages", "gauge", "Messages waiting for the broker.",
        counters->queued_messages);
    one(into, "mqtt_queued_bytes", "gauge", "Bytes waiting for the broker.",
        counters->queued_bytes);
}

void serve_metrics(void *user, struct http_metrics *into) {
    struct daemon *daemon = user;
    struct turn_view view = turn_view(daemon->turn);
    one(into, "link_up", "gauge", "Whether both connections to the broker are up.", view.link_up);
    one(into, "journal_up", "gauge", "Whether the journal can be written.", view.journal_up);
    one(into, "start_time_seconds", "gauge", "Unix time at which the daemon came up.",
        (uint64_t)view.since / 1000);
    one(into, "facts_total", "counter", "Facts in the journal.", view.next_seq - 1);
    serve_drops_metrics(daemon, into);
    serve_feeds_metrics(daemon, into);
    tell_requests(daemon, into);
    tell_standing(daemon, into);
    serve_webhooks_metrics(daemon, into);
    if (daemon->mqtt != NULL) {
        tell_mqtt(mqtt_counters(daemon->mqtt), into);
    }
}
