// The sites that have streams; see watch.h.
#include "http/watch.h"

#include "wire/tell_differ.h"

#include <inttypes.h>
#include <stdlib.h>

// Where changes are written to.
struct sheet {
    struct evbuffer *text;
    uint64_t after; // number of the last fact that they hold
    bool written, failed;
};

static bool write_change(void *user, const struct wire_change *change) {
    struct sheet *sheet = user;
    int put = evbuffer_add_printf(sheet->text,
                                  "event: document\ndata: {\"path\":\"%s/%s\",\"after\":%" PRIu64
                                  ",\"document\":",
                                  wire_kind_name(change->of.kind), change->of.id, sheet->after);
    int body = change->text == NULL ? evbuffer_add(sheet->text, "null", 4)
                                    : evbuffer_add(sheet->text, change->text, change->length);
    sheet->failed |= put < 0 || body != 0 || evbuffer_add(sheet->text, "}\n\n", 3) != 0;
    sheet->written = true;
    return !sheet->failed;
}

uint64_t http_watch_version(struct http *http, const struct http_watch *watch) {
    return wire_differ_version(http_state_now(http).documents, watch->site->index);
}

bool http_watch_write(struct http *http, struct http_watch *watch, struct evbuffer *text) {
    struct http_state state = http_state_now(http);
    struct sheet sheet = {.text = text, .after = state.next_seq - 1};
    wire_differ_give(state.documents, TELL_STREAMS, state.gate, watch->site->index, state.now,
                     write_change, &sheet);
    if (sheet.failed) { // half a text is none: the streams get it later, one by one
        evbuffer_drain(text, evbuffer_get_length(text));
    }
    return sheet.written;
}

bool http_watch_write_since(struct http *http, struct http_watch *watch, uint64_t version,
                            struct evbuffer *text) {
    struct http_state state = http_state_now(http);
    struct sheet sheet = {.text = text, .after = state.next_seq - 1};
    return wire_differ_give_since(state.documents, state.gate, watch->site->index, version,
                                  state.now, write_change, &sheet) &&
           !sheet.failed;
}

void http_watch_all_know(struct http *http, struct http_watch *watch) {
    wire_differ_all_know(http_state_now(http).documents, watch->site->index);
}

// --- Beginning and end ---

static struct http_watch *watch_new(struct http *http, const struct model_site *site) {
    struct http_state state = http_state_now(http);
    struct http_watch *watch = malloc(sizeof *watch);
    // What is there now is given to nobody: who opens a stream asks for the site behind it.
    if (watch == NULL || !wire_differ_watch(state.documents, state.gate, site->index, state.now)) {
        free(watch);
        return NULL;
    }
    *watch = (struct http_watch){.next = http->watches, .site = site};
    http->watches = watch;
    return watch;
}

struct http_watch *http_watch_begin(struct http *http, const struct model_site *site) {
    struct http_watch *watch = http->watches;
    while (watch != NULL && watch->site != site) {
        watch = watch->next;
    }
    if (watch == NULL) {
        watch = watch_new(http, site);
    }
    if (watch != NULL) {
        watch->streams++;
    }
    return watch;
}

void http_watch_end(struct http *http, struct http_watch *watch) {
    if (--watch->streams > 0) {
        return;
    }
    struct http_watch **at = &http->watches;
    while (*at != watch) {
        at = &(*at)->next;
    }
    *at = watch->next;
    wire_differ_unwatch(http_state_now(http).documents, watch->site->index);
    free(watch);
}

void http_watches_free(struct http *http) {
    while (http->watches != NULL) {
        struct http_watch *watch = http->watches;
        http->watches = watch->next;
        free(watch);
    }
}
