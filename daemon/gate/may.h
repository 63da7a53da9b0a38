// What one person may ask now, and the step that leads on: told to pages, so that they know no
// rules.
//
// A verb may be asked if some body of it would be accepted now and change something: the very
// functions that decide it are run on bodies made up for it, and emit nothing. Whether one that is
// asked is accepted is still decided then.
#pragma once

#include "gate/gate.h"

// One way to ask a verb: what it is about, where it is about one thing of several. Texts lie in the
// gate and its model until either changes; NULL: it is not about that.
struct gate_choice {
    enum gate_verb verb;
    const char *point, *check, *alarm;
    const char *sensor, *reader; // distrust-sensor, trust-sensor: one of them
    bool note; // it asks for a note of what was done, was changed, or how it was made safe
    char test[MODEL_TEST_SIZE]; // record-test; ""
    const char *to;             // hand-over
    const char *person;         // leave-job: another of the crew; lift-absent-tag: whose lock
    const char *badge;          // lift-absent-tag: of nobody known
    bool seen_off;              // lift-absent-tag: it takes that alone
    const char *procedure;      // open-job
    const char *spill;          // report-spill
    bool has_state;             // witness-point
    enum model_point_state state;
    bool fails; // sign-check: only as one that does not hold
};

struct gate_may {
    bool verbs[GATE_VERB_COUNT];
    struct gate_choice *choices; // in the order of the verbs
    size_t count, capacity;
    bool failed; // no memory: something may be lacking
};

// What a person of the site may ask of a job, or, where job is NULL, of a position on which none
// stands, and of its points and the site's alarms. Fills a zeroed may, to be ended by
// gate_may_free.
void gate_may(const struct gate *gate, uint32_t site, const struct gate_job *job, uint32_t position,
              const struct model_person *person, struct gate_time now, struct gate_may *may);
void gate_may_free(struct gate_may *may);

// The step that leads on from here.
struct gate_step {
    bool is;                   // false: nothing does (the job ended, or none may be opened)
    bool has_verb;             // false: no request helps, it waits for what `lacking` says
    struct gate_choice choice; // the verb and what it is about
    bool mine;                 // whether this person may ask it now
    bool crew, leader;         // who may, where it is not theirs: the crew, who leads,
    unsigned roles;            // people of these roles
    bool lacks;                // a requirement of the next gate is unmet
    struct gate_refusal lacking;
};

// The first unmet requirement of the next gate, in the order in which the trade meets them, and
// what meets it: by this person where they may, else by whom. While preparing or isolating waits
// for others, what this person can do beside it goes first: of the crew either, of others a check
// that names their role. job NULL: none stands. may is that of gate_may for the same.
void gate_step(const struct gate *gate, uint32_t site, const struct gate_job *job,
               const struct model_person *person, struct gate_time now, const struct gate_may *may,
               struct gate_step *step);
