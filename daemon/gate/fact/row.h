// A type of fact, whole, as one row: name, who is told, fields, effect and sentence.
#pragma once

#include "gate/fact/field.h"
#include "gate/state.h"

// Where a fact goes when it is folded.
struct gate_fold {
    struct gate *gate;
    struct gate_site *site; // NULL: the whole daemon
    struct gate_job *job;   // of a fact about a job
    uint32_t point;         // of a fact about a point
    char *what;             // why it cannot be applied; left empty, it is for lack of memory
    size_t what_size;
};

// What a fact is about, and so what is looked up before its effect.
enum gate_fact_about {
    GATE_ABOUT_JOB,     // a job of the site; counted in the job's order
    GATE_ABOUT_POINT,   // a point of the site
    GATE_ABOUT_SITE,    // what the effect looks up by itself
    GATE_ABOUT_GATE,    // every site
    GATE_ABOUT_NOTHING, // it changes nothing at all
};

struct gate_fact_row {
    const char *name; // the contract's, without "forelock."
    bool published;   // told as an event; else kept in the journal only
    enum gate_fact_about about;
    gate_fact_mask carries; // the fields it may have beside GATE_FACT_OF_ALL: GATE_HAS(…) | …
    gate_fact_mask needs;   // without each of these it cannot be applied
    gate_fact_mask needs_one_of; // nor without one of these; 0: none is asked for
    // What it does to the state. NULL: nothing. False: it does not fit the state, or no memory.
    bool (*apply)(const struct gate_fold *to, const struct gate_fact *fact);
    // What it does to the list of what the configuration lacks (lacking.h). `site` is the id of its
    // site, configured or not. NULL: nothing. False: no memory.
    bool (*lacking)(struct gate *gate, const char *site, const struct gate_fact *fact);
    // What happened, as a sentence without its end. In it {name} is a field; {a|b} the first of
    // them that is set; {?flag} and {!flag} print nothing, and are set where the flag is true, or
    // is known and false. What stands in [brackets] is left out unless all of it is set.
    const char *sentence;
    // Where that depends on what the fact carries. NULL, or gives NULL: `sentence` serves.
    const char *(*sentence_of)(const struct gate_fact *fact);
};

// NULL: there is no such type.
const struct gate_fact_row *gate_fact_row(enum gate_fact_type type);
// The fields that a fact has and its row does not name, as a mask: 0, or the row is wrong.
gate_fact_mask gate_fact_strays(const struct gate_fact *fact);
