// What each position was, from one instant to the next: spans made of the journal's facts. Pure.
#pragma once

#include "gate/words.h"
#include "model/model.h"
#include "json/json.h"

enum http_span_state {
    HTTP_SPAN_UNKNOWN, // before the journal was made
    HTTP_SPAN_IN_SERVICE,
    HTTP_SPAN_OUT, // and nobody works or tests on it
    HTTP_SPAN_WORKING,
    HTTP_SPAN_STOPPED,
    HTTP_SPAN_TESTING,
    HTTP_SPAN_STATE_COUNT,
};

// What a position is at an instant.
struct http_view {
    enum http_span_state state;
    enum model_cause cause;  // NONE unless it is out
    char job[MODEL_ID_SIZE]; // its own, or that which holds it out; ""
};

struct http_span {
    uint32_t position; // index
    int64_t from, to;  // Unix ms, cut to the period
    bool ongoing;      // it went on at the period's end
    struct http_view view;
};

// A position as of the facts so far.
struct http_place {
    bool in;
    bool started;             // work was started there and has not ended in a return
    enum model_cause cause;   // why it went out
    char with[MODEL_ID_SIZE]; // the job elsewhere that held it out; ""
    char job[MODEL_ID_SIZE];  // that stands on it; ""
    enum model_phase phase;   // of that job
    int64_t since;            // of the view
    struct http_view view;
};

// Set site, from and to; http_timeline_begin does the rest. End with http_timeline_free.
struct http_timeline {
    const struct model_site *site;
    int64_t from, to; // Unix ms
    int64_t newest;   // of the facts so far: a clock that was set back makes no span go back
    struct http_place *places;
    struct http_span *spans;
    size_t count, capacity;
    struct json_tape tape;
    bool failed;   // no memory, or a fact that cannot be read
    bool too_many; // failed since there are more than HTTP_SPANS_MOST spans
};

#define HTTP_SPANS_MOST 100000

// Every position is unknown before the journal was made (Unix ms), and from then on out until it is
// proved. False: no memory.
bool http_timeline_begin(struct http_timeline *timeline, int64_t created);
// A fact of the site, in order. False: nothing more is needed (it is of after the period), or it
// failed.
bool http_timeline_take(struct http_timeline *timeline, const char *type, int64_t at,
                        const char *subject, const char *data, size_t length);
// Closes the last spans, and puts all in the order of positions and time, without a gap.
void http_timeline_end(struct http_timeline *timeline);
void http_timeline_free(struct http_timeline *timeline);

// "in-service", "out", …
const char *http_span_state_name(enum http_span_state state);
// {"site","from","to","positions":[{"position","spans":[{"from","to","ongoing","state","job",
// "cause"}]}]}
void http_timeline_json(const struct http_timeline *timeline, struct json_out *out);
// position,from,to,seconds,ongoing,state,job,cause with a head, lines ended as RFC 4180 has it.
void http_timeline_csv(const struct http_timeline *timeline, struct json_out *out);
