// A search of one scene: the states it has seen, the way to each, the world that stands in one.
#pragma once

#include <time.h>

#include "form.h"
#include "journal.h"
#include "scene.h"
#include "table.h"

// The transitions of honest crews, kept for the walk backwards.
struct edges {
    uint32_t (*pairs)[2];
    size_t count, capacity;
};

// A copy of the world on the way to the state that is visited.
struct level {
    uint32_t state;
    void *copy;
    size_t size, room;
    size_t facts; // in the journal
};

// A way to a form that was known before.
struct twin {
    uint32_t state; // the one that is kept
    uint32_t from;  // the other is a step from this one
    uint16_t step;
};

#define SEARCH_DEPTH_MAX 256
#define SEARCH_TWINS 200

struct search {
    const struct scene *scene;
    struct forecourt forecourt;
    struct scene_steps steps;
    struct world *world; // in the arena
    struct journal journal;
    struct level levels[SEARCH_DEPTH_MAX];
    unsigned depth; // of the last level
    struct table table;
    struct edges edges;
    struct twin twins[SEARCH_TWINS];
    uint64_t met;     // how often a known form was come upon
    uint8_t *settled; // by state: no job stands in it
    uint64_t transitions;
    uint32_t here;
    bool full; // every step is taken in this state
    bool cut;  // states were left out
    time_t begin;
    long minutes;
};

// A search that stands at the beginning of a scene (with its prologue taken), with room for that
// many states. Ends the program where there is no memory.
struct search *search_new(const struct scene *scene, uint32_t limit);
void search_free(struct search *search);
// Visits every state. False: the rules are broken somewhere, and the shortest way was printed.
bool search_run(struct search *search);
// Stands the world in a state, by the steps that led there.
void search_stand(struct search *search, uint32_t state);
// Takes a step in it. keep: its facts are kept, as a restart will want them. False: the rules are
// broken.
bool search_step(struct search *search, const struct step *step, bool keep);
// Sets the world back to where search_stand left it.
void search_back(struct search *search);
// Prints the shortest way to a state, and a step from there (or NULL).
void search_print_way(const struct search *search, uint32_t state, const struct step *last);
// --- dead_ends.c ---
// Whether from every state an honest crew can end every job; prints the way to one that is not so.
bool search_no_dead_end(struct search *search);
// --- twins.c ---
// Whether histories of one form behave alike, by some pairs of them.
bool search_no_difference(struct search *search);
