// What the files of the daemon share: the parts that it is wired of. What is decided, in which
// order and when anything may be published is the turn's (turn/turn.h); here its operations meet
// the journal, the broker, the HTTP API and the webhooks.
#pragma once

#include "feed/feed.h"
#include "gate/gate.h"
#include "http/http.h"
#include "journal/journal.h"
#include "loop/loop.h"
#include "mqtt/mqtt.h"
#include "serve/log.h"
#include "turn/turn.h"

struct daemon {
    const char *path; // of the configuration, to read the tokens again
    struct model *model;
    struct loop *loop;
    struct loop_timer *deadline_timer, *second_timer, *minute_timer;
    struct turn *turn;
    struct serve_journal *journal;
    struct serve_inbound *inbound;
    struct serve_drops *drops;
    struct serve_feeds *feeds;
    struct mqtt *mqtt;               // NULL: before the link is made
    struct http *http;               // NULL: not configured
    struct serve_webhooks *webhooks; // NULL: none configured
    struct serve_log_limit trouble_limit, not_written_limit, no_room_limit;
};

// --- operations.c ---
extern const struct turn_operations serve_operations; // their user is the daemon

// --- link.c ---
// Makes the link to the broker, which does not connect yet. False: the reason is logged.
bool serve_link_new(struct daemon *daemon);
// The text of our document that says offline; to be freed. NULL: no memory.
char *serve_offline_text(struct daemon *daemon, size_t *length);
// Operations of the turn.
void serve_link_read(void *user);
bool serve_link_is_up(void *user);
bool serve_link_say(void *user, enum gate_connection which, const char *topic, const char *payload,
                    size_t length, bool kept);
bool serve_link_publish(void *user, const struct turn_publication *publication);
size_t serve_link_room(void *user);
uint64_t serve_link_oldest(void *user);
void serve_link_flush(void *user);
void serve_link_acknowledge(void *user);
bool serve_link_survey(void *user);

// --- inbound.c ---
struct serve_inbound *serve_inbound_new(void); // NULL: no memory
void serve_inbound_free(struct serve_inbound *inbound);
void serve_inbound_message(struct daemon *daemon, const struct mqtt_message *message);

// --- drops.c ---
// Why something that came in was not taken.
enum serve_drop {
    SERVE_DROP_TOPIC,
    SERVE_DROP_SITE,
    SERVE_DROP_NAME,
    SERVE_DROP_RETAINED,
    SERVE_DROP_PAYLOAD,
    SERVE_DROP_COPY,
    SERVE_DROP_OLDER,
    SERVE_DROP_CLAIMED,
    SERVE_DROP_RESPONSE_TOPIC,
    SERVE_DROP_COUNT,
};
struct serve_drops *serve_drops_new(void); // NULL: no memory
void serve_drops_free(struct serve_drops *drops);
// Counts it, and logs it at most once in a while. text: more to say, or "".
void serve_drop(struct daemon *daemon, enum serve_drop why, const char *topic, const char *text);
// Counts what became of a word or event; error says what is wrong with an unreadable one.
void serve_drop_heard(struct daemon *daemon, enum gate_heard heard, const char *topic,
                      const char *error);
void serve_drops_metrics(const struct daemon *daemon, struct http_metrics *into);

// --- feeds.c ---
struct serve_feeds *serve_feeds_new(struct daemon *daemon); // NULL: no memory
void serve_feeds_free(struct serve_feeds *feeds);
// Maps a message of the hardware's own topics, and hears what comes of it. False: no feed of that
// kind reads this topic.
bool serve_feeds_hear(struct daemon *daemon, const struct feed_message *message, unsigned which);
// By feed and site (feed * site_count + site): mono ms of its last reading, or of the start; -1: it
// has nothing to hear there.
const int64_t *serve_feeds_heard(const struct serve_feeds *feeds);
void serve_feeds_metrics(const struct daemon *daemon, struct http_metrics *into);

// --- webhooks.c ---
// The webhooks, if the configuration has any, over the daemon's journal. False: the reason is
// logged.
bool serve_webhooks_new(struct daemon *daemon, struct journal *journal);
// Ends the sending; what it has come to is to be written by the last commit.
void serve_webhooks_stop(struct daemon *daemon);
void serve_webhooks_free(struct daemon *daemon);
// Once a second: alarms, the log, and whether there are notes to be written.
void serve_webhooks_second(struct daemon *daemon);
// Writes the notes that were taken, in the journal's open transaction. In the worker thread.
enum journal_status serve_webhooks_write(struct daemon *daemon, struct journal *journal);
void serve_webhooks_metrics(struct daemon *daemon, struct http_metrics *into);
// Reads the files of secrets again; what cannot be read stays as it was.
void serve_webhooks_reload(struct daemon *daemon);
// Operations of the turn.
bool serve_webhooks_due(void *user);
bool serve_webhooks_take(void *user);
void serve_webhooks_over(void *user, bool written, uint64_t last);

// --- web.c ---
// The HTTP API, if the configuration has one. False: the reason is logged.
bool serve_web_new(struct daemon *daemon);

// --- metrics.c ---
// The daemon's own figures.
void serve_metrics(void *user, struct http_metrics *into);

// --- reload.c ---
// Reads the certificate and the people's tokens again, and nothing else; what cannot be read stays
// as it was, and the log says why.
void serve_web_reload(struct daemon *daemon);
