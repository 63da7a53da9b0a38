// What operators' programs read: health and metrics (Prometheus text).
#include "http/internal.h"

#include <inttypes.h>
#include <stdio.h>

struct http_metrics {
    struct evbuffer *text;
    const char *name; // of the present metric
};

void http_serve_health(struct http_call *call) {
    struct http *http = call->http;
    struct http_state state = http_state_now(http);
    bool well = state.link_up && state.journal_up;
    struct json_out *out = &http->out;
    json_out_reset(out);
    json_out_object(out);
    json_out_key(out, "status");
    json_out_string(out, well ? "ok" : "failing");
    json_out_key(out, "link");
    json_out_bool(out, state.link_up);
    json_out_key(out, "journal");
    json_out_bool(out, state.journal_up);
    json_out_object_end(out);
    if (well || out->failed) {
        http_reply_out(http, call->request);
    } else {
        http_reply(http, call->request, 503, "application/json", out->data, out->length);
    }
}

void http_metric(struct http_metrics *into, const char *name, const char *type, const char *help) {
    into->name = name;
    evbuffer_add_printf(into->text, "# HELP forelock_%s %s\n# TYPE forelock_%s %s\n", name, help,
                        name, type);
}

void http_sample(struct http_metrics *into, const char *labels, uint64_t value) {
    bool bare = labels[0] == '\0';
    evbuffer_add_printf(into->text, "forelock_%s%s%s%s %" PRIu64 "\n", into->name, bare ? "" : "{",
                        labels, bare ? "" : "}", value);
}

static void one(struct http_metrics *into, const char *name, const char *type, const char *help,
                uint64_t value) {
    http_metric(into, name, type, help);
    http_sample(into, "", value);
}

static void own(struct http *http, struct http_metrics *into) {
    const struct http_counts *counts = &http->counts;
    char label[32];
    http_metric(into, "http_responses_total", "counter", "Answers over HTTP by class of status.");
    for (int i = 1; i < 5; i++) {
        snprintf(label, sizeof label, "class=\"%dxx\"", i + 1);
        http_sample(into, label, counts->statuses[i]);
    }
    one(into, "http_connections", "gauge", "Open HTTP connections.", http->connection_count);
    one(into, "http_connections_total", "counter", "HTTP connections accepted.",
        counts->connections);
    one(into, "http_connections_cut_total", "counter", "HTTP connections cut as too slow.",
        counts->cut);
    one(into, "http_connections_crowded_total", "counter",
        "HTTP connections closed as their address had too many.", counts->crowded);
    one(into, "http_unauthorized_total", "counter", "HTTP requests without a known token.",
        counts->unauthorized);
    one(into, "http_limited_total", "counter",
        "HTTP requests over their person's or address's allowance.", counts->limited);
    one(into, "http_streams", "gauge", "Open event streams.", http->stream_count);
    one(into, "http_streams_dropped_total", "counter",
        "Event streams dropped as their client read too slowly.", counts->streams_dropped);
}

void http_serve_metrics(struct http_call *call) {
    struct http *http = call->http;
    struct http_metrics metrics = {.text = evbuffer_new()};
    if (metrics.text == NULL) {
        http_problem(http, call->request, 503, "out of memory");
        return;
    }
    http->callbacks.metrics(http->user, &metrics);
    own(http, &metrics);
    size_t length = evbuffer_get_length(metrics.text);
    const char *text = (const char *)evbuffer_pullup(metrics.text, -1);
    if (text == NULL) {
        http_problem(http, call->request, 503, "out of memory");
    } else {
        http_reply(http, call->request, 200, "text/plain; version=0.0.4; charset=utf-8", text,
                   length);
    }
    evbuffer_free(metrics.text);
}
