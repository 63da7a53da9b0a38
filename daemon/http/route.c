// Requests as they come: who asks, which route, now or once the state may be seen.
#include "http/internal.h"

#include "http/authorize.h"

#include <stdlib.h>
#include <string.h>

#define ANY_ROLE                                                                                   \
    (MODEL_ROLE_TECHNICIAN | MODEL_ROLE_SUPERVISOR | MODEL_ROLE_MANAGER | MODEL_ROLE_TRACKER |     \
     MODEL_ROLE_VIEWER)
#define GET EVHTTP_REQ_GET
#define POST EVHTTP_REQ_POST

// A second part "+" of a route that is not open is a site.
static const struct http_route routes[] = {
    {"health", GET, HTTP_OPEN, 0, http_serve_health},
    {"metrics", GET, 0, ANY_ROLE, http_serve_metrics},
    {"api", GET, 0, ANY_ROLE, http_serve_about},
    {"api/+", GET, HTTP_WAITS, ANY_ROLE, http_serve_site},
    {"api/+/position/+", GET, HTTP_WAITS, ANY_ROLE, http_serve_position},
    {"api/+/position/+/gate", GET, HTTP_WAITS, ANY_ROLE, http_serve_position_gate},
    {"api/+/point/+", GET, HTTP_WAITS, ANY_ROLE, http_serve_point},
    {"api/+/job/+", GET, HTTP_WAITS, ANY_ROLE, http_serve_job},
    {"api/+/job/+/gate", GET, HTTP_WAITS, ANY_ROLE, http_serve_gate},
    {"api/+/job/+/procedure", GET, HTTP_WAITS, ANY_ROLE, http_serve_procedure},
    {"api/+/alarm/+", GET, HTTP_WAITS, ANY_ROLE, http_serve_alarm},
    {"api/+/equipment", GET, 0, ANY_ROLE, http_serve_equipment},
    {"api/+/events", GET, 0, ANY_ROLE, http_serve_events},
    {"api/+/stream", GET, 0, ANY_ROLE, http_serve_stream},
    {"api/+/downtime", GET, 0, ANY_ROLE, http_serve_downtime},
    {"api/+/record/+", GET, HTTP_WAITS, ANY_ROLE, http_serve_record},
    {"api/+/timeline", GET, 0, ANY_ROLE, http_serve_timeline},
    {"api/+/request/+", POST, HTTP_ASKS, ANY_ROLE, http_serve_request},
    {"enroll", GET | POST, HTTP_OPEN, 0, http_serve_enroll},
    {"static/+", GET, HTTP_OPEN, 0, http_serve_static},
    {"board", GET, HTTP_PAGE, ANY_ROLE, http_serve_board_page},
    {"board/+", GET, HTTP_PAGE, ANY_ROLE, http_serve_board_page},
    {"at/+/+", GET, HTTP_PAGE, ANY_ROLE, http_serve_at_page},
    {"record/+/+", GET, HTTP_PAGE, ANY_ROLE, http_serve_record_page},
    {"record/+/+/code.svg", GET, 0, ANY_ROLE, http_serve_record_code},
};
static const struct http_route root = {"", GET, HTTP_OPEN, 0, http_serve_root};

static const struct http_route *route_of(const struct http_path *path) {
    for (size_t i = 0; i < sizeof routes / sizeof routes[0]; i++) {
        if (http_path_is(path, routes[i].pattern)) {
            return &routes[i];
        }
    }
    return NULL;
}

static const char *header_of(const struct http_call *call, const char *name) {
    return evhttp_find_header(evhttp_request_get_input_headers(call->request), name);
}

static bool has_flag(const struct http_call *call, unsigned flag) {
    return call->route != NULL && (call->route->flags & flag) != 0;
}

// An error, as a page where a page was asked for.
static void refuse(struct http_call *call, int status, const char *detail) {
    if (has_flag(call, HTTP_PAGE)) {
        http_page_refuse(call, status);
    } else {
        http_problem(call->http, call->request, status, detail);
    }
}

// --- Who ---

static void refuse_unknown(struct http_call *call, bool gave_one) {
    if (gave_one && !http_address_may_fail(call->address, loop_now(call->http->loop).mono_ms)) {
        http_too_many(call, "60", "Too many tokens of nobody from this address: wait a minute.");
        return;
    }
    call->http->counts.unauthorized++;
    http_header(call->request, "WWW-Authenticate", "Bearer realm=\"forelock\"");
    refuse(call, 401,
           gave_one ? "This is not a token of anybody known here."
                    : "Nothing here is shown without a person's token.");
}

// A header goes before a cookie, so that a wrong one is never overlooked.
static bool is_known(struct http_call *call) {
    const char *header = header_of(call, "Authorization");
    size_t length = 0;
    const char *cookie = header == NULL ? http_cookie(header_of(call, "Cookie"), &length) : NULL;
    call->by_cookie = cookie != NULL;
    call->person = cookie != NULL ? http_authorize_token(call->http->model, cookie, length)
                                  : http_authorize(call->http->model, header);
    if (call->person == NULL) {
        refuse_unknown(call, header != NULL || length > 0);
    }
    return call->person != NULL;
}

// A page elsewhere can make a browser ask with our cookie; it cannot make it lie about itself.
static bool is_own_page(struct http_call *call) {
    if (!call->by_cookie || evhttp_request_get_command(call->request) != EVHTTP_REQ_POST ||
        http_same_origin(header_of(call, "Sec-Fetch-Site"), header_of(call, "Origin"),
                         header_of(call, "Host"))) {
        return true;
    }
    refuse(call, 403, "With a cookie, only a page of this daemon may ask.");
    return false;
}

static bool has_role(struct http_call *call) {
    if (call->route == NULL || model_person_has(call->person, call->route->roles)) {
        return true;
    }
    refuse(call, 403, "This is not for your role.");
    return false;
}

static bool is_allowed(struct http_call *call) {
    return has_flag(call, HTTP_OPEN) || (is_known(call) && is_own_page(call) && has_role(call));
}

// --- What ---

static bool has_method(struct http_call *call) {
    unsigned method = evhttp_request_get_command(call->request);
    unsigned taken = call->route->methods;
    if ((method & taken) != 0 || (method == EVHTTP_REQ_HEAD && (taken & GET) != 0)) {
        return true;
    }
    http_header(call->request, "Allow",
                taken == POST  ? "POST"
                : taken == GET ? "GET, HEAD"
                               : "GET, HEAD, POST");
    http_problem(call->http, call->request, 405, "This is there, but not for that method.");
    return false;
}

// The route's site, which its reader must be of. What a request asks, the gate decides.
static bool has_site(struct http_call *call) {
    if (call->path.count < 2 || has_flag(call, HTTP_OPEN)) {
        return true;
    }
    call->site = model_site_find(call->http->model, call->path.parts[1]);
    if (has_flag(call, HTTP_ASKS)) {
        return true;
    }
    if (call->site == NULL) {
        refuse(call, 404, "There is no such site here.");
        return false;
    }
    if (!model_person_of_site(call->person, call->site)) {
        refuse(call, 403, "This site is not one of yours.");
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
    http_streams_settled(http);
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
    if (has_flag(call, HTTP_WAITS) && !http_state_now(call->http).settled) {
        wait_for_state(call);
    } else {
        call->route->serve(call);
    }
}

static void find_route(struct http_call *call) {
    const struct evhttp_uri *uri = evhttp_request_get_evhttp_uri(call->request);
    const char *path = uri != NULL ? evhttp_uri_get_path(uri) : NULL;
    if (path != NULL && strcmp(path, "/") == 0) {
        call->route = &root;
    } else if (http_path_split(path, &call->path)) {
        call->route = route_of(&call->path);
    }
}

void http_dispatch(struct evhttp_request *request, void *user) {
    struct http *http = user;
    struct http_call call = {.http = http, .request = request};
    call.address = http_connection_asked(http, request);
    find_route(&call);
    call.over = !http_address_may_ask(call.address, loop_now(http->loop).mono_ms);
    if (call.over && !(has_flag(&call, HTTP_ASKS) && http_may_stop(&call))) {
        http_too_many(&call, "1", "Too many requests from this address: ask again in a second.");
        return;
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
