// What a route's function asks of its call: the query, the state as it is now, and a refusal for
// who asks too often.
#include "http/internal.h"

const char *http_query_of(const struct http_call *call) {
    return evhttp_uri_get_query(evhttp_request_get_evhttp_uri(call->request));
}

struct http_state http_state_now(struct http *http) {
    struct http_state state = {0};
    http->callbacks.state(http->user, &state);
    return state;
}

void http_too_many(struct http_call *call, const char *after_s, const char *detail) {
    call->http->counts.limited++;
    http_header(call->request, "Retry-After", after_s);
    http_problem(call->http, call->request, 429, detail);
}
