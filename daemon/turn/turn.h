// A turn of the loop: what came in is decided, what it led to is committed, and only then is it
// published, answered and acknowledged.
//
// What was asked is decided at the end of a turn, behind everything that has arrived by then; its
// facts go into one transaction, which is written while the loop goes on hearing. Requests and tag
// events that come meanwhile wait; signals are heard, and a break is published before any disk.
// When the commit is done, the documents that were rendered at its begin, the events and the
// answers are published and the broker's deliveries acknowledged. A commit that fails is never half
// published: if anything may have been permitted, the state is folded anew from the journal and
// what was asked is decided again with the journal down.
//
// Pure: no I/O and no clock but by the table of operations. Not thread safe. Functions without an
// error to return make it known by the operation `stop`.
#pragma once

#include "turn/operations.h"
#include "wire/request_in.h"

struct turn;
struct wire_differ;

#define TURN_BOOT_SIZE 33

struct turn_options {
    const struct model *model; // must outlive the turn
    const char *version;       // of the program; must outlive the turn
    char boot[TURN_BOOT_SIZE]; // of this run, random
};

// Operations and `user` must outlive it. NULL: no memory.
struct turn *turn_new(const struct turn_options *options, const struct turn_operations *operations,
                      void *user);
void turn_free(struct turn *turn); // NULL is allowed

// Folds the journal into the state: the daemon is up. To be called once, before everything below.
enum turn_folded { TURN_FOLDED, TURN_FOLD_UNREADABLE, TURN_FOLD_MISFIT };
// journal_up: whether it can be written.
enum turn_folded turn_open(struct turn *turn, bool journal_up);

// --- What comes in ---

// Takes a request, which is decided at the end of the turn or, while a commit is pending, when that
// is over. False: no memory; it was not taken.
bool turn_submit_request(struct turn *turn, const struct wire_request_in *request);

// Whether a request ends or stops something: no limit of requests holds for it.
bool turn_ends(struct turn *turn, const struct wire_request_in *request);

// An event of a tag reader; it waits as a request does. Borrowed.
struct turn_tagging {
    uint32_t site, point; // indexes
    bool from_feed;       // what became of it is counted
    struct gate_tagging tagging;
};
bool turn_submit_tagging(struct turn *turn, const struct turn_tagging *tagging);

// The broker delivered something that is to be acknowledged, whether it was taken or not.
void turn_delivered(struct turn *turn);
// Something could not be taken for want of memory: nothing of this turn may be acknowledged.
void turn_fail(struct turn *turn);

// The state, for whoever hears a signal into it (gate_hear and its like) and to be read. It is
// another one after turn_committed: not to be kept.
struct gate *turn_gate(const struct turn *turn);
// Which documents have changed, for the event streams.
struct wire_differ *turn_differ(const struct turn *turn);
// After something was heard: publishes breaks, before everything else and before the disk.
void turn_heard(struct turn *turn);

// The document of a daemon that says it is online, ours among them; empty if it was emptied. kept:
// the broker sent it because we subscribed.
void turn_hear_daemon(struct turn *turn, const char *instance, const char *payload, size_t length,
                      bool kept);

// Signals are subscribed to (again): what the broker kept of them comes now.
void turn_subscribed(struct turn *turn);
// A connection is up (again): the broker has taken it and answered its subscriptions, and says
// whether it kept the durable one's session; or it is down.
void turn_connection(struct turn *turn, enum gate_connection which, bool up, bool resumed);
// The broker refused to subscribe it to a filter: ahead of its being up.
void turn_denied(struct turn *turn, enum gate_connection which, const char *filter);
// Something was read on it.
void turn_read(struct turn *turn, enum gate_connection which);
// What may be a word that we said ourselves: false, it is not on a topic on which words are said.
bool turn_hear_own(struct turn *turn, enum gate_connection which, const char *topic,
                   const char *payload, size_t length);
// A topic of ours that the broker keeps a document on; the survey's end. What the document tells to
// have ended or stopped, and the journal lacks, holds again.
void turn_retained(struct turn *turn, const char *topic, const char *payload, size_t length);
void turn_surveyed(struct turn *turn, bool complete);

// --- The course of time ---

// At the end of each turn of the loop: commits what it brought, publishes what needs no commit.
void turn_end(struct turn *turn);
// The outcome of the commit that was begun by the operation `write`; why: of one not written.
void turn_committed(struct turn *turn, enum turn_outcome outcome, const char *why);
void turn_tick(struct turn *turn);
void turn_second(struct turn *turn);
void turn_minute(struct turn *turn);
// At the end of the run: commits what there is, and waits for it.
void turn_finish(struct turn *turn);

// --- To be asked ---

struct gate_time turn_now(const struct turn *turn);

struct turn_view {
    uint64_t next_seq; // of the next fact to be committed
    int64_t since;     // wall ms at which the daemon came up
    bool link_up, journal_up;
    bool pending;     // a commit is
    bool settled;     // nothing that was asked waits to be decided or written
    bool ending;      // it cannot go on
    size_t unwritten; // facts that no commit has written yet
};
struct turn_view turn_view(const struct turn *turn);
// The last fact up to which the broker has confirmed every event: the others may die with us.
int64_t turn_published(const struct turn *turn);

// What became of a request, for the metrics.
enum turn_decision { TURN_ACCEPTED, TURN_AGAIN, TURN_REFUSED, TURN_DECISION_COUNT };
struct turn_figures {
    uint64_t requests[GATE_VERB_COUNT + 1][TURN_DECISION_COUNT]; // the last verb: unknown
    // Of feeds, by what became of it.
    uint64_t taggings[GATE_HEARD_BAD + 1];
};
const struct turn_figures *turn_figures(const struct turn *turn);

// The daemon's document about itself, in text; for its birth and its will. False: no memory.
bool turn_write_self(const struct turn *turn, bool online, struct json_out *text);
