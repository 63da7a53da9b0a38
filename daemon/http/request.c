// Requests: handed to the daemon, answered when it says so.
#include "http/internal.h"

#include "wire/request.h"

#include <poll.h>
#include <stdlib.h>
#include <string.h>

// What a person may ask at once, and how much of that comes back in a second.
#define BURST 200.0
#define PER_SECOND 100.0

static bool may_ask(struct http *http, const struct model_person *person) {
    struct http_bucket *bucket = &http->allowances[person - http->model->people];
    int64_t now = loop_now(http->loop).mono_ms;
    double left = bucket->left + (double)(now - bucket->at) * PER_SECOND / 1000;
    bucket->at = now;
    bucket->left = left < BURST ? left : BURST;
    if (bucket->left < 1) {
        return false;
    }
    bucket->left--;
    return true;
}

static struct http_post *post_new(struct http *http, struct evhttp_request *request) {
    struct http_post *post = malloc(sizeof *post);
    if (post != NULL) {
        *post = (struct http_post){.ticket = ++http->last_ticket, .request = request};
        *http->posts_end = post;
        http->posts_end = &post->next;
    }
    return post;
}

// Takes a post off the list; answers come in the order of the questions, mostly. NULL: gone.
static struct evhttp_request *post_take(struct http *http, uint64_t ticket) {
    for (struct http_post **at = &http->posts; *at != NULL; at = &(*at)->next) {
        struct http_post *post = *at;
        if (post->ticket == ticket) {
            struct evhttp_request *request = post->request;
            *at = post->next;
            if (post->next == NULL) {
                http->posts_end = at;
            }
            free(post);
            return request;
        }
    }
    return NULL;
}

// The library frees a connection whose end it has read; one that it has not read yet is asked for
// at the socket, behind whatever else came. A client that has closed its own end has hung up.
bool http_gave_up(const struct http *http, uint64_t ticket) {
    const struct http_post *post = http->posts;
    while (post != NULL && post->ticket != ticket) {
        post = post->next;
    }
    struct bufferevent *bev = post != NULL ? http_bufferevent(post->request) : NULL;
    if (bev == NULL) {
        return true;
    }
    struct pollfd end = {.fd = bufferevent_getfd(bev), .events = POLLRDHUP};
    return poll(&end, 1, 0) > 0;
}

void http_answer(struct http *http, uint64_t ticket, int status, const char *json, size_t length) {
    struct evhttp_request *request = post_take(http, ticket);
    if (request != NULL) {
        http_reply(http, request, status, "application/json", json, length);
    }
}

// An answer like the gate's for a site that there is not: an unknown verb and what is malformed
// come ahead of it, as everywhere.
static void answer_unknown_site(struct http_call *call, struct evbuffer *input, size_t length) {
    struct http *http = call->http;
    struct gate_answer answer = {0};
    struct request *request = calloc(1, sizeof *request);
    char *body = malloc(length + 1);
    bool told = false;
    if (request != NULL && body != NULL &&
        evbuffer_copyout(input, body, length) == (ev_ssize_t)length) {
        body[length] = '\0';
        const char *verb = call->path.parts[3];
        bool whole =
            wire_request_decode(request, verb, body, length, &answer) == WIRE_REQUEST_WHOLE;
        answer.at = http_state_now(http).now;
        json_out_reset(&http->out);
        told = (!whole ||
                gate_answer_refuse(&answer, GATE_SAY_UNKNOWN_SITE, call->path.parts[1], NULL)) &&
               wire_answer(&http->out, request->gate.id, verb, &answer);
    }
    if (told) {
        http_reply(http, call->request, wire_status(&answer), "application/json", http->out.data,
                   http->out.length);
    } else {
        http_problem(http, call->request, 503, "out of memory");
    }
    gate_answer_free(&answer);
    if (request != NULL) {
        wire_request_free(request);
    }
    free(request);
    free(body);
}

static bool is_over(struct http_call *call, const struct wire_request_in *question) {
    if (call->over && !call->http->callbacks.ends(call->http->user, question)) {
        http_too_many(call, "1", "Too many requests at once: ask again in a second.");
        return true;
    }
    return false;
}

static void ask(struct http_call *call, struct evbuffer *input, size_t length) {
    struct http *http = call->http;
    char *body = malloc(length + 1);
    struct http_post *post = NULL;
    bool asked = false, over = false;
    if (body != NULL && evbuffer_copyout(input, body, length) == (ev_ssize_t)length) {
        body[length] = '\0';
        struct wire_request_in question = {.site = call->site->index,
                                           .person = call->person->person,
                                           .verb = call->path.parts[3],
                                           .body = body,
                                           .length = length};
        over = is_over(call, &question);
        post = over ? NULL : post_new(http, call->request);
        question.ticket = post != NULL ? post->ticket : 0;
        asked = post != NULL && http->callbacks.ask(http->user, &question);
    }
    if (!asked && !over) {
        if (post != NULL) {
            post_take(http, post->ticket);
        }
        http_problem(http, call->request, 503, "out of memory");
    }
    free(body);
}

bool http_may_stop(const struct http_call *call) {
    int verb = call->path.count > 3 ? gate_verb_of(call->path.parts[3]) : -1;
    return verb >= 0 && gate_verb_row((enum gate_verb)verb)->ends != NULL;
}

// No limit of requests holds for what ends or stops (contract, section 4).
void http_serve_request(struct http_call *call) {
    struct http *http = call->http;
    struct evbuffer *input = evhttp_request_get_input_buffer(call->request);
    size_t length = evbuffer_get_length(input);
    const char *verb = call->path.parts[3];
    call->over |= !may_ask(http, call->person);
    if (call->over && !http_may_stop(call)) {
        http_too_many(call, "1", "Too many requests at once: ask again in a second.");
    } else if (length > HTTP_BODY_MAX) {
        http_problem(http, call->request, 413, "A request is at most 64 KiB.");
    } else if (call->site == NULL) {
        answer_unknown_site(call, input, length);
    } else if (!model_id_valid(verb, strlen(verb))) {
        http_problem(http, call->request, 404, "This is no verb.");
    } else {
        ask(call, input, length);
    }
}
