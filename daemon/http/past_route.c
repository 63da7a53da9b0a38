// What is told of the past: a timeline, downtime, the record of a job. Each is a query that reads
// the journal in its thread.
#include "http/journal_query.h"

#include "base/time_text.h"
#include "forelock_version.h"
#include "report/downtime.h"
#include "report/records.h"
#include "report/timeline.h"

#include <stdlib.h>
#include <string.h>

#define DEFAULT_PERIOD_MS (30 * 24 * 3600 * 1000LL)

enum format { FORMAT_JSON, FORMAT_CSV, FORMAT_TEXT };

// What is asked for.
struct past {
    const struct model *model;
    const struct model_site *site;
    enum format format;
    int64_t from, to;        // Unix ms; of a timeline and downtime
    char job[MODEL_ID_SIZE]; // of a record
    int64_t now;
    struct http_journal_answer *answer;
    bool failed;
};

// --- In the thread: timelines and downtime ---

// Whether it was read, or the problem is told: there was too much of it.
static bool settle(const struct past *past, struct http_journal_answer *answer, bool read,
                   bool too_many) {
    if (too_many) {
        answer->status = 400;
        answer->detail = "Too much happened in that period: ask for a shorter one.";
    }
    answer->type = past->format == FORMAT_CSV ? "text/csv; charset=utf-8" : "application/json";
    return read || too_many;
}

static bool read_timeline(void *state, const struct report_source *source,
                          struct http_journal_answer *answer) {
    const struct past *past = state;
    struct report_timeline timeline = {.site = past->site, .from = past->from, .to = past->to};
    bool read = report_timeline_read(&timeline, source);
    if (read && past->format == FORMAT_CSV) {
        report_timeline_csv(&timeline, &answer->out);
    } else if (read) {
        report_timeline_json(&timeline, &answer->out);
    }
    report_timeline_free(&timeline);
    return settle(past, answer, read, timeline.too_many);
}

static bool read_downtime(void *state, const struct report_source *source,
                          struct http_journal_answer *answer) {
    const struct past *past = state;
    struct report_downtime downtime = {.site = past->site, .from = past->from, .to = past->to};
    bool read = report_downtime_read(&downtime, source);
    if (read && past->format == FORMAT_CSV) {
        report_downtime_csv(&downtime, &answer->out);
    } else if (read) {
        report_downtime_json(&downtime, &answer->out);
    }
    report_downtime_free(&downtime);
    return settle(past, answer, read, downtime.too_many);
}

// --- In the thread: the record of a job ---

// Text and CSV are written to a stream; what they wrote becomes the answer's text.
static bool write_lines(const struct past *past, const struct report_record *record,
                        const struct report_context *context) {
    char *text = NULL;
    size_t length = 0;
    FILE *out = open_memstream(&text, &length);
    if (out == NULL) {
        return false;
    }
    if (past->format == FORMAT_CSV) {
        report_record_csv_head(out);
        report_record_csv(record, context, out);
    } else {
        report_record_text(record, context, out);
    }
    bool good = fclose(out) == 0;
    if (good) {
        json_out_raw(&past->answer->out, text, length);
    }
    free(text);
    return good;
}

static bool on_record(void *user, const struct report_record *record,
                      const struct report_context *context) {
    struct past *past = user;
    if (past->format == FORMAT_JSON) {
        report_record_json(record, context, &past->answer->out);
    } else if (!write_lines(past, record, context)) {
        past->failed = true;
    }
    return true;
}

static bool read_record(void *state, const struct report_source *source,
                        struct http_journal_answer *answer) {
    static const char *const types[] = {"application/json", "text/csv; charset=utf-8",
                                        "text/plain; charset=utf-8"};
    struct past *past = state;
    struct report_question question = {.model = past->model,
                                       .site = past->site,
                                       .job = past->job,
                                       .now = past->now,
                                       .version = FORELOCK_VERSION,
                                       .brief = past->format == FORMAT_CSV,
                                       .hook = on_record,
                                       .user = past};
    past->answer = answer;
    enum report_status status = report_records_read(source, &question);
    answer->type = types[past->format];
    if (status == REPORT_NONE) {
        answer->status = 404;
        answer->detail = "No job of this id was ever opened at this site.";
    }
    return status != REPORT_FAILED && !past->failed;
}

// --- What such queries carry ---

static enum format accepted(const struct http_call *call) {
    const char *accept =
        evhttp_find_header(evhttp_request_get_input_headers(call->request), "Accept");
    if (accept != NULL && strcasestr(accept, "text/csv") != NULL) {
        return FORMAT_CSV;
    }
    return accept != NULL && strcasestr(accept, "text/plain") != NULL ? FORMAT_TEXT : FORMAT_JSON;
}

// The format that is asked for: `?format=json|csv|text` (a link cannot set headers), else `Accept:
// text/csv` or `text/plain`, else JSON. False: another is asked for by name, and the problem is
// told.
static bool format_of(struct http_call *call, enum format *format) {
    static const char *const names[] = {"json", "csv", "text"};
    char text[16];
    enum http_field field = http_query_text(http_query_of(call), "format", text, sizeof text);
    if (field == HTTP_FIELD_ABSENT) {
        *format = accepted(call);
        return true;
    }
    for (size_t i = 0; field == HTTP_FIELD_GOOD && i < sizeof names / sizeof names[0]; i++) {
        if (strcmp(text, names[i]) == 0) {
            *format = (enum format)i;
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
        return base_time_parse(text, strlen(text), value);
    default:
        return false;
    }
}

// The period of `?from=…&to=…` in Unix ms: `to` is now if it is absent or ahead, `from` 30 days
// before `to` if it is absent. False: it is none, and the problem is told.
static bool period_of(struct http_call *call, int64_t *from, int64_t *to) {
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

// --- Routes ---

// NULL: what was asked for is none, or no memory, and the problem is told.
static struct past *asked(struct http_call *call, bool of_period) {
    struct past past = {.model = call->http->model, .site = call->site};
    if (!format_of(call, &past.format) || (of_period && !period_of(call, &past.from, &past.to))) {
        return NULL;
    }
    struct past *kept = malloc(sizeof *kept);
    if (kept == NULL) {
        http_problem(call->http, call->request, 503, "out of memory");
        return NULL;
    }
    *kept = past;
    return kept;
}

void http_serve_timeline(struct http_call *call) {
    static const struct http_journal_kind kind = {read_timeline, free};
    struct past *past = asked(call, true);
    if (past != NULL) {
        http_journal_submit(call, &kind, past);
    }
}

void http_serve_downtime(struct http_call *call) {
    static const struct http_journal_kind kind = {read_downtime, free};
    struct past *past = asked(call, true);
    if (past != NULL) {
        http_journal_submit(call, &kind, past);
    }
}

void http_serve_record(struct http_call *call) {
    static const struct http_journal_kind kind = {read_record, free};
    struct past *past = asked(call, false);
    if (past != NULL) {
        past->now = http_state_now(call->http).now.wall;
        memcpy(past->job, call->path.parts[3], sizeof past->job);
        http_journal_submit(call, &kind, past);
    }
}
