// Downtime asked for, at the desk.
#include "http/desk.h"
#include "report/downtime.h"

#include <stdlib.h>

struct asked {
    struct report_downtime downtime;
    enum http_format format;
};

static bool begin(void *state, int64_t created) {
    struct asked *asked = state;
    return report_downtime_begin(&asked->downtime, created);
}

static bool take(void *state, const struct journal_row *row) {
    struct asked *asked = state;
    return report_downtime_take(&asked->downtime, row->type, row->at_ms, row->subject, row->data,
                                row->data_length);
}

static void tell(void *state, struct http_desk_answer *answer) {
    struct asked *asked = state;
    report_downtime_end(&asked->downtime);
    if (http_desk_failed(answer, asked->downtime.failed, asked->downtime.too_many)) {
        return;
    }
    if (asked->format == HTTP_FORMAT_CSV) {
        answer->type = "text/csv; charset=utf-8";
        report_downtime_csv(&asked->downtime, &answer->out);
    } else {
        report_downtime_json(&asked->downtime, &answer->out);
    }
}

static void asked_free(void *state) {
    struct asked *asked = state;
    report_downtime_free(&asked->downtime);
    free(asked);
}

void http_serve_downtime(struct http_call *call) {
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
    asked->downtime.site = call->site;
    asked->downtime.from = from;
    asked->downtime.to = to;
    http_desk_put(call, &kind, asked);
}
