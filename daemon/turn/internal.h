// What the files of this folder share. They call downwards, in this order: turn, commit, fold,
// survey, pulse, topics, decide, waited, duplicate, answers, events, breaks, self, retained,
// record, inputs, batch, world.
#pragma once

#include "turn/turn.h"

#include "json/json.h"

// How long to wait before a journal that could not write is tried again.
#define TURN_WRITE_AGAIN_MS 500

// A request or tag event, kept until what it led to is committed. Its texts lie in `texts`.
struct turn_input {
    char *texts;
    bool is_tagging;
    int64_t came;                   // mono ms
    bool done;                      // it ends something, and that was done once already:
    struct gate_time done_at;       // then
    bool done_again;                // and was found done before
    struct wire_request_in request; // or
    struct turn_tagging tagging;    // this
};
struct turn_inputs {
    struct turn_input *items;
    size_t count, capacity;
};

// An answer on its way. Its texts lie in `texts`.
struct turn_answer {
    char *texts;
    uint64_t ticket; // of the HTTP API; 0: it goes to the broker
    int status;
    bool refused; // nothing of it is in the journal
    // The job that it speaks of, and what that was: it may be something else when it is given.
    uint32_t site;
    char job[MODEL_ID_SIZE]; // "": none
    enum model_phase phase;
    enum model_lockout lockout;
    const char *topic;
    const char *payload;
    size_t length;
    const void *correlation;
    size_t correlation_length;
};
struct turn_answers {
    struct turn_answer *items;
    size_t count, capacity;
};

// A job whose lockout broke, on which a stop was called, or whose work stopped for a lock:
// published before the disk, and kept until the disk has it.
struct turn_break {
    uint32_t site;
    char job[MODEL_ID_SIZE];
    enum model_alarm_kind kind; // its alarm's
    struct gate_time at;
    enum model_code why;
    uint32_t point;            // index, or MODEL_NONE
    char check[MODEL_ID_SIZE]; // that failed, or ""
    char by[MODEL_ID_SIZE];    // who called the stop
    char *reason;              // that was given for it, or why work stopped; or NULL. Owned.
    bool published;
    bool committing; // it went into the commit that was begun last
};

// Pulses of a connection that may be out at once; no more are said then.
#define TURN_PULSES_MAX 64

struct turn_pulse_out {
    uint64_t number;
    int64_t at; // mono ms
};

// What proves a connection: it hears what it says to itself.
struct turn_pulse {
    bool up;              // the broker has taken it, and answered its subscriptions
    bool proved;          // a pulse came back since then
    uint64_t sent, first; // numbers of the newest word, and of the first since it came up
    struct turn_pulse_out out[TURN_PULSES_MAX]; // those that did not come back, oldest first
    size_t out_count;
    int64_t read_at; // mono ms at which something was read on it last
    int64_t silent;  // while it is not proved: since when (mono ms)
};

struct turn_decider;
struct turn_topics;
struct turn_duplicates;
struct turn_documents;

struct turn {
    const struct turn_operations *world;
    void *user;
    const struct model *model;
    const char *version;
    char boot[TURN_BOOT_SIZE];
    int64_t since;     // wall ms
    int64_t mono_base; // mono ms = mono_base + what the machine's clock has counted
    struct gate *gate;

    // What this turn brought.
    struct turn_batch batch;
    struct turn_answers answers;
    struct turn_inputs inputs;  // decided
    struct turn_inputs waiting; // not decided yet: until the turn's end, and no commit is pending
    struct turn_break *breaks;
    size_t break_count, break_capacity;
    bool session_lost;       // by the broker, and the journal does not have what that led to
    bool session_committing; // that went into the commit that was begun last
    bool failed;             // memory ran out: nothing of this turn may be published
    bool heard_due;          // last-heard times are to be written
    bool time_due;           // and the time of day, so that a restart knows how old everything is

    // The commit: pending, or what a failed one left to be written.
    bool pending;
    struct turn_commit commit;
    struct turn_inputs committed_inputs;   // what led to it
    struct turn_answers committed_answers; // and those that wait for the broker
    int64_t write_after;                   // mono ms before which it is not tried again
    bool write_failed;                     // the last one was not written

    uint64_t next_seq;      // of the next fact to be written
    uint64_t next_event;    // of the next event to be published
    uint64_t seen_changes;  // the gate's count at the last commit
    uint64_t timed_changes; // the same when the deadline was set
    struct turn_pulse pulses[GATE_CONNECTION_COUNT];
    bool connected[GATE_CONNECTION_COUNT]; // each is up, as the gate is told
    bool down_told[GATE_CONNECTION_COUNT]; // the gate was told that it is not
    int64_t outage;                        // as the gate is told
    bool journal_up, surveyed, ending;
    bool all_published;   // no document waits to be
    bool publishing_anew; // not every document has been published since all were forgotten
    bool acknowledge_due; // something that was delivered is not acknowledged yet
    bool self_due;        // `online` is to be published once every document is

    struct turn_decider *decider;
    struct turn_duplicates *duplicates;
    struct turn_topics *topics;
    struct turn_documents *documents;
    struct turn_figures figures;
    struct json_out out, event; // scratch
};

// --- world.c ---
void turn_notice(const struct turn *turn, enum turn_notice notice, const char *about);
// Publishes a retained document; without a payload its topic is emptied.
bool turn_publish_retained(struct turn *turn, const char *topic, const char *payload, size_t length,
                           bool urgent);
// Says a numbered word by a connection; kept: behind what its session kept. False: it was not said.
bool turn_say(struct turn *turn, enum gate_connection which, const char *topic, bool kept);

// --- inputs.c ---
// A copy at the end of the list. NULL: no memory.
struct turn_input *turn_inputs_add_request(struct turn_inputs *inputs,
                                           const struct wire_request_in *request);
struct turn_input *turn_inputs_add_tagging(struct turn_inputs *inputs,
                                           const struct turn_tagging *tagging);
void turn_inputs_clear(struct turn_inputs *inputs);
void turn_inputs_free(struct turn_inputs *inputs);
void turn_inputs_swap(struct turn_inputs *one, struct turn_inputs *other);
// Moves those of the HTTP API, or the others, behind what is in the other. False: no memory;
// nothing was moved.
bool turn_inputs_move(struct turn_inputs *to, struct turn_inputs *from, bool of_http);

// --- record.c ---
// The gate's hook: takes a fact into the turn.
void turn_record_fact(void *user, const struct gate_fact *fact);

// --- retained.c ---
struct turn_documents *turn_documents_new(const struct model *model); // NULL: no memory
void turn_documents_free(struct turn_documents *documents);
// Renders the documents that differ from what was rendered last, as many as there is room for.
void turn_documents_render(struct turn *turn);
// Publishes what was rendered, unless something newer was published meanwhile.
void turn_documents_publish(struct turn *turn);
// Publishes one alarm or job (NULL: none) at once, ahead of everything.
void turn_documents_publish_now(struct turn *turn, const struct gate_site *site,
                                const struct gate_alarm *alarm, const struct gate_job *job);
// Forgets what was published: the broker may lack it.
void turn_documents_forget(struct turn *turn);
// The state is another one: everything may have changed.
void turn_documents_reset(struct turn *turn);
// What was asked is on the disk: whoever reads the state, or has a stream of it, may see it now.
void turn_settle(struct turn *turn);
// Whether the documents published are those of the state.
bool turn_documents_current(const struct turn *turn);
// Whether every document has been published once since turn_documents_forget (or newer ones wait).
bool turn_documents_complete(const struct turn *turn);

// --- self.c ---
void turn_publish_self(struct turn *turn);

// --- breaks.c ---
// Notes a break, of its fact. False: no memory.
bool turn_note_break(struct turn *turn, const struct gate_fact *fact);
// Publishes the breaks that were noted, ahead of everything.
void turn_publish_breaks(struct turn *turn);
// Those noted so far go into the commit that is begun, and the journal has what went into it.
void turn_breaks_commit(struct turn *turn);
void turn_breaks_written(struct turn *turn);
// After a fold that lacks them: every break that the journal does not have is told to the gate
// anew.
void turn_breaks_again(struct turn *turn, struct gate_time now);
void turn_breaks_free(struct turn *turn);
// The broker has lost the durable session: what readers said meanwhile is unknown.
void turn_session_lost(struct turn *turn);

// --- events.c ---
// Publishes the events of the commit that was just written, or what was missed before it.
void turn_publish_events(struct turn *turn);
// The same commit to the event streams, which find what they missed by themselves.
void turn_stream_events(struct turn *turn);

// --- answers.c ---
// Adds an answer to a request. False: no memory.
bool turn_answers_add(struct turn_answers *answers, const struct turn_answer *answer);
// Moves everything from one behind what is in the other. False: no memory.
bool turn_answers_merge(struct turn_answers *to, struct turn_answers *from);
void turn_answers_clear(struct turn_answers *answers);
void turn_answers_free(struct turn_answers *answers);
// Gives the answers of what is committed, as far as they may go yet.
void turn_publish_answers(struct turn *turn);

// --- duplicate.c ---
struct turn_duplicates *turn_duplicates_new(void); // NULL: no memory
void turn_duplicates_free(struct turn_duplicates *duplicates);
// Others that were not heard again in time claim nothing any more; the gate is told.
void turn_duplicates_expire(struct turn *turn);
// The broker's connection is new: our own document has not been heard on it.
void turn_duplicates_reset(struct turn *turn);
// Whether a claim has ended since the last call: it may have written over our documents.
bool turn_duplicates_ended(struct turn *turn);

// --- pulse.c ---
// Since when (mono ms) nothing has proved any connection: before the first.
void turn_pulse_start(struct turn *turn, int64_t since);
void turn_pulse_connection(struct turn *turn, enum gate_connection which, bool up);
void turn_pulse_second(struct turn *turn);

// --- topics.c ---
struct turn_topics *turn_topics_new(const struct model *model); // NULL: no memory
void turn_topics_free(struct turn_topics *topics);              // NULL is allowed
// Says a word on each topic that a connection hears.
void turn_topics_say(struct turn *turn, enum gate_connection which);
// Whether words are said on a topic, by us or by another daemon of the site.
bool turn_topics_is(const struct turn *turn, const char *topic);
// Our own word came back.
void turn_topics_hear(struct turn *turn, enum gate_connection which, const char *topic);
void turn_topics_down(struct turn *turn, enum gate_connection which);
void turn_topics_second(struct turn *turn);
// Tells the gate of the sites where something changed, or of all.
void turn_topics_tell(struct turn *turn, bool all);

// --- waited.c ---
// Whether a request says nothing of what is so now, as it waited on its way.
bool turn_waited(const struct turn *turn, const struct wire_request_in *in,
                 const struct gate_request *request);

// --- decide.c ---
struct turn_decider *turn_decider_new(void); // NULL: no memory
void turn_decider_free(struct turn_decider *decider);
// Does what an input that waits ends or stops, unanswered: it knows then that this is done.
void turn_decide_early(struct turn *turn, struct turn_input *input);
// Decides what came in (again, after a commit that failed).
void turn_decide(struct turn *turn, struct turn_input *input);

// --- fold.c ---
// Folds the journal into a new gate. again: after a commit that failed, as if the daemon had been
// restarted. A journal that cannot be read leaves the gate as it was.
enum turn_folded turn_fold(struct turn *turn, bool again);

// --- commit.c ---
// Ends the turn: what it brought goes into a commit; what needs none is published.
void turn_commit_begin(struct turn *turn);
// Whether there is nothing to commit, to publish or to answer.
bool turn_commit_idle(const struct turn *turn);
