// What each position was, from one instant to the next: spans made of the journal's facts. Pure.
#pragma once

#include "gate/fact/list.h"
#include "model/model.h"
#include "model/words.h"
#include "report/fold.h"
#include "report/source.h"
#include "json/json.h"

enum report_span_state {
    REPORT_SPAN_UNKNOWN, // before the journal was made
    REPORT_SPAN_IN_SERVICE,
    REPORT_SPAN_OUT, // and nobody works or tests on it
    REPORT_SPAN_WORKING,
    REPORT_SPAN_STOPPED,
    REPORT_SPAN_TESTING,
    REPORT_SPAN_STATE_COUNT,
};

// What a position is at an instant.
struct report_view {
    enum report_span_state state;
    enum model_cause cause;  // NONE unless it is out
    char job[MODEL_ID_SIZE]; // its own, or that which holds it out; ""
};

struct report_span {
    uint32_t position; // index
    int64_t from, to;  // Unix ms, cut to the period
    bool ongoing;      // it went on at the period's end
    struct report_view view;
};

// A position as of the facts so far.
struct report_place {
    bool in;
    bool started;             // work was started there and has not ended in a return
    struct report_fold fold;  // of the job that stands on it, or the last that did
    enum model_cause cause;   // why it went out
    char with[MODEL_ID_SIZE]; // the job elsewhere that held it out; ""
    char job[MODEL_ID_SIZE];  // that stands on it; ""
    enum model_phase phase;   // of that job
    int64_t since;            // of the view
    struct report_view view;
};

// Set site, from and to; report_timeline_begin does the rest. End with report_timeline_free.
struct report_timeline {
    const struct model_site *site;
    int64_t from, to; // Unix ms
    int64_t newest;   // of the facts so far: a clock that was set back makes no span go back
    struct report_place *places;
    struct report_span *spans;
    size_t count, capacity;
    struct json_tape tape;
    bool failed;   // no memory, or a fact that cannot be read
    bool too_many; // failed since there are more than REPORT_SPANS_MOST spans
};

#define REPORT_SPANS_MOST 100000

// Every position is unknown before the journal was made (Unix ms), and from then on out until it is
// proved. False: no memory.
bool report_timeline_begin(struct report_timeline *timeline, int64_t created);
// A fact of the site, in order. False: nothing more is needed (it is of after the period), or it
// failed.
bool report_timeline_take(struct report_timeline *timeline, const struct report_row *row);
// Closes the last spans, and puts all in the order of positions and time, without a gap.
void report_timeline_end(struct report_timeline *timeline);
void report_timeline_free(struct report_timeline *timeline);
// All of these but the last, over a source. False: it cannot be read, or failed.
bool report_timeline_read(struct report_timeline *timeline, const struct report_source *source);

// "in-service", "out", …
const char *report_span_state_name(enum report_span_state state);
// {"site","from","to","positions":[{"position","spans":[{"from","to","ongoing","state","job",
// "cause"}]}]}
void report_timeline_json(const struct report_timeline *timeline, struct json_out *out);
// position,from,to,seconds,ongoing,state,job,cause with a head, lines ended as RFC 4180 has it.
void report_timeline_csv(const struct report_timeline *timeline, struct json_out *out);
