// Downtime; see downtime.h.
#include "report/downtime.h"

#include "base/time_text.h"
#include "wire/tell_member.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

bool report_downtime_begin(struct report_downtime *downtime, int64_t created) {
    size_t count = downtime->site->position_count;
    downtime->standings = calloc(count + 1, sizeof *downtime->standings);
    for (size_t i = 0; downtime->standings != NULL && i < count; i++) {
        downtime->standings[i] =
            (struct report_standing){.since = created, .cause = MODEL_CAUSE_UNKNOWN};
    }
    return downtime->standings != NULL;
}

static struct report_interval *interval_new(struct report_downtime *downtime) {
    if (downtime->count == REPORT_INTERVALS_MOST) {
        downtime->failed = downtime->too_many = true;
        return NULL;
    }
    if (downtime->count == downtime->capacity) {
        size_t capacity = downtime->capacity == 0 ? 64 : downtime->capacity * 2;
        struct report_interval *grown =
            realloc(downtime->intervals, capacity * sizeof *downtime->intervals);
        if (grown == NULL) {
            downtime->failed = true;
            return NULL;
        }
        downtime->intervals = grown;
        downtime->capacity = capacity;
    }
    return &downtime->intervals[downtime->count++];
}

// The position was out until then.
static void close_interval(struct report_downtime *downtime, uint32_t position, int64_t until,
                           bool ongoing) {
    const struct report_standing *standing = &downtime->standings[position];
    int64_t from = standing->since > downtime->from ? standing->since : downtime->from;
    int64_t to = until < downtime->to ? until : downtime->to;
    if (from >= to) {
        return;
    }
    struct report_interval *interval = interval_new(downtime);
    if (interval != NULL) {
        *interval = (struct report_interval){.position = position,
                                             .from = from,
                                             .to = to,
                                             .ongoing = ongoing,
                                             .cause = standing->cause};
        snprintf(interval->job, sizeof interval->job, "%s", standing->job);
    }
}

enum model_cause report_downtime_cause(const struct json_tape *tape) {
    const struct json_node *node = json_present(tape, json_root(tape), "cause");
    for (int cause = MODEL_CAUSE_NONE + 1; cause < MODEL_CAUSE_COUNT; cause++) {
        if (json_equals(tape, node, model_cause_name((enum model_cause)cause))) {
            return (enum model_cause)cause;
        }
    }
    return MODEL_CAUSE_UNKNOWN;
}

static void go_out(struct report_downtime *downtime, struct report_standing *standing,
                   const struct report_row *row) {
    const struct json_tape *tape = &downtime->tape;
    if (!json_scan(&downtime->tape, row->data, row->data_length, &json_config_limits, NULL)) {
        downtime->failed = true;
        return;
    }
    const struct json_node *job = json_present(tape, json_root(tape), "job");
    const struct json_node *with = json_present(tape, json_root(tape), "with");
    standing->in = false;
    standing->since = row->at_ms;
    standing->cause = report_downtime_cause(tape);
    json_copy(tape, job != NULL ? job : with, standing->job, sizeof standing->job);
}

static bool is_of_service(int fact) {
    return fact == GATE_FACT_POSITION_OUT_OF_SERVICE || fact == GATE_FACT_POSITION_RETURNED;
}

// One job at a time stands on a position.
static void take_job(struct report_downtime *downtime, struct report_standing *standing, int fact,
                     int64_t at) {
    struct report_repairs *repairs = &downtime->repairs;
    if (fact == GATE_FACT_JOB_OPENED) {
        standing->opened = at;
    } else if (fact == GATE_FACT_JOB_RETURNED && standing->opened != 0 && at >= downtime->from) {
        int64_t took = at > standing->opened ? at - standing->opened : 0;
        repairs->count++;
        repairs->total += took;
        repairs->longest = took > repairs->longest ? took : repairs->longest;
    }
    if (fact == GATE_FACT_JOB_RETURNED || fact == GATE_FACT_JOB_CANCELLED) {
        standing->opened = 0;
    }
}

bool report_downtime_take(struct report_downtime *downtime, const struct report_row *row) {
    int64_t at = row->at_ms;
    int fact = gate_fact_of(row->type);
    if (at >= downtime->to || downtime->failed) {
        return false;
    }
    uint32_t position = model_position_find(downtime->site, row->subject);
    if (position == MODEL_NONE) {
        return true; // of none, or of one that is no longer configured
    }
    struct report_standing *standing = &downtime->standings[position];
    take_job(downtime, standing, fact, at);
    if (!is_of_service(fact)) {
        return true;
    }
    if (!standing->in) {
        close_interval(downtime, position, at, false);
    }
    if (fact == GATE_FACT_POSITION_OUT_OF_SERVICE) {
        go_out(downtime, standing, row);
    } else {
        standing->in = true;
    }
    return !downtime->failed;
}

static int by_position(const void *a, const void *b) {
    const struct report_interval *x = a, *y = b;
    if (x->position != y->position) {
        return x->position < y->position ? -1 : 1;
    }
    return (x->from > y->from) - (x->from < y->from);
}

void report_downtime_end(struct report_downtime *downtime) {
    for (uint32_t i = 0; i < downtime->site->position_count; i++) {
        if (!downtime->standings[i].in) {
            close_interval(downtime, i, downtime->to, true);
        }
    }
    if (downtime->count > 1) {
        qsort(downtime->intervals, downtime->count, sizeof *downtime->intervals, by_position);
    }
}

static bool on_row(void *user, const struct report_row *row) {
    return report_downtime_take(user, row);
}

bool report_downtime_read(struct report_downtime *downtime, const struct report_source *source) {
    if (!report_downtime_begin(downtime, source->created) ||
        !source->each(source->user, downtime->site->site, on_row, downtime)) {
        return false;
    }
    report_downtime_end(downtime);
    return !downtime->failed;
}

void report_downtime_free(struct report_downtime *downtime) {
    free(downtime->standings);
    free(downtime->intervals);
    json_tape_free(&downtime->tape);
}

// --- Telling ---

static int64_t length_of(const struct report_interval *interval) {
    return interval->to - interval->from;
}

static void seconds(struct json_out *out, const char *name, int64_t ms) {
    json_out_key(out, name);
    json_out_double(out, (double)ms / 1000);
}

static void write_interval(struct json_out *out, const struct report_interval *interval) {
    json_out_object(out);
    wire_time(out, "from", interval->from);
    wire_time(out, "to", interval->to);
    wire_flag(out, "ongoing", interval->ongoing);
    seconds(out, "seconds", length_of(interval));
    wire_text(out, "cause", model_cause_name(interval->cause));
    wire_text(out, "job", interval->job);
    json_out_object_end(out);
}

// Writes a position; returns the index of the first interval behind its own.
static size_t write_position(struct json_out *out, const struct report_downtime *downtime,
                             uint32_t position, size_t first) {
    size_t end = first;
    int64_t total = 0;
    for (; end < downtime->count && downtime->intervals[end].position == position; end++) {
        total += length_of(&downtime->intervals[end]);
    }
    json_out_object(out);
    wire_text(out, "position", downtime->site->positions[position].position);
    seconds(out, "out_s", total);
    wire_list(out, "intervals");
    for (size_t i = first; i < end; i++) {
        write_interval(out, &downtime->intervals[i]);
    }
    json_out_array_end(out);
    json_out_object_end(out);
    return end;
}

static void write_totals(struct json_out *out, const struct report_downtime *downtime) {
    int64_t by_cause[MODEL_CAUSE_COUNT] = {0}, all = 0;
    for (size_t i = 0; i < downtime->count; i++) {
        by_cause[downtime->intervals[i].cause] += length_of(&downtime->intervals[i]);
        all += length_of(&downtime->intervals[i]);
    }
    seconds(out, "out_s", all);
    json_out_key(out, "by_cause");
    json_out_object(out);
    for (int cause = MODEL_CAUSE_NONE + 1; cause < MODEL_CAUSE_COUNT; cause++) {
        seconds(out, model_cause_name((enum model_cause)cause), by_cause[cause]);
    }
    json_out_object_end(out);
}

static void write_repairs(struct json_out *out, const struct report_repairs *repairs) {
    json_out_key(out, "repairs");
    json_out_object(out);
    json_out_key(out, "count");
    json_out_int(out, (int64_t)repairs->count);
    json_out_key(out, "mean_s");
    if (repairs->count > 0) {
        int64_t mean = repairs->total / (int64_t)repairs->count; // whole ms
        json_out_double(out, (double)mean / 1000);
    } else {
        json_out_null(out);
    }
    json_out_key(out, "longest_s");
    if (repairs->count > 0) {
        json_out_double(out, (double)repairs->longest / 1000);
    } else {
        json_out_null(out);
    }
    json_out_object_end(out);
}

void report_downtime_json(const struct report_downtime *downtime, struct json_out *out) {
    size_t next = 0;
    json_out_object(out);
    wire_text(out, "site", downtime->site->site);
    wire_time(out, "from", downtime->from);
    wire_time(out, "to", downtime->to);
    wire_list(out, "positions");
    for (uint32_t i = 0; i < downtime->site->position_count; i++) {
        next = write_position(out, downtime, i, next);
    }
    json_out_array_end(out);
    write_totals(out, downtime);
    write_repairs(out, &downtime->repairs);
    json_out_object_end(out);
}

void report_csv_line(struct json_out *out, const char *text) {
    out->comma = false; // lines beside each other, not values
    json_out_raw(out, text, strlen(text));
}

// Ids, times and numbers hold nothing that would need quotes.
void report_downtime_csv(const struct report_downtime *downtime, struct json_out *out) {
    char text[512], from[BASE_TIME_SIZE], to[BASE_TIME_SIZE];
    report_csv_line(out, "position,from,to,seconds,ongoing,cause,job\r\n");
    for (size_t i = 0; i < downtime->count; i++) {
        const struct report_interval *interval = &downtime->intervals[i];
        base_time_format(interval->from, from);
        base_time_format(interval->to, to);
        snprintf(text, sizeof text, "%s,%s,%s,%lld.%03d,%s,%s,%s\r\n",
                 downtime->site->positions[interval->position].position, from, to,
                 (long long)(length_of(interval) / 1000), (int)(length_of(interval) % 1000),
                 interval->ongoing ? "true" : "false", model_cause_name(interval->cause),
                 interval->job);
        report_csv_line(out, text);
    }
}
