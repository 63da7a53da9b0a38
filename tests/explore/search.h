// A search of one scene: the state it stands in, the states it has seen, the way to each.
#pragma once

#include <time.h>

#include "pack.h"
#include "scene.h"
#include "table.h"

// The transitions of honest crews, kept for the walk backwards.
struct edges {
    uint32_t (*pairs)[2];
    size_t count, capacity;
};

struct search {
    const struct scene *scene;
    struct forecourt forecourt;
    struct scene_steps steps;
    struct world world;
    struct rules rules_here; // the account of the state that is being visited
    struct table table;
    struct queue queue;
    struct edges edges;
    uint8_t *settled; // by state: no job stands in it
    uint64_t transitions;
    uint32_t here;
    bool full;     // every step is taken in this state
    bool cut;      // states were left out
    bool restless; // a fact was told while a state was made anew
    time_t begin;
    long minutes;
};

// A search that stands at the beginning of a scene (with its prologue taken), with room for that
// many states. Ends the program where there is no memory.
struct search *search_new(const struct scene *scene, uint32_t limit);
void search_free(struct search *search);
// Visits every state. False: the rules are broken somewhere, and the shortest way was printed.
bool search_run(struct search *search);
// Stands the world in a state. False: no memory, or it does not stay as it was.
bool search_stand(struct search *search, const unsigned char *bytes);
// Makes the account of the rules that of the state, and keeps a copy in rules_here.
void search_account(struct search *search);
// Prints the shortest way to a state, and a step from there (or NULL).
void search_print_way(const struct search *search, uint32_t state, const struct step *last);
// --- dead_ends.c ---
// Whether from every state an honest crew can end every job; prints the way to one that is not so.
bool search_no_dead_end(struct search *search);
// --- form.c ---
// Tests the normal form by that many random walks.
bool search_check_form(const struct scene *scene, unsigned walks);
