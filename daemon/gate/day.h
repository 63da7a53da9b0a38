// The day around a repair: what a job keeps beside its gates. Nothing of it opens one.
#pragma once

#include "gate/fact.h"

// When a position is to be back, as somebody of the job last said.
struct gate_expected {
    int64_t at; // wall ms; 0: nobody has said
    char by[MODEL_ID_SIZE];
    uint32_t moved; // how often it was said anew
};

// What the shift before leaves to the next one: it goes with the offer of the lead, and who takes
// the lead signs it.
struct gate_shift_note {
    char *note; // owned; NULL: there is none
    char by[MODEL_ID_SIZE], to[MODEL_ID_SIZE];
    struct gate_time at;
    char signed_by[MODEL_ID_SIZE]; // ""; nobody yet
    struct gate_time signed_at;
};

// Evidence that lies elsewhere: it is named, and never fetched.
struct gate_attachment {
    char check[MODEL_ID_SIZE], alarm[MODEL_ID_SIZE]; // what it is of; ""
    char test[MODEL_TEST_SIZE];
    char by[MODEL_ID_SIZE];
    struct gate_time at;
    char sha256[65];
    char *url, *title; // owned
};
#define GATE_ATTACHMENTS_MAX 16 // of a job (contract, section 4)

// The ledger of one product, every volume in the unit in which it was first told.
struct gate_fuel {
    char product[MODEL_ID_SIZE];
    char unit[8]; // "gal" or "L"
    double drawn, returned, kept;
    bool has_before, has_after;
    double before, after;     // the meter's totalizer
    char tank[MODEL_ID_SIZE]; // to which it was returned last; ""
};

// A part, as it was fitted.
struct gate_part {
    char part[MODEL_ID_SIZE], family[MODEL_ID_SIZE], serial[MODEL_ID_SIZE]; // "": not told
    char job[MODEL_ID_SIZE];
    char by[MODEL_ID_SIZE];
    char due[11]; // the last day it is good, YYYY-MM-DD; ""
    struct gate_time fitted;
};

struct gate_day {
    struct gate_part *parts; // each kind once, as it was fitted last
    size_t part_count, part_capacity;
    struct gate_fuel *fuel; // by product, the first told first
    size_t fuel_count, fuel_capacity;
    struct gate_expected expected;
    struct gate_shift_note shift;
    struct gate_attachment *attachments; // the first attached first
    size_t attachment_count, attachment_capacity;
};

void gate_day_free(struct gate_day *day); // what it owns
