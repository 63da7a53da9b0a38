// The normal form of a state: what of it any rule could ask for, as a short string of bytes.
//
// It is made of the account of the rules, which was found equal to the gate's state, and not of
// that state: so it speaks of what the contract knows and nothing else. Two histories of one form
// must behave alike, and the explorer goes on from one of them. What is left out:
//
// - Times become ages, and ages the classes that the deadlines of a forecourt can tell apart. A
//   sensor heard within its limit counts as heard now, as every span of time begins with the word
//   of each of them said again. What people said and signed has the age 0, 1 or 2 times half of the
//   longest period (FORM_HALF_MS): the explorer lets time go by either for a moment, for one
//   silence, or for that half, so that no other age decides anything.
// - Of signatures and records, the void ones: only whether one stands is ever asked. Of the order
// of
//   those that stand, what relieve, verify and joining compare.
// - Names that nothing compares: of alarms, badges, boots; sentences.
// - Of an alarm that belongs to no job, whether somebody acknowledged it: no gate asks.
// - Of an ended job, everything but that its id is used.
//
// That nothing needed is left out is tested: where a search comes upon a form again, it takes every
// step from both of some of those pairs, and compares.
#pragma once

#include "world.h"

#define FORM_MAX 1024
// Words and prepare checks stand, and tags hang unremarked, for more than one of it and less than
// two.
#define FORM_HALF_MS 21600500

// How long after `rework` a live point is no reason for an alarm.
#define FORM_REWORK_MS 300000

// Writes the normal form. Returns its length; 0: it does not fit.
size_t form_write(const struct world *world, unsigned char bytes[FORM_MAX]);
