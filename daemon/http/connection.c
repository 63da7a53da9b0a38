// Connections: how many, and for how long each may take.
//
// The library re-arms its timeout with every byte and knows no most, so each connection's buffers
// are made here and listed, with a reference of ours; that the library has freed them shows in
// their callbacks, which are then gone.
#include "http/internal.h"

#include <event2/bufferevent_ssl.h>
#include <event2/listener.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <stdlib.h>
#include <sys/socket.h>

// Not oftener than this for an address that has too many.
#define SWEEP_AGAIN_MS 100

static size_t bucket_of(const struct bufferevent *bev) {
    return ((uintptr_t)bev >> 5) * 2654435761u % HTTP_BUCKETS;
}

static struct bufferevent *make(struct http *http) {
    struct event_base *base = loop_base(http->loop);
    if (http->tls == NULL) {
        return bufferevent_socket_new(base, -1, BEV_OPT_CLOSE_ON_FREE);
    }
    SSL *ssl = SSL_new(http->tls);
    if (ssl == NULL) {
        return NULL;
    }
    struct bufferevent *bev = bufferevent_openssl_socket_new(
        base, -1, ssl, BUFFEREVENT_SSL_ACCEPTING, BEV_OPT_CLOSE_ON_FREE);
    if (bev == NULL) {
        SSL_free(ssl);
        return NULL;
    }
    bufferevent_openssl_set_allow_dirty_shutdown(bev, 1); // phones just go
    return bev;
}

bool http_spare(struct http *http) {
    if (http->spare == NULL) {
        http->spare = make(http);
    }
    return http->spare != NULL;
}

static void listen_or_not(struct http *http, bool wanted) {
    struct evconnlistener *listener = evhttp_bound_socket_get_listener(http->socket);
    if (wanted != http->listening) {
        http->listening = wanted;
        (void)(wanted ? evconnlistener_enable(listener) : evconnlistener_disable(listener));
    }
}

// The library would serve clear text on a TLS port if it got NULL here: so the buffers are there
// before a connection is accepted, and without the next ones nothing more is.
struct bufferevent *http_accept(struct event_base *base, void *user) {
    struct http *http = user;
    struct bufferevent *bev = http->spare;
    struct http_connection *connection = calloc(1, sizeof *connection);
    (void)base;
    http->spare = NULL;
    http->counts.connections++;
    if (connection != NULL) {
        struct http_connection **bucket = &http->buckets[bucket_of(bev)];
        bufferevent_incref(bev);
        *connection =
            (struct http_connection){.next = *bucket,
                                     .bev = bev,
                                     .deadline = loop_now(http->loop).mono_ms + HTTP_REQUEST_MS};
        *bucket = connection;
        http->connection_count++;
        connection->fresh = true;
        connection->next_fresh = http->fresh;
        http->fresh = connection;
        loop_timer_soon(http->count_soon);
    }
    if (!http_spare(http) || http->connection_count >= http->connection_most) {
        listen_or_not(http, false);
    }
    return bev;
}

static bool is_freed(const struct http_connection *connection) {
    bufferevent_event_cb on_event = NULL;
    bufferevent_getcb(connection->bev, NULL, NULL, &on_event, NULL);
    return on_event == NULL;
}

static void sweep(struct http *http);

// The library gives a connection its socket after it has asked for its buffers, so the address is
// looked at behind that, in the same turn.
static void count_fresh(struct http *http, struct http_connection *connection, bool swept) {
    struct sockaddr_storage address;
    struct http_address_key key;
    socklen_t length = sizeof address;
    evutil_socket_t socket = bufferevent_getfd(connection->bev);
    if (is_freed(connection) || socket < 0 ||
        getpeername(socket, (struct sockaddr *)&address, &length) != 0 ||
        !http_address_key((const struct sockaddr *)&address, &key)) {
        return;
    }
    connection->address = http_address_join(http->addresses, &key);
    if (connection->address == NULL && !swept) {
        sweep(http); // some that were closed may still be counted
        count_fresh(http, connection, true);
    } else if (connection->address == NULL) {
        http->counts.crowded++;
        bufferevent_trigger_event(connection->bev, BEV_EVENT_TIMEOUT | BEV_EVENT_READING, 0);
    }
}

void http_count_fresh(struct http *http) {
    int64_t now = loop_now(http->loop).mono_ms;
    while (http->fresh != NULL) {
        struct http_connection *connection = http->fresh;
        http->fresh = connection->next_fresh;
        count_fresh(http, connection, now - http->swept < SWEEP_AGAIN_MS);
        connection->fresh = false;
    }
}

static void sweep_bucket(struct http *http, struct http_connection **at, int64_t now) {
    while (*at != NULL) {
        struct http_connection *connection = *at;
        if (connection->fresh) {
            at = &connection->next;
            continue;
        }
        if (!is_freed(connection) && connection->deadline <= now) {
            http->counts.cut++;
            bufferevent_trigger_event(connection->bev, BEV_EVENT_TIMEOUT | BEV_EVENT_READING, 0);
        }
        if (!is_freed(connection)) {
            at = &connection->next;
            continue;
        }
        *at = connection->next;
        if (connection->address != NULL) {
            http_address_leave(http->addresses, connection->address);
        }
        bufferevent_decref(connection->bev);
        free(connection);
        http->connection_count--;
    }
}

static void sweep(struct http *http) {
    int64_t now = loop_now(http->loop).mono_ms;
    http->swept = now;
    for (size_t i = 0; i < HTTP_BUCKETS; i++) {
        sweep_bucket(http, &http->buckets[i], now);
    }
    listen_or_not(http, http_spare(http) && http->connection_count < http->connection_most);
}

void http_sweep(struct http *http) {
    http_count_fresh(http);
    sweep(http);
}

void http_connections_free(struct http *http) {
    for (size_t i = 0; i < HTTP_BUCKETS; i++) {
        while (http->buckets[i] != NULL) {
            struct http_connection *connection = http->buckets[i];
            http->buckets[i] = connection->next;
            bufferevent_decref(connection->bev);
            free(connection);
        }
    }
    if (http->spare != NULL) {
        bufferevent_free(http->spare);
    }
}

struct bufferevent *http_bufferevent(struct evhttp_request *request) {
    struct evhttp_connection *connection = evhttp_request_get_connection(request);
    return connection != NULL ? evhttp_connection_get_bufferevent(connection) : NULL;
}

static struct http_connection *connection_of(struct http *http, struct evhttp_request *request) {
    struct bufferevent *bev = http_bufferevent(request);
    struct http_connection *connection = bev != NULL ? http->buckets[bucket_of(bev)] : NULL;
    while (connection != NULL && connection->bev != bev) {
        connection = connection->next;
    }
    return connection;
}

struct http_address *http_connection_asked(struct http *http, struct evhttp_request *request) {
    http_count_fresh(http);
    struct http_connection *connection = connection_of(http, request);
    if (connection == NULL) {
        return NULL;
    }
    connection->deadline = INT64_MAX;
    if (!connection->prepared) {
        int on = 1; // an alarm does not wait for the acknowledgement of what went before
        connection->prepared = true;
        setsockopt(bufferevent_getfd(connection->bev), IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
    }
    return connection->address;
}

static void on_complete(struct evhttp_request *request, void *user) {
    struct http *http = user;
    struct http_connection *connection = connection_of(http, request);
    if (connection != NULL) {
        connection->deadline = loop_now(http->loop).mono_ms + HTTP_REQUEST_MS;
    }
}

void http_connection_answered(struct http *http, struct evhttp_request *request) {
    struct http_connection *connection = connection_of(http, request);
    if (connection != NULL) {
        connection->deadline = loop_now(http->loop).mono_ms + HTTP_ANSWER_MS;
        evhttp_request_set_on_complete_cb(request, on_complete, http);
    }
}
