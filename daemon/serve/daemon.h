// What the files of the daemon share: one struct daemon, and a turn of the loop.
//
// A turn: what came in is decided at once, its facts gathered; at the end of the turn they are
// written in one transaction; after the commit documents, events and answers are told and the
// broker's deliveries acknowledged. A break is told before the disk.
#pragma once

#include "fact/fact_codec.h"
#include "feed/canonical.h"
#include "gate/gate.h"
#include "journal/journal.h"
#include "loop/loop.h"
#include "mqtt/mqtt.h"
#include "request/request.h"
#include "serve/log.h"
#include "tell/tell.h"
#include "json/json.h"

#define DAEMON_BOOT_SIZE 33

// A fact of this turn, or of earlier ones that could not be written yet.
struct daemon_record {
    uint32_t site; // index, or MODEL_NONE
    enum gate_fact_type type;
    struct gate_time at;
    const char *subject; // of the model, or NULL
    size_t data, length; // in daemon_turn.text
};

// An accepted request with an id, to be remembered with its answer.
struct daemon_remembered {
    uint32_t site;
    char person[MODEL_ID_SIZE];
    char id[65 * 4];
    char verb[MODEL_ID_SIZE];
    uint8_t body[32];
    size_t answer, length; // in daemon_turn.text
};

// An answer on its way.
struct daemon_answer {
    char *topic;
    char *payload;
    size_t length;
    void *correlation;
    size_t correlation_length;
};

// A message of the durable connection, kept until its turn is committed.
struct daemon_message {
    char *topic;
    char *payload;
    size_t length;
    char *response_topic;
    void *correlation;
    size_t correlation_length;
};

struct daemon_turn {
    struct json_out text; // of records and answers
    struct daemon_record *records;
    size_t record_count, record_capacity;
    struct daemon_remembered *remembered;
    size_t remembered_count, remembered_capacity;
    struct daemon_answer *answers;
    size_t answer_count, answer_capacity;
    struct daemon_message *messages;
    size_t message_count, message_capacity;
    bool durable;   // something of the durable connection waits for its acknowledgement
    bool failed;    // memory ran out: nothing of this turn may be told
    bool broken;    // a lockout broke: its documents go out before the disk
    bool heard_due; // last-heard times are to be written
};

// What was last published of an object; 0: nothing, or it must be told anew.
struct daemon_site {
    uint64_t *positions, *points; // hashes
    struct daemon_published {
        char id[MODEL_ID_SIZE];
        uint64_t hash;
        bool seen;
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

struct daemon {
    struct model *model;
    struct loop *loop;
    struct loop_timer *deadline_timer, *second_timer, *minute_timer;
    struct mqtt *mqtt;
    struct journal *journal;
    struct gate *gate;
    struct daemon_turn turn;
    struct daemon_site *sites;
    struct daemon_other *others;
    size_t other_count;
    struct request request;
    struct gate_answer answer;
    struct json_tape tape;
    struct json_out out, event; // scratch
    char boot[DAEMON_BOOT_SIZE];
    int64_t since;       // wall ms at which the daemon came up
    uint64_t seen_changes;      // the gate's count when everything was told and the timer set
    int64_t write_after;        // boot ms before which a journal that is down is not tried again
    int64_t line_base;   // line ms = line_base + boot ms
    uint64_t next_seq;   // of the next fact to be written
    uint64_t next_event; // of the next event to be published
    bool journal_up, link_up, own_heard, surveyed;
    bool all_told; // nothing waits to be published
    bool self_due; // `online` is to be published once every document is
    bool fatal;
    const char *config_path;
    struct log_limit limits[DAEMON_DROP_COUNT];
    uint64_t drops[DAEMON_DROP_COUNT];
    struct log_limit trouble_limit;
};

// --- start.c ---
// Opens the journal and folds it into a gate. Returns an exit status; 0 for done.
int daemon_open(struct daemon *daemon);
// Folds the journal anew (after a commit that failed) as if the daemon had been restarted.
bool daemon_fold(struct daemon *daemon);
void daemon_close(struct daemon *daemon);
struct gate_time daemon_now(struct daemon *daemon);

// --- turn.c ---
// The gate's hook: takes a fact into the turn.
void daemon_fact(void *user, const struct gate_fact *fact);
// Adds a text to the turn; false: no memory, and the turn has failed.
bool daemon_turn_text(struct daemon_turn *turn, const char *text, size_t length, size_t *at);
// Ends the turn: writes, commits, tells, acknowledges, sets the timer of the gate's deadline.
void daemon_turn_end(void *user);
void daemon_turn_free(struct daemon_turn *turn);

// --- inbound.c ---
void daemon_on_message(void *user, const struct mqtt_message *message);
void daemon_drop(struct daemon *daemon, enum daemon_drop why, const char *topic, const char *text);
// Decides a message of the durable connection (again, after a commit that failed).
void daemon_take(struct daemon *daemon, const struct daemon_message *message);

// --- ask.c ---
void daemon_ask(struct daemon *daemon, uint32_t site, const char *person, const char *verb,
                const struct daemon_message *message);

// --- publish.c ---
bool daemon_sites_new(struct daemon *daemon);
void daemon_sites_free(struct daemon *daemon);
void daemon_publish_all(struct daemon *daemon);   // what has changed since it was last told
bool daemon_all_told(const struct daemon *daemon);
void daemon_publish_anew(struct daemon *daemon);  // forget what was told: the broker may lack it
void daemon_publish_break(struct daemon *daemon); // alarms and their jobs, ahead of everything
void daemon_publish_self(struct daemon *daemon);
void daemon_publish_events(struct daemon *daemon);
void daemon_survey(struct daemon *daemon);

// --- contest.c ---
void daemon_hear_other(struct daemon *daemon, const char *instance, const char *payload,
                       size_t length);
void daemon_others_expire(struct daemon *daemon);
void daemon_others_free(struct daemon *daemon);
