// The documents of a site that has streams: what each was when it was last told, so that a change
// is told once to all of them, and a stream that could not take it gets it later.
#pragma once

#include "http/internal.h"

// One document. Text itself is not kept: it is drawn anew for whom it is told.
struct http_watched {
    char id[MODEL_ID_SIZE]; // of a job or alarm; a position's or point's is the model's
    uint64_t hash;
    uint64_t version; // of the telling in which it changed last
    bool gone;        // there is none any more; kept until every stream knows
    bool seen;        // scratch
};

struct http_watched_list {
    struct http_watched *items;
    size_t count, capacity;
};

struct http_watch {
    struct http_watch *next;
    const struct model_site *site;
    size_t streams;
    uint64_t version; // tellings so far
    uint64_t changes; // the gate's count at the last
    bool journal_up;  // at the last; the state may be another one when this turns
    bool behind;      // not everything could be drawn: no memory
    struct http_watched_list positions, points, jobs, alarms;
};

// One stream more or less of a site. NULL: no memory. What is there at the first begin counts as
// told.
struct http_watch *http_watch_begin(struct http *http, const struct model_site *site);
void http_watch_end(struct http *http, struct http_watch *watch);
void http_watches_free(struct http *http);
// Draws what has changed since the last time into `text` as events. False: nothing has.
bool http_watch_draw(struct http *http, struct http_watch *watch, struct evbuffer *text);
// The same of everything that was told after that version. False: no memory, text is of no use.
bool http_watch_draw_since(struct http *http, struct http_watch *watch, uint64_t version,
                           struct evbuffer *text);
// Every stream knows everything: what is gone is forgotten.
void http_watch_all_told(struct http_watch *watch);
