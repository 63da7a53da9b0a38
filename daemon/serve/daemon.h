// What the files of the daemon share: one struct daemon, its turn and its flight.
//
// A turn: what came in is decided at once and its facts gathered. At the end of the turn they take
// off: a worker thread writes them in one transaction while the loop goes on hearing. When the
// commit has landed, the documents that were drawn up at take-off, the events and the answers are
// told and the broker's deliveries acknowledged. Requests that come meanwhile wait; signals are
// heard, and a break is told before any disk.
#pragma once

#include "feed/canonical.h"
#include "feed/feed.h"
#include "gate/gate.h"
#include "http/http.h"
#include "journal/journal.h"
#include "loop/loop.h"
#include "loop/work.h"
#include "mqtt/mqtt.h"
#include "serve/log.h"
#include "wire/fact_codec.h"
#include "wire/request.h"
#include "wire/tell.h"
#include "json/json.h"

#define DAEMON_BOOT_SIZE 33

// A fact to be written.
struct daemon_record {
    uint32_t site; // index, or MODEL_NONE
    enum gate_fact_type type;
    struct gate_time at;
    const char *subject; // of the model, or NULL
    size_t data, length; // in daemon_batch.text
};

// An accepted request with an id, to be remembered with its answer.
struct daemon_remembered {
    uint32_t site;
    char person[MODEL_ID_SIZE];
    char id[65 * 4];
    char verb[MODEL_ID_SIZE];
    uint8_t body[32];
    int64_t at;            // wall ms
    size_t answer, length; // in daemon_batch.text
};

// What one transaction writes.
struct daemon_batch {
    struct json_out text; // of records and answers
    struct daemon_record *records;
    size_t record_count, record_capacity;
    struct daemon_remembered *remembered;
    size_t remembered_count, remembered_capacity;
};

// An answer on its way.
struct daemon_answer {
    uint64_t ticket; // of the HTTP API; 0: it goes to the broker
    int status;      // with a ticket
    bool refused;    // the id stays free
    char *topic;     // without
    char *payload;
    size_t length;
    void *correlation;
    size_t correlation_length;
};
struct daemon_answers {
    struct daemon_answer *items;
    size_t count, capacity;
};

// A message of the durable connection, or a request by HTTP in its form, kept until what it led to
// is committed.
struct daemon_message {
    uint64_t ticket; // of the HTTP API; 0: it came from the broker
    char *topic;
    char *payload;
    size_t length;
    char *response_topic;
    void *correlation;
    size_t correlation_length;
};
struct daemon_messages {
    struct daemon_message *items;
    size_t count, capacity;
};

// A job whose lockout broke in this turn: told before the disk.
struct daemon_break {
    uint32_t site;
    char job[MODEL_ID_SIZE];
};

struct daemon_turn {
    struct daemon_batch batch;
    struct daemon_answers answers;
    struct daemon_messages messages; // decided in this turn
    struct daemon_messages waiting;  // came during a flight, not decided yet
    struct daemon_break *breaks;
    size_t break_count, break_capacity;
    bool failed;    // memory ran out: nothing of this turn may be told
    bool heard_due; // last-heard times are to be written
};

// The kinds of documents, in the order in which they are told.
enum daemon_kind { DAEMON_ALARM, DAEMON_JOB, DAEMON_POINT, DAEMON_POSITION };

// A document drawn up and not yet told. It is told only if nothing newer of it was meanwhile.
struct daemon_outgoing {
    enum daemon_kind kind;
    uint32_t site;
    uint32_t index;         // of a point or position
    char id[MODEL_ID_SIZE]; // of an alarm or job
    uint64_t hash;          // 0: the topic is to be emptied
    size_t payload, length; // in daemon_outbox.text
};
struct daemon_outbox {
    struct json_out text;
    struct daemon_outgoing *items;
    size_t count, capacity;
};

struct daemon_heard {
    uint32_t site;
    const char *point; // of the model
    int64_t heard;     // wall ms
};

enum daemon_written {
    DAEMON_WRITTEN,
    DAEMON_WRITTEN_FROM_RESERVE, // only the space held in reserve made it possible
    DAEMON_NOT_WRITTEN,          // it may be possible later; nothing of it is in the journal
    DAEMON_FATAL,                // the disk cannot be trusted: stop acknowledging and end
};

// What is being written. While it is under way, batch, heard, at and result are the worker's.
struct daemon_flight {
    struct daemon_batch batch; // kept after a write that failed, until one succeeds
    struct daemon_heard *heard;
    size_t heard_count, heard_capacity;
    struct daemon_answers answers;
    struct daemon_messages messages;
    int64_t at;   // wall ms of the take-off
    int64_t told; // number of the last fact whose event was told
    bool hooks;   // how far webhooks have come is to be noted
    enum daemon_written result;
    char why[512]; // of a result that is not DAEMON_WRITTEN
};

// What was last published of an object; 0: nothing, or it must be told anew.
struct daemon_site {
    uint64_t *positions, *points; // hashes
    struct daemon_published {
        char id[MODEL_ID_SIZE];
        uint64_t hash;
        bool seen;
        bool final; // of a job that has ended
    } * jobs, *alarms;
    size_t job_count, alarm_count;
    uint64_t changes; // the gate's count when all was published
    bool dirty;
};

// Another daemon that says it is online.
struct daemon_other {
    char instance[MODEL_ID_SIZE];
    char boot[DAEMON_BOOT_SIZE];
    int64_t until; // line ms
    bool *sites;   // by index
};

// What came of a feed's messages.
struct daemon_feed {
    uint64_t counts[FEED_OUTCOME_COUNT];
    struct log_limit limits[FEED_OUTCOME_COUNT];
};

// Why something that came in was not taken.
enum daemon_drop {
    DAEMON_DROP_TOPIC,
    DAEMON_DROP_SITE,
    DAEMON_DROP_NAME,
    DAEMON_DROP_RETAINED,
    DAEMON_DROP_PAYLOAD,
    DAEMON_DROP_COPY,
    DAEMON_DROP_OLDER,
    DAEMON_DROP_CLAIMED,
    DAEMON_DROP_RESPONSE_TOPIC,
    DAEMON_DROP_COUNT,
};

// What became of a request, for the metrics.
enum daemon_outcome { DAEMON_ACCEPTED, DAEMON_AGAIN, DAEMON_REFUSED, DAEMON_OUTCOME_COUNT };

struct daemon {
    const char *path; // of the configuration, to read the tokens again
    struct model *model;
    struct loop *loop;
    struct loop_timer *deadline_timer, *second_timer, *minute_timer;
    struct mqtt *mqtt;
    struct http *http;          // NULL: not configured
    struct daemon_hooks *hooks; // NULL: no webhooks
    struct journal *journal;
    struct gate *gate;
    struct daemon_turn turn;
    struct daemon_flight flight;
    struct daemon_outbox outbox;
    struct loop_work *writer;
    struct daemon_site *sites;
    struct daemon_other *others;
    size_t other_count;
    struct request request;
    struct gate_answer answer;
    struct json_tape tape;
    struct json_out out, event; // scratch
    char boot[DAEMON_BOOT_SIZE];
    int64_t since;          // wall ms at which the daemon came up
    uint64_t seen_changes;  // the gate's count at the last take-off
    uint64_t timed_changes; // the same when the timer was set
    int64_t write_after;    // boot ms before which a journal that is down is not tried again
    int64_t line_base;      // line ms = line_base + boot ms
    uint64_t next_seq;      // of the next fact to be written
    uint64_t next_event;    // of the next event to be published
    bool journal_up, link_up, own_heard, surveyed, contest_over;
    bool all_told;        // nothing waits to be published
    bool telling_anew;    // not every document has been told since all were forgotten
    bool acknowledge_due; // something decided was not acknowledged yet
    bool self_due;        // `online` is to be published once every document is
    bool fatal;
    struct log_limit limits[DAEMON_DROP_COUNT];
    uint64_t drops[DAEMON_DROP_COUNT];
    uint64_t asked[GATE_VERB_COUNT + 1][DAEMON_OUTCOME_COUNT]; // the last verb: unknown
    struct log_limit trouble_limit, journal_limit;
    struct feed_set *feed_set;
    struct daemon_feed *feeds; // by feed
    // By feed and site (feed * site_count + site): line ms of its last reading, or of the start;
    // -1: it has nothing to hear there.
    int64_t *feed_heard;
};

// --- start.c ---
// Opens the journal and folds it into a gate. Returns an exit status; 0 for done.
int daemon_open(struct daemon *daemon);
// Folds the journal anew (after a commit that failed) as if the daemon had been restarted.
bool daemon_fold(struct daemon *daemon);
void daemon_close(struct daemon *daemon);
struct gate_time daemon_now(struct daemon *daemon);

// --- batch.c ---
// The gate's hook: takes a fact into the turn.
void daemon_fact(void *user, const struct gate_fact *fact);
// Adds a text; false: no memory.
bool daemon_batch_text(struct daemon_batch *batch, const char *text, size_t length, size_t *at);
struct daemon_remembered *daemon_batch_remember(struct daemon_batch *batch);
// Moves everything from one behind what is in the other. False: no memory; nothing was moved.
bool daemon_batch_absorb(struct daemon_batch *to, struct daemon_batch *from);
bool daemon_batch_empty(const struct daemon_batch *batch);
void daemon_batch_forget(struct daemon_batch *batch);
void daemon_batch_free(struct daemon_batch *batch);

// --- turn.c ---
// Ends the turn: tells breaks, takes off if nothing is under way, sets the timer.
void daemon_turn_end(void *user);
// The worker's end: tells what landed.
void daemon_landed(void *user);
// Waits until nothing is under way or waiting to be written (at the end of the run).
void daemon_turn_finish(struct daemon *daemon);
void daemon_turn_free(struct daemon *daemon);

// --- message.c ---
// A message's copy at the end of the list; NULL: no memory.
struct daemon_message *daemon_message_keep(struct daemon_messages *messages,
                                           const struct mqtt_message *message);
void daemon_messages_forget(struct daemon_messages *messages);
// Room for one answer more; NULL: no memory. It counts once count is raised.
struct daemon_answer *daemon_answer_new(struct daemon_answers *answers);
void daemon_answer_forget(struct daemon_answer *answer);
void daemon_answers_forget(struct daemon_answers *answers);

// --- inbound.c ---
void daemon_on_message(void *user, const struct mqtt_message *message);
void daemon_drop(struct daemon *daemon, enum daemon_drop why, const char *topic, const char *text);
// Decides a message of the durable connection (again, after a commit that failed).
void daemon_take(struct daemon *daemon, const struct daemon_message *message);
// Takes a request or tag event that just came: decides it now, or when the flight under way has
// landed. ticket: of the HTTP API, else 0. False: no memory; it was not taken.
bool daemon_come(struct daemon *daemon, const struct mqtt_message *message, uint64_t ticket);
const char *daemon_drop_name(enum daemon_drop why);
// Counts what became of a word or event; error says what is wrong with an unreadable one.
void daemon_count_heard(struct daemon *daemon, enum gate_heard heard, const char *topic,
                        const char *error);

// --- feeds.c ---
bool daemon_feeds_new(struct daemon *daemon); // false: no memory
void daemon_feeds_free(struct daemon *daemon);
// Maps a message of the hardware's own topics, and hears what comes of it. False: no feed of that
// kind reads this topic.
bool daemon_hear_feeds(struct daemon *daemon, const struct feed_message *message, unsigned which);
void daemon_tell_feeds(const struct daemon *daemon, struct http_metrics *into);

// --- ask.c ---
void daemon_ask(struct daemon *daemon, uint32_t site, const char *person, const char *verb,
                const struct daemon_message *message);

// --- outbox.c ---
bool daemon_sites_new(struct daemon *daemon);
void daemon_sites_free(struct daemon *daemon);
// Draws up the documents that differ from what was drawn up last, as many as there is room for.
void daemon_draw(struct daemon *daemon);
// Tells what was drawn up, unless something newer was told meanwhile.
void daemon_release(struct daemon *daemon);
// Tells one alarm or job at once, ahead of everything.
void daemon_tell_now(struct daemon *daemon, const struct gate_site *site,
                     const struct gate_alarm *alarm, const struct gate_job *job);
// Whether the documents told are those of the state.
bool daemon_all_told(const struct daemon *daemon);
// Whether every document has been told once since daemon_publish_anew (or newer ones wait).
bool daemon_told_anew(const struct daemon *daemon);
// Forgets what was told: the broker may lack it.
void daemon_publish_anew(struct daemon *daemon);
bool daemon_send(struct daemon *daemon, const char *topic, const char *payload, size_t length,
                 bool urgent);

// --- publish.c ---
void daemon_publish_breaks(struct daemon *daemon);
void daemon_publish_self(struct daemon *daemon);
// Events of the batch that was just written, or what was missed before it.
void daemon_publish_events(struct daemon *daemon);
// The last fact up to which the broker has acknowledged every event: the others may die with us.
int64_t daemon_told_so_far(const struct daemon *daemon);
// The same batch to the event streams, which find what they missed by themselves.
void daemon_publish_streams(struct daemon *daemon);
void daemon_publish_answers(struct daemon *daemon);
void daemon_survey(struct daemon *daemon);

// --- contest.c ---
void daemon_hear_other(struct daemon *daemon, const char *instance, const char *payload,
                       size_t length);
void daemon_others_expire(struct daemon *daemon);
void daemon_others_free(struct daemon *daemon);

// --- hooks.c ---
// The webhooks, if the configuration has any. False: the reason is logged.
bool daemon_hooks_new(struct daemon *daemon);
// Ends the sending; what it has come to is to be written by the last flight.
void daemon_hooks_stop(struct daemon *daemon);
void daemon_hooks_free(struct daemon *daemon);
// Once a second: alarms, the log, and whether there are notes to be written.
void daemon_hooks_second(struct daemon *daemon);
bool daemon_hooks_due(const struct daemon *daemon);
// Takes the notes into the flight. Whether there are any.
bool daemon_hooks_take(struct daemon *daemon);
// Writes them, in the journal's open transaction. In the worker thread.
enum journal_status daemon_hooks_write(struct daemon *daemon);
// The flight has landed: there is news, or the notes are to be taken again.
void daemon_hooks_landed(struct daemon *daemon, bool written);
void daemon_hooks_metrics(struct daemon *daemon, struct http_metrics *into);
// Reads the files of secrets again; what cannot be read stays as it was.
void daemon_hooks_reload(struct daemon *daemon);

// --- web.c ---
// The HTTP API, if the configuration has one. False: the reason is logged.
bool daemon_web_new(struct daemon *daemon);
// Reads the certificate and the people's tokens again, and nothing else; what cannot be read stays
// as it was, and the log says why.
void daemon_web_reload(struct daemon *daemon);
