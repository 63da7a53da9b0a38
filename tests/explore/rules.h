// The rules, stated a second time: an account of a site kept beside the gate from what was put into
// it and what it told, written from the contract and sharing no code with the gate.
//
// What is proved (sensors, words, tags that count, signatures and tests that stand, what holds,
// what breaks, positions that wait for tests) is reckoned here from the inputs alone. What people
// arranged (jobs, crews, leads, phases) is taken from the facts, each of which must be one that the
// rules allow at that moment. Whether a request is to be accepted is reckoned before the gate is
// asked, and held against its answer both ways. After every step both accounts are compared and the
// invariants of the design are asserted.
#pragma once

#include "gate/gate.h"
#include "step.h"

#define RULES_NOBODY 255
#define RULES_ANYBODY FORECOURT_PEOPLE    // the row of a tag whose badge nobody knows
#define RULES_NO_SLOT FORECOURT_POSITIONS // the column of a tag that belongs to no job
#define RULES_JOBS_MAX 32768
// A cause that comes back after so long without it raises the alarm again.
#define RULES_AGAIN_MS 5000
// How long a step of our clock is looked at.
#define RULES_STEPPED_MS 60000
// How long two people's words for a sensor out of order stand.
#define RULES_DISTRUST_WORD_MS 14400000

// The last word of a sender, to tell the next one's order by.
struct rules_order {
    int64_t at;    // wall ms of its newest dated word; 0: none
    unsigned seq;  // of its newest numbered word
    bool numbered; //
    bool forget;   // its controller came online again: an older one is a restarted sender's
};

struct rules_sensor {
    int64_t heard; // mono ms that its newest good word counts from; 0: never
    int64_t since; // mono ms since which it says isolated without a gap; 0: it does not
    struct rules_order order;
    int64_t live_at; // what the last live heard was dated and numbered, 0: not so
    unsigned live_seq;
    bool lived, live_kept; // by itself, or by the broker's store
    int64_t contradicted;  // mono ms at which a live came that its date made bad; 0: it is not so
    uint8_t word;          // enum model_point_state
    bool bad;
    bool kept;                // it says live, by a word of the broker's store
    bool itself;              // a word came by itself since we subscribed
    unsigned distrusted_by;   // bits of people
    int64_t distrusted_until; // mono ms; 0: it is trusted
};

// The newest word of a measure.
struct rules_measure {
    int64_t heard; // mono ms; 0: never
    struct rules_order order;
    bool bad, outside; // the limits
    int64_t within;    // mono ms since which it is within them without a gap
};

struct rules_tag {
    bool hangs, counts;
    bool reader;  // its last word is the reader's
    bool seen;    // its reader saw this lock
    bool lifted;  // its owner says that it is off: who sees that too ends the listing
    int64_t hung; // mono ms
};

// What one person said of a point.
struct rules_word {
    bool said, overseer;
    int64_t at;
    bool waited;    // it proves nothing
    bool last;      // the speaker was of the last job that required the point and is ended
    unsigned slots; // of the standing jobs in whose crew the speaker was
};

struct rules_point {
    struct rules_tag tags[FORECOURT_PEOPLE + 1][FORECOURT_POSITIONS + 1];
    bool seen[FORECOURT_PEOPLE + 1]; // its reader saw a lock of theirs hung, and not lifted since
    struct rules_order events[FORECOURT_PEOPLE + 1]; // of the reader
    int64_t event_heard[FORECOURT_PEOPLE + 1];
    struct rules_word isolated[FORECOURT_PEOPLE];
    struct rules_word live[FORECOURT_PEOPLE];
    bool live_said;       // the newest word is live
    int64_t live_newest;  // mono ms
    unsigned last_crew;   // of the last job that required it and is ended
    int64_t heard_before; // mono ms, before the restart
    int64_t last_live;    // wall ms at which it last read live, or a late word says it was
    uint8_t reads;        // as such, at the end of the last step
    int64_t left_live; // mono ms of the restart before which it read live, unheard since; 0: not so
    bool spoke;        // it was known since the restart, if only by a late live
    unsigned distrusted_by; // bits of people: its reader is out of order
    int64_t distrusted_until;
};

// A signature of a check, or a record of a test: the last one that is not void.
struct rules_mark {
    bool stands, pass;
    int64_t at;
    int64_t first; // since when it has stood, signed again or not
    unsigned order;
};

// What breaks a lockout: a reason and what it is of, a point or a check.
enum rules_reason {
    RULES_LIVE,
    RULES_DISAGREE,
    RULES_FAILED, // of a check
    RULES_UNKNOWN,
    RULES_TAG,
    RULES_LINK, // of nothing
    RULES_AGED, // of a check
    RULES_REASONS,
};

// The causes of a job's lockout-broken: which hold, and when each was last seen to, since the alarm
// was raised first.
struct rules_causes {
    unsigned hold[RULES_REASONS];
    int64_t last[RULES_REASONS][FORECOURT_POINTS]; // mono ms; 0: not since
    unsigned said; // bits of points of which a late live was said, and nothing is known since
};

// One job, in the slot of its position: only one stands there.
struct rules_job {
    bool stands;
    unsigned number, procedure;
    enum model_phase phase;
    unsigned required; // bits of points
    unsigned crew;     // bits of people
    uint8_t leader, offered;
    int64_t offered_at, opened, entered; // mono ms; entered: the phase
    bool kit, started, set_aside, reworked;
    bool unproven;       // the hold stood before a restart, and is not proved again
    bool confirmed;      // the lockout is, or was before the restart that left it unproven
    bool broken;         // a break, and not confirmed anew since, set aside or reworked
    bool held;           // at the end of the last step
    int64_t held_since;  // mono ms
    int64_t checked_in;  // mono ms of the start or the last check-in
    uint8_t stopped_by;  // who called the newest stop
    unsigned stop_order; // of what was signed before it
    bool paused;         // stopped by its leader's pause
    uint8_t signed_by[FORECOURT_CHECKS];
    bool failed_by_hand[FORECOURT_CHECKS]; // a person's last reading of it was outside
    bool passed_in_hold[FORECOURT_CHECKS]; // it passed since the hold began
    struct rules_mark signed_[FORECOURT_CHECKS];
    unsigned newest_order;                                 // of its signatures, void or not
    unsigned verified[FORECOURT_CHECKS][FORECOURT_PEOPLE]; // order of one's own standing pass
    struct rules_mark tests[FORECOURT_TESTS];
    bool test_failed[FORECOURT_TESTS]; // its last record, void or not
    struct rules_causes causes;
    unsigned raised; // how often its lockout-broken was, by the gate's count
    // Of the step under way.
    enum model_phase before;
    enum model_lockout lockout_before;
    bool held_before;
    int64_t cut;     // the outage for which it was broken; 0: none
    bool must_raise; // its lockout-broken: a cause that is new, or back
    bool may_raise;  // a cause of which the contract does not say
};

struct rules_position {
    bool in_service;
    unsigned untested; // bits of the positions whose work left it so
    unsigned owed;     // bits of procedures
    bool failed;       // a test that takes the dispenser out failed here, and has not passed since
    bool was_in;       // before the step under way
};

struct rules {
    const struct forecourt *forecourt;
    struct gate_time now;
    bool up[GATE_CONNECTION_COUNT], unheard;
    bool journal, contested;
    int64_t outage;  // mono ms since which nothing proves the durable connection; 0: it is proved
    int64_t newest;  // wall ms: the newest time that was written
    int64_t stepped; // mono ms at which our clock was last set by much; 0: never
    int64_t wrong_since; // mono ms since which it is wrong, or behind; 0: it is right
    bool wrong_behind;
    enum gate_controller controller;
    unsigned order;
    unsigned untold; // bits of people whose lock was removed and who have not confirmed it
    struct rules_sensor sensors[FORECOURT_SENSORS];
    struct rules_measure measures[FORECOURT_MEASURES];
    struct rules_point points[FORECOURT_POINTS];
    struct rules_job jobs[FORECOURT_POSITIONS];
    struct rules_position positions[FORECOURT_POSITIONS];
    uint8_t used[RULES_JOBS_MAX / 8]; // job numbers ever used
    const struct step *step;          // under way
    const char *lacks;                // why the request under way is to be refused; NULL: it is not
    bool undecided;                   // the contract leaves it open
    bool idle;                        // what it would do stands already
    int lone;                         // the code that is to be given alone; -1: none
    bool told_any;
    char wrong[240]; // the first violation; "": none
};

// An account of a forecourt on which nothing was heard and nothing stands.
void rules_new(struct rules *rules, const struct forecourt *forecourt, struct gate_time now);
// What comes before the gate is told of a step: the evidence as the input makes it. After a span of
// time without words it is enough to call it with the step and the later `now`.
void rules_before(struct rules *rules, const struct step *step, const struct gate *gate,
                  struct gate_time now);
// A fact that the gate told in this step.
void rules_fact(struct rules *rules, const struct gate_fact *fact);
// The end of the step. answer: of a request, else NULL. False: something is wrong, and
// rules->wrong says what.
bool rules_after(struct rules *rules, const struct gate *gate, const struct gate_answer *answer);

// --- Between the files of the rules ---

void rules_fail(struct rules *rules, const char *format, ...) __attribute__((format(printf, 2, 3)));

// Sensors, measures, controllers: rules_hear.c.
void rules_hear(struct rules *rules, const struct step *step);
void rules_hear_measure(struct rules *rules, const struct step *step);
void rules_hear_controller(struct rules *rules, bool online);
bool rules_fresh(const struct rules *rules, uint32_t sensor);   // heard within its limit, not bad
bool rules_trusted(const struct rules *rules, uint32_t sensor); // nobody said it is out of order
// Whether an event of a sender is older than its newest (below 0), a copy of it (0) or newer; now
// or, where stale, as a restarted sender's.
int rules_order_of(const struct rules_order *newest, bool stale, int64_t at, unsigned seq);
void rules_order_note(struct rules_order *newest, int64_t at, unsigned seq);
// Whether a measure speaks of a position; whether its word is of now and readable.
bool rules_measures(const struct rules *rules, unsigned measure, unsigned position);
bool rules_measured_now(const struct rules *rules, unsigned measure);

// What a point is: rules_points.c.
// The point as such, or as a job may rely on it (slot of the job; RULES_NO_SLOT: as such).
enum model_point_state rules_reads(const struct rules *rules, uint32_t point, unsigned slot);
bool rules_says(const struct rules *rules, uint32_t sensor, enum model_point_state state); // fresh
bool rules_disagrees(const struct rules *rules, uint32_t point);
bool rules_isolated(const struct rules *rules, uint32_t point, unsigned slot); // and settled
// Live and trusted: for the return of a job (its slot), or for service (RULES_NO_SLOT).
bool rules_proved_live(const struct rules *rules, uint32_t point, unsigned slot);
bool rules_sensed(const struct rules *rules, uint32_t point); // a sensor of it counts
bool rules_online(const struct rules *rules, uint32_t point);
unsigned rules_distrusters(const struct rules *rules, uint32_t point); // bits of people
bool rules_word_standing(const struct rules *rules, uint32_t point);   // somebody's
void rules_say(struct rules *rules, uint32_t point, unsigned person, bool live, bool waited);
// That a sensor is out of order is over: its time came, it says live, or it was said so.
void rules_trust_again(struct rules *rules, uint32_t sensor);

// Locks: rules_locks.c.
bool rules_protected(const struct rules *rules, const struct rules_job *job, unsigned person);
bool rules_tagged(const struct rules *rules, unsigned slot); // a tag of the job hangs
bool rules_hangs_here(const struct rules *rules, uint32_t point, unsigned person); // of any job
void rules_hang_tag(struct rules *rules, struct rules_job *job, uint32_t point, unsigned who);
void rules_lift_tag(struct rules *rules, struct rules_job *job, uint32_t point, unsigned who);
void rules_end_tags(struct rules *rules, uint32_t point, unsigned who); // every tag of somebody
void rules_adopt_locks(struct rules *rules, struct rules_job *job, unsigned who);
void rules_read_lock(struct rules *rules, const struct step *step);
void rules_doubt_reader(struct rules *rules, uint32_t point);

// Checks: rules_checks.c.
const struct model_requirements *rules_needs(const struct rules *rules,
                                             const struct rules_job *job);
bool rules_check_stands(const struct rules *rules, const struct rules_job *job, size_t check);
bool rules_check_aged(const struct rules *rules, const struct rules_job *job, size_t check);
bool rules_group_stands(const struct rules *rules, const struct rules_job *job,
                        enum model_group group);
bool rules_in_season(const struct rules *rules, const struct rules_job *job, size_t check,
                     unsigned signer);
bool rules_made_safe(const struct rules *rules, const struct rules_job *job, unsigned signer,
                     bool *whether);
void rules_void(struct rules *rules, struct rules_job *job, enum model_group group);
void rules_void_tests(struct rules *rules, struct rules_job *job);
void rules_void_older_verify(struct rules *rules, struct rules_job *job);
// Whether a failure of that check breaks, as things are.
bool rules_failure_breaks(const struct rules *rules, const struct rules_job *job, size_t check);
// Takes a signature over, with what it voids and breaks.
void rules_sign(struct rules *rules, struct rules_job *job, size_t check, unsigned by, bool pass);

// What holds and what breaks: rules_break.c.
// A word of live at `at` (mono ms; 0: now) on a point: tags, holds and signatures that it ends.
// came: its sensor says so now, however old its date, and no newer word contradicts it.
void rules_live(struct rules *rules, uint32_t point, int64_t at, bool came);
// Breaks a lockout by a cause that came now: of a point or a check.
void rules_break(struct rules *rules, struct rules_job *job, enum rules_reason reason, unsigned of);
void rules_enter(struct rules *rules, struct rules_job *job, enum model_phase phase);
// Ends what a hold that is gone ends, and breaks what is to be broken, for every job.
void rules_settle(struct rules *rules);
// The least age at which a required point with sensors is stale; INT64_MAX: there is none.
int64_t rules_least_age(const struct rules *rules, const struct rules_job *job);
// The required points isolated, settled and tagged by the leader.
bool rules_points_held(const struct rules *rules, const struct rules_job *job);
enum model_lockout rules_lockout(const struct rules_job *job);

// The gates of the contract, section 5: rules_gates.c. NULL: it holds; else what is lacking.
bool rules_qualified(const struct rules *rules, unsigned person);
bool rules_shares(const struct rules *rules, unsigned a, unsigned b); // slots of two jobs
bool rules_shared_in(const struct rules *rules, const struct rules_job *job, unsigned phases);
bool rules_alarm_unseen(const struct rules_job *job, const struct gate *gate);
bool rules_link(const struct rules *rules); // both connections, and every topic
bool rules_clock_right(const struct rules *rules);
const char *rules_daemon_lacks(const struct rules *rules);
const char *rules_start_lacks(const struct rules *rules, const struct rules_job *job,
                              const struct gate *gate);
const char *rules_finish_lacks(const struct rules *rules, const struct rules_job *job);
const char *rules_test_lacks(const struct rules *rules, const struct rules_job *job,
                             const struct gate *gate);
const char *rules_return_lacks(const struct rules *rules, const struct rules_job *job,
                               const struct gate *gate);
const char *rules_accept_lacks(const struct rules *rules, const struct rules_job *job,
                               unsigned person);

// Requests: rules_ask.c. Whether the request under way is to be refused, and how.
void rules_ask(struct rules *rules, const struct gate *gate);

void rules_do(struct rules *rules); // what the one under way does, as it was accepted: rules_do.c

// Held against the gate's state: rules_compare.c.
void rules_compare(struct rules *rules, const struct gate *gate);

// Positions: rules_service.c.
bool rules_held_out(const struct rules *rules, unsigned position);
bool rules_may_return(const struct rules *rules, unsigned position);
// A position that a failed test elsewhere on its dispenser, or on itself, keeps out.
bool rules_failed(const struct rules *rules, unsigned position);

struct rules_job *rules_job_named(struct rules *rules, const char *job); // NULL: none stands
unsigned rules_person(const struct rules *rules, const char *person);    // or RULES_NOBODY
