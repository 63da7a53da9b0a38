// Downtime asked for: read in a thread of its own, since it may be the whole journal, with a handle
// of its own; one at a time, a few wait.
#include "http/internal.h"

#include "fact/time_text.h"
#include "http/downtime.h"

#include <stdlib.h>
#include <string.h>

#define WAITING_MAX 16
#define DEFAULT_PERIOD_MS (30 * 24 * 3600 * 1000LL)

struct question {
    struct question *next;
    struct evhttp_request *request;
    bool csv;
    struct http_downtime downtime;
    bool unread; // the journal could not be read
};

// The first of the list is the thread's while its work is under way.
struct http_downtime_desk {
    struct http *http;
    struct loop_work *work;
    struct journal *journal; // the thread's
    struct question *first, **end;
    size_t count;
};

static bool read_row(void *user, const struct journal_row *row) {
    return http_downtime_take(user, row->type, row->at_ms, row->subject, row->data,
                              row->data_length);
}

// In the thread.
static void read_journal(void *user) {
    struct http_downtime_desk *desk = user;
    struct question *question = desk->first;
    struct http_downtime *downtime = &question->downtime;
    if (desk->journal == NULL) {
        desk->journal = http_journal_open(desk->http->model);
    }
    struct journal_query query = {.site = downtime->site->site};
    if (desk->journal == NULL ||
        !http_downtime_begin(downtime, journal_created_ms(desk->journal)) ||
        journal_each(desk->journal, &query, read_row, downtime) != JOURNAL_OK) {
        question->unread = true;
        return;
    }
    http_downtime_end(downtime);
}

static void answer(struct http *http, const struct question *question) {
    struct json_out *out = &http->out;
    if (question->unread || question->downtime.failed) {
        http_problem(http, question->request, 503, "The journal cannot be read.");
        return;
    }
    json_out_reset(out);
    if (!question->csv) {
        http_downtime_json(&question->downtime, out);
        http_reply_out(http, question->request);
        return;
    }
    http_downtime_csv(&question->downtime, out);
    if (out->failed) {
        http_problem(http, question->request, 503, "out of memory");
    } else {
        http_reply(http, question->request, 200, "text/csv; charset=utf-8", out->data, out->length);
    }
}

static struct question *take_first(struct http_downtime_desk *desk) {
    struct question *question = desk->first;
    desk->first = question->next;
    if (desk->first == NULL) {
        desk->end = &desk->first;
    }
    desk->count--;
    return question;
}

static void question_free(struct question *question) {
    http_downtime_free(&question->downtime);
    free(question);
}

static void on_read(void *user) {
    struct http_downtime_desk *desk = user;
    struct question *question = take_first(desk);
    answer(desk->http, question);
    question_free(question);
    if (desk->first != NULL) {
        loop_work_begin(desk->work, read_journal);
    }
}

bool http_desk_new(struct http *http) {
    struct http_downtime_desk *desk = calloc(1, sizeof *desk);
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
    struct http_downtime_desk *desk = http->desk;
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

static bool wants_csv(const struct http_call *call) {
    const char *accept =
        evhttp_find_header(evhttp_request_get_input_headers(call->request), "Accept");
    return accept != NULL && strcasestr(accept, "text/csv") != NULL;
}

static void put(struct http_downtime_desk *desk, struct http_call *call, int64_t from, int64_t to) {
    struct question *question = calloc(1, sizeof *question);
    if (question == NULL) {
        http_problem(desk->http, call->request, 503, "out of memory");
        return;
    }
    question->request = call->request;
    question->csv = wants_csv(call);
    question->downtime.site = call->site;
    question->downtime.from = from;
    question->downtime.to = to;
    *desk->end = question;
    desk->end = &question->next;
    desk->count++;
    loop_work_begin(desk->work, read_journal); // false: under way, and it comes to this one
}

void http_serve_downtime(struct http_call *call) {
    struct http *http = call->http;
    int64_t now = http_state_now(http).now.wall, to = now, from = INT64_MIN;
    bool good = query_time(call, "to", &to) && query_time(call, "from", &from);
    to = to < now ? to : now; // what is to come is not known
    from = from != INT64_MIN ? from : to - DEFAULT_PERIOD_MS;
    if (!good || from >= to) {
        http_problem(http, call->request, 400,
                     "`from` and `to` are RFC 3339 times, `from` before `to` and before now.");
    } else if (http->desk->count >= WAITING_MAX) {
        http_header(call->request, "Retry-After", "5");
        http_problem(http, call->request, 503, "Too many ask for downtime: ask again.");
    } else {
        put(http->desk, call, from, to);
    }
}
