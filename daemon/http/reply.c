// Replies: headers that are always there, problem documents, HEAD.
#include "http/internal.h"

#include <stdio.h>
#include <string.h>

const char *http_reason(int status) {
    static const struct {
        int status;
        const char *reason;
    } reasons[] = {{200, "OK"},
                   {303, "See Other"},
                   {304, "Not Modified"},
                   {400, "Bad Request"},
                   {401, "Unauthorized"},
                   {403, "Forbidden"},
                   {404, "Not Found"},
                   {405, "Method Not Allowed"},
                   {406, "Not Acceptable"},
                   {409, "Conflict"},
                   {413, "Content Too Large"},
                   {429, "Too Many Requests"},
                   {503, "Service Unavailable"}};
    for (size_t i = 0; i < sizeof reasons / sizeof reasons[0]; i++) {
        if (reasons[i].status == status) {
            return reasons[i].reason;
        }
    }
    return "Internal Server Error";
}

void http_count(struct http *http, int status) {
    if (status >= 100 && status < 600) {
        http->counts.statuses[status / 100 - 1]++;
    }
}

void http_header(struct evhttp_request *request, const char *name, const char *value) {
    evhttp_add_header(evhttp_request_get_output_headers(request), name, value);
}

static void header_else(struct evhttp_request *request, const char *name, const char *value) {
    if (evhttp_find_header(evhttp_request_get_output_headers(request), name) == NULL) {
        http_header(request, name, value);
    }
}

void http_headers(struct http *http, struct evhttp_request *request, const char *type) {
    http_header(request, "Content-Type", type);
    header_else(request, "Cache-Control", "no-store");
    http_header(request, "X-Content-Type-Options", "nosniff");
    header_else(request, "Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'");
    http_header(request, "Cross-Origin-Resource-Policy", "same-origin");
    http_header(request, "Referrer-Policy", "no-referrer");
    if (http->tls != NULL) {
        http_header(request, "Strict-Transport-Security", "max-age=31536000");
    }
}

void http_reply(struct http *http, struct evhttp_request *request, int status, const char *type,
                const char *body, size_t length) {
    struct evbuffer *output = evhttp_request_get_output_buffer(request);
    char text[24];
    http_count(http, status);
    http_headers(http, request, type);
    snprintf(text, sizeof text, "%zu", length);
    if (status != 304) { // whose length would be that of what is not sent
        http_header(request, "Content-Length", text);
    }
    if (evhttp_request_get_command(request) != EVHTTP_REQ_HEAD &&
        evbuffer_add(output, body, length) != 0) {
        status = 503; // no memory: the length that was promised does not come, the client sees it
    }
    struct bufferevent *bev = http_bufferevent(request);
    http_connection_answered(http, request);
    if (bev != NULL) {
        bufferevent_incref(bev); // with TLS it is sent at once, which may end the connection
    }
    evhttp_send_reply(request, status, http_reason(status), NULL);
    if (bev != NULL) {
        // Not read again until it is sent: a client that has closed its sending half, the end of
        // which the library takes for the end of the connection, gets its answer too.
        bufferevent_disable(bev, EV_READ);
        bufferevent_decref(bev);
    }
}

void http_reply_out(struct http *http, struct evhttp_request *request) {
    if (http->out.failed) {
        http_problem(http, request, 503, "out of memory");
    } else {
        http_reply(http, request, 200, "application/json", http->out.data, http->out.length);
    }
}

void http_problem(struct http *http, struct evhttp_request *request, int status,
                  const char *detail) {
    static const char spare[] = "{\"type\":\"about:blank\"}";
    struct json_out *out = &http->out;
    json_out_reset(out);
    json_out_object(out);
    json_out_key(out, "type");
    json_out_string(out, "about:blank");
    json_out_key(out, "title");
    json_out_string(out, http_reason(status));
    json_out_key(out, "status");
    json_out_int(out, status);
    json_out_key(out, "detail");
    json_out_string(out, detail);
    json_out_object_end(out);
    http_reply(http, request, status, "application/problem+json", out->failed ? spare : out->data,
               out->failed ? sizeof spare - 1 : out->length);
}

void http_abandon(struct evhttp_request *request) {
    if (evhttp_request_get_connection(request) == NULL) {
        evhttp_request_free(request); // else it goes with its connection
    }
}
