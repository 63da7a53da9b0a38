// Server-sent events: what was missed from the journal, then what is committed as it is, a pulse of
// ages each second, and alarms ahead of the disk.
//
// What a client does not read is kept up to a bound. Over it, a client gets what it misses from the
// journal as it reads on; one that does not read on is dropped, and resumes where it was.
#include "http/internal.h"

#include "http/watch.h"
#include "wire/fact_parts.h"

#include <inttypes.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <sys/uio.h>

// Unread output over which no more events are added, and up to which the journal is read.
#define OUTPUT_MAX ((size_t)64 * 1024)
#define OUTPUT_FILLED (OUTPUT_MAX / 2)
// Pulses over which a client may leave so much unread, and what alarms may add to it meanwhile.
#define STUCK_MOST 15
#define ALARMS_MAX OUTPUT_MAX
// Rows of the journal for one stream, and streams that are helped on, at once.
#define ROWS_AT_ONCE 2000
#define PUMPED_AT_ONCE 50
// Pulses come each second, spread over this many ticks; every so many with a comment line.
#define PHASES 10
#define COMMENT_EVERY 10
// Of the connections, for the streams alone.
#define STREAMS_MOST(http) ((http)->connection_most / 4 * 3)
#define SEND_BUFFER 65536
#define UNANSWERED_MS 30000

struct http_stream {
    struct http_stream *next, **at;
    struct http *http;
    struct evhttp_request *request;
    const struct model_site *site;
    const struct model_person *person;
    struct http_watch *watch;
    uint64_t known; // the version of the site's documents that it was told
    uint64_t after; // the journal's number up to which it was told
    bool chunked;   // HTTP/1.1
    bool live;      // it was told everything that is in the journal
    unsigned phase, pulses;
    unsigned stuck; // pulses in a row that it had much unread
};

static void unlink_stream(struct http_stream *stream) {
    *stream->at = stream->next;
    if (stream->next != NULL) {
        stream->next->at = stream->at;
    }
    stream->http->stream_count--;
    http_watch_end(stream->http, stream->watch);
}

// The library tells that the connection goes. The request is ours then, unless it goes with it.
static void on_close(struct evhttp_connection *connection, void *user) {
    struct http_stream *stream = user;
    struct evhttp_request *request = stream->request;
    (void)connection;
    unlink_stream(stream);
    free(stream);
    if (evhttp_request_get_connection(request) == NULL) {
        evhttp_send_reply_end(request); // frees it
    }
}

// Ends in on_close, before it returns.
static void close_stream(struct http_stream *stream) {
    bufferevent_trigger_event(http_bufferevent(stream->request),
                              BEV_EVENT_TIMEOUT | BEV_EVENT_WRITING, 0);
}

static void drop(struct http_stream *stream) {
    stream->http->counts.streams_dropped++;
    close_stream(stream);
}

static size_t unread(const struct http_stream *stream) {
    return evbuffer_get_length(bufferevent_get_output(http_bufferevent(stream->request)));
}

// Gives a text to the system at once, as one chunk, where nothing waits before it. The library
// would wait for each socket to say that it is writable, which for a thousand streams takes longer
// than the sending. False: nothing was sent, it goes by the library.
static bool send_now(struct http_stream *stream, const void *text, size_t length) {
    struct bufferevent *bev = http_bufferevent(stream->request);
    char head[24], tail[] = "\r\n";
    int size = snprintf(head, sizeof head, "%zx\r\n", length);
    struct iovec parts[] = {{head, (size_t)size}, {(void *)(uintptr_t)text, length}, {tail, 2}};
    const struct msghdr message = {.msg_iov = parts, .msg_iovlen = 3};
    if (!stream->chunked || stream->http->tls != NULL || length == 0 || unread(stream) > 0) {
        return false;
    }
    ssize_t done = sendmsg(bufferevent_getfd(bev), &message, MSG_DONTWAIT | MSG_NOSIGNAL);
    if (done < 0) {
        return false;
    }
    for (size_t i = 0, sent = (size_t)done; i < 3; i++) { // what did not fit waits in the buffer
        size_t whole = sent < parts[i].iov_len ? sent : parts[i].iov_len;
        sent -= whole;
        if (evbuffer_add(bufferevent_get_output(bev), (const char *)parts[i].iov_base + whole,
                         parts[i].iov_len - whole) != 0) {
            drop(stream);
            break;
        }
    }
    return true;
}

// Sends a text, or drops the stream, which is gone then.
static void send_text(struct http_stream *stream, const void *text, size_t length) {
    struct evbuffer *chunk = stream->http->chunk;
    if (evbuffer_get_length(chunk) == 0 && send_now(stream, text, length)) {
        return;
    }
    if (unread(stream) > OUTPUT_MAX + ALARMS_MAX || evbuffer_add(chunk, text, length) != 0) {
        drop(stream);
        return;
    }
    evhttp_send_reply_chunk(stream->request, chunk);
}

// What stands in http->text, to be sent to many. NULL: no memory.
static const char *whole_text(struct http *http, size_t *length) {
    *length = evbuffer_get_length(http->text);
    return (const char *)evbuffer_pullup(http->text, -1);
}

static void clear_text(struct http *http) {
    evbuffer_drain(http->text, evbuffer_get_length(http->text));
}

// --- Events ---

static bool write_event(struct http *http, const struct wire_record *record) {
    json_out_reset(&http->out);
    return wire_event(&http->out, record) &&
           evbuffer_add_printf(http->text, "id: %" PRIu64 "\ndata: ", record->seq) > 0 &&
           evbuffer_add(http->text, http->out.data, http->out.length) == 0 &&
           evbuffer_add(http->text, "\n\n", 2) == 0;
}

struct pump {
    struct http_stream *stream;
    size_t room;
    unsigned rows;
    bool stopped, failed;
};

static bool pump_row(void *user, const struct journal_row *row) {
    struct pump *pump = user;
    struct http *http = pump->stream->http;
    if (evbuffer_get_length(http->text) >= pump->room || pump->rows++ >= ROWS_AT_ONCE) {
        pump->stopped = true;
        return false;
    }
    if (http_is_published(row->type)) {
        struct wire_record record = http_record(row);
        pump->failed = !write_event(http, &record);
    }
    pump->stream->after = (uint64_t)row->seq;
    return !pump->failed;
}

// Tells a stream that is behind what the journal has, as much as there is room for. False: for
// nothing; the journal was not read.
static bool pump(struct http_stream *stream) {
    struct http *http = stream->http;
    struct journal *journal = http_journal(http);
    struct journal_query query = {.from_seq = (int64_t)stream->after + 1,
                                  .site = stream->site->site};
    size_t waits = unread(stream);
    struct pump state = {.stream = stream, .room = OUTPUT_FILLED - waits};
    if (waits >= OUTPUT_FILLED) {
        return false;
    }
    clear_text(http);
    if (journal == NULL || journal_each(journal, &query, pump_row, &state) != JOURNAL_OK ||
        state.failed) {
        clear_text(http);
        drop(stream);
        return true;
    }
    stream->live = !state.stopped;
    if (evbuffer_get_length(http->text) > 0) {
        evhttp_send_reply_chunk(stream->request, http->text);
    }
    return true;
}

static void send_to_site(struct http *http, uint32_t site, uint64_t seq) {
    size_t length;
    const char *text = whole_text(http, &length);
    for (struct http_stream *next, *stream = http->streams; stream != NULL; stream = next) {
        next = stream->next;
        // One that is behind finds it in the journal; an alarm (0) is for all.
        if (stream->site->index != site || (seq != 0 && (!stream->live || seq <= stream->after))) {
            continue;
        }
        if (text == NULL) {
            drop(stream);
            continue;
        }
        if (seq != 0 && unread(stream) > OUTPUT_FILLED && unread(stream) + length > OUTPUT_MAX) {
            stream->live = false;
            continue;
        }
        stream->after = seq != 0 ? seq : stream->after;
        send_text(stream, text, length);
    }
    clear_text(http);
}

void http_tell_event(struct http *http, uint32_t site, const struct wire_record *record) {
    if (http->streams == NULL || !http_is_published(record->type)) {
        return;
    }
    clear_text(http);
    if (!write_event(http, record)) {
        clear_text(http); // they are dropped, and find it in the journal
    }
    send_to_site(http, site, record->seq);
}

void http_tell_alarm(struct http *http, uint32_t site, const char *json, size_t length) {
    if (http->streams == NULL) {
        return;
    }
    clear_text(http);
    if (evbuffer_add_printf(http->text, "event: alarm\ndata: ") > 0 &&
        evbuffer_add(http->text, json, length) == 0 && evbuffer_add(http->text, "\n\n", 2) == 0) {
        send_to_site(http, site, 0);
    }
}

// --- Documents ---

// What was just written, to those that know all before it; the others get theirs with a tick.
static void send_documents(struct http *http, struct http_watch *watch) {
    size_t length;
    const char *text = whole_text(http, &length);
    uint64_t version = http_watch_version(http, watch);
    bool all = text != NULL;
    for (struct http_stream *next, *stream = http->streams; stream != NULL; stream = next) {
        next = stream->next;
        if (stream->watch != watch) {
            continue;
        }
        bool full = unread(stream) > 0 && unread(stream) + length > OUTPUT_MAX;
        if (text == NULL || !stream->live || stream->known + 1 != version || full) {
            all = false;
            continue;
        }
        stream->known = version;
        send_text(stream, text, length);
    }
    if (all) {
        http_watch_all_know(http, watch);
    }
}

void http_streams_settled(struct http *http) {
    for (struct http_watch *next, *watch = http->watches; watch != NULL; watch = next) {
        next = watch->next;
        clear_text(http);
        if (http_watch_write(http, watch, http->text)) {
            watch->streams++; // sending may end the last stream, and the watch with it
            send_documents(http, watch);
            http_watch_end(http, watch);
        }
    }
    clear_text(http);
}

// Tells a stream the documents that it could not take when they were written. False: it needs none.
static bool catch_up(struct http_stream *stream) {
    struct http *http = stream->http;
    if (!stream->live || stream->known == http_watch_version(http, stream->watch) ||
        unread(stream) > OUTPUT_FILLED || !http_state_now(http).settled) {
        return false;
    }
    size_t length;
    clear_text(http);
    bool written = http_watch_write_since(http, stream->watch, stream->known, http->text);
    const char *text = whole_text(http, &length);
    if (!written || (text == NULL && length > 0)) {
        drop(stream);
    } else {
        stream->known = http_watch_version(http, stream->watch);
        send_text(stream, text, length);
    }
    clear_text(http);
    return true;
}

// --- Pulses ---

static void write_age(struct json_out *out, int64_t heard, int64_t now) {
    if (heard == 0) {
        json_out_null(out);
    } else {
        json_out_double(out, now > heard ? (double)(now - heard) / 1000 : 0);
    }
}

// The pulse of a site in http->text.
static void write_pulse(struct http *http, const struct model_site *site) {
    struct http_state state = http_state_now(http);
    struct json_out *out = &http->out;
    json_out_reset(out);
    json_out_object(out);
    json_out_key(out, "at");
    wire_fact_write_time(out, state.now.wall);
    json_out_key(out, "ages");
    json_out_object(out);
    for (uint32_t i = 0; i < site->point_count; i++) {
        json_out_key(out, site->points[i].point);
        write_age(out, gate_point_heard(state.gate, &state.gate->sites[site->index], i, state.now),
                  state.now.wall);
    }
    json_out_object_end(out);
    json_out_object_end(out);
    clear_text(http);
    if (!out->failed) {
        evbuffer_add_printf(http->text, "event: heard\ndata: ");
        evbuffer_add(http->text, out->data, out->length);
        evbuffer_add(http->text, "\n\n", 2);
    }
}

static void pulse(struct http_stream *stream) {
    static const char comment[] = ": here\n\n";
    size_t length;
    stream->stuck = unread(stream) > OUTPUT_FILLED ? stream->stuck + 1 : 0;
    if (stream->stuck > 0) { // it has older ones to read
        if (stream->stuck > STUCK_MOST) {
            drop(stream);
        }
        return;
    }
    const char *text = whole_text(stream->http, &length);
    if (++stream->pulses % COMMENT_EVERY == 0) {
        evbuffer_add(stream->http->chunk, comment, sizeof comment - 1);
    }
    send_text(stream, text, text != NULL ? length : 0);
}

static void pulse_phase(struct http *http, unsigned phase) {
    const struct model_site *written = NULL;
    for (struct http_stream *next, *stream = http->streams; stream != NULL; stream = next) {
        next = stream->next;
        if (stream->phase == phase) {
            if (written != stream->site) {
                written = stream->site;
                write_pulse(http, written);
            }
            pulse(stream);
        }
    }
    clear_text(http);
}

void http_streams_tick(struct http *http) {
    unsigned pumped = 0;
    pulse_phase(http, http->tick % PHASES);
    for (struct http_stream *next, *stream = http->streams;
         stream != NULL && pumped < PUMPED_AT_ONCE; stream = next) {
        next = stream->next;
        if (stream->live ? catch_up(stream) : pump(stream)) {
            pumped++;
        }
    }
}

// --- Beginning and end ---

// The number behind which it begins: Last-Event-ID, else `after`, else now. False: not a number.
static bool first_after(const struct http_call *call, uint64_t now, uint64_t *after, bool *given) {
    const char *last =
        evhttp_find_header(evhttp_request_get_input_headers(call->request), "Last-Event-ID");
    *after = now;
    *given = last != NULL;
    if (last != NULL) {
        return http_number(last, INT64_MAX - 1, after);
    }
    enum http_field field = http_query_number(http_query_of(call), "after", INT64_MAX - 1, after);
    *given = field == HTTP_FIELD_GOOD;
    return field != HTTP_FIELD_BAD;
}

static struct http_stream *stream_new(const struct http_call *call, uint64_t after, bool live) {
    struct http *http = call->http;
    struct http_watch *watch = http_watch_begin(http, call->site);
    struct http_stream *stream = watch != NULL ? malloc(sizeof *stream) : NULL;
    if (stream == NULL) {
        if (watch != NULL) {
            http_watch_end(http, watch);
        }
        return NULL;
    }
    *stream = (struct http_stream){.next = http->streams,
                                   .at = &http->streams,
                                   .http = http,
                                   .request = call->request,
                                   .site = call->site,
                                   .person = call->person,
                                   .watch = watch,
                                   .known = http_watch_version(http, watch),
                                   .after = after,
                                   .live = live,
                                   .phase = (http->tick + 1 + http->stream_count) % PHASES};
    if (stream->next != NULL) {
        stream->next->at = &stream->next;
    }
    http->streams = stream;
    http->stream_count++;
    return stream;
}

// The kernel keeps little of what is not read, and gives up a phone that has gone without a word.
static void bound_socket(struct bufferevent *bev) {
    int size = SEND_BUFFER, most = UNANSWERED_MS;
    int socket = bufferevent_getfd(bev);
    setsockopt(socket, SOL_SOCKET, SO_SNDBUF, &size, sizeof size);
    setsockopt(socket, IPPROTO_TCP, TCP_USER_TIMEOUT, &most, sizeof most);
    bufferevent_setwatermark(bev, EV_READ, 0, 4096);
    bufferevent_set_timeouts(bev, NULL, NULL);
}

static void begin(struct http_call *call, uint64_t after, uint64_t now, bool given) {
    struct http *http = call->http;
    struct http_stream *stream = stream_new(call, after, !given);
    if (stream == NULL) {
        http_problem(http, call->request, 503, "out of memory");
        return;
    }
    http_count(http, 200);
    http_headers(http, call->request, "text/event-stream");
    evhttp_connection_set_closecb(evhttp_request_get_connection(call->request), on_close, stream);
    evhttp_send_reply_start(call->request, 200, "OK");
    stream->chunked = evhttp_find_header(evhttp_request_get_output_headers(call->request),
                                         "Transfer-Encoding") != NULL;
    bound_socket(http_bufferevent(call->request));
    // The number of now goes ahead of the first event, so that nothing is missed by a client that
    // loses its connection before there was one.
    write_pulse(http, call->site);
    if (!given) {
        evbuffer_add_printf(http->chunk, "id: %" PRIu64 "\n", now);
    }
    evbuffer_add_printf(http->chunk, "retry: 2000\n");
    evbuffer_add_buffer(http->chunk, http->text);
    evhttp_send_reply_chunk(call->request, http->chunk); // the journal follows with the next tick
    http->idle = http->idle && !loop_timer_every(http->timer, HTTP_TICK_MS);
}

void http_serve_stream(struct http_call *call) {
    struct http *http = call->http;
    uint64_t now = http_state_now(http).next_seq - 1, after;
    bool given;
    if (!first_after(call, now, &after, &given)) {
        http_problem(http, call->request, 400, "Last-Event-ID and `after` are whole numbers.");
    } else if (evhttp_request_get_command(call->request) == EVHTTP_REQ_HEAD) {
        http_reply(http, call->request, 200, "text/event-stream", "", 0);
    } else if (http->stream_count >= STREAMS_MOST(http)) {
        http_header(call->request, "Retry-After", "10");
        http_problem(http, call->request, 503, "Too many streams are open.");
    } else {
        begin(call, after < now ? after : now, now, given);
    }
}

void http_tokens_changed(struct http *http, const bool *changed) {
    for (struct http_stream *next, *stream = http->streams; stream != NULL; stream = next) {
        next = stream->next;
        if (changed[stream->person - http->model->people]) {
            close_stream(stream);
        }
    }
}

void http_streams_free(struct http *http) {
    struct http_stream *stream = http->streams;
    http->streams = NULL;
    while (stream != NULL) {
        struct http_stream *next = stream->next;
        struct evhttp_connection *connection = evhttp_request_get_connection(stream->request);
        evhttp_connection_set_closecb(connection, NULL, NULL);
        free(stream);
        stream = next;
    }
    http_watches_free(http);
}
