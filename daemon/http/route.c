// Requests as they come: who asks, which route, now or once the state may be seen.
#include "http/internal.h"

#include "http/authorize.h"

#include <stdlib.h>
#include <string.h>

static const struct http_route routes[] = {
    {"health", EVHTTP_REQ_GET, true, false, http_serve_health},
    {"metrics", EVHTTP_REQ_GET, false, false, http_serve_metrics},
    {"api/+", EVHTTP_REQ_GET, false, true, http_serve_site},
    {"api/+/position/+", EVHTTP_REQ_GET, false, true, http_serve_position},
    {"api/+/point/+", EVHTTP_REQ_GET, false, true, http_serve_point},
    {"api/+/job/+", EVHTTP_REQ_GET, false, true, http_serve_job},
    {"api/+/job/+/gate", EVHTTP_REQ_GET, false, true, http_serve_gate},
    {"api/+/alarm/+", EVHTTP_REQ_GET, false, true, http_serve_alarm},
    {"api/+/events", EVHTTP_REQ_GET, false, false, http_serve_events},
    {"api/+/stream", EVHTTP_REQ_GET, false, false, http_serve_stream},
    {"api/+/downtime", EVHTTP_REQ_GET, false, false, http_serve_downtime},
    {"api/+/request/+", EVHTTP_REQ_POST, false, false, http_serve_request},
};

const char *http_query_of(const struct http_call *call) {
    return evhttp_uri_get_query(evhttp_request_get_evhttp_uri(call->request));
}

struct http_state http_state_now(struct http *http) {
    struct http_state state = {0};
    http->hooks.state(http->user, &state);
    return state;
}

static const struct http_route *route_of(const struct http_path *path) {
    for (size_t i = 0; i < sizeof routes / sizeof routes[0]; i++) {
        if (http_path_is(path, routes[i].pattern)) {
            return &routes[i];
        }
    }
    return NULL;
}

static bool takes_method(const struct http_route *route, enum evhttp_cmd_type method) {
    return method == route->method ||
           (method == EVHTTP_REQ_HEAD && route->method == EVHTTP_REQ_GET);
}

static bool is_allowed(struct http_call *call) {
    const char *header =
        evhttp_find_header(evhttp_request_get_input_headers(call->request), "Authorization");
    if (call->route != NULL && call->route->open) {
        return true;
    }
    call->person = http_authorize(call->http->model, header);
    if (call->person == NULL) {
        call->http->counts.unauthorized++;
        http_header(call->request, "WWW-Authenticate", "Bearer realm=\"forelock\"");
        http_problem(call->http, call->request, 401,
                     header == NULL ? "Nothing here is shown without a person's token."
                                    : "This is not a bearer token of anybody known here.");
    }
    return call->person != NULL;
}

static bool has_method(struct http_call *call) {
    if (takes_method(call->route, evhttp_request_get_command(call->request))) {
        return true;
    }
    http_header(call->request, "Allow",
                call->route->method == EVHTTP_REQ_POST ? "POST" : "GET, HEAD");
    http_problem(call->http, call->request, 405, "This is there, but not for that method.");
    return false;
}

// The route's site, which its reader must be of. What a request asks, the gate decides.
static bool has_site(struct http_call *call) {
    if (call->path.count < 2) {
        return true;
    }
    call->site = model_site_find(call->http->model, call->path.parts[1]);
    if (call->route->method == EVHTTP_REQ_POST) {
        return true;
    }
    if (call->site == NULL) {
        http_problem(call->http, call->request, 404, "There is no such site here.");
        return false;
    }
    if (!model_person_of_site(call->person, call->site)) {
        http_problem(call->http, call->request, 403, "This site is not one of yours.");
        return false;
    }
    return true;
}

static void wait_for_state(const struct http_call *call) {
    struct http *http = call->http;
    struct http_call *kept = malloc(sizeof *kept);
    if (kept == NULL) {
        http_problem(http, call->request, 503, "out of memory");
        return;
    }
    *kept = *call;
    kept->next = NULL;
    *http->waiting_end = kept;
    http->waiting_end = &kept->next;
}

void http_settled(struct http *http) {
    struct http_call *call = http->waiting;
    http->waiting = NULL;
    http->waiting_end = &http->waiting;
    while (call != NULL) {
        struct http_call *next = call->next;
        call->route->serve(call);
        free(call);
        call = next;
    }
}

static void serve(struct http_call *call) {
    if (call->route->waits && !http_state_now(call->http).settled) {
        wait_for_state(call);
    } else {
        call->route->serve(call);
    }
}

void http_dispatch(struct evhttp_request *request, void *user) {
    struct http *http = user;
    struct http_call call = {.http = http, .request = request};
    const struct evhttp_uri *uri = evhttp_request_get_evhttp_uri(request);
    http_connection_asked(http, request);
    if (uri != NULL && http_path_split(evhttp_uri_get_path(uri), &call.path)) {
        call.route = route_of(&call.path);
    }
    if (!is_allowed(&call)) {
        return;
    }
    if (call.route == NULL) {
        http_problem(http, request, 404, "There is nothing at this path.");
    } else if (has_method(&call) && has_site(&call)) {
        serve(&call);
    }
}
