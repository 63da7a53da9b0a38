// Timelines; see timeline.h.
#include "report/timeline.h"

#include "base/time_text.h"
#include "gate/fact/row.h"
#include "report/downtime.h"
#include "wire/tell_member.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// --- What a position is ---

static enum report_span_state state_of(enum model_phase phase) {
    switch (phase) {
    case MODEL_PHASE_WORKING:
        return REPORT_SPAN_WORKING;
    case MODEL_PHASE_STOPPED:
        return REPORT_SPAN_STOPPED;
    case MODEL_PHASE_TESTING:
        return REPORT_SPAN_TESTING;
    default:
        return REPORT_SPAN_OUT;
    }
}

static struct report_view view_of(const struct report_place *place) {
    struct report_view view = {.state = REPORT_SPAN_IN_SERVICE, .cause = MODEL_CAUSE_NONE};
    const char *job = place->with;
    if (place->in) {
        return view;
    }
    if (place->job[0] != '\0') {
        view.state = state_of(place->phase);
        view.cause = MODEL_CAUSE_JOB;
        job = place->job;
    } else {
        view.state = REPORT_SPAN_OUT;
        view.cause = place->started ? MODEL_CAUSE_UNTESTED : place->cause;
    }
    snprintf(view.job, sizeof view.job, "%s", job);
    return view;
}

static bool same_view(const struct report_view *a, const struct report_view *b) {
    return a->state == b->state && a->cause == b->cause && strcmp(a->job, b->job) == 0;
}

// --- Spans ---

static struct report_span *span_new(struct report_timeline *timeline) {
    if (timeline->count == REPORT_SPANS_MOST) {
        timeline->failed = timeline->too_many = true;
        return NULL;
    }
    if (timeline->count == timeline->capacity) {
        size_t capacity = timeline->capacity == 0 ? 64 : timeline->capacity * 2;
        struct report_span *grown = realloc(timeline->spans, capacity * sizeof *timeline->spans);
        if (grown == NULL) {
            timeline->failed = true;
            return NULL;
        }
        timeline->spans = grown;
        timeline->capacity = capacity;
    }
    return &timeline->spans[timeline->count++];
}

static void close_span(struct report_timeline *timeline, uint32_t position, int64_t until) {
    const struct report_place *place = &timeline->places[position];
    int64_t from = place->since > timeline->from ? place->since : timeline->from;
    int64_t to = until < timeline->to ? until : timeline->to;
    struct report_span *span = from < to ? span_new(timeline) : NULL;
    if (span != NULL) {
        *span = (struct report_span){position, from, to, until >= timeline->to, place->view};
    }
}

// What is said of the place changed at that time, or did not.
static void turn(struct report_timeline *timeline, uint32_t position, int64_t at) {
    struct report_place *place = &timeline->places[position];
    struct report_view view = view_of(place);
    if (!same_view(&view, &place->view)) {
        close_span(timeline, position, at);
        place->view = view;
        place->since = at;
    }
}

bool report_timeline_begin(struct report_timeline *timeline, int64_t created) {
    uint32_t count = timeline->site->position_count;
    timeline->places = calloc(count + 1, sizeof *timeline->places);
    timeline->newest = created;
    for (uint32_t i = 0; timeline->places != NULL && i < count; i++) {
        timeline->places[i] = (struct report_place){
            .cause = MODEL_CAUSE_UNKNOWN,
            .since = INT64_MIN,
            .view = {.state = REPORT_SPAN_UNKNOWN, .cause = MODEL_CAUSE_NONE}};
        turn(timeline, i, created);
    }
    return timeline->places != NULL && !timeline->failed;
}

// --- Facts ---

static void go_out(struct report_timeline *timeline, struct report_place *place) {
    const struct json_tape *tape = &timeline->tape;
    place->in = false;
    place->cause = report_downtime_cause(tape);
    json_copy(tape, json_present(tape, json_root(tape), "with"), place->with, sizeof place->with);
}

// A fact of the job by what the gate needs of it to lead it from phase to phase.
static struct gate_fact bare(const struct report_timeline *timeline,
                             const struct report_place *place, enum gate_fact_type type,
                             const struct report_row *row) {
    return (struct gate_fact){.type = type,
                              .site = REPORT_FOLD_SITE,
                              .at = {row->at_ms, row->mono_ms},
                              .job = place->job,
                              .position =
                                  timeline->site->positions[place - timeline->places].position};
}

// Phases ask for no requirements, and so the job is folded without any: years of openings are not
// read for them.
static void open_job(struct report_timeline *timeline, struct report_place *place,
                     const struct report_row *row) {
    static const struct model model;
    static const struct model_site site;
    static const struct model_requirements none = {.procedure = "", .title = ""};
    const struct json_tape *tape = &timeline->tape;
    bool named =
        json_copy(tape, json_present(tape, json_root(tape), "job"), place->job, sizeof place->job);
    struct gate_fact opened = bare(timeline, place, GATE_FACT_JOB_OPENED, row);
    opened.requirements = &none;
    report_fold_free(&place->fold);
    timeline->failed |= !named || !report_fold_open(&place->fold, &model, &site, &opened);
    place->phase = MODEL_PHASE_OPEN;
}

// What went out for its own job is not held by it any more; what holds it then, no fact says.
static void end_job(struct report_place *place, bool returned) {
    place->job[0] = '\0';
    place->started = place->started && !returned;
    if (place->cause == MODEL_CAUSE_JOB) {
        place->cause = MODEL_CAUSE_UNKNOWN;
    }
}

// Whether a fact needs nothing but its job to be folded. One that asks for more (a person, a check)
// leads to no other phase.
static bool of_job_alone(enum gate_fact_type type) {
    const struct gate_fact_row *row = gate_fact_row(type);
    return row != NULL && row->about == GATE_ABOUT_JOB && type != GATE_FACT_JOB_OPENED &&
           (row->needs & ~GATE_HAS(job)) == 0 && row->needs_one_of == 0;
}

static bool says_phase(enum gate_fact_type type) {
    return of_job_alone(type) && (gate_fact_row(type)->carries & GATE_HAS(phase)) != 0;
}

// The phase that the fact itself says, where it leads to one of several.
static void read_phase(const struct json_tape *tape, struct gate_fact *fact) {
    const struct json_node *node = json_present(tape, json_root(tape), "phase");
    for (int phase = 0; phase < MODEL_PHASE_COUNT; phase++) {
        if (json_equals(tape, node, model_phase_name((enum model_phase)phase))) {
            fact->has_phase = true;
            fact->phase = (enum model_phase)phase;
        }
    }
}

// False: no job stands there.
static bool follow_job(struct report_timeline *timeline, struct report_place *place,
                       enum gate_fact_type type, const struct report_row *row) {
    struct gate_fact fact = bare(timeline, place, type, row);
    if (place->job[0] == '\0') {
        return false;
    }
    if (says_phase(type)) {
        read_phase(&timeline->tape, &fact);
    }
    if (!report_fold_apply(&place->fold, &fact)) {
        timeline->failed = true;
        return false;
    }
    const struct gate_job *job = report_fold_job(&place->fold);
    place->phase = job->phase;
    place->started |= job->started;
    if (!gate_job_stands(job)) {
        end_job(place, job->phase == MODEL_PHASE_RETURNED);
    }
    return true;
}

static void come_back(struct report_place *place) {
    place->in = true;
    place->started = false;
    place->with[0] = '\0';
}

// False: a fact that changes nothing here.
static bool apply(struct report_timeline *timeline, struct report_place *place,
                  enum gate_fact_type type, const struct report_row *row) {
    switch (type) {
    case GATE_FACT_POSITION_OUT_OF_SERVICE:
        go_out(timeline, place);
        return true;
    case GATE_FACT_POSITION_RETURNED:
        come_back(place);
        return true;
    case GATE_FACT_JOB_OPENED:
        open_job(timeline, place, row);
        return true;
    default:
        return of_job_alone(type) && follow_job(timeline, place, type, row);
    }
}

static bool needs_data(enum gate_fact_type type) {
    return type == GATE_FACT_POSITION_OUT_OF_SERVICE || type == GATE_FACT_JOB_OPENED ||
           says_phase(type);
}

bool report_timeline_take(struct report_timeline *timeline, const struct report_row *row) {
    int64_t at = row->at_ms;
    if (at >= timeline->to || timeline->failed) {
        return false;
    }
    int fact = gate_fact_of(row->type);
    uint32_t position = model_position_find(timeline->site, row->subject);
    timeline->newest = at > timeline->newest ? at : timeline->newest;
    if (position == MODEL_NONE) {
        return true; // of no position, or of one that is no longer configured
    }
    if (fact < 0) {
        return true; // of a type that this version does not know
    }
    enum gate_fact_type type = (enum gate_fact_type)fact;
    if (needs_data(type) &&
        !json_scan(&timeline->tape, row->data, row->data_length, &json_config_limits, NULL)) {
        timeline->failed = true;
        return false;
    }
    if (apply(timeline, &timeline->places[position], type, row)) {
        turn(timeline, position, timeline->newest);
    }
    return !timeline->failed;
}

// --- The end ---

static int by_position(const void *a, const void *b) {
    const struct report_span *x = a, *y = b;
    if (x->position != y->position) {
        return x->position < y->position ? -1 : 1;
    }
    return (x->from > y->from) - (x->from < y->from);
}

// What was otherwise for no time at all is one span.
static void join_spans(struct report_timeline *timeline) {
    size_t kept = 0;
    for (size_t i = 0; i < timeline->count; i++) {
        struct report_span *last = kept > 0 ? &timeline->spans[kept - 1] : NULL;
        struct report_span *span = &timeline->spans[i];
        if (last != NULL && last->position == span->position && last->to == span->from &&
            same_view(&last->view, &span->view)) {
            last->to = span->to;
            last->ongoing = span->ongoing;
        } else {
            timeline->spans[kept++] = *span;
        }
    }
    timeline->count = kept;
}

void report_timeline_end(struct report_timeline *timeline) {
    for (uint32_t i = 0; i < timeline->site->position_count; i++) {
        close_span(timeline, i, timeline->to);
    }
    if (timeline->count > 1) {
        qsort(timeline->spans, timeline->count, sizeof *timeline->spans, by_position);
        join_spans(timeline);
    }
}

static bool on_row(void *user, const struct report_row *row) {
    return report_timeline_take(user, row);
}

bool report_timeline_read(struct report_timeline *timeline, const struct report_source *source) {
    if (!report_timeline_begin(timeline, source->created) ||
        !source->each(source->user, timeline->site->site, on_row, timeline)) {
        return false;
    }
    report_timeline_end(timeline);
    return !timeline->failed;
}

void report_timeline_free(struct report_timeline *timeline) {
    for (uint32_t i = 0; timeline->places != NULL && i < timeline->site->position_count; i++) {
        report_fold_free(&timeline->places[i].fold);
    }
    free(timeline->places);
    free(timeline->spans);
    json_tape_free(&timeline->tape);
}

// --- Telling ---

const char *report_span_state_name(enum report_span_state state) {
    static const char *const names[REPORT_SPAN_STATE_COUNT] = {"unknown", "in-service", "out",
                                                               "working", "stopped",    "testing"};
    return names[state];
}

static void write_span(struct json_out *out, const struct report_span *span) {
    json_out_object(out);
    wire_time(out, "from", span->from);
    wire_time(out, "to", span->to);
    wire_flag(out, "ongoing", span->ongoing);
    wire_text(out, "state", report_span_state_name(span->view.state));
    wire_text(out, "job", span->view.job);
    wire_text(out, "cause", model_cause_name(span->view.cause)); // of none, null
    json_out_object_end(out);
}

void report_timeline_json(const struct report_timeline *timeline, struct json_out *out) {
    size_t next = 0;
    json_out_object(out);
    wire_text(out, "site", timeline->site->site);
    wire_time(out, "from", timeline->from);
    wire_time(out, "to", timeline->to);
    wire_list(out, "positions");
    for (uint32_t i = 0; i < timeline->site->position_count; i++) {
        json_out_object(out);
        wire_text(out, "position", timeline->site->positions[i].position);
        wire_list(out, "spans");
        for (; next < timeline->count && timeline->spans[next].position == i; next++) {
            write_span(out, &timeline->spans[next]);
        }
        json_out_array_end(out);
        json_out_object_end(out);
    }
    json_out_array_end(out);
    json_out_object_end(out);
}

// Ids, times and numbers hold nothing that would need quotes.
void report_timeline_csv(const struct report_timeline *timeline, struct json_out *out) {
    char text[512], from[BASE_TIME_SIZE], to[BASE_TIME_SIZE];
    report_csv_line(out, "position,from,to,seconds,ongoing,state,job,cause\r\n");
    for (size_t i = 0; i < timeline->count; i++) {
        const struct report_span *span = &timeline->spans[i];
        const char *cause = model_cause_name(span->view.cause);
        int64_t ms = span->to - span->from;
        base_time_format(span->from, from);
        base_time_format(span->to, to);
        snprintf(text, sizeof text, "%s,%s,%s,%lld.%03d,%s,%s,%s,%s\r\n",
                 timeline->site->positions[span->position].position, from, to,
                 (long long)(ms / 1000), (int)(ms % 1000), span->ongoing ? "true" : "false",
                 report_span_state_name(span->view.state), span->view.job,
                 cause != NULL ? cause : "");
        report_csv_line(out, text);
    }
}
