// The HTTP API's side of the daemon: the state it shows, the requests it brings.
#include "serve/daemon.h"

#include <string.h>

static void on_state(void *user, struct http_state *state) {
    struct daemon *daemon = user;
    struct turn_view view = turn_view(daemon->turn);
    *state = (struct http_state){.documents = turn_differ(daemon->turn),
                                 .gate = turn_gate(daemon->turn),
                                 .now = turn_now(daemon->turn),
                                 .next_seq = view.next_seq,
                                 .link_up = view.link_up,
                                 .journal_up = view.journal_up,
                                 .feed_heard = serve_feeds_heard(daemon->feeds),
                                 .settled = view.settled};
}

static bool on_ask(void *user, const struct wire_request_in *request) {
    struct daemon *daemon = user;
    return turn_submit_request(daemon->turn, request);
}

static bool on_ends(void *user, const struct wire_request_in *request) {
    struct daemon *daemon = user;
    return turn_ends(daemon->turn, request);
}

static bool is_loopback(const char *listen) {
    static const char *const loopbacks[] = {"127.", "[::1]:", "localhost:"};
    for (size_t i = 0; i < sizeof loopbacks / sizeof loopbacks[0]; i++) {
        if (strncmp(listen, loopbacks[i], strlen(loopbacks[i])) == 0) {
            return true;
        }
    }
    return false;
}

bool serve_web_new(struct daemon *daemon) {
    static const struct http_callbacks callbacks = {
        .state = on_state, .ask = on_ask, .ends = on_ends, .metrics = serve_metrics};
    char error[512];
    if (daemon->model->http_listen == NULL) {
        return true;
    }
    daemon->http = http_new(daemon->loop, daemon->model, &callbacks, daemon, error, sizeof error);
    if (daemon->http == NULL) {
        serve_log_error("http", "%s", error);
        return false;
    }
    if (daemon->model->http_cert_file == NULL && !is_loopback(daemon->model->http_listen)) {
        serve_log_warn("http",
                       "listening=%s without TLS: whoever can hear the network can read tokens",
                       daemon->model->http_listen);
    }
    serve_log_info("http", "listening=%s%s", daemon->model->http_listen,
                   daemon->model->http_cert_file != NULL ? " tls" : "");
    return true;
}
