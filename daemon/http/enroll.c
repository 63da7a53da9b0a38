// Enrollment: a token is put into a cookie that scripts cannot read and other sites cannot send, or
// taken out of it.
#include "http/internal.h"

#include "http/authorize.h"

#include <stdio.h>
#include <string.h>

#define COOKIE_ATTRIBUTES "Path=/; Secure; HttpOnly; SameSite=Strict"
// 180 days.
#define COOKIE_SECONDS 15552000

static const char *header_of(const struct http_call *call, const char *name) {
    return evhttp_find_header(evhttp_request_get_input_headers(call->request), name);
}

static bool wants_json(const struct http_call *call) {
    const char *accept = header_of(call, "Accept");
    return accept != NULL && strstr(accept, "application/json") != NULL;
}

static void see_other(struct http_call *call, const char *where) {
    http_header(call->request, "Location", where);
    http_reply(call->http, call->request, 303, "text/plain; charset=utf-8", "", 0);
}

static void forget(struct http_call *call) {
    static const char nobody[] = "{\"person\":null}";
    http_header(call->request, "Set-Cookie", HTTP_COOKIE "=; Max-Age=0; " COOKIE_ATTRIBUTES);
    if (wants_json(call)) {
        http_reply(call->http, call->request, 200, "application/json", nobody, sizeof nobody - 1);
    } else {
        see_other(call, "/enroll");
    }
}

static void refuse(struct http_call *call) {
    if (!http_address_may_fail(call->address, loop_now(call->http->loop).mono_ms)) {
        http_too_many(call, "60", "Too many tokens of nobody from this address: wait a minute.");
        return;
    }
    call->http->counts.unauthorized++;
    http_header(call->request, "WWW-Authenticate", "Bearer realm=\"forelock\"");
    if (wants_json(call)) {
        http_problem(call->http, call->request, 401, "This is not a token of anybody known here.");
    } else {
        http_page_refuse(call, 401);
    }
}

// What a cookie may hold (RFC 6265, cookie-octet); another token goes in the header alone.
static bool is_cookie_text(const char *token) {
    for (; *token != '\0'; token++) {
        if ((unsigned char)*token <= ' ' || (unsigned char)*token >= 0x7f ||
            strchr(";,\"\\", *token) != NULL) {
            return false;
        }
    }
    return true;
}

static void enroll(struct http_call *call, const char *token) {
    char cookie[HTTP_TOKEN_MAX + 128];
    const struct model_person *person =
        http_authorize_token(call->http->model, token, strlen(token));
    if (person == NULL || !is_cookie_text(token)) {
        refuse(call);
        return;
    }
    snprintf(cookie, sizeof cookie, HTTP_COOKIE "=%s; Max-Age=%d; " COOKIE_ATTRIBUTES, token,
             COOKIE_SECONDS);
    http_header(call->request, "Set-Cookie", cookie);
    if (wants_json(call)) {
        http_write_about(call->http, person);
        http_reply_out(call->http, call->request);
    } else {
        see_other(call, "/board");
    }
}

// --- What a request carries ---

static bool token_of_json(const char *body, size_t length, char *token, size_t size) {
    struct json_tape tape = {0};
    bool good = json_scan(&tape, body, length, &json_message_limits, NULL) &&
                json_copy(&tape, json_member(&tape, json_root(&tape), "token"), token, size);
    json_tape_free(&tape);
    return good;
}

// The token of a body: a form's field, or a member. False: there is none.
static bool token_of_body(const struct http_call *call, char *token, size_t size) {
    char body[4 * HTTP_TOKEN_MAX];
    const char *type = header_of(call, "Content-Type");
    struct evbuffer *input = evhttp_request_get_input_buffer(call->request);
    size_t length = evbuffer_get_length(input);
    if (length >= sizeof body || evbuffer_copyout(input, body, length) != (ev_ssize_t)length) {
        return false;
    }
    body[length] = '\0';
    if (type != NULL && strncasecmp(type, "application/json", 16) == 0) {
        return token_of_json(body, length, token, size);
    }
    if (strcmp(body, "token=") == 0) {
        token[0] = '\0';
        return true;
    }
    return http_query_text(body, "token", token, size) == HTTP_FIELD_GOOD;
}

// A page elsewhere could enroll a phone as somebody else, or forget it. What is no browser sends
// none of these headers.
static bool is_ours(struct http_call *call) {
    const char *site = header_of(call, "Sec-Fetch-Site"), *origin = header_of(call, "Origin");
    if ((site == NULL && origin == NULL) ||
        http_same_origin(site, origin, header_of(call, "Host"))) {
        return true;
    }
    http_problem(call->http, call->request, 403, "Only a page of this daemon may ask this.");
    return false;
}

static void take_post(struct http_call *call) {
    char token[HTTP_TOKEN_MAX + 1];
    if (!is_ours(call)) {
        return;
    }
    if (!token_of_body(call, token, sizeof token)) {
        http_problem(call->http, call->request, 400,
                     "The body is a form or JSON with one `token`; an empty one forgets.");
    } else if (token[0] == '\0') {
        forget(call);
    } else {
        enroll(call, token);
    }
}

void http_serve_enroll(struct http_call *call) {
    char token[HTTP_TOKEN_MAX + 1];
    if (evhttp_request_get_command(call->request) == EVHTTP_REQ_POST) {
        take_post(call);
        return;
    }
    switch (http_query_text(http_query_of(call), "token", token, sizeof token)) {
    case HTTP_FIELD_GOOD: // a reader of codes opens it by itself, no page leads here
        if (is_ours(call)) {
            enroll(call, token);
        }
        break;
    case HTTP_FIELD_BAD:
        refuse(call);
        break;
    case HTTP_FIELD_ABSENT:
        http_serve_enroll_page(call);
    }
}
