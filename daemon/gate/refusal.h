// A refusal, or a requirement of a gate: which sentence it says, what that is made of, and the
// words that are made of it. The words are drawn from the arguments in one place (refusal.c), so
// that the two cannot disagree.
#pragma once

#include "gate/says.h"
#include "model/model.h"
#include "model/words.h"

// What a sentence is made of, and what the refusal stands on: those that apply, the rest NULL, 0 or
// "has_" false. Ids, words of the contract, and titles as they are configured. The pointers are
// borrowed for the call that makes the refusal.
struct gate_args {
    const char *person; // whom it is about
    const char *badge;  // a lock's, where nobody is known by it
    const char *leader; // the technician in charge
    const char *by;     // who signed; NULL with a value: a measure did
    const char *role;   // that is asked for
    const char *job;
    const char *with; // the other job
    const char *procedure;
    const char *position; // of the other job; of a kit, where it would hang
    const char *phase;    // that the job is in
    const char *lockout;
    const char *point;
    const char *check;
    const char *test;
    const char *title; // of the point, or what the check asks
    const char *state; // of the point
    const char *trust;
    const char *energy;
    const char *group; // of checks
    const char *rule;  // of the test
    const char *unit;
    const char *other_unit; // that was given
    const char *instrument;
    const char *kind;       // of instrument that is asked for
    const char *other_kind; // that was named
    // The last day it is good, a date of the site; of a test that waits for its notice the instant
    // from which it may be recorded, RFC 3339 in UTC.
    const char *until;
    const char *kit;    // the family of the kit
    const char *family; // of the nozzle
    const char *alarm;
    const char *subject; // of an alarm: a connection, a sensor, a webhook, a topic
    const char *reason;  // that somebody gave
    const char *verb;
    const char *first, *second; // two fields, one of which is given
    const char *nearest;        // of the known names, to one that is not known
    const char *reading;        // of a test, by its name
    const char *product;        // fuel

    bool has_value, has_min, has_max;
    double value, min, max; // a reading and its limits, in unit
    unsigned said, of;      // witnesses who have spoken, of how many; of is 0: none needed
    unsigned run, runs;     // of a test that is averaged; runs is 0: it is not
    unsigned line, column;  // of what cannot be read; from 1, 0: none
    unsigned phases;        // bits 1 << enum model_phase: those it is for
    const char *const *any; // credentials, one of which is asked for
    size_t any_count;

    // Words without a name of their own. They stand in need, found and say, and are not told apart.
    const char *need, *found, *what;
};

// Written at the call: GATE_ARGS(.person = id, .point = point).
#define GATE_ARGS(...) (&(const struct gate_args){__VA_ARGS__})

// The arguments that are texts, by name, in the order in which they are told.
struct gate_arg {
    const char *name;
    size_t offset; // of a const char * in struct gate_args
};
#define GATE_ARG_TEXTS 37
extern const struct gate_arg gate_arg_texts[GATE_ARG_TEXTS];

// One reason of a refusal, or one requirement of a gate. Its texts are its own: it may outlive what
// it was made from, and be copied. Only `args.any` stays borrowed, of what the job requires.
struct gate_refusal {
    enum model_code code;
    enum gate_say sentence;
    struct gate_args args;              // what is no text; the texts by gate_refusal_text
    unsigned short own[GATE_ARG_TEXTS]; // where each text begins in texts, and 1; 0: it is absent
    char texts[512];
    char subject[MODEL_TEST_SIZE]; // what it is about: a point, a check, a person…
    char need[160];
    char found[160];
    int64_t age_ms; // of the evidence; -1: there is none
    char say[240];  // one plain sentence for a phone screen
};

// The text of one argument, by its place in gate_arg_texts. NULL: it is absent. One that is very
// long is cut.
const char *gate_refusal_text(const struct gate_refusal *refusal, size_t argument);

// Makes a whole refusal, without an age, of its sentence and arguments; args NULL: it has none.
// subject NULL: about nothing. met: as a requirement that holds; its code and sentence are those of
// the refusal that it would be.
void gate_refusal_make(struct gate_refusal *refusal, bool met, enum gate_say sentence,
                       const char *subject, const struct gate_args *args);

// The same of the sentence of an alarm, which has neither code, need nor found.
void gate_alarm_say_make(struct gate_refusal *told, enum gate_say sentence,
                         const struct gate_args *args);
// Makes the texts of one that was read its own.
void gate_refusal_own(struct gate_refusal *refusal);

// A sentence's name outside, and what it needs as it is written in its row; NULL for none.
const char *gate_say_name(enum gate_say sentence);
const char *gate_say_need(enum gate_say sentence);
enum model_code gate_say_code(enum gate_say sentence);
// The sentence of a name; GATE_SAY_NONE: there is none.
enum gate_say gate_say_of(const char *name);

// The place in a request that a malformed one is about: its subject without the first '/'; NULL: it
// is about none.
const char *gate_refusal_field(const struct gate_refusal *refusal);
