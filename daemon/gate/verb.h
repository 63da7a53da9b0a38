// The verbs of requests. Each is one file of gate/verb/ with its function and one row; everything
// else that speaks of verbs reads the row. A new one is its file and a line in gate/verb/list.h.
#pragma once

#include <stdbool.h>
#include <stddef.h>

#include "gate/fact/list.h"
#include "gate/verb/list.h"
#include "model/words.h"

enum gate_verb {
#define GATE_VERB_VALUE(NAME, row) GATE_VERB_##NAME,
    GATE_VERBS(GATE_VERB_VALUE) GATE_VERB_COUNT,
#undef GATE_VERB_VALUE
};

// What a field's value must be.
enum gate_field_kind {
    GATE_FIELD_ID,      // by the rule of ids
    GATE_FIELD_TEST_ID, // the same, or two joined by a point
    GATE_FIELD_NAME,    // text of 1 to 64 bytes
    GATE_FIELD_UNIT,    // text of 1 to 31 bytes
    GATE_FIELD_NOTE,    // text of at most 500 characters
    GATE_FIELD_REASON,  // the same, not blank
    GATE_FIELD_FLAG,    // true or false, a bool of struct gate_request
    GATE_FIELD_VOLUME,  // a struct gate_volume: a number from 0 to GATE_VOLUME_MAX
    GATE_FIELD_CHANGE,  // the same, but as far below 0 as well
    GATE_FIELD_MEASURE, // text: "gal" or "L"
    GATE_FIELD_INSTANT, // RFC 3339: an int64_t, Unix ms
    GATE_FIELD_DAY,     // text: a day of the site, YYYY-MM-DD
    GATE_FIELD_LINK,    // text: an address that begins with http:// or https://
    GATE_FIELD_SHA256,  // text: 64 hex digits
    // Each of the rest has a place of its own, of which there is one in a request.
    GATE_FIELD_NUMBER,   // finite
    GATE_FIELD_TIME,     // RFC 3339
    GATE_FIELD_HOURS,    // a number above 0, at most 12
    GATE_FIELD_STATE,    // "isolated" or "live"
    GATE_FIELD_PASS,     // true or false: has_pass and pass
    GATE_FIELD_ATTEST,   // {"not_on_site","contact_tried","will_be_told"}
    GATE_FIELD_READINGS, // numbers, booleans and strings by name
    GATE_FIELD_OBJECT,   // an object of the asker's own, at most 8 KiB
    GATE_FIELD_KIND_COUNT,
};

struct gate_field {
    const char *name; // in the body
    enum gate_field_kind kind;
    bool required;
    size_t offset; // in struct gate_request, of a kind above GATE_FIELD_NUMBER
};

// Who may ask.
enum gate_who {
    GATE_WHO_ROLE,   // who has one of the row's roles
    GATE_WHO_CREW,   // the crew of the job, and who has one of the row's roles
    GATE_WHO_LEADER, // who leads the job, and who has one of the row's roles
    GATE_WHO_VERB,   // the verb's own rule, which `asker` says
};

#define GATE_FIELDS_MAX 11

struct gate;
struct gate_case;
struct gate_job;
struct gate_list;
struct gate_site;
struct gate_time;

struct gate_verb_row {
    const char *name;                          // the contract's spelling
    const char *about;                         // what it does, one sentence for documents
    struct gate_field fields[GATE_FIELDS_MAX]; // ended by one without a name
    // Two fields of which exactly one is given, and what they name; NULL: none.
    const char *one_of[3];
    enum gate_who who;
    unsigned roles;
    const char *asker; // for documents, where who is GATE_WHO_VERB
    bool of_job;       // names a job, which must be known and stand
    bool opens_job;    // the job that it names is yet to be
    unsigned phases;   // the job's phases in which it may be asked; 0: any in which a job stands
    unsigned inspects; // and of a job that inspects, in these as well
    bool permits;      // refused while the journal cannot write
    bool present;      // speaks of what is so now (marked in the contract)
    // Whether this request ends or stops something; its job may be NULL. Such a one is taken
    // however late and whatever else its body says, without the journal, and never answered from
    // memory. NULL: it never does.
    bool (*ends)(const struct gate_case *c);
    // Of one that ends something: that it was accepted before is remembered, and tells that it has
    // nothing more to do; it is done again all the same.
    bool recalls;
    bool ending; // taken also of a job whose end is not written, and was told to nobody
    // Of such a one: answers once more what was done when its job still stood. NULL: there is no
    // more to say than that.
    void (*done)(struct gate_case *c);
    // Of one that speaks of the present: whether this request names so exactly what it speaks of
    // that it is taken however late all the same. NULL: it never does.
    bool (*however_late)(const struct gate_case *c);
    bool untold; // beside that, taken from who was not told that a lock of theirs was removed
    // The gate that must hold, of one that has one. It asks for the journal in its own place.
    void (*gate)(const struct gate *gate, const struct gate_site *site, const struct gate_job *job,
                 struct gate_time now, struct gate_list *list);
    const char *gate_name; // in documents
    // What of the body does not fit the check or test that it names: adds what is malformed. NULL:
    // the body alone says what is.
    void (*fits)(struct gate_case *c);
    // What else must hold whatever the fields say; NULL: nothing.
    void (*require)(struct gate_case *c);
    // The fact that tells its refusal as an event; 0: it is kept for the job's story alone.
    enum gate_fact_type refusal;
    // Adds what is unmet of the fields; if the case is clear, emits the facts.
    void (*decide)(struct gate_case *c);
};

#define GATE_VERB_ROW(NAME, row) extern const struct gate_verb_row gate_verb_##row;
GATE_VERBS(GATE_VERB_ROW)
#undef GATE_VERB_ROW

// The row of a verb below GATE_VERB_COUNT.
const struct gate_verb_row *gate_verb_row(enum gate_verb verb);
// The verb whose gate is a repair's next one in a phase; GATE_VERB_COUNT: there is none.
enum gate_verb gate_verb_next(enum model_phase phase);
// The spelling of the contract; NULL for a value out of range.
const char *gate_verb_name(enum gate_verb verb);
// The verb that a fact of a refusal speaks of: by its row, or as the fact itself names it. NULL:
// the fact is no refusal.
const char *gate_verb_refused(enum gate_fact_type type, const char *named);
// The verb of a spelling, or -1.
int gate_verb_of(const char *name);
