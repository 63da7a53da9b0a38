// The state of the gate: what the journal's facts make of the model (folded), and what was heard
// from the hardware since the daemon came up (hearing, never in the journal).
//
// Read by the folders that tell; changed by gate_apply (the folded part) and by hear.c (the
// hearing) alone. Arrays grow; a pointer into one is good until the next fact.
#pragma once

#include "gate/day.h"
#include "gate/fact.h"

// One person's lock and tag on one point for one job; or a reader's lock that belongs to no job
// yet.
struct gate_tag {
    char person[MODEL_ID_SIZE]; // "": an unknown badge
    char badge[MODEL_ID_SIZE];  // as read, any text; "": hung by a request
    char job[MODEL_ID_SIZE];    // "": of no job, it protects nobody
    struct gate_time since;     // hung, or hung again
    bool counts;
    enum model_code doubt; // why it does not count, where it does not
    bool reader;           // its last word is a reader's
    bool seen;             // its reader has seen the lock hung, and not seen it go
    bool lifted; // its owner says that it is off, and its reader has not seen that: of no job
};

// Somebody whose lock was removed while they were absent, and who has not confirmed to know it.
struct gate_untold {
    char person[MODEL_ID_SIZE];
    char point[MODEL_ID_SIZE];
};

// One person's statement that a point without sensor is isolated, or live.
struct gate_statement {
    char person[MODEL_ID_SIZE];
    struct gate_time at;
    bool overseer;               // a manager or supervisor: counts for every job
    bool warned;                 // it was told that it ages
    char (*jobs)[MODEL_ID_SIZE]; // the jobs in whose crew the person was when it was said
    size_t job_count;
};

// A sensor, or the reader of a point, of which a supervisor says that it is out of order.
struct gate_distrust {
    uint32_t sensor; // index; MODEL_NONE: the reader
    char by[MODEL_ID_SIZE];
    char *reason;           // owned
    struct gate_time since; // as this person last said it
    struct gate_time until; // the same of all who say it of one sensor
};

struct gate_point {
    enum model_point_state state;
    enum model_trust trust;
    struct gate_time since;
    struct gate_tag *tags;
    size_t tag_count, tag_capacity;
    struct gate_statement *statements; // that it is isolated
    size_t statement_count, statement_capacity;
    // That it is live: the first ends those above; their own end is one of isolated, or age.
    struct gate_statement *live_statements;
    size_t live_statement_count, live_statement_capacity;
    struct gate_time last_live; // when it last read live (0: never)
    struct gate_distrust *distrusts;
    size_t distrust_count, distrust_capacity;
    // What it was before a restart, while it has said nothing since; UNKNOWN: nothing is waited
    // for.
    enum model_point_state awaited;
};

// A test that failed on a position, and the job on which it did.
struct gate_failed {
    char test[MODEL_TEST_SIZE];
    char rule[32]; // another rule under the same id does not make it good
    char job[MODEL_ID_SIZE];
};

// That a part of a kind was fitted at a position.
struct gate_fitting {
    char part[MODEL_ID_SIZE];
    int64_t at; // wall ms
};

struct gate_position {
    enum model_service service;
    struct gate_time since;  // of the service state
    uint32_t *untested_from; // positions whose work left this one untested, indexes
    size_t untested_count, untested_capacity;
    // Tests that a cancelled job left to do here; NULL: none. Owned.
    struct model_requirements *owed;
    char owed_by[MODEL_ID_SIZE]; // that job
    bool left_unsafe;            // it ended without what it left half done being made safe
    struct gate_part *hangs;     // what hangs there, each kind once
    size_t hang_count, hang_capacity;
    struct gate_fitting *fittings; // of the last days (part.h)
    size_t fitting_count, fitting_capacity;
    // Failed here and not passed since: tests that take the whole dispenser out of service.
    struct gate_failed *failed;
    size_t failed_count, failed_capacity;
};

struct gate_member {
    char person[MODEL_ID_SIZE];
    struct gate_time joined;
    uint64_t joined_order; // in the job's own count of facts
    bool protected;        // a counting tag on every required point
};

struct gate_signature {
    char check[MODEL_ID_SIZE];
    char by[MODEL_ID_SIZE];
    struct gate_time at;
    uint64_t order;
    enum model_group group;
    bool pass;
    bool void_;  // no longer stands, by a fact that came after it
    bool warned; // it was told that its valid_s will soon be over
    bool has_value;
    double value;
    char unit[32];
    bool has_reading; // value was computed from what was read, in its own unit
    double reading;
    char reading_unit[32];
    char instrument[MODEL_ID_SIZE];
};

struct gate_test_record {
    char test[MODEL_TEST_SIZE];
    char by[MODEL_ID_SIZE];
    struct gate_time at;
    bool has_value;
    double value; // of averaged runs the mean so far
    bool pass;
    bool void_;
    unsigned run, runs; // the how manieth of how many runs; runs 0: it stands alone
    double reading;     // this run's own value
    bool waits;         // borderline: no verdict until as many runs are done
    char instrument[MODEL_ID_SIZE];
};

// Whether the isolation is held: every required point isolated, settled and under a counting tag of
// the leader.
enum gate_isolation {
    GATE_ISOLATION_NONE,
    GATE_ISOLATION_HELD,
    GATE_ISOLATION_UNPROVEN, // held before a restart, to be heard again
};

// What broke a lockout, until it is proved anew or the job left its cabinet.
struct gate_cause {
    enum model_code why;
    uint32_t point;            // or MODEL_NONE
    char check[MODEL_ID_SIZE]; // or ""
    bool held;                 // it has not ended by what was folded since
    bool said;                 // live was said, and did not become the point's state
    struct gate_time last;     // when it came last, or ended since
    uint64_t came;             // the job's count of facts when it came last
};

// The newest stop that was called on a job.
struct gate_stop {
    char by[MODEL_ID_SIZE]; // ""; none was
    struct gate_time at;
    uint64_t order;  // in the job's own count of facts: what is signed later was signed since
    uint64_t reason; // gate_text_mark of it: enough to tell whether it is said again; 0: none
};

struct gate_job {
    char job[MODEL_ID_SIZE];
    uint32_t position;
    char leader[MODEL_ID_SIZE]; // "": not assigned
    enum model_phase phase;
    enum model_lockout lockout;
    enum gate_isolation isolation;
    struct gate_time isolation_since;   // since it was last held: what is read after it counts
    uint64_t isolation_order;           // when that hold began, in the job's own count of facts
    struct model_requirements *opening; // as they were when it was opened. Owned.
    struct model_requirements *needs;   // the stricter of those and today's. Owned.
    uint32_t *required;                 // indexes of points
    size_t required_count;
    char kit_family[MODEL_ID_SIZE];
    char part[MODEL_ID_SIZE];
    struct gate_member *crew; // the leader included
    size_t crew_count, crew_capacity;
    char offered[MODEL_ID_SIZE]; // to whom the lead is offered; ""
    struct gate_time offered_at;
    struct gate_time opened;
    struct gate_time since; // of the phase
    struct gate_time ended;
    uint64_t order; // facts applied to this job
    struct gate_stop stop;
    struct gate_time checked_in; // when who leads last said that all is well; 0: never
    char
        paused_by[MODEL_ID_SIZE]; // who let the work rest, until it goes on or a stop is called; ""
    bool started;                 // work was started on it
    bool set_aside;               // and not started again since
    unsigned rework;
    struct gate_signature *signatures; // all, oldest first; the last of a check counts
    size_t signature_count, signature_capacity;
    struct gate_test_record *tests; // the same of tests
    size_t test_count, test_capacity;
    struct gate_cause *causes; // of its broken lockout
    size_t cause_count, cause_capacity;
    struct gate_day day; // the day around the repair
    // Hearing, no part of the folded state: by check of `needs`, the mono ms at which a measure
    // last came back within its limits; 0: none did since the daemon came up. Owned.
    int64_t *within;
    struct gate_time broke;        // when its lockout was last broken; 0: never
    struct gate_time outage_broke; // when it was last broken for the link; 0: never
    // No part of the folded state: the same as it was when the daemon came up.
    struct gate_time broke_before;
    bool outage_told; // no part either: that was the outage that went on over a restart
};

// Room for a topic under the root.
#define GATE_SUBJECT_SIZE 192

struct gate_alarm {
    char alarm[MODEL_ID_SIZE];
    enum model_alarm_kind kind;
    enum model_alarm_state state;
    char job[MODEL_ID_SIZE];         // or ""
    char point[MODEL_ID_SIZE];       // or ""
    char subject[GATE_SUBJECT_SIZE]; // the sensor, connection, topic, person or webhook; or ""
    char by[MODEL_ID_SIZE];          // who did what it stands for; or ""
    uint32_t position;               // or MODEL_NONE
    enum model_code why;
    bool has_why;
    char say[240];
    struct gate_refusal told;  // what `say` is made of; of a journal of before no sentence
    uint32_t count;            // how often it was raised
    struct gate_time raised;   // the last time
    struct gate_time came;     // when its cause last came: after raised, where it was away a moment
    struct gate_time returned; // when its cause last went; 0: it never did
};

// --- Hearing: volatile ---

// What the newest reading of a sender carried, to tell the next one's order by.
struct gate_mark {
    int64_t at; // wall ms of the newest reading that carried a time; 0: none did
    uint64_t seq;
    bool has_seq;
    bool forget; // its controller came online again: a lower seq or an earlier time is taken
};

// A sender's clock beside ours.
struct gate_clock {
    int64_t agreed; // mono ms since which its words have agreed again; 0: they do not yet
    bool skewed;    // it disagrees, or has not agreed for long enough
};

// What the last live heard of a sensor carried, and what it lacked. A mark is gathered from several
// words; this is of one.
struct gate_last_live {
    int64_t at; // wall ms, where it had a time
    uint64_t seq;
    bool has_at, has_seq; // neither: it has no copy, for nothing tells it from another
    bool retained;        // the broker kept it: it did not come by itself
};

struct gate_sensor {
    int64_t heard; // mono ms the newest reading counts from; 0: never heard
    int64_t
        isolated_since; // mono ms since which it has said isolated without a gap; 0: it does not
    struct gate_mark mark;
    uint8_t state; // enum model_point_state of the newest good reading
    bool bad;  // of bad quality, dated ahead, unreadable or contradicted, until a newer good one
    bool kept; // it says live by what the broker kept alone
    uint32_t spoke; // the subscription (gate->subscription) in which it last spoke by itself
    struct gate_clock clock;
    struct gate_last_live last_live; // by it a copy of it is known
    // Mono ms at which a live came that its date keeps from being the state; 0: none since that is.
    int64_t contradicted;
};

// The newest reading of a measure.
struct gate_measure {
    int64_t heard; // mono ms it counts from; 0: never heard since the start or its controller's
    struct gate_mark mark;
    int64_t since; // mono ms since which it is heard, and good, without a gap
    double value;  // in the measure's unit
    bool bad;      // of bad quality, dated ahead or unreadable, until a newer good reading
    struct gate_clock clock;
};

enum gate_controller {
    GATE_CONTROLLER_NEVER,
    GATE_CONTROLLER_ONLINE,
    GATE_CONTROLLER_OFFLINE,
};

// Marks of a reader's events, per point and person (or badge).
struct gate_reader_mark {
    char who[MODEL_ID_SIZE];
    bool known;    // it is a person
    int64_t heard; // mono ms of the newest event
    struct gate_mark mark;
};

struct gate_point_hearing {
    int64_t heard_before; // mono ms at which it was last heard before the restart; 0: not known
    int64_t said_live;    // wall ms of the newest live that did not become its state; 0: none
    struct gate_reader_mark *marks;
    size_t mark_count, mark_capacity;
};

// A spill that is not reported.
struct gate_spill {
    char spill[MODEL_ID_SIZE];
    uint32_t position; // or MODEL_NONE
    char product[MODEL_ID_SIZE], by[MODEL_ID_SIZE];
    double quantity; // in unit
    char unit[8];
    double gallons;
    bool sheen;
    int64_t cleaned;     // wall ms; 0: not yet
    struct gate_time at; // first recorded
};

// A job id once used; its job, while that is remembered. An empty id is a free slot.
struct gate_used {
    char job[MODEL_ID_SIZE];
    struct gate_job *ref;
};

// The connections to the broker: requests and readers' events come by the durable one, what the
// hardware says by the live one.
enum gate_connection { GATE_DURABLE, GATE_LIVE, GATE_CONNECTION_COUNT };

// What the journal knows and the configuration lacks: a standing job or a hanging tag.
struct gate_lacking {
    char site[MODEL_ID_SIZE];
    char job[MODEL_ID_SIZE];
    char what[MODEL_ID_SIZE]; // the position or point; "" for the site
    char who[MODEL_ID_SIZE];  // a tag's owner; "" for a job
};

struct gate_site {
    const struct model_site *model;
    // Folded.
    struct gate_point *points;       // as in the model
    struct gate_position *positions; // as in the model
    struct gate_job **jobs;          // standing first opened first, then ended ones until forgotten
    size_t job_count, job_capacity;
    struct gate_alarm *alarms; // those that stand
    size_t alarm_count, alarm_capacity;
    uint64_t alarms_raised;    // names the next one
    struct gate_spill *spills; // not reported, in the order in which they were recorded
    size_t spill_count, spill_capacity;
    uint64_t spills_recorded; // names the next one
    struct gate_untold *untold;
    size_t untold_count, untold_capacity;
    struct gate_used *used; // every job id ever used: an open hash
    size_t used_count, used_capacity;
    // Hearing.
    struct gate_sensor *sensors;        // as in the model
    struct gate_measure *measures;      // as in the model
    enum gate_controller *controllers;  // as in the model
    struct gate_point_hearing *hearing; // as the points
    size_t clock_skew_count;
    size_t unheard; // topics on which the broker delivers nothing
    bool contested;
    int64_t contest_awaited; // mono ms until which a claim of before a restart may be renewed; 0
    int64_t deadline;        // mono ms at which something here changes by time alone; INT64_MAX
    uint64_t changes;        // facts applied: a document may differ when this has moved
};

// Why the daemon's wall clock may be wrong; the last is the worst.
enum gate_own_clock_fault {
    GATE_OWN_CLOCK_RIGHT,
    GATE_OWN_CLOCK_SET,    // a moment ago, by more than a clock is corrected
    GATE_OWN_CLOCK_BEHIND, // the journal has times that are still to come
};

// The daemon's own wall clock (own_clock.h). Volatile: the journal says which time was its newest.
struct gate_own_clock {
    int64_t newest;    // the newest time that the journal vouches for, wall ms; 0: none
    int64_t offset;    // by how much the wall clock was past the other,
    int64_t offset_at; // mono ms at which that was so
    int64_t stepped;   // mono ms at which it was last seen to be set
    bool looked, was_set;
    enum gate_own_clock_fault told; // what the sites' alarms were held to last
};

struct gate {
    const struct model *model;
    struct gate_site *sites; // as in the model
    struct gate_lacking *lacking;
    size_t lacking_count, lacking_capacity;
    struct gate_evidence *evidence; // scratch of the fact being made
    size_t evidence_capacity;
    uint32_t subscription; // counts those of signals: what came by itself is told from what is kept
    bool connected[GATE_CONNECTION_COUNT];
    bool link_up;   // both are up
    int64_t outage; // mono ms since which nothing proves the durable one; 0: it is proved
    bool journal_up;
    struct gate_own_clock clock;
    uint64_t
        changes; // reviews and facts everywhere: nothing is new, nor due earlier, while it stands
    bool broken_memory; // an allocation failed inside apply: the state can no longer be trusted
    void (*fact)(void *user, const struct gate_fact *fact);
    void *user;
};

// Whether a job still stands.
static inline bool gate_job_stands(const struct gate_job *job) {
    return job->phase != MODEL_PHASE_RETURNED && job->phase != MODEL_PHASE_CANCELLED;
}

void gate_job_free(struct gate_job *job); // with all that it owns

// A job by its id, standing or not; NULL if there is none (or it is forgotten).
struct gate_job *gate_job_find(const struct gate_site *site, const char *job);
// The job that stands on a position, or NULL.
struct gate_job *gate_job_on(const struct gate_site *site, uint32_t position);
struct gate_alarm *gate_alarm_find(const struct gate_site *site, const char *alarm);
// The signature of a check that counts (the last), or NULL.
const struct gate_signature *gate_signature_of(const struct gate_job *job, const char *check);
const struct gate_test_record *gate_test_of(const struct gate_job *job, const char *test);
// Whether the job's last record of a test failed, void or not; a borderline run is no verdict.
bool gate_test_failed_last(const struct gate_job *job, const char *test);
const struct gate_member *gate_member_of(const struct gate_job *job, const char *person);
const struct model_check *gate_check_of(const struct gate_job *job, const char *check);
// Whether the valid_s of its check has gone by.
bool gate_signature_lapsed(const struct gate_job *job, const struct gate_signature *signature,
                           struct gate_time now);
// One that has lapsed, or was made void by a fact.
bool gate_signature_void(const struct gate_job *job, const struct gate_signature *signature,
                         struct gate_time now);
// Wall ms until which it stands; 0: without end.
int64_t gate_signature_until(const struct gate_job *job, const struct gate_signature *signature);
// The same of a test's record, by the definition that the job's return asks for (owed ones too).
int64_t gate_test_valid_ms(const struct gate_site *site, const struct gate_job *job,
                           const char *test);
bool gate_test_void(const struct gate_site *site, const struct gate_job *job,
                    const struct gate_test_record *record, struct gate_time now);
int64_t gate_test_until(const struct gate_site *site, const struct gate_job *job,
                        const struct gate_test_record *record);
// Why a position is out of service, and with which job ("" for none). NONE: nothing holds it out.
enum model_cause gate_position_cause(const struct gate *gate, const struct gate_site *site,
                                     uint32_t position, char with[MODEL_ID_SIZE]);
// Wall ms of the oldest reading or statement a point's state rests on; 0: never heard.
int64_t gate_point_heard(const struct gate *gate, const struct gate_site *site, uint32_t point,
                         struct gate_time now);
// The job's tests and those its position still owes, one list. Owned by the caller (free). NULL: no
// memory.
struct model_requirements *gate_tests_of(const struct gate_site *site, const struct gate_job *job);
