// A day of a busy, healthy site on the turn, with time assigned: what the parts of it share.
//
// One queue of events, in the order of their time; the site (its hardware and their clocks), the
// network between it and the daemon, the daemon itself (a turn over a journal in memory) and the
// crews put events in and are called when they are due. Nothing sleeps, nothing reads a clock.
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "turn/turn.h"

#define DAY_MS (24 * 3600 * 1000LL)
#define DAY_DISPENSERS 4
#define DAY_POSITIONS (2 * DAY_DISPENSERS)

enum day_connection { DAY_DURABLE, DAY_LIVE, DAY_CONNECTIONS };

struct books;
struct site;
struct network;
struct crews;

struct day {
    int64_t now;    // ms since the day began; the daemon's monotonic time is an hour more
    int64_t ours;   // ms that our wall clock is ahead of the true time
    uint64_t draws; // state of the chance
    struct model *model;
    struct turn *turn; // NULL: the daemon is away
    struct books *books;
    struct site *site;
    struct network *network;
    struct crews *crews;
    struct day_event *events; // a heap
    size_t event_count, event_capacity;
    uint64_t next_event;
};

struct day_event {
    int64_t at;
    uint64_t order; // of equal times
    void (*call)(struct day *day, int64_t number);
    int64_t number; // its own
};

// Calls a function when so many ms have gone by.
void day_later(struct day *day, int64_t ms, void (*call)(struct day *day, int64_t number),
               int64_t number);
uint32_t day_draw(struct day *day, uint32_t below);
bool day_chance(struct day *day, uint32_t one_in);
int64_t day_between(struct day *day, int64_t least, int64_t most);
// Unix ms of the true time, by which every clock is more or less right.
int64_t day_wall(const struct day *day);
void day_end_with(const char *why) __attribute__((noreturn));

// --- daemon.c: the turn, its journal and what it publishes ---
void daemon_new(struct day *day);
void daemon_free(struct day *day);
// It is started, and its connections come up a moment later.
void daemon_start(struct day *day);
// It ends as it does on a signal.
void daemon_stop(struct day *day);
void daemon_turn_over(struct day *day); // the end of a turn of its loop

// --- books.c: what happened, and what may not have ---
struct books *books_new(void);
void books_free(struct books *books);
// A fact that was committed, as the journal has it.
void books_fact(struct day *day, enum gate_fact_type type, const char *data);
void books_outage(struct day *day,
                  enum day_connection connection); // one began, or the daemon ended
// A panel sent older words again: one of live, after a newer one of isolated, may make its point
// unknown until the next.
void books_resent(struct day *day);
void books_count(struct day *day, const char *what);
bool books_close(struct day *day); // prints the counts. False: something happened without a cause

// --- site.c: breakers, valves, panels, readers ---
void site_new(struct day *day);
void site_free(struct day *day);
// Somebody opens or closes the devices of a dispenser.
void site_switch(struct day *day, unsigned dispenser, bool isolated);
// What its broker keeps, on a new subscription.
void site_kept(struct day *day);
// A lock goes on the breaker of a dispenser that has a reader, or off.
void site_lock(struct day *day, unsigned dispenser, const char *person, bool hung);

// --- network.c: the two connections ---
void network_new(struct day *day);
void network_free(struct day *day);
void network_up(struct day *day); // both come up, after a start
void network_lost(struct day *day);
bool network_is_up(const struct day *day, enum day_connection connection);
// Hands on what was said of a signal, a controller, a tag or a request, with the delay of its way;
// maybe twice.
struct network_word {
    uint32_t index; // of the sensor, controller or point
    bool kept;
    struct gate_reading reading;
    struct gate_tagging tagging;
    char person[MODEL_ID_SIZE];
    bool online;
};
void network_signal(struct day *day, const struct network_word *word);
void network_controller(struct day *day, const struct network_word *word);
void network_tagging(struct day *day, const struct network_word *word);
// What the daemon says to itself. False: that connection is down.
bool network_say(struct day *day, enum day_connection connection, const char *topic,
                 const char *payload);
// crew: who asks. http: it goes past the broker, and is answered by its ticket.
void network_request(struct day *day, unsigned crew, const char *person, const char *verb,
                     const char *body, bool http);

// --- crews.c: honest people ---
void crews_new(struct day *day);
void crews_free(struct day *day);
void crews_answered(struct day *day, unsigned crew, const char *answer);
// Something that they signed or said will soon have aged.
void crews_ageing(struct day *day, const char *data);
