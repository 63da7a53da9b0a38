// The record of a job: what a repair's file has to hold, computed from the journal's facts.
//
// It holds what the rules that were read ask for, and more: who, with what, when, under whose
// locks, what was measured against which limit, every refusal and every stop. It is made from facts
// in their order; nothing is guessed, and what is not known is said to be so.
//
// A record closes when its job has ended, its position is back in service (or another job stands on
// it), no alarm of the job stands and no lock of it hangs. What is asked about the job after that
// is in the journal and not in the record, so that a closed one never changes.
#pragma once

#include "report/fold.h"
#include "report/source.h"
#include "wire/fact_codec.h"

#include <stdio.h>

// A fact of the job, or one that touches it.
struct report_entry {
    int64_t seq;
    const struct gate_fact *fact; // lies in the record's arena; its site is REPORT_FOLD_SITE
    // Of a crew.unprotected: nobody's hands could be inside by then, since the work was over, left
    // made safe, or not begun.
    bool orderly;
};

// Why something that was signed no longer stands.
struct report_void {
    int64_t seq; // of the fact that voided it; 0: it stands
    int64_t at;  // wall ms
    const char *why;
};

struct report_signature {
    struct report_entry entry;
    const struct model_check *check; // of the requirements at the opening; NULL: not among them
    struct report_void void_;
    bool replaced; // a later signature of the same check counts in its place
};

struct report_test {
    struct report_entry entry;
    const struct model_test *test; // as above
    struct report_void void_;
    bool replaced;
};

// One lock and tag, from its hanging to its end.
struct report_tag {
    const char *point, *person, *badge; // person or badge may be NULL
    const char *job;                    // NULL: of no job
    bool own;                           // of this job
    int64_t hung;                       // wall ms; as the reader told it, if one did
    bool counts;                        // when it was hung
    bool reader, adopted;
    int64_t discounted;         // wall ms at which it stopped counting; 0: it did not
    enum model_code why;        // it stopped counting
    int64_t lifted;             // 0: it hangs
    const char *lifted_by;      // NULL: its owner or the reader
    bool lifted_reader, absent; // absent: removed by a supervisor with the attestation
    const char *reason;         // of an absent removal
};

struct report_phase {
    enum model_phase phase;
    int64_t at, until; // until 0: it is still so
    int64_t seq;
    const char *by; // NULL: the gate by itself
};

struct report_member {
    const char *person;
    int64_t joined, left;  // left 0: in the crew to the end
    uint64_t joined_order; // in the job's own count of facts
    bool led;              // at some time
};

struct report_alarm {
    const char *alarm;
    enum model_alarm_kind kind;
    const char *point, *subject, *why, *say; // as it was raised last
    const char *by;                          // who did what it stands for; NULL
    uint32_t count;                          // how often it was raised
    int64_t raised;                          // first
    int64_t acknowledged;                    // since it was raised last; 0: not
    const char *acknowledged_by, *note;
    int64_t cleared; // 0: its cause stands
    bool gone;
};

struct report_record {
    const struct model *model;
    const struct model_site *site;
    const struct model_position *position; // NULL: no longer configured
    const struct gate_fact *opened;
    const char *leader; // NULL: nobody
    const char *kit_family;
    enum model_phase phase;
    struct gate_time entered; // when it was entered
    int64_t ended;            // wall ms; 0: the job stands
    const char *ended_by, *end_reason;
    // Out of service: since when (perhaps before the job), by what cause, and until when.
    int64_t out_from, out_seq, back_at, back_seq; // 0: not, or not known
    enum model_cause out_cause;
    bool out_unproved;    // out since the journal began: it was never proved live before
    const char *next_job; // opened there before the position was back; NULL: none
    unsigned reworks, set_asides, starts;
    unsigned refusals, stops; // facts, not reasons
    int64_t first_seq, last_seq;
    uint8_t last_hash[REPORT_HASH_SIZE];
    bool closed;

    struct report_entry *entries;
    size_t entry_count, entry_capacity;
    struct report_signature *signatures;
    size_t signature_count, signature_capacity;
    struct report_test *tests;
    size_t test_count, test_capacity;
    struct report_tag *tags;
    size_t tag_count, tag_capacity;
    struct report_phase *phases;
    size_t phase_count, phase_capacity;
    struct report_member *crew;
    size_t crew_count, crew_capacity;
    struct report_alarm *alarms;
    size_t alarm_count, alarm_capacity;
    struct wire_fact_arena arena;
    struct report_fold fold; // the job as the gate has it
    bool failed;             // out of memory
};

// As new, its memory kept where that pays.
void report_record_clear(struct report_record *record);
void report_record_free(struct report_record *record); // NULL is fine

// The record of a test that counts, or the latest one; NULL: it was never recorded.
const struct report_test *report_test_of(const struct report_record *record, const char *test);
// What was answered to a check that stopped the work, at an entry of such a stop; NULL: none did.
const struct report_signature *report_stopping(const struct report_record *record,
                                               const struct report_entry *entry);
// The position's time out of service in ms, up to now if it is not back; -1: not known.
int64_t report_out_ms(const struct report_record *record, int64_t now);
// "returned", "cancelled" or "standing".
const char *report_result_name(const struct report_record *record);

// --- As JSON, as text for people, as a line of a table ---

// What a record is told with, beside itself.
struct report_context {
    int64_t now;          // wall ms: credentials and calibration are as configured then
    const char *version;  // of the program that tells
    const char *instance; // the journal's owner
    int64_t head_seq;     // the end of the journal then
    const uint8_t *head_hash;
    bool verified; // the chain of hashes was proved from the job's opening to the head
};

// The cautions that every record ends with; NULL past the last.
const char *report_caution(size_t index);
// Everything. json_out holds the error.
void report_record_json(const struct report_record *record, const struct report_context *context,
                        struct json_out *out);
// A printed form of at most 96 columns. What people wrote cannot steer a terminal.
void report_record_text(const struct report_record *record, const struct report_context *context,
                        FILE *out);
// The names of the columns, and a record's line; lines end as RFC 4180 has it.
void report_record_csv_head(FILE *out);
void report_record_csv(const struct report_record *record, const struct report_context *context,
                       FILE *out);
// 64 hex digits and a NUL.
void report_hash_text(const uint8_t hash[REPORT_HASH_SIZE], char text[2 * REPORT_HASH_SIZE + 1]);
