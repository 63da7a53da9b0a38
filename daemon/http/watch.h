// The sites that have streams, and what of their documents has changed, as the text of a stream.
#pragma once

#include "http/internal.h"

struct http_watch {
    struct http_watch *next;
    const struct model_site *site;
    size_t streams;
};

// One stream more or less of a site. NULL: no memory. What is there at the first begin counts as
// given.
struct http_watch *http_watch_begin(struct http *http, const struct model_site *site);
void http_watch_end(struct http *http, struct http_watch *watch);
void http_watches_free(struct http *http);
// The version of a site's documents.
uint64_t http_watch_version(struct http *http, const struct http_watch *watch);
// Writes what has changed since the last time into `text` as events. False: nothing has.
bool http_watch_write(struct http *http, struct http_watch *watch, struct evbuffer *text);
// The same of everything that was given after that version. False: no memory, text is of no use.
bool http_watch_write_since(struct http *http, struct http_watch *watch, uint64_t version,
                            struct evbuffer *text);
// Every stream knows everything: what is gone is forgotten.
void http_watch_all_know(struct http *http, struct http_watch *watch);
