// The records of a site: those of the jobs of a period, or that of one job.
#pragma once

#include "report/record.h"

// --- Asked of a journal ---

enum report_status {
    REPORT_DONE,
    REPORT_NONE,   // there is no such job at the site
    REPORT_FAILED, // it cannot be read, or no memory
};

struct report_question {
    const struct model *model;
    const struct model_site *site;
    const char *job;  // this one, the chain proved from its opening on; NULL: those of the period
    int64_t from, to; // wall ms
    bool brief;       // for lines of a table alone
    int64_t now;
    const char *version;
    // Told of each record; false ends the reading.
    bool (*hook)(void *user, const struct report_record *record,
                 const struct report_context *context);
    void *user;
    char why[512]; // what went wrong, one sentence
};

// Reads the source. Unless it is done, `why` says why.
enum report_status report_records_read(const struct report_source *source,
                                       struct report_question *question);

// --- Of rows that are handed in ---

// Called with each record, once: when it closes, or at the end with those that have not. It may
// read the record during the call only. False ends the reading.
typedef bool report_hook(void *user, const struct report_record *record);

// What is wanted of a site's facts. Set the first part, zero the rest; end with
// report_records_free.
struct report_records {
    const struct model *model;
    const struct model_site *site;
    int64_t created;  // wall ms at which the journal was made
    const char *job;  // this job alone; NULL: every one that stood in the period
    int64_t from, to; // wall ms: of that period; without a job
    bool brief;       // what a table's line tells is enough: fewer entries are kept
    report_hook *hook;
    void *user;
    // --- private ---
    struct report_record **open;
    size_t open_count, open_capacity;
    struct report_service *places; // the service of each position
    struct report_record *spare;
    struct json_tape tape;
    bool ended;     // the hook wants no more
    char what[160]; // what cannot be read; "" for nothing, or no memory
    bool failed;
};

bool report_records_begin(struct report_records *records); // false: no memory
// The next fact of the site, or a start of the daemon (whose facts have no site), in the journal's
// order. False: it failed (see what), or no more is wanted.
bool report_records_take(struct report_records *records, const struct report_row *row);
// Hands out what has not closed, in the order of opening. False: it failed.
bool report_records_end(struct report_records *records);
void report_records_free(struct report_records *records);
