// The listener and its limits; the beginning and the end.
#include "http/internal.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>
#include <sys/resource.h>
#include <sys/socket.h>

#define TICKS_A_SWEEP 10
// Without streams there is nothing to tick for but the sweep.
#define IDLE_MS 1000
#define METHODS                                                                                    \
    (EVHTTP_REQ_GET | EVHTTP_REQ_POST | EVHTTP_REQ_HEAD | EVHTTP_REQ_PUT | EVHTTP_REQ_DELETE |     \
     EVHTTP_REQ_OPTIONS | EVHTTP_REQ_TRACE | EVHTTP_REQ_CONNECT | EVHTTP_REQ_PATCH)
// The library's own timeout, re-armed by each byte; the sweep's deadlines are the ones that count.
#define SILENCE_S 20
// Descriptors that the rest of the daemon may need.
#define DESCRIPTORS_KEPT 128

static void on_tick(void *user) {
    struct http *http = user;
    http->tick++;
    if (http->idle || http->tick % TICKS_A_SWEEP == 0) {
        http_sweep(http);
    }
    http_streams_tick(http);
    if (!http->idle && http->stream_count == 0) {
        http->idle = loop_timer_every(http->timer, IDLE_MS);
    }
}

static void on_fresh(void *user) {
    http_count_fresh(user);
}

static bool make_addresses(struct http *http) {
    uint64_t seed;
    if (getrandom(&seed, sizeof seed, 0) != (ssize_t)sizeof seed) {
        return false;
    }
    http->addresses = http_addresses_new(HTTP_ADDRESSES_MAX, seed);
    http->count_soon = loop_timer_new(http->loop, on_fresh, http);
    return http->addresses != NULL && http->count_soon != NULL;
}

// As many connections as there may be descriptors, up to the cap.
static size_t connections_most(void) {
    struct rlimit limit;
    if (getrlimit(RLIMIT_NOFILE, &limit) != 0) {
        return HTTP_CONNECTIONS_MAX / 8;
    }
    rlim_t wanted = HTTP_CONNECTIONS_MAX + DESCRIPTORS_KEPT;
    if (limit.rlim_cur < wanted) {
        struct rlimit more = {limit.rlim_max < wanted ? limit.rlim_max : wanted, limit.rlim_max};
        limit = setrlimit(RLIMIT_NOFILE, &more) == 0 ? more : limit;
    }
    if (limit.rlim_cur >= wanted) {
        return HTTP_CONNECTIONS_MAX;
    }
    return limit.rlim_cur > 2 * DESCRIPTORS_KEPT ? limit.rlim_cur - DESCRIPTORS_KEPT
                                                 : DESCRIPTORS_KEPT / 2;
}

// "address:port", checked by the configuration; brackets around an IPv6 address.
static bool bind_listener(struct http *http, char *error, size_t size) {
    const char *text = http->model->http_listen;
    const char *colon = strrchr(text, ':');
    char host[300];
    bool bracketed = text[0] == '[';
    size_t length = colon != NULL ? (size_t)(colon - text) : 0;
    if (length < 1 || length >= sizeof host) {
        snprintf(error, size, "cannot listen on %s: not an address and a port", text);
        return false;
    }
    snprintf(host, sizeof host, "%.*s", (int)(length - (bracketed ? 2 : 0)),
             text + (bracketed ? 1 : 0));
    http->socket =
        evhttp_bind_socket_with_handle(http->server, host, (uint16_t)strtoul(colon + 1, NULL, 10));
    if (http->socket == NULL) {
        snprintf(error, size, "cannot listen on %s: %s", text, strerror(errno));
        return false;
    }
    // The library lets 128 wait to be accepted; more that come at once would try again for seconds.
    (void)listen(evhttp_bound_socket_get_fd(http->socket), SOMAXCONN);
    http->listening = true;
    return true;
}

static void set_limits(struct evhttp *server) {
    evhttp_set_max_headers_size(server, HTTP_HEADERS_MAX);
    evhttp_set_max_body_size(server, HTTP_BODY_READ_MAX);
    evhttp_set_timeout(server, SILENCE_S);
    evhttp_set_allowed_methods(server, METHODS);
}

static bool make_parts(struct http *http) {
    http->server = evhttp_new(loop_base(http->loop));
    http->text = evbuffer_new();
    http->chunk = evbuffer_new();
    http->timer = loop_timer_new(http->loop, on_tick, http);
    http->allowances = calloc(http->model->person_count + 1, sizeof *http->allowances);
    return http->server != NULL && http->text != NULL && http->chunk != NULL &&
           http->timer != NULL && http->allowances != NULL && make_addresses(http) &&
           http_journal_reader_new(http) && http_spare(http) &&
           loop_timer_every(http->timer, HTTP_TICK_MS);
}

static bool set_up(struct http *http, char *error, size_t size) {
    if (http->model->http_cert_file != NULL) {
        http->tls = http_tls_new(http->model, error, size);
        if (http->tls == NULL) {
            return false;
        }
    }
    if (!make_parts(http)) {
        snprintf(error, size, "out of memory");
        return false;
    }
    set_limits(http->server);
    evhttp_set_bevcb(http->server, http_accept, http);
    evhttp_set_gencb(http->server, http_dispatch, http);
    return bind_listener(http, error, size);
}

struct http *http_new(struct loop *loop, const struct model *model,
                      const struct http_callbacks *callbacks, void *user, char *error,
                      size_t size) {
    struct http *http = calloc(1, sizeof *http);
    if (http == NULL) {
        snprintf(error, size, "out of memory");
        return NULL;
    }
    http->loop = loop;
    http->model = model;
    http->callbacks = *callbacks;
    http->user = user;
    http->waiting_end = &http->waiting;
    http->posts_end = &http->posts;
    http->connection_most = connections_most();
    if (!set_up(http, error, size)) {
        http_free(http);
        return NULL;
    }
    return http;
}

bool http_reload(struct http *http, char *error, size_t size) {
    if (http->tls == NULL) {
        return true;
    }
    SSL_CTX *tls = http_tls_new(http->model, error, size);
    if (tls == NULL) {
        return false;
    }
    SSL_CTX_free(http->tls); // connections that use it keep it
    http->tls = tls;
    struct bufferevent *old = http->spare;
    http->spare = NULL;
    if (!http_spare(http)) {
        http->spare = old;
    } else if (old != NULL) {
        bufferevent_free(old);
    }
    return true;
}

static void forget_waiting(struct http *http) {
    while (http->waiting != NULL) {
        struct http_call *call = http->waiting;
        http->waiting = call->next;
        http_abandon(call->request);
        free(call);
    }
    while (http->posts != NULL) {
        struct http_post *post = http->posts;
        http->posts = post->next;
        http_abandon(post->request);
        free(post);
    }
}

void http_free(struct http *http) {
    if (http == NULL) {
        return;
    }
    loop_timer_free(http->timer);
    http_journal_reader_free(http);
    forget_waiting(http);
    http_streams_free(http);
    if (http->server != NULL) {
        evhttp_free(http->server);
    }
    http_connections_free(http);
    loop_timer_free(http->count_soon);
    http_addresses_free(http->addresses);
    SSL_CTX_free(http->tls);
    if (http->text != NULL) {
        evbuffer_free(http->text);
    }
    if (http->chunk != NULL) {
        evbuffer_free(http->chunk);
    }
    free(http->allowances);
    journal_close(http->reader);
    json_out_free(&http->out);
    free(http);
}
