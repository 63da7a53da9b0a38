// The desk for what is answered from the journal's whole past of a site: downtime, a timeline, the
// record of a job.
//
// A thread of its own reads, with a handle of its own, and writes the answer's text, so that years
// of a busy journal never hold up the loop. One is read at a time, a few wait; over that it is 503.
#pragma once

#include "http/internal.h"

// An answer as the thread made it.
struct http_desk_answer {
    int status;          // 200, else detail says why not
    const char *type;    // of the content; not freed
    const char *detail;  // of a problem document; not freed
    struct json_out out; // the text; the desk frees it
};

// What one kind of question does with the journal. The model may be read in the thread, the gate
// and anything else of the daemon not.
struct http_desk_kind {
    // In the thread: before the first row, with the time at which the journal was made (Unix ms).
    // May be NULL. False: no memory.
    bool (*begin)(void *state, int64_t created);
    // In the thread: a fact of the site, in order. False ends the reading, which is no error.
    bool (*take)(void *state, const struct journal_row *row);
    // In the thread: reads the journal in its own way, in place of begin and take, which are NULL
    // then. NULL for a reading of the site's facts. False: it cannot be read.
    bool (*read)(void *state, struct journal *journal, struct http_desk_answer *answer);
    // In the thread: writes the answer, which is 200 and application/json unless this changes it.
    // What failed before (no memory, a fact that cannot be read) is told here.
    void (*tell)(void *state, struct http_desk_answer *answer);
    // Frees what the state holds, and it.
    void (*free)(void *state);
};

// In tell: whether the reading failed, and if so the problem is told. too_many: since there was too
// much of it.
bool http_desk_failed(struct http_desk_answer *answer, bool failed, bool too_many);

// Takes a question to the desk: its answer follows, from the loop. The state is the desk's from now
// on, also when there is no room and the call is answered at once. kind must stay (a constant).
void http_desk_put(struct http_call *call, const struct http_desk_kind *kind, void *state);

enum http_format { HTTP_FORMAT_JSON, HTTP_FORMAT_CSV, HTTP_FORMAT_TEXT };
// The format that is asked for: `?format=json|csv|text` (a link cannot set headers), else `Accept:
// text/csv` or `text/plain`, else JSON. False: another is asked for by name, and the problem is
// told.
bool http_desk_format(struct http_call *call, enum http_format *format);

// The period of `?from=…&to=…` in Unix ms: `to` is now if it is absent or ahead, `from` 30 days
// before `to` if it is absent. False: it is none, and the problem is told.
bool http_desk_period(struct http_call *call, int64_t *from, int64_t *to);
