// A turn over the forecourt of the gate's tests, with a journal in memory and a world that writes
// down, in order, what the turn asks of it. No file, no clock, no broker.
#pragma once

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "turn/turn.h"
#include "world.h"

#define RIG_WALL 1800000000000 // 2027-01-15T08:00:00Z
#define RIG_LINES 4096

struct rig_row {
    uint32_t site;
    enum gate_fact_type type;
    struct gate_time at;
    char *data;
};

struct rig_request {
    struct turn_remembered entry;
    char *answer;
};

// One line of what was asked of the world: "publish <topic>", "urgent <topic>", "empty <topic>",
// "event <number> <type>", "reply <topic>", "answer <ticket> <status>", "acknowledge", "write",
// "say <topic>" ("say-kept …"), "settled", "stream-alarm", "stream-event <number>", "flush",
// "stop", "notice <number>", "survey".
struct rig_line {
    char text[160];
    char *payload; // of what was published or answered; NULL: none
};

struct rig {
    struct turn *turn;
    struct base_time clock;
    int64_t wake; // as it was asked for; -1: never
    // The journal.
    struct rig_row rows[512];
    size_t row_count;
    struct rig_request requests[64];
    size_t request_count;
    struct turn_last_heard heard[16];
    size_t heard_count;
    struct gate_time kept; // of the last commit
    int64_t newest;
    int64_t published; // of the last commit
    const struct turn_commit *pending;
    bool unreadable;   // the facts
    bool unsearchable; // the requests
    bool has_room;
    int64_t need; // where it has none: so many bytes, of which a MiB is found; 0: that is not why
    // The broker.
    bool up;
    bool deaf; // it takes nothing
    size_t room;
    uint64_t oldest;
    bool surveys;
    bool mute[GATE_CONNECTION_COUNT]; // what is said on it does not come back
    struct rig_word {
        enum gate_connection which;
        char topic[96], payload[96];
    } words[64]; // said, and not come back yet
    size_t word_count;
    void (*arrives)(struct rig *rig); // once, when the sockets are read; NULL: nothing does
    uint64_t hung_up;                 // the ticket whose client has; 0: none
    // Webhooks.
    bool notes_due, notes_taken;
    int notes_over; // 1: written, -1: not
    // What was asked of it.
    struct rig_line lines[RIG_LINES];
    size_t line_count;
};

// A rig whose turn has come up on an empty journal, with the broker up and everything published;
// nothing is pending and nothing on its lines.
struct rig *rig_new(void);
struct rig *rig_new_down(void); // the same before the broker was reached; its lines are kept
void rig_free(struct rig *rig);

// The connections go up, or down; what was said on them comes back (rig_echo).
void rig_connect(struct rig *rig, enum gate_connection which);
void rig_disconnect(struct rig *rig, enum gate_connection which);
// What was said comes back, but on a mute connection.
void rig_echo(struct rig *rig);

// The end of a turn of the loop; then the pending commit's end, where there is one.
void rig_turn(struct rig *rig);
// The outcome of the pending commit; WRITTEN ones are in the journal then. Not a turn's end.
void rig_commit(struct rig *rig, enum turn_outcome outcome);
// Turns and commits until nothing is pending.
void rig_settle(struct rig *rig);
void rig_pass(struct rig *rig, int64_t ms); // time goes on, without a tick

// A request by the broker, asked now: it is delivered, and taken. The body is an object with
// members, to which the time is added.
void rig_ask(struct rig *rig, const char *person, const char *verb, const char *body);
void rig_ask_at(struct rig *rig, const char *person, const char *verb, const char *body,
                int64_t asked); // [wall ms]
void rig_ask_undated(struct rig *rig, const char *person, const char *verb, const char *body);
void rig_ask_for(struct rig *rig, const struct wire_request_in *request);
// The same by the HTTP API.
void rig_post(struct rig *rig, uint64_t ticket, const char *person, const char *verb,
              const char *body);
void rig_hear(struct rig *rig, enum world_sensor sensor, enum model_point_state state);
void rig_hear_all(struct rig *rig, enum model_point_state state);
// J-1 on 3A, open; its lockout confirmed; working. Everything is committed, the lines are empty.
void rig_to_open(struct rig *rig);
void rig_to_confirmed(struct rig *rig);
void rig_prove(struct rig *rig); // isolated, tagged and signed, after a break as well
#define RIG_OPEN                                                                                   \
    "{\"id\":\"r-1\",\"job\":\"J-1\",\"position\":\"3A\",\"procedure\":\"spout\","                 \
    "\"kit_family\":\"k2\",\"technician\":\"t-1\"}"

const struct gate_job *rig_job(const struct rig *rig, const char *job); // NULL: none
size_t rig_rows(const struct rig *rig, enum gate_fact_type type);       // of the journal, of a type
void rig_forget(struct rig *rig);                                       // the lines
// Where a line that begins so stands first, from a place on; -1: nowhere.
int rig_find_from(const struct rig *rig, int from, const char *begin);
int rig_find(const struct rig *rig, const char *begin);
int rig_count(const struct rig *rig, const char *begin);
// The payload of the last line that begins so; "" if there is none.
const char *rig_payload(const struct rig *rig, const char *begin);

// Lines that begin so stand in this order.
#define assert_order(rig, ...) rig_assert_order(rig, (const char *const[]){__VA_ARGS__, NULL})
void rig_assert_order(const struct rig *rig, const char *const *begins);

#define RIG_TEST(name)                                                                             \
    static void name##_in(struct rig *rig);                                                        \
    static void name(void **state) {                                                               \
        (void)state;                                                                               \
        struct rig *rig = rig_new();                                                               \
        name##_in(rig);                                                                            \
        rig_free(rig);                                                                             \
    }                                                                                              \
    static void name##_in(struct rig *rig)
