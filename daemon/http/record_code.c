// The code that leads to the page of a job's record.
#include "http/internal.h"

#include "label/qr.h"

#include <stdlib.h>
#include <string.h>

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
