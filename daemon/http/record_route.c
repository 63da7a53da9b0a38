// The record of a job asked for, at the desk; and the code that leads to its page.
#include "http/desk.h"

#include "forelock_version.h"
#include "label/qr.h"
#include "report/gather.h"

#include <stdlib.h>
#include <string.h>

struct asked {
    const struct model *model;
    const struct model_site *site;
    char job[MODEL_ID_SIZE];
    int64_t now;
    enum http_format format;
    struct http_desk_answer *answer;
    enum journal_status status;
};

// Text and CSV are written to a stream; what they wrote becomes the answer's text.
static bool tell_lines(struct asked *asked, const struct report_record *record,
                       const struct report_context *telling) {
    char *text = NULL;
    size_t length = 0;
    FILE *out = open_memstream(&text, &length);
    if (out == NULL) {
        return false;
    }
    if (asked->format == HTTP_FORMAT_CSV) {
        report_record_csv_head(out);
        report_record_csv(record, telling, out);
    } else {
        report_record_text(record, telling, out);
    }
    bool good = fclose(out) == 0;
    if (good) {
        json_out_raw(&asked->answer->out, text, length);
    }
    free(text);
    return good;
}

static bool on_record(void *user, const struct report_record *record,
                      const struct report_context *telling) {
    struct asked *asked = user;
    if (asked->format == HTTP_FORMAT_JSON) {
        report_record_json(record, telling, &asked->answer->out);
    } else if (!tell_lines(asked, record, telling)) {
        asked->status = JOURNAL_MEMORY;
    }
    return true;
}

static bool read_record(void *state, struct journal *journal, struct http_desk_answer *answer) {
    struct asked *asked = state;
    struct report_question question = {.model = asked->model,
                                       .site = asked->site,
                                       .job = asked->job,
                                       .now = asked->now,
                                       .version = FORELOCK_VERSION,
                                       .brief = asked->format == HTTP_FORMAT_CSV,
                                       .hook = on_record,
                                       .user = asked};
    asked->answer = answer;
    enum journal_status status = report_gather(journal, &question);
    asked->status = status != JOURNAL_OK ? status : asked->status;
    return asked->status == JOURNAL_OK || asked->status == JOURNAL_NONE;
}

static void tell(void *state, struct http_desk_answer *answer) {
    const struct asked *asked = state;
    if (asked->status == JOURNAL_NONE) {
        answer->status = 404;
        answer->detail = "No job of this id was ever opened at this site.";
    } else if (asked->format == HTTP_FORMAT_CSV) {
        answer->type = "text/csv; charset=utf-8";
    } else if (asked->format == HTTP_FORMAT_TEXT) {
        answer->type = "text/plain; charset=utf-8";
    }
}

void http_serve_record(struct http_call *call) {
    static const struct http_desk_kind kind = {.read = read_record, .tell = tell, .free = free};
    enum http_format format;
    if (!http_desk_format(call, &format)) {
        return;
    }
    struct asked *asked = calloc(1, sizeof *asked);
    if (asked == NULL) {
        http_problem(call->http, call->request, 503, "out of memory");
        return;
    }
    asked->model = call->http->model;
    asked->site = call->site;
    asked->format = format;
    asked->now = http_state_now(call->http).now.wall;
    memcpy(asked->job, call->path.parts[3], sizeof asked->job);
    http_desk_put(call, &kind, asked);
}

// --- The code ---

// Where the daemon is reached: as configured, else as this client reached it. NULL: not known.
static char *page_address(const struct http_call *call) {
    const struct model *model = call->http->model;
    const char *host = evhttp_find_header(evhttp_request_get_input_headers(call->request), "Host");
    static const char good[] =
        "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.-:[]";
    char *address = NULL;
    int length = -1;
    if (model->http_url != NULL) {
        length = asprintf(&address, "%s/record/%s/%s", model->http_url, call->site->site,
                          call->path.parts[2]);
    } else if (host != NULL && host[0] != '\0' && host[strspn(host, good)] == '\0') {
        length =
            asprintf(&address, "%s://%s/record/%s/%s", call->http->tls != NULL ? "https" : "http",
                     host, call->site->site, call->path.parts[2]);
    }
    return length >= 0 ? address : NULL;
}

static bool draw(const char *address, char **text, size_t *length) {
    struct label_qr qr;
    FILE *out = open_memstream(text, length);
    if (out == NULL) {
        return false;
    }
    bool made = label_qr_make(address, false, &qr);
    if (made) {
        label_qr_svg(&qr, address, out);
        label_qr_free(&qr);
    }
    return fclose(out) == 0 && made;
}

void http_serve_record_code(struct http_call *call) {
    char *text = NULL, *address = NULL;
    size_t length = 0;
    const char *job = call->path.parts[2];
    if (!model_id_valid(job, strlen(job))) {
        http_problem(call->http, call->request, 404, "There is no such job.");
        return;
    }
    address = page_address(call);
    if (address == NULL || !draw(address, &text, &length)) {
        http_problem(call->http, call->request, address == NULL ? 400 : 503,
                     "The address of this page cannot be made into a code.");
    } else {
        http_header(call->request, "Cache-Control", "no-store");
        http_reply(call->http, call->request, 200, "image/svg+xml", text, length);
    }
    free(address);
    free(text);
}
