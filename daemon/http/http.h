// The HTTP API (contract, section 6): documents as of now, requests, events and their stream.
//
// The only module that knows the library's HTTP server. It decides nothing: a request goes to the
// daemon by a callback and its answer comes back by http_answer, after the commit. Whatever reads
// the state waits until what was asked is on the disk, so a permit is never seen before that; what
// ends or stops is told to the streams at once (http_tell_alarm).
//
// Single-threaded: call everything from the loop's thread. Callbacks run from the loop.
#pragma once

#include "gate/gate.h"
#include "wire/request_in.h"
#include "wire/tell.h"

struct http;
struct http_metrics;
struct wire_differ;
struct loop;

// The daemon as it is at this moment.
struct http_state {
    struct wire_differ *documents;
    const struct gate *gate; // good until the callback's caller returns
    struct gate_time now;
    uint64_t next_seq; // of the next fact to be committed
    bool link_up, journal_up;
    // By feed and site (feed * site_count + site): mono ms of its last reading, or of the start;
    // -1: it has nothing to hear there. NULL: not known.
    const int64_t *feed_heard;
    bool settled; // nothing that was asked waits to be decided or written
};

// All are needed.
struct http_callbacks {
    void (*state)(void *user, struct http_state *state);
    // Takes a request of somebody known, with a ticket; http_answer follows later, never from
    // inside. False: no memory.
    bool (*ask)(void *user, const struct wire_request_in *request);
    // Whether it ends or stops something: no limit of requests holds for it.
    bool (*ends)(void *user, const struct wire_request_in *request);
    // Adds the daemon's own figures by http_metric and http_sample.
    void (*metrics)(void *user, struct http_metrics *into);
};

// Listens on the model's http_listen, with TLS if it has a certificate. The model and the loop must
// outlive it; callbacks are copied. NULL: error holds a sentence.
struct http *http_new(struct loop *loop, const struct model *model,
                      const struct http_callbacks *callbacks, void *user, char *error, size_t size);
// Closes every connection at once. NULL is allowed.
void http_free(struct http *http);
// Reads the certificate and key anew, for connections that come from now on. False: the old ones
// are kept, error says why. Without TLS there is nothing to do.
bool http_reload(struct http *http, char *error, size_t size);

// The model's tokens have been changed: closes the streams of everybody whose token is another one
// or none now. had: for each person of the model, whether that is so.
void http_tokens_changed(struct http *http, const bool *changed);

// The answer to a request, with its status. A ticket whose client has gone is ignored.
void http_answer(struct http *http, uint64_t ticket, int status, const char *json, size_t length);
// Whether the client of a ticket, which was not answered yet, has hung up.
bool http_gave_up(const struct http *http, uint64_t ticket);
// What was asked is on the disk: whoever waits to see the state sees it now.
void http_settled(struct http *http);
// A fact that was committed, in the journal's order, for the site's streams.
void http_tell_event(struct http *http, uint32_t site, const struct wire_record *record);
// An alarm's document, ahead of the disk, for the site's streams.
void http_tell_alarm(struct http *http, uint32_t site, const char *json, size_t length);

// A metric's head: a name without the prefix, "counter" or "gauge", a sentence. Its samples follow,
// labels as `name="value"` of a closed list, or "".
void http_metric(struct http_metrics *into, const char *name, const char *type, const char *help);
void http_sample(struct http_metrics *into, const char *labels, uint64_t value);
