// The desk: questions in a row, one after the other read in a thread.
#include "http/desk.h"

#include "wire/time_text.h"

#include <stdlib.h>
#include <string.h>

#define WAITING_MAX 16
#define DEFAULT_PERIOD_MS (30 * 24 * 3600 * 1000LL)

struct question {
    struct question *next;
    struct evhttp_request *request;
    const struct model_site *site;
    const struct http_desk_kind *kind;
    void *state;
    struct http_desk_answer answer;
};

// The first of the list is the thread's while its work is under way.
struct http_desk {
    struct http *http;
    struct loop_work *work;
    struct journal *journal; // the thread's
    struct question *first, **end;
    size_t count;
};

static bool read_row(void *user, const struct journal_row *row) {
    const struct question *question = user;
    return question->kind->take(question->state, row);
}

static bool read_whole(struct http_desk *desk, struct question *question) {
    const struct http_desk_kind *kind = question->kind;
    struct journal_query query = {.site = question->site->site};
    if (desk->journal == NULL) {
        desk->journal = http_journal_open(desk->http->model);
    }
    if (desk->journal != NULL && kind->read != NULL) {
        return kind->read(question->state, desk->journal, &question->answer);
    }
    return desk->journal != NULL &&
           (kind->begin == NULL ||
            kind->begin(question->state, journal_created_ms(desk->journal))) &&
           journal_each(desk->journal, &query, read_row, question) == JOURNAL_OK;
}

// In the thread.
static void read_journal(void *user) {
    struct http_desk *desk = user;
    struct question *question = desk->first;
    struct http_desk_answer *answer = &question->answer;
    *answer = (struct http_desk_answer){.status = 200, .type = "application/json"};
    if (!read_whole(desk, question)) {
        answer->status = 503;
        answer->detail = "The journal cannot be read.";
        return;
    }
    question->kind->tell(question->state, answer);
    if (answer->status == 200 && answer->out.failed) {
        answer->status = 503;
        answer->detail = "out of memory";
    }
}

static void answer(struct http *http, const struct question *question) {
    const struct http_desk_answer *made = &question->answer;
    if (made->status != 200) {
        http_problem(http, question->request, made->status, made->detail);
    } else {
        http_reply(http, question->request, 200, made->type, made->out.data, made->out.length);
    }
}

static struct question *take_first(struct http_desk *desk) {
    struct question *question = desk->first;
    desk->first = question->next;
    if (desk->first == NULL) {
        desk->end = &desk->first;
    }
    desk->count--;
    return question;
}

static void question_free(struct question *question) {
    question->kind->free(question->state);
    json_out_free(&question->answer.out);
    free(question);
}

static void on_read(void *user) {
    struct http_desk *desk = user;
    struct question *question = take_first(desk);
    answer(desk->http, question);
    question_free(question);
    if (desk->first != NULL) {
        loop_work_begin(desk->work, read_journal);
    }
}

bool http_desk_new(struct http *http) {
    struct http_desk *desk = calloc(1, sizeof *desk);
    http->desk = desk;
    if (desk == NULL) {
        return false;
    }
    desk->http = http;
    desk->end = &desk->first;
    desk->work = loop_work_new(http->loop, on_read, desk);
    return desk->work != NULL;
}

void http_desk_free(struct http *http) {
    struct http_desk *desk = http->desk;
    if (desk == NULL) {
        return;
    }
    loop_work_free(desk->work);
    while (desk->first != NULL) {
        struct question *question = take_first(desk);
        http_abandon(question->request);
        question_free(question);
    }
    journal_close(desk->journal);
    free(desk);
}

static void put(struct http_desk *desk, struct question *question) {
    *desk->end = question;
    desk->end = &question->next;
    desk->count++;
    loop_work_begin(desk->work, read_journal); // false: under way, and it comes to this one
}

bool http_desk_failed(struct http_desk_answer *answer, bool failed, bool too_many) {
    if (too_many) {
        answer->status = 400;
        answer->detail = "Too much happened in that period: ask for a shorter one.";
    } else if (failed) {
        answer->status = 503;
        answer->detail = "The journal cannot be read.";
    }
    return failed || too_many;
}

void http_desk_put(struct http_call *call, const struct http_desk_kind *kind, void *state) {
    struct http_desk *desk = call->http->desk;
    bool full = desk->count >= WAITING_MAX;
    struct question *question = full ? NULL : calloc(1, sizeof *question);
    if (question != NULL) {
        question->request = call->request;
        question->site = call->site;
        question->kind = kind;
        question->state = state;
        put(desk, question);
        return;
    }
    kind->free(state);
    if (full) {
        http_header(call->request, "Retry-After", "5");
    }
    http_problem(call->http, call->request, 503,
                 full ? "Too many ask for what is read from the journal: ask again."
                      : "out of memory");
}

// --- What such questions carry ---

static enum http_format accepted(const struct http_call *call) {
    const char *accept =
        evhttp_find_header(evhttp_request_get_input_headers(call->request), "Accept");
    if (accept != NULL && strcasestr(accept, "text/csv") != NULL) {
        return HTTP_FORMAT_CSV;
    }
    return accept != NULL && strcasestr(accept, "text/plain") != NULL ? HTTP_FORMAT_TEXT
                                                                      : HTTP_FORMAT_JSON;
}

bool http_desk_format(struct http_call *call, enum http_format *format) {
    static const char *const names[] = {"json", "csv", "text"};
    char text[16];
    enum http_field field = http_query_text(http_query_of(call), "format", text, sizeof text);
    if (field == HTTP_FIELD_ABSENT) {
        *format = accepted(call);
        return true;
    }
    for (size_t i = 0; field == HTTP_FIELD_GOOD && i < sizeof names / sizeof names[0]; i++) {
        if (strcmp(text, names[i]) == 0) {
            *format = (enum http_format)i;
            return true;
        }
    }
    http_problem(call->http, call->request, 400, "`format` is json, csv or text.");
    return false;
}

// A time of the query; absent leaves it. False: it is none.
static bool query_time(const struct http_call *call, const char *name, int64_t *value) {
    char text[64];
    switch (http_query_text(http_query_of(call), name, text, sizeof text)) {
    case HTTP_FIELD_ABSENT:
        return true;
    case HTTP_FIELD_GOOD:
        return time_text_parse(text, strlen(text), value);
    default:
        return false;
    }
}

bool http_desk_period(struct http_call *call, int64_t *from, int64_t *to) {
    int64_t now = http_state_now(call->http).now.wall;
    *to = now;
    *from = INT64_MIN;
    bool good = query_time(call, "to", to) && query_time(call, "from", from);
    *to = *to < now ? *to : now; // what is to come is not known
    *from = *from != INT64_MIN ? *from : *to - DEFAULT_PERIOD_MS;
    if (!good || *from >= *to) {
        http_problem(call->http, call->request, 400,
                     "`from` and `to` are RFC 3339 times, `from` before `to` and before now.");
        return false;
    }
    return true;
}
