// The scenes that the explorer searches: a forecourt and every step that may be taken on it.
#pragma once

#include "world.h"

#define SCENE_STEPS 1024

// What may happen in a scene beside the course of its jobs.
enum scene_with {
    SCENE_CONTROLLER = 1 << 0, // it goes offline and comes online
    SCENE_SILENCE = 1 << 1,    // a sensor is not heard for longer than its limit
    SCENE_HALVES = 1 << 2,     // half of the longest period goes by
    SCENE_RESTART = 1 << 3,
    SCENE_CONDITIONS = 1 << 4, // link, journal, another daemon, our clock
    SCENE_READERS = 1 << 5,
    SCENE_CREW = 1 << 6,      // joining, leaving, handing over, assigning
    SCENE_ABSENT = 1 << 7,    // locks removed for absent owners
    SCENE_STOPS = 1 << 8,     // stops called by anybody, pauses
    SCENE_FAILS = 1 << 9,     // checks without a reading answered no, and those of prepare failed
    SCENE_DATED = 1 << 10,    // words that carry their time, of now, late and ahead
    SCENE_COUNTED = 1 << 11,  // words that carry a number
    SCENE_KEPT = 1 << 12,     // words of the broker's store, new subscriptions
    SCENE_WAITED = 1 << 13,   // requests and tag events that waited
    SCENE_SESSION = 1 << 14,  // the broker loses the durable session
    SCENE_DISTRUST = 1 << 15, // sensors and readers out of order
    SCENE_CLOCK = 1 << 17,    // our own clock is set
    SCENE_JOIN = 1 << 18,     // joining alone
    SCENE_MIXED = 1 << 19,    // words with and without either, and copies of the last live
    SCENE_SEEN_OFF = 1 << 20, // listings ended by who saw the lock off; locks of an unknown badge
    SCENE_OFFICE = 1 << 16,   // the position is opened without a technician, assigned, cancelled
};

struct scene {
    struct forecourt_plan plan;
    const char *why; // what it is there for
    unsigned with;   // bits of enum scene_with
    unsigned jobs;   // ids that may be used
    bool at_work;    // begins with the first job working, brought there by an honest crew
    bool nightly;    // too large to be searched whole on every change
    unsigned depth;  // searched whole to so many steps; 0: to the end
};

struct scene_steps {
    struct step steps[SCENE_STEPS];
    unsigned count;
};

extern const struct scene scenes[];
extern const size_t scene_count;

// --- scene_list.c ---
// Every step of a scene. False: there are too many.
bool scene_list(const struct scene *scene, const struct forecourt *forecourt,
                struct scene_steps *list);

// --- scene_may.c ---
// Whether a step might change anything, by the account of the rules: a request for a job that is
// not in the phase for it, or by somebody whom it never serves, is refused and changes nothing. The
// explorer takes those only in one state out of SCENE_FULL, chosen by its digest.
#define SCENE_FULL 32
bool scene_may(const struct rules *rules, const struct step *step);
// Whether an honest crew, and hardware that is mended, take such a step.
bool scene_honest(const struct step *step);
