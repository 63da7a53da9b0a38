// The state of a gate as a short string of bytes in one normal form, and a gate made of it again.
//
// Two gates of one normal form behave alike in everything that the rules speak of, so the explorer
// keeps one of them. What is left out, and why that is allowed:
//
// - Times become ages, and ages the classes that the deadlines of a forecourt can tell apart. A
//   sensor heard within its limit counts as heard now, and one that has settled as settled just
//   now: as if each had repeated its last word, which it may do at any time. It is stale, never
//   heard, of bad quality, live, isolated, or isolated and settled; nothing else about it matters
//   where words carry neither time nor number. Words of people, prepare checks and tags have the
//   age 0, 1 or 2 times half of the longest period (PACK_HALF_MS): the explorer lets time go by
//   either for a moment, for one silence, or for that half, so that no other age decides anything.
// - Of signatures and records, the void ones: only whether one stands is ever asked. Of the order
// of
//   those that stand, what relieve, verify and joining compare.
// - Names that nothing compares: of alarms, badges, boots; sentences; the reason of an alarm.
// - Of an alarm that belongs to no job, whether somebody acknowledged it: no gate asks.
// - Of an ended job, everything but that its id is used, and its crew while an alarm of it stands.
//
// That nothing needed is left out is tested: `explore --check` walks at random with an untouched
// gate and one made anew of the normal form before each step, and compares.
#pragma once

#include "world.h"

#define PACK_MAX 1024

// Writes the normal form. Returns its length; 0: it does not fit, or something in the state is
// outside what the form can hold.
size_t pack(const struct gate *gate, struct gate_time now, unsigned char bytes[PACK_MAX]);
// Makes a gate of it at WORLD_BEGIN. NULL: no memory. End it with unpack_free.
struct gate *unpack(const struct forecourt *forecourt, const unsigned char *bytes,
                    void (*fact)(void *user, const struct gate_fact *fact), void *user);
void unpack_free(struct gate *gate);
// Words and prepare checks stand, and tags hang unremarked, for more than one of it and less than
// two.
#define PACK_HALF_MS 21600500
