// A timeline asked for, at the desk.
#include "http/desk.h"
#include "report/timeline.h"

#include <stdlib.h>

struct asked {
    struct report_timeline timeline;
    enum http_format format;
};

static bool begin(void *state, int64_t created) {
    struct asked *asked = state;
    return report_timeline_begin(&asked->timeline, created);
}

static bool take(void *state, const struct journal_row *row) {
    struct asked *asked = state;
    return report_timeline_take(&asked->timeline, row->type, row->at_ms, row->subject, row->data,
                                row->data_length);
}

static void tell(void *state, struct http_desk_answer *answer) {
    struct asked *asked = state;
    report_timeline_end(&asked->timeline);
    if (http_desk_failed(answer, asked->timeline.failed, asked->timeline.too_many)) {
        return;
    }
    if (asked->format == HTTP_FORMAT_CSV) {
        answer->type = "text/csv; charset=utf-8";
        report_timeline_csv(&asked->timeline, &answer->out);
    } else {
        report_timeline_json(&asked->timeline, &answer->out);
    }
}

static void asked_free(void *state) {
    struct asked *asked = state;
    report_timeline_free(&asked->timeline);
    free(asked);
}

void http_serve_timeline(struct http_call *call) {
    static const struct http_desk_kind kind = {begin, take, NULL, tell, asked_free};
    enum http_format format;
    int64_t from, to;
    if (!http_desk_format(call, &format) || !http_desk_period(call, &from, &to)) {
        return;
    }
    struct asked *asked = calloc(1, sizeof *asked);
    if (asked == NULL) {
        http_problem(call->http, call->request, 503, "out of memory");
        return;
    }
    asked->format = format;
    asked->timeline.site = call->site;
    asked->timeline.from = from;
    asked->timeline.to = to;
    http_desk_put(call, &kind, asked);
}
