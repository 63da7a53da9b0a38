// Declarations of a scenario: which hardware the site has.
#pragma once

#include "simulator/world.h"

struct sim_declaration {
    const char *name;
    const char *arguments; // for the usage
    enum sim_kind kind;
    const char *on_word, *off_word; // of `starts`, NULL: has no state of its own
};

extern const struct sim_declaration sim_declarations[];
extern const size_t sim_declaration_count;

// The declaration that this word begins, or NULL.
const struct sim_declaration *sim_declaration_find(const char *name);

// Adds the declared device to the world.
bool sim_declare(struct sim_world *world, const struct sim_declaration *declaration,
                 const struct sim_words *words, struct sim_note *note);
