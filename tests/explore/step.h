// One step of a history: a word of the hardware, a span of time, a restart or a request, by numbers
// that a forecourt gives names to. A list of them in text is what `--replay` reads.
#pragma once

#include <stdio.h>

#include "forecourt.h"
#include "gate/gate.h"

enum step_kind {
    STEP_HEAR,       // sensor `at` says `item` (enum step_word); `job` not 0: with that number
    STEP_MEASURE,    // measure `at`: the same, isolated being within the limits and live outside
    STEP_CONTROLLER, // panel-1: `ok` online, else offline
    STEP_LOCK, // tag reader of point `at`: person `who` (STEP_STRANGER: unknown badge), `ok`: hung
    STEP_LINK, // connection `at` (enum gate_connection): `ok` up and proved
    STEP_UNHEARD,   // the broker delivers nothing on a topic of the site; `ok`: it does again
    STEP_SESSION,   // the broker lost the durable session
    STEP_CLOCK,     // our wall clock is set by `ms`
    STEP_JOURNAL,   // journal writes: `ok`
    STEP_CONTESTED, // another daemon claims the site: `ok`
    STEP_SUBSCRIBE, // signals are subscribed to anew
    STEP_PASS,      // `ms` go by; every sensor but those of mask `item` repeats its last word
    STEP_RESTART,   // the daemon is away for `ms`; `item` not 0: its connections stay down
    STEP_ASK,       // request `verb`
    STEP_KIND_COUNT,
};

enum step_word { STEP_ISOLATED, STEP_LIVE, STEP_BAD };

#define STEP_STRANGER 255
#define STEP_NO_JOB 65535

// How a word came, or what a request carries besides.
enum step_how {
    STEP_WAITED = 1,      // it waited in the session, or in a client
    STEP_KEPT = 2,        // the broker sent it because we subscribed
    STEP_PAUSE = 4,       // stop-work: the leader's pause
    STEP_NOTE = 8,        // with a note
    STEP_LAST = 4,        // a word of a sensor that carries what its last live did
    STEP_BARE = 8,        // but for its number
    STEP_NO = 16,         // a check without a reading answered no
    STEP_DATED = 32,      // a word that carries its time: `ms` ago
    STEP_AGAIN = 128,     // a word of a sensor dated as its newest
    STEP_OF_READER = 128, // distrust, trust: of the reader of point `at`, not of sensor `at`
    STEP_COUNTED = 64,    // a word that carries a number: its sender's newest, plus `job`, less 1
};

struct step {
    uint8_t kind;
    uint8_t verb;  // STEP_ASK: enum gate_verb
    uint8_t who;   // the person who asks
    uint8_t to;    // technician, member, whom the lead is offered
    uint8_t at;    // position, point or sensor
    uint8_t how;   // bits of enum step_how
    uint8_t ok;    // within limits, passed, kit named, attested (2: seen off), live (witness-point)
    uint16_t job;  // its number, or STEP_NO_JOB
    uint32_t item; // check, test, alarm (enum model_alarm_kind), procedure, word or mask
    int32_t ms;
};

// Writes a step as one line, and reads one back (false: it is none).
void step_print(FILE *out, const struct step *step);
bool step_scan(const char *line, struct step *step);

// The texts that a request's numbers stand for.
struct step_names {
    char job[16], position[16], point[16], sensor[16], alarm[MODEL_ID_SIZE];
    struct model_result result;
};
// The request of a STEP_ASK; names holds its texts. An alarm is named by its kind and job: the
// first of those that stand, one that is not acknowledged before the others.
struct gate_request step_request(const struct forecourt *forecourt, const struct step *step,
                                 const struct gate_site *site, struct step_names *names);
