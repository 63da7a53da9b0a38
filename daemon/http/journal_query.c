// Queries of the journal, one after the other read in a thread.
#include "http/journal_query.h"

#include <stdlib.h>

#define WAITING_MAX 16

struct query {
    struct query *next;
    struct evhttp_request *request;
    const struct http_journal_kind *kind;
    void *state;
    struct http_journal_answer answer;
};

// The first of the list is the thread's while its work is under way.
struct http_journal_reader {
    struct http *http;
    struct loop_work *work;
    struct journal *journal; // the thread's
    struct query *first, **end;
    size_t count;
};

static bool read_source(struct http_journal_reader *reader, struct query *query) {
    struct report_source source;
    if (reader->journal == NULL) {
        reader->journal = http_journal_open(reader->http->model);
    }
    return reader->journal != NULL && journal_report_source(reader->journal, &source) &&
           query->kind->read(query->state, &source, &query->answer);
}

// In the thread.
static void read_journal(void *user) {
    struct http_journal_reader *reader = user;
    struct query *query = reader->first;
    struct http_journal_answer *answer = &query->answer;
    *answer = (struct http_journal_answer){.status = 200, .type = "application/json"};
    if (!read_source(reader, query)) {
        answer->status = 503;
        answer->detail = "The journal cannot be read.";
        return;
    }
    if (answer->status == 200 && answer->out.failed) {
        answer->status = 503;
        answer->detail = "out of memory";
    }
}

static void answer(struct http *http, const struct query *query) {
    const struct http_journal_answer *made = &query->answer;
    if (made->status != 200) {
        http_problem(http, query->request, made->status, made->detail);
    } else {
        http_reply(http, query->request, 200, made->type, made->out.data, made->out.length);
    }
}

static struct query *take_first(struct http_journal_reader *reader) {
    struct query *query = reader->first;
    reader->first = query->next;
    if (reader->first == NULL) {
        reader->end = &reader->first;
    }
    reader->count--;
    return query;
}

static void query_free(struct query *query) {
    query->kind->free(query->state);
    json_out_free(&query->answer.out);
    free(query);
}

static void on_read(void *user) {
    struct http_journal_reader *reader = user;
    struct query *query = take_first(reader);
    answer(reader->http, query);
    query_free(query);
    if (reader->first != NULL) {
        loop_work_begin(reader->work, read_journal);
    }
}

bool http_journal_reader_new(struct http *http) {
    struct http_journal_reader *reader = calloc(1, sizeof *reader);
    http->journal_reader = reader;
    if (reader == NULL) {
        return false;
    }
    reader->http = http;
    reader->end = &reader->first;
    reader->work = loop_work_new(http->loop, on_read, reader);
    return reader->work != NULL;
}

void http_journal_reader_free(struct http *http) {
    struct http_journal_reader *reader = http->journal_reader;
    if (reader == NULL) {
        return;
    }
    loop_work_free(reader->work);
    while (reader->first != NULL) {
        struct query *query = take_first(reader);
        http_abandon(query->request);
        query_free(query);
    }
    journal_close(reader->journal);
    free(reader);
}

static void put(struct http_journal_reader *reader, struct query *query) {
    *reader->end = query;
    reader->end = &query->next;
    reader->count++;
    loop_work_begin(reader->work, read_journal); // false: under way, and it comes to this one
}

void http_journal_submit(struct http_call *call, const struct http_journal_kind *kind,
                         void *state) {
    struct http_journal_reader *reader = call->http->journal_reader;
    bool full = reader->count >= WAITING_MAX;
    struct query *query = full ? NULL : calloc(1, sizeof *query);
    if (query != NULL) {
        query->request = call->request;
        query->kind = kind;
        query->state = state;
        put(reader, query);
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
