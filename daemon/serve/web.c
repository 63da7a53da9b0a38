// The HTTP API's side of the daemon: the state it shows, the requests it brings, the figures.
#include "config/config.h"
#include "serve/daemon.h"

#include <stdlib.h>
#include <string.h>

static void on_state(void *user, struct http_state *state) {
    struct daemon *daemon = user;
    *state = (struct http_state){.gate = daemon->gate,
                                 .now = daemon_now(daemon),
                                 .next_seq = daemon->next_seq,
                                 .link_up = daemon->link_up,
                                 .journal_up = daemon->journal_up,
                                 .feed_heard = daemon->feed_heard,
                                 .settled = !loop_work_busy(daemon->writer) &&
                                            daemon->turn.messages.count == 0 &&
                                            daemon_batch_empty(&daemon->turn.batch)};
}

// A request takes the form that it has when it comes from the broker, so there is one way to do it.
static bool on_ask(void *user, const struct http_ask *ask) {
    struct daemon *daemon = user;
    char topic[512];
    int length = snprintf(topic, sizeof topic, "%s/%s/request/%s/%s", daemon->model->root,
                          daemon->model->sites[ask->site].site, ask->person, ask->verb);
    const struct mqtt_message message = {.connection = MQTT_DURABLE,
                                         .topic = topic,
                                         .payload = ask->body,
                                         .length = ask->length,
                                         .qos = 1};
    bool come =
        length > 0 && (size_t)length < sizeof topic && daemon_come(daemon, &message, ask->ticket);
    daemon_publish_breaks(daemon);
    return come;
}

// --- Metrics ---

static void one(struct http_metrics *into, const char *name, const char *type, const char *help,
                uint64_t value) {
    http_metric(into, name, type, help);
    http_sample(into, "", value);
}

static void tell_requests(const struct daemon *daemon, struct http_metrics *into) {
    static const char *const outcomes[] = {"accepted", "again", "refused"};
    char labels[128];
    http_metric(into, "requests_total", "counter", "Requests decided, by verb and outcome.");
    for (int verb = 0; verb <= GATE_VERB_COUNT; verb++) {
        const char *name =
            verb < GATE_VERB_COUNT ? gate_verb_name((enum gate_verb)verb) : "unknown";
        for (int outcome = 0; outcome < DAEMON_OUTCOME_COUNT; outcome++) {
            snprintf(labels, sizeof labels, "verb=\"%s\",outcome=\"%s\"", name, outcomes[outcome]);
            http_sample(into, labels, daemon->asked[verb][outcome]);
        }
    }
}

static void tell_standing(const struct daemon *daemon, struct http_metrics *into) {
    uint64_t jobs[MODEL_PHASE_COUNT] = {0}, alarms[MODEL_ALARM_KIND_COUNT] = {0};
    char labels[128];
    for (size_t s = 0; s < daemon->model->site_count; s++) {
        const struct gate_site *site = &daemon->gate->sites[s];
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

static void on_metrics(void *user, struct http_metrics *into) {
    struct daemon *daemon = user;
    char labels[128];
    one(into, "link_up", "gauge", "Whether both connections to the broker are up.",
        daemon->link_up);
    one(into, "journal_up", "gauge", "Whether the journal can be written.", daemon->journal_up);
    one(into, "start_time_seconds", "gauge", "Unix time at which the daemon came up.",
        (uint64_t)daemon->since / 1000);
    one(into, "facts_total", "counter", "Facts in the journal.", daemon->next_seq - 1);
    http_metric(into, "dropped_total", "counter", "Messages that were not taken, by reason.");
    for (int i = 0; i < DAEMON_DROP_COUNT; i++) {
        snprintf(labels, sizeof labels, "reason=\"%s\"", daemon_drop_name((enum daemon_drop)i));
        http_sample(into, labels, daemon->drops[i]);
    }
    daemon_tell_feeds(daemon, into);
    tell_requests(daemon, into);
    tell_standing(daemon, into);
    daemon_hooks_metrics(daemon, into);
    if (daemon->mqtt != NULL) {
        tell_mqtt(mqtt_counters(daemon->mqtt), into);
    }
}

// --- The beginning ---

static bool is_loopback(const char *listen) {
    static const char *const loopbacks[] = {"127.", "[::1]:", "localhost:"};
    for (size_t i = 0; i < sizeof loopbacks / sizeof loopbacks[0]; i++) {
        if (strncmp(listen, loopbacks[i], strlen(loopbacks[i])) == 0) {
            return true;
        }
    }
    return false;
}

bool daemon_web_new(struct daemon *daemon) {
    static const struct http_hooks hooks = {
        .state = on_state, .ask = on_ask, .metrics = on_metrics};
    char error[512];
    if (daemon->model->http_listen == NULL) {
        return true;
    }
    daemon->http = http_new(daemon->loop, daemon->model, &hooks, daemon, error, sizeof error);
    if (daemon->http == NULL) {
        log_error("http", "%s", error);
        return false;
    }
    if (daemon->model->http_cert_file == NULL && !is_loopback(daemon->model->http_listen)) {
        log_warn("http", "listening=%s without TLS: whoever can hear the network can read tokens",
                 daemon->model->http_listen);
    }
    log_info("http", "listening=%s%s", daemon->model->http_listen,
             daemon->model->http_cert_file != NULL ? " tls" : "");
    return true;
}

// --- Read again ---

// Takes a person's token as it is now. Whether it is another one, or none any more.
static bool take_token(struct model_person *person, const struct model_person *now) {
    bool had = person->has_token;
    bool same = now != NULL && now->has_token == had &&
                memcmp(now->token_sha256, person->token_sha256, sizeof person->token_sha256) == 0;
    if (same) {
        return false;
    }
    person->has_token = now != NULL && now->has_token;
    if (person->has_token) {
        memcpy(person->token_sha256, now->token_sha256, sizeof person->token_sha256);
    }
    return had;
}

static void take_tokens(struct daemon *daemon, const struct model *now) {
    struct model *model = daemon->model;
    bool *changed = calloc(model->person_count + 1, sizeof *changed);
    size_t count = 0;
    if (changed == NULL) {
        log_error("http", "out of memory: the tokens from before are kept");
        return;
    }
    for (size_t i = 0; i < model->person_count; i++) {
        struct model_person *person = &model->people[i];
        changed[i] = take_token(person, model_person_find(now, person->person));
        count += changed[i];
    }
    http_tokens_changed(daemon->http, changed);
    free(changed);
    log_info("http", "the tokens were read again: revoked=%zu", count);
}

// Roles, sites and everything else stay as they are until a restart: a gate whose rules change in
// the middle of a job would be no gate. So nothing else is read either: it would hold up the loop,
// set the time zone under the other threads, and an unfinished edit of a site would keep a lost
// phone in.
static void reload_tokens(struct daemon *daemon) {
    struct config_report report = {0};
    struct model *now = config_load_people(daemon->path, &report);
    if (now == NULL) {
        log_error("http", "the people file has errors: the tokens from before are kept");
        config_report_print(&report, stderr);
    } else {
        take_tokens(daemon, now);
    }
    model_free(now);
    config_report_free(&report);
    loop_now_again(daemon->loop);
}

void daemon_web_reload(struct daemon *daemon) {
    char error[512];
    if (daemon->http == NULL) {
        return;
    }
    reload_tokens(daemon);
    if (daemon->model->http_cert_file == NULL) {
        return;
    }
    if (http_reload(daemon->http, error, sizeof error)) {
        log_info("http", "the certificate was read again");
    } else {
        log_error("http", "%s: the certificate from before is kept", error);
    }
}
