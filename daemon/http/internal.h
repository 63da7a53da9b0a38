// What the files of this folder share.
#pragma once

#include "http/address.h"
#include "http/http.h"
#include "http/parse.h"

#include "journal/journal.h"
#include "loop/loop.h"
#include "loop/work.h"
#include "json/json.h"

#include <event2/buffer.h>
#include <event2/bufferevent.h>
#include <event2/event.h>
#include <event2/http.h>
#include <openssl/ssl.h>

#define HTTP_HEADERS_MAX 8192
#define HTTP_BODY_MAX 65536
// The library reads this much so that what is a little too long gets an answer of ours.
#define HTTP_BODY_READ_MAX ((size_t)4 * HTTP_BODY_MAX)
// From a connection's opening, or its last answer, to a whole request.
#define HTTP_REQUEST_MS 15000
// From the answer to its last byte taken by the system.
#define HTTP_ANSWER_MS 30000
#define HTTP_CONNECTIONS_MAX 4096
#define HTTP_BUCKETS 1024
// How often it ticks, for the streams.
#define HTTP_TICK_MS 100
// Addresses remembered: twice as many as there can be connections.
#define HTTP_ADDRESSES_MAX 8192

// A connection, from its acceptance until a sweep finds that the library has freed it.
struct http_connection {
    struct http_connection *next, *next_fresh;
    struct bufferevent *bev;      // one reference of it is ours
    struct http_address *address; // NULL: not counted
    int64_t deadline;             // mono ms at which it is cut; INT64_MAX: not
    bool prepared;                // its socket's options are set
    bool fresh;                   // listed as such: it is not swept
};

// One request being answered. Copied to the heap while it waits.
struct http_call {
    struct http_call *next; // of those that wait
    struct http *http;
    struct evhttp_request *request;
    struct http_address *address;      // NULL: not counted
    const struct model_person *person; // NULL: a route without a token
    bool by_cookie;                    // which is how the person is known
    const struct model_site *site;     // NULL: a route without a site
    const struct http_route *route;
    struct http_path path;
    bool over; // the limit of its address or person: only what stops something is taken
};

enum {
    HTTP_OPEN = 1 << 0,  // without a token
    HTTP_WAITS = 1 << 1, // until what was asked is on the disk
    HTTP_PAGE = 1 << 2,  // for eyes: its errors are pages too
    HTTP_ASKS = 1 << 3,  // a request: the gate decides, also about the site
};

struct http_route {
    const char *pattern;
    unsigned methods; // enum evhttp_cmd_type; GET stands for HEAD too
    unsigned flags;
    unsigned roles; // enum model_role: any of them may
    void (*serve)(struct http_call *call);
};

struct http_post {
    struct http_post *next;
    uint64_t ticket;
    struct evhttp_request *request;
};

struct http_stream;
struct http_watch;
struct http_journal_reader;

struct http_counts {
    uint64_t statuses[5]; // 1xx to 5xx
    uint64_t unauthorized, limited;
    uint64_t connections, cut; // accepted; over a deadline
    uint64_t crowded;          // cut as their address has too many
    uint64_t streams_dropped;
};

struct http {
    struct loop *loop;
    const struct model *model;
    struct http_callbacks callbacks;
    void *user;
    struct evhttp *server;
    struct evhttp_bound_socket *socket;
    SSL_CTX *tls;              // NULL: clear text
    struct bufferevent *spare; // of the next connection; without one nothing is accepted
    bool listening;
    struct http_connection *buckets[HTTP_BUCKETS];
    size_t connection_count, connection_most;
    struct http_connection *fresh; // whose address is not known yet
    struct loop_timer *count_soon; // the fresh ones, once their addresses are known
    int64_t swept;                 // mono ms
    struct http_addresses *addresses;
    struct loop_timer *timer;
    unsigned tick;
    bool idle; // there are no streams, and it ticks slowly
    struct http_call *waiting, **waiting_end;
    struct http_post *posts, **posts_end;
    uint64_t last_ticket;
    struct http_stream *streams;
    size_t stream_count;
    struct http_watch *watches;    // of the sites that have streams
    struct evbuffer *text, *chunk; // scratch of streams
    struct http_bucket {
        int64_t at; // mono ms
        double left;
    } * allowances; // of requests, as the model's people
    struct journal *reader;
    struct http_journal_reader *journal_reader;
    struct json_out out; // scratch
    struct http_counts counts;
};

// --- tls.c ---
// A context from the model's files. NULL: error holds a sentence.
SSL_CTX *http_tls_new(const struct model *model, char *error, size_t size);

// --- connection.c ---
// Makes ready the next connection's buffers, if there are none. False: no memory.
bool http_spare(struct http *http);
// evhttp's hook for a new connection; never NULL.
struct bufferevent *http_accept(struct event_base *base, void *user);
// Forgets what the library has freed, cuts what is overdue, listens if there is room.
void http_sweep(struct http *http);
void http_connections_free(struct http *http);
// Counts those that came under their addresses, and cuts those over it.
void http_count_fresh(struct http *http);
// A whole request has come: until its answer there is no deadline. Its address, NULL if it is not
// counted.
struct http_address *http_connection_asked(struct http *http, struct evhttp_request *request);
// The answer was given to the library.
void http_connection_answered(struct http *http, struct evhttp_request *request);
struct bufferevent *http_bufferevent(struct evhttp_request *request); // NULL: closed meanwhile

// --- reply.c ---
// The headers that every answer has; those that are set already stay.
void http_headers(struct http *http, struct evhttp_request *request, const char *type);
void http_header(struct evhttp_request *request, const char *name, const char *value);
// Ends a request that is not to be answered any more, as its connection goes or has gone.
void http_abandon(struct evhttp_request *request);
// Ends the request.
void http_reply(struct http *http, struct evhttp_request *request, int status, const char *type,
                const char *body, size_t length);
// What stands in http->out, as JSON; out of memory is a 503.
void http_reply_out(struct http *http, struct evhttp_request *request);
// A problem document (RFC 9457).
void http_problem(struct http *http, struct evhttp_request *request, int status,
                  const char *detail);
const char *http_reason(int status);
// Counts an answer of that status.
void http_count(struct http *http, int status);

// --- route.c ---
void http_dispatch(struct evhttp_request *request, void *user);

// --- call.c ---
// What stands behind the "?" of the address; NULL: nothing.
const char *http_query_of(const struct http_call *call);
struct http_state http_state_now(struct http *http);
// 429, with the seconds after which to ask again.
void http_too_many(struct http_call *call, const char *after_s, const char *detail);

// --- the routes ---
void http_serve_health(struct http_call *call);
void http_serve_metrics(struct http_call *call);
void http_serve_about(struct http_call *call);
void http_serve_site(struct http_call *call);
void http_serve_position(struct http_call *call);
void http_serve_point(struct http_call *call);
void http_serve_job(struct http_call *call);
void http_serve_gate(struct http_call *call);
void http_serve_position_gate(struct http_call *call);
void http_serve_procedure(struct http_call *call);
void http_serve_alarm(struct http_call *call);
void http_serve_equipment(struct http_call *call);
void http_serve_events(struct http_call *call);
void http_serve_stream(struct http_call *call);
void http_serve_downtime(struct http_call *call);
void http_serve_timeline(struct http_call *call);
void http_serve_record(struct http_call *call);
void http_serve_record_code(struct http_call *call);
void http_serve_request(struct http_call *call);
// Whether a request by its verb may be one that ends or stops something.
bool http_may_stop(const struct http_call *call);
void http_serve_enroll(struct http_call *call);
void http_serve_root(struct http_call *call);
void http_serve_static(struct http_call *call);
void http_serve_board_page(struct http_call *call);
void http_serve_at_page(struct http_call *call);
void http_serve_record_page(struct http_call *call);
void http_serve_enroll_page(struct http_call *call);
// 401, 403 or 404 as a page.
void http_page_refuse(struct http_call *call, int status);

// --- documents.c ---
// The job of the path, or NULL and the problem is told.
const struct gate_job *http_job_of(struct http_call *call, const struct http_state *state);

// --- about.c ---
void http_write_roles(struct json_out *out, unsigned roles);
// Into http->out: who that is, and what they may look at.
void http_write_about(struct http *http, const struct model_person *person);

// --- events.c ---
// The journal for reading in the loop's thread, opened when it is first needed. NULL: it cannot be.
struct journal *http_journal(struct http *http);
struct journal *http_journal_open(const struct model *model);
// Whether facts of that type are told as events.
bool http_is_published(const char *type);
// A row as events are made of it; borrowed from it.
struct wire_record http_record(const struct journal_row *row);

// --- stream.c ---
// With each tick: pulses, and the journal for those that are behind.
void http_streams_tick(struct http *http);
// What the state holds may be seen: tells the documents that have changed.
void http_streams_settled(struct http *http);
void http_streams_free(struct http *http);

// --- journal_query.c ---
bool http_journal_reader_new(struct http *http);
void http_journal_reader_free(struct http *http);
