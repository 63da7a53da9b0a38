// The world as the turn of the loop knows it: everything that it cannot decide by itself, as one
// table of operations. The daemon fills it in with the loop, the journal, the broker, the HTTP API
// and the webhooks; a test with a journal in memory and a publisher that records.
//
// All are needed. None may call back into the turn, but for `wait`, which tells the outcome of the
// commit that is pending, and `read`, by which something comes in.
#pragma once

#include "base/clock.h"
#include "gate/gate.h"
#include "turn/batch.h"
#include "wire/tell.h"

// When a point that must be heard again after a restart was heard last.
struct turn_last_heard {
    uint32_t site;     // index
    const char *point; // of the model
    int64_t heard;     // mono ms
};

// What one transaction is to write. The journal's alone from `write` until turn_committed.
struct turn_commit {
    struct turn_batch batch;
    struct turn_last_heard *heard;
    size_t heard_count, heard_capacity;
    struct gate_time at; // when it was begun: a restart goes on from there
    int64_t newest;      // the newest time that the journal vouches for then, wall ms
    int64_t published;   // number of the last fact up to which the broker confirmed every event
    bool notes;          // how far webhooks have come is to be noted (notes_take)
};

enum turn_outcome {
    TURN_WRITTEN,
    TURN_WRITTEN_FROM_RESERVE, // only the space held in reserve made it possible
    TURN_NOT_WRITTEN,          // it may be possible later; nothing of it is in the journal
    TURN_DISK_LOST,            // the disk cannot be trusted: stop acknowledging and end
};

// A request that was answered before. `answer` is good until the next call of an operation.
struct turn_answered {
    char verb[MODEL_ID_SIZE];
    uint8_t body[32];
    const char *answer;
    size_t length;
};
enum turn_found { TURN_FOUND, TURN_NOT_FOUND, TURN_UNREADABLE };

// What the journal says beside its facts.
struct turn_journal_end {
    int64_t newest_wall;   // the newest time that it vouches for, wall ms; 0: it is empty
    struct gate_time kept; // the last instant that it knows, by both clocks
    uint64_t last;         // number of the last fact; 0: there is none
    uint64_t published;    // of the last one whose event is known to be published
};

// One message for the broker, at QoS 1. Borrowed.
struct turn_publication {
    const char *topic;
    const char *payload; // NULL with a length of 0, which empties a retained topic
    size_t length;
    bool retain;
    bool urgent;              // goes ahead of what waits to be sent
    const char *content_type; // NULL: none
    const void *correlation;  // NULL: none
    size_t correlation_length;
    uint64_t number; // of the fact that an event tells of; 0: it is no event
};

// What an operator is to read in the log. `about` in turn_operations.notice is what it speaks of.
enum turn_notice {
    TURN_NOTICE_ENDING,        // it cannot go on; why
    TURN_NOTICE_NOT_PERMIT,    // a commit failed, nothing is permitted until one succeeds; why
    TURN_NOTICE_NOT_WRITTEN,   // it failed again; why
    TURN_NOTICE_RESERVE_ONLY,  // it took the space held in reserve; ""
    TURN_NOTICE_NO_ROOM,       // how much it wants and finds; that
    TURN_NOTICE_ROOM_AGAIN,    // the journal can be written again; ""
    TURN_NOTICE_MISFIT,        // the configuration does not fit the journal; why
    TURN_NOTICE_NOT_ANSWERED,  // an answer could not be sent; its topic
    TURN_NOTICE_FOREIGN_REPLY, // a response topic that is not the requester's; the request's topic
    TURN_NOTICE_EMPTIED,       // what the broker kept and is no longer true was emptied; the topic
    TURN_NOTICE_TOLD_AGAIN,    // what it keeps, and the journal lacks, holds again; the topic
    TURN_NOTICE_SURVEY_CUT,    // what the broker keeps could not be read whole; ""
    TURN_NOTICE_CLAIMED,       // another daemon claims a site; its id
    TURN_NOTICE_UNCLAIMED,     // none does any more; its id
    TURN_NOTICE_PROVED,        // a connection hears itself; "durable" or "live"
    TURN_NOTICE_UNPROVED,      // it does not, or is down
    TURN_NOTICE_UNHEARD,       // the broker delivers nothing on a topic; the topic
};

struct turn_operations {
    // --- The loop ---
    struct base_time (*now)(void *user);
    // turn_tick is to be called once after so many ms (at least 0); negative: not at all. Replaces
    // what was asked before.
    void (*wake)(void *user, int64_t delay_ms);
    // Nothing can go on: end without acknowledging anything.
    void (*stop)(void *user);
    void (*notice)(void *user, enum turn_notice notice, const char *about);

    // --- The journal; while a commit is pending, only `wait` is called ---
    // Begins to write; turn_committed tells the outcome, never from inside.
    void (*write)(void *user, const struct turn_commit *commit);
    // Returns when no commit is pending: turn_committed was called if one was.
    void (*wait)(void *user);
    // Whether there is room again after a commit that failed or took the reserve; where it is room
    // that is wanting, how much is wanted and found [bytes], else both are 0.
    bool (*recover)(void *user, int64_t *need, int64_t *found);
    enum turn_found (*find_request)(void *user, uint32_t site, const char *person, const char *id,
                                    struct turn_answered *found);
    // A collision-free digest, of a request's body. False: no memory.
    bool (*digest)(void *user, const char *text, size_t length, uint8_t digest[32]);
    // Applies every fact to a new gate. False: it cannot be read, and the log says why.
    bool (*fold)(void *user, struct gate *gate, struct turn_journal_end *end);
    // The same with the last-heard times (gate_heard_before).
    bool (*fold_heard)(void *user, struct gate *gate, struct gate_time now);
    // Calls `each` for the facts from a number on, until it returns false.
    void (*each_record)(void *user, uint64_t from,
                        bool (*each)(void *each_user, const struct wire_record *record),
                        void *each_user);

    // --- The broker ---
    // Reads what has already arrived on every connection: it comes in from inside.
    void (*read)(void *user);
    bool (*is_up)(void *user); // whether anything can be published
    // Says something by a connection, to be heard by itself; kept: behind what its session kept.
    // False: it is down.
    bool (*say)(void *user, enum gate_connection which, const char *topic, const char *payload,
                size_t length, bool kept);
    // False: it was not taken, and nothing of it is kept.
    bool (*publish)(void *user, const struct turn_publication *publication);
    size_t (*room)(void *user);     // bytes that may wait to be sent before it is too much
    uint64_t (*oldest)(void *user); // the lowest number not confirmed yet; 0: none
    void (*flush)(void *user);      // sends now what can be sent
    // Lets go the acknowledgements of everything delivered so far.
    void (*acknowledge)(void *user);
    // Begins to read what the broker keeps of us (turn_retained, turn_surveyed). False: not now.
    bool (*survey)(void *user);

    // --- The HTTP API ---
    // Whether the client of that ticket has hung up.
    bool (*gave_up)(void *user, uint64_t ticket);
    void (*answer)(void *user, uint64_t ticket, int status, const char *json, size_t length);
    // To the site's event streams: a fact that was committed, an alarm ahead of the disk.
    void (*stream_event)(void *user, uint32_t site, const struct wire_record *record);
    void (*stream_alarm)(void *user, uint32_t site, const char *json, size_t length);
    // What was asked is on the disk: the state may be seen.
    void (*settled)(void *user);

    // --- The webhooks: how far they have come is noted with the commits ---
    bool (*notes_due)(void *user);
    bool (*notes_take)(void *user); // into the next commit; whether there are any
    // The commit is over; last: the number of the last fact in the journal.
    void (*notes_over)(void *user, bool written, uint64_t last);
};
