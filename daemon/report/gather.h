// Records out of a journal: which rows are read, in which order, and how far they are proved.
#pragma once

#include "journal/journal.h"
#include "report/record.h"

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
                 const struct report_context *telling);
    void *user;
    char why[512]; // what went wrong, one sentence
};

// Reads the journal. NONE: there is no such job at the site. Otherwise as the journal's own, with
// `why`.
enum journal_status report_gather(struct journal *journal, struct report_question *question);
