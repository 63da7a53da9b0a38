// What is answered from the journal's whole past of a site: downtime, a timeline, the record of a
// job.
//
// A thread of its own reads, with a handle of its own, and writes the answer's text, so that years
// of a busy journal never hold up the loop. One is read at a time, a few wait; over that it is 503.
#pragma once

#include "http/internal.h"
#include "report/source.h"

// An answer as the thread made it.
struct http_journal_answer {
    int status;          // 200, else detail says why not
    const char *type;    // of the content; not freed
    const char *detail;  // of a problem document; not freed
    struct json_out out; // the text; freed by whom the query was submitted to
};

// What one kind of query does with the journal. The model may be read in the thread, the gate and
// anything else of the daemon not.
struct http_journal_kind {
    // In the thread: reads the source and writes the answer, which is 200 and application/json
    // unless this changes it. False: the journal cannot be read, or memory ran out.
    bool (*read)(void *state, const struct report_source *source,
                 struct http_journal_answer *answer);
    // Frees what the state holds, and it.
    void (*free)(void *state);
};

// Submits a query: its answer follows, from the loop. The state is the query's from now on, also
// when there is no room and the call is answered at once. kind must stay (a constant).
void http_journal_submit(struct http_call *call, const struct http_journal_kind *kind, void *state);
