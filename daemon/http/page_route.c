// The pages and their files, and what a person sees in a page's place: not enrolled, not yours, not
// there. A page is one file whatever it shows; what it shows, its script asks for by itself.
#include "http/internal.h"

#include "page/page.h"

#include <string.h>

// Scripts, styles, drawings and requests of our own alone; nothing inline.
#define POLICY                                                                                     \
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "                    \
    "connect-src 'self'; font-src 'self'; manifest-src 'self'; base-uri 'none'; "                  \
    "form-action 'self'; frame-ancestors 'none'"

// If-None-Match is a list of tags, or any.
static bool is_known(struct evhttp_request *request, const char *etag) {
    const char *header =
        evhttp_find_header(evhttp_request_get_input_headers(request), "If-None-Match");
    return header != NULL && (strcmp(header, "*") == 0 || strstr(header, etag) != NULL);
}

static void send_file(struct http_call *call, int status, const char *name) {
    const struct page_file *file = page_find(name);
    struct evhttp_request *request = call->request;
    if (file == NULL) {
        http_problem(call->http, request, status == 200 ? 404 : status, "There is no such file.");
        return;
    }
    http_header(request, "Content-Security-Policy", POLICY);
    http_header(request, "Cache-Control", status == 200 ? "no-cache" : "no-store");
    if (status == 200) {
        http_header(request, "ETag", file->etag);
    }
    if (status == 200 && is_known(request, file->etag)) {
        http_reply(call->http, request, 304, file->type, "", 0);
    } else {
        http_reply(call->http, request, status, file->type, file->data, file->length);
    }
}

void http_page_refuse(struct http_call *call, int status) {
    send_file(call, status,
              status == 401   ? "enroll.html"
              : status == 403 ? "not-yours.html"
                              : "not-there.html");
}

void http_serve_root(struct http_call *call) {
    http_header(call->request, "Location", "/board");
    http_reply(call->http, call->request, 303, "text/plain; charset=utf-8", "", 0);
}

static bool is_shell(const char *name) {
    const char *dot = strrchr(name, '.');
    return dot != NULL && strcmp(dot, ".html") == 0;
}

void http_serve_static(struct http_call *call) {
    const char *name = call->path.parts[1];
    if (is_shell(name) || page_find(name) == NULL) {
        http_problem(call->http, call->request, 404, "There is no such file.");
    } else {
        send_file(call, 200, name);
    }
}

void http_serve_board_page(struct http_call *call) {
    send_file(call, 200, "board.html");
}

void http_serve_at_page(struct http_call *call) {
    if (model_position_find(call->site, call->path.parts[2]) == MODEL_NONE) {
        http_page_refuse(call, 404);
    } else {
        send_file(call, 200, "at.html");
    }
}

void http_serve_record_page(struct http_call *call) {
    send_file(call, 200, "record.html");
}

void http_serve_enroll_page(struct http_call *call) {
    send_file(call, 200, "enroll.html");
}
