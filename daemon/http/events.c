// Pages of events, from the journal.
#include "http/internal.h"

#define PAGE_DEFAULT 100
#define PAGE_MAX 1000
// A page is ended early when it has grown to this, so that reading it never holds up the loop.
#define PAGE_BYTES ((size_t)1 << 20)

struct journal *http_journal_open(const struct model *model) {
    struct journal_error error;
    const struct journal_options options = {.path = model->journal,
                                            .instance = model->instance,
                                            .mode = JOURNAL_READ_ONLY,
                                            .check = JOURNAL_CHECK_NONE};
    return journal_open(&options, &error);
}

struct journal *http_journal(struct http *http) {
    if (http->reader == NULL) {
        http->reader = http_journal_open(http->model);
    }
    return http->reader;
}

bool http_is_published(const char *type) {
    return gate_fact_published(gate_fact_of(type));
}

struct wire_record http_record(const struct journal_row *row) {
    return (struct wire_record){.seq = (uint64_t)row->seq,
                                .at = row->at_ms,
                                .site = row->site,
                                .type = row->type,
                                .subject = row->subject,
                                .data = row->data,
                                .data_length = row->data_length};
}

struct page {
    struct json_out *out;
    uint64_t count, most;
    uint64_t below; // only what the daemon has told elsewhere too
};

static bool take_row(void *user, const struct journal_row *row) {
    struct page *page = user;
    if ((uint64_t)row->seq >= page->below) {
        return false;
    }
    if (http_is_published(row->type)) {
        struct wire_record record = http_record(row);
        wire_event(page->out, &record);
        page->count++;
    }
    return page->count < page->most && page->out->length < PAGE_BYTES && !page->out->failed;
}

void http_serve_events(struct http_call *call) {
    struct http *http = call->http;
    const char *query = http_query_of(call);
    uint64_t after = 0, limit = PAGE_DEFAULT;
    if (http_query_number(query, "after", INT64_MAX - 1, &after) == HTTP_FIELD_BAD ||
        http_query_number(query, "limit", INT64_MAX, &limit) == HTTP_FIELD_BAD || limit == 0) {
        http_problem(http, call->request, 400,
                     "`after` and `limit` are whole numbers, `limit` at least 1.");
        return;
    }
    struct page page = {.out = &http->out,
                        .most = limit < PAGE_MAX ? limit : PAGE_MAX,
                        .below = http_state_now(http).next_seq};
    struct journal_query rows = {.from_seq = (int64_t)after + 1, .site = call->site->site};
    struct journal *journal = http_journal(http);
    json_out_reset(&http->out);
    json_out_array(&http->out);
    if (journal == NULL || journal_each(journal, &rows, take_row, &page) != JOURNAL_OK) {
        http_problem(http, call->request, 503, "The journal cannot be read.");
        return;
    }
    json_out_array_end(&http->out);
    http_reply_out(http, call->request);
}
