// A fact: one thing that happened, decided by the gate, kept by the journal, applied to the state.
//
// One flat record serves every type; a field that a type does not use is NULL, zero or "has_"
// false. Pointers are borrowed and good for the call that passes the fact, no longer.
#pragma once

#include "gate/fact/list.h"
#include "gate/refusal.h"
#include "model/model.h"
#include "model/result.h"
#include "model/words.h"

// One instant: wall clock (Unix ms, for people and documents) and the daemon's own monotonic time
// (ms, never steps back, goes on over restarts: every age and period is counted on it). The
// machine's monotonic time, which starts anew with the machine, is base_time's mono_ms.
struct gate_time {
    int64_t wall;
    int64_t mono;
};

// What a decision stood on: a point as it was known at that moment.
struct gate_evidence {
    const char *point;
    enum model_point_state state;
    enum model_trust trust;
    int64_t heard;   // wall ms of the oldest reading or statement it rests on; 0: never
    bool distrusted; // a sensor of it was said to be out of order
};

// What a ledger of fuel comes to, in its unit (gate/fuel.h).
struct gate_fuel_sum {
    double drawn, returned, kept;
    double unaccounted; // drawn less returned less kept; below 0: more went than was drawn
    double tolerance;   // what a meter may err by on what was drawn
    char unit[8];       // "gal" or "L"
    bool accounted;
};

// The same of one product.
struct gate_fuel_of {
    char product[MODEL_ID_SIZE];
    struct gate_fuel_sum sum;
};

struct gate_fact {
    enum gate_fact_type type;
    uint32_t site;            // index in the model; MODEL_NONE: the whole daemon, or missing_site
    const char *missing_site; // replay only: the site's id where the configuration lacks it
    struct gate_time at;

    const char *job;
    const char *position;
    const char *point;
    const char *person; // whom it is about (whose tag, who joined, who signed, technician)
    const char *by;     // who asked for it; NULL: the gate by itself, or hardware
    const char *verb;   // of a refused request
    const char *procedure;
    const char *kit_family;
    const char *part;
    const char *defect;
    const char *note;
    const char *reason;
    const char *check;
    const char *test;
    const char *unit;
    const char *instrument;
    const char *badge;
    const char *to;   // who is offered, or takes, the lead
    const char *with; // the other job that holds a position out
    const char *alarm;
    const char *subject;     // alarm.raised: the sensor, connection, topic, person or webhook
    const char *sensor;      // sensor.distrusted, sensor.trusted: which, or
    const char *reader_of;   // the point whose reader it is
    const char *trusted_why; // sensor.trusted: why by itself, "live" or "ended"
    const char *say;
    const char *boot;                 // random per start of the daemon
    const char *version;              // of the daemon
    const char *text;                 // fault.reported
    const char *url, *sha256, *title; // evidence.attached

    const char *product, *tank;        // fuel.recorded
    const char *family, *serial, *due; // part.fitted
    const char *spill, *reference;     // spill.recorded, spill.reported
    bool has_quantity;
    double quantity;
    bool sheen;
    int64_t cleaned;    // spill.recorded: wall ms at which it was cleaned up
    int64_t fitted;     // part.listed: wall ms at which it was fitted; 0: at `at`
    int64_t report_due; // the same: by when it is to be reported, where it is
    bool has_drawn, has_returned, has_kept, has_totalizer_before, has_totalizer_after;
    double drawn, returned, kept, totalizer_before, totalizer_after;
    const struct gate_fuel_sum *sum; // fuel.recorded: the product's, with this
    const struct gate_fuel_of *fuel; // job.returned: of each product that was recorded
    size_t fuel_count;

    bool has_value;
    double value;
    bool has_reading;
    double reading; // check.signed: what was given, where value is computed from it
    const char *reading_unit;
    bool has_pass;
    bool pass;
    bool has_counts; // tag.hung
    bool counts;
    bool has_overseer; // point.witnessed: said by a manager or supervisor
    bool overseer;
    bool takes_dispenser; // test.recorded: failed, and takes the dispenser out of service by it
    bool absent;    // tag.lifted: removed by a supervisor for an absent owner (1910.147(e)(3))
    bool listed;    // tag.lifted: its reader still sees the lock, which stays listed
    bool seen_off;  // tag.lifted: what the reader still saw was seen to be off
    bool untold;    // tag.lifted: its owner is to be told, and to confirm it
    bool reader;    // tag.hung, tag.lifted: reported by a reader
    bool adopted;   // tag.hung: a lock that hung there without a job becomes one of this job
    bool pause;     // work.stopped: who leads lets it rest
    bool made_safe; // work.set-aside: every leave check stood, and stands on
    bool beside;    // point.witnessed: live said beside a word of live, which stands as it did
    bool waited;    // point.witnessed: what was said came late
    bool has_state;
    enum model_point_state state; // point.changed, point.witnessed
    bool has_trust;
    enum model_trust trust;
    bool has_lockout;
    enum model_lockout lockout; // what it becomes
    bool has_phase;
    enum model_phase phase; // what it becomes
    bool has_why;
    enum model_code why; // of a break, a stop, an alarm
    bool has_kind;
    enum model_alarm_kind kind;
    bool has_alarm_state;
    enum model_alarm_state alarm_state; // what it becomes
    bool has_cause;
    enum model_cause cause;
    uint32_t count;   // alarm.raised: the how manieth time; 0: not told
    int64_t hung;     // tag.hung: wall ms at which the reader saw it; 0: at `at`
    int64_t until;    // of what will soon be over: wall ms at which it is
    int64_t expected; // job.expected: wall ms at which the position is to be back
    uint32_t moved;   // the same: how often that was said anew

    const char *const *jobs; // point.witnessed: the jobs in whose crew the speaker was
    size_t job_count;
    const char *const *points; // told.confirmed: the points whose locks it was
    size_t point_count;
    const struct model_requirements *requirements; // job.opened
    const struct model_result *result;             // test.recorded
    const struct gate_refusal *args;               // alarm.raised: what `say` is made of
    const struct gate_refusal *refusals;           // *.refused
    size_t refusal_count;
    const struct gate_evidence *evidence;
    size_t evidence_count;
};
