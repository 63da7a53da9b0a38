// The rules, stated a second time: an account of a site kept beside the gate from what was put into
// it and what it told, written from the contract and sharing no code with the gate.
//
// What is proved (sensors, words, tags that count, signatures and tests that stand, positions that
// wait for tests) is reckoned here from the inputs alone. What people arranged (jobs, crews, leads,
// phases) is taken from the facts, each of which must be one that the rules allow at that moment.
// After every step both accounts are compared and the invariants of the design are asserted.
#pragma once

#include "gate/gate.h"
#include "step.h"

#define RULES_NOBODY 255
#define RULES_ANYBODY FORECOURT_PEOPLE    // the row of a tag whose badge nobody knows
#define RULES_NO_SLOT FORECOURT_POSITIONS // the column of a tag that belongs to no job
#define RULES_JOBS_MAX 65536

struct rules_sensor {
    int64_t heard; // mono ms; 0: never
    int64_t since; // mono ms since which it says isolated without a gap; 0: it does not
    int64_t at;    // wall ms of its newest dated word; 0: none
    unsigned seq;  // of its newest numbered word
    uint8_t word;  // enum model_point_state
    bool numbered;
    bool forget; // its controller came online again: a lower number is a restarted sender
    bool bad;
};

// The newest word of a measure.
struct rules_measure {
    int64_t heard; // mono ms; 0: never
    int64_t at;    // wall ms of its newest dated word; 0: none
    unsigned seq;  // of its newest numbered word
    bool numbered, forget, bad;
    bool outside; // the limits
};

struct rules_tag {
    bool hangs, counts;
    int64_t hung; // mono ms
};

struct rules_word {
    bool said, overseer;
    int64_t at;
    unsigned slots; // of the jobs in whose crew the speaker was
};

struct rules_point {
    struct rules_tag tags[FORECOURT_PEOPLE + 1][FORECOURT_POSITIONS + 1];
    struct rules_word statements[FORECOURT_PEOPLE]; // isolated
    bool live_said, live_proves;
    int64_t live_at;
    int64_t heard_before; // mono ms, before the restart
};

// A signature of a check, or a record of a test: the last one that is not void.
struct rules_mark {
    bool stands, pass;
    int64_t at;
    unsigned order;
};

// One job, in the slot of its position: only one stands there.
struct rules_job {
    bool stands;
    unsigned number, procedure;
    enum model_phase phase;
    unsigned required; // bits of points
    unsigned crew;     // bits of people
    uint8_t leader, offered;
    int64_t offered_at, opened;
    bool kit, started, set_aside;
    bool unproven;      // the hold stood before a restart, and is not proved again
    bool held;          // at the end of the last step
    int64_t held_since; // mono ms
    bool failed_by_hand[FORECOURT_CHECKS]; // a person's last reading of it was outside
    struct rules_mark signed_[FORECOURT_CHECKS];
    unsigned verified[FORECOURT_CHECKS][FORECOURT_PEOPLE]; // order of one's own standing pass
    struct rules_mark tests[FORECOURT_TESTS];
    // Of the step under way.
    enum model_phase before;
    bool held_before, broken_now;
    unsigned read_isolated; // bits of its required points that read so before
};

struct rules_position {
    bool in_service;
    unsigned untested; // bits of the positions whose work left it so
    unsigned owed;     // bits of procedures
    bool failed;       // a test that takes the dispenser out failed here, and has not passed since
};

struct rules {
    const struct forecourt *forecourt;
    struct gate_time now;
    bool link, journal, contested;
    enum gate_controller controller;
    unsigned order;
    struct rules_sensor sensors[FORECOURT_SENSORS];
    struct rules_measure measures[FORECOURT_MEASURES];
    struct rules_point points[FORECOURT_POINTS];
    struct rules_job jobs[FORECOURT_POSITIONS];
    struct rules_position positions[FORECOURT_POSITIONS];
    uint8_t used[RULES_JOBS_MAX / 8]; // job numbers ever used
    const struct step *step;          // under way
    bool told_any;
    char wrong[240]; // the first violation; "": none
};

// An account of a forecourt on which nothing was heard and nothing stands.
void rules_new(struct rules *rules, const struct forecourt *forecourt, struct gate_time now);
// Takes the account over from a gate, where both were found equal before (the explorer).
void rules_adopt(struct rules *rules, const struct gate *gate, struct gate_time now);
// What comes before the gate is told of a step: the evidence as the input makes it. After a span of
// time without words it is enough to call it with the step and the later `now`.
void rules_before(struct rules *rules, const struct step *step, struct gate_time now);
// A fact that the gate told in this step.
void rules_fact(struct rules *rules, const struct gate_fact *fact);
// The end of the step. accepted: of a request. False: something is wrong, and rules->wrong says
// what.
bool rules_after(struct rules *rules, const struct gate *gate, bool accepted);

// --- Between the files of the rules ---

void rules_fail(struct rules *rules, const char *format, ...) __attribute__((format(printf, 2, 3)));
// The point as such, or as a job may rely on it (slot of the job; RULES_NO_SLOT: as such).
enum model_point_state rules_reads(const struct rules *rules, uint32_t point, unsigned slot);
bool rules_isolated(const struct rules *rules, uint32_t point, unsigned slot); // and settled
bool rules_proved_live(const struct rules *rules, uint32_t point);
bool rules_fresh(const struct rules *rules, uint32_t sensor); // heard within its limit, not bad
// Whether a measure speaks of a position; whether its word is of now and readable.
bool rules_measures(const struct rules *rules, unsigned measure, unsigned position);
bool rules_measured_now(const struct rules *rules, unsigned measure);
// A position that a failed test elsewhere on its dispenser, or on itself, keeps out.
bool rules_failed(const struct rules *rules, unsigned position);
bool rules_protected(const struct rules *rules, const struct rules_job *job, unsigned person);
bool rules_tagged(const struct rules *rules, unsigned slot); // a tag of the job hangs
bool rules_online(const struct rules *rules, uint32_t point);
// A word of live at `at` (mono ms; 0: now) on a point: tags, holds and signatures that it ends.
void rules_live(struct rules *rules, uint32_t point, int64_t at);
// Which of a job's required points read isolated, settled or not.
unsigned rules_reading_isolated(const struct rules *rules, const struct rules_job *job);
// Ends what a hold that is gone ends, for every job.
void rules_settle(struct rules *rules);
bool rules_group_stands(const struct rules *rules, const struct rules_job *job,
                        enum model_group group);
void rules_void(struct rules *rules, struct rules_job *job, enum model_group group);
void rules_void_tests(struct rules *rules, struct rules_job *job);
struct rules_job *rules_job_named(struct rules *rules, const char *job); // NULL: none stands
unsigned rules_person(const struct rules *rules, const char *person);    // or RULES_NOBODY
// The gates of the contract, section 5. NULL: it holds; else what is lacking.
const char *rules_start_lacks(const struct rules *rules, const struct rules_job *job);
const char *rules_finish_lacks(const struct rules *rules, const struct rules_job *job);
const char *rules_test_lacks(const struct rules *rules, const struct rules_job *job);
const char *rules_return_lacks(const struct rules *rules, const struct rules_job *job,
                               const struct gate *gate);
const char *rules_accept_lacks(const struct rules *rules, const struct rules_job *job,
                               unsigned person);
bool rules_shares(const struct rules *rules, unsigned a, unsigned b); // slots of two jobs
