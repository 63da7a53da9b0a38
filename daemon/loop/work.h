// One worker thread beside the loop: a piece of work runs there, its end is told in the loop.
//
// For what may block (a sync of the disk) while the loop must go on hearing. One piece at a time.
#pragma once

#include <stdbool.h>

struct loop;
struct loop_work;

// Makes the thread, which waits. `done` is called from the loop after each piece. NULL: no thread,
// no descriptor or no memory.
struct loop_work *loop_work_new(struct loop *loop, void (*done)(void *user), void *user);

// Gives the thread a piece of work. False: one is under way. What `run` touches is the thread's
// until `done` is called.
bool loop_work_begin(struct loop_work *work, void (*run)(void *user));

// Waits for the piece under way and calls its `done`; nothing to do without one.
void loop_work_wait(struct loop_work *work);

// Ends the thread after what it is at (its `done` is not called) and frees. NULL is allowed.
void loop_work_free(struct loop_work *work);
