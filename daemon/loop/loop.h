// The event loop: timers, watched descriptors, signals, the end of a turn and the clock. Only this
// room knows the library behind it, and http, whose server is that library's.
//
// One turn is: wait, run what is due, run the end-of-turn hook. Time is read at most once a turn,
// when it is first asked for, so that everything in a turn sees the same instant. Not thread safe.
#pragma once

#include "base/clock.h"

#include <stdbool.h>
#include <stdint.h>

struct event_base;
struct loop;
struct loop_timer;
struct loop_watch;

// Returns NULL if memory or descriptors are short. Ignores SIGPIPE and SIGXFSZ for the whole
// program.
struct loop *loop_new(void);

// Frees the loop and its signal handlers; its timers must have been freed. NULL is allowed.
void loop_free(struct loop *loop);

// The libevent base, for evhttp. Borrowed.
struct event_base *loop_base(struct loop *loop);

// Runs turns until loop_stop. Returns false if the loop itself failed.
bool loop_run(struct loop *loop);

// Ends loop_run after the present turn, its hook included.
void loop_stop(struct loop *loop);

// Runs one turn, which waits at most `timeout_ms` for something to do. Returns false if the loop
// itself failed.
bool loop_turn(struct loop *loop, int timeout_ms);

// The hook that ends each turn; NULL takes it away. There is one.
void loop_on_turn_end(struct loop *loop, void (*hook)(void *user), void *user);

// The time of this turn.
struct base_time loop_now(struct loop *loop);

// Forgets the time of this turn, so that the next loop_now reads the clocks: for after something
// that took long.
void loop_now_again(struct loop *loop);

// Calls `hook` from the loop when the signal arrives; SIGTERM, SIGINT, SIGHUP and the like, each at
// most once. Returns false if memory is short or there is no room for another signal (8).
bool loop_on_signal(struct loop *loop, int number, void (*hook)(void *user, int number),
                    void *user);

// A timer that is not running yet; NULL if memory is short.
struct loop_timer *loop_timer_new(struct loop *loop, void (*hook)(void *user), void *user);

// Runs the hook once after `delay_ms` (at least 0), or every `period_ms` (at least 1) from now on.
// A running timer is set anew. Both return false if memory is short; a new timer is stopped then.
bool loop_timer_once(struct loop_timer *timer, int64_t delay_ms);
bool loop_timer_every(struct loop_timer *timer, int64_t period_ms);

// Runs the hook once in this turn still, after what is under way; a delay that ran ends. For what
// cannot be done in the middle of something. Outside a turn it is the next one.
void loop_timer_soon(struct loop_timer *timer);

void loop_timer_stop(struct loop_timer *timer);

// Stops and frees the timer, also from within its own hook. NULL is allowed.
void loop_timer_free(struct loop_timer *timer);

enum { LOOP_READ = 1, LOOP_WRITE = 2 };

// Watches nothing yet; NULL if memory is short. `what` says for what the descriptor is ready, of
// what is watched for. The hook may free the watch.
struct loop_watch *loop_watch_new(struct loop *loop, void (*hook)(void *user, unsigned what),
                                  void *user);

// From now on watches this descriptor for LOOP_READ, LOOP_WRITE or both; -1 or 0: for nothing,
// which has to be said before the descriptor is closed. The hook is called in each turn in which it
// is ready. Returns false if memory is short; nothing is watched then.
bool loop_watch_set(struct loop_watch *watch, int descriptor, unsigned what);

// Calls the hook in this turn once more, as if there were something to read: for bytes that have
// left the descriptor and wait behind it.
void loop_watch_soon(struct loop_watch *watch);

// Stops and frees it; the descriptor stays open. NULL is allowed.
void loop_watch_free(struct loop_watch *watch);
