// The site's rows, the daemon's starts among them by their numbers.
#include "report/records.h"

#include "base/array.h"

#include <stdlib.h>
#include <string.h>

// A row of a start of the daemon, kept until its turn comes.
struct start {
    struct report_row row;
    uint8_t hash[REPORT_HASH_SIZE];
    char *data;
};

struct reading {
    const struct report_source *source;
    struct report_question *question;
    struct report_records records;
    struct report_context context;
    struct start *starts;
    size_t start_count, start_capacity, next_start;
    bool no_memory;
};

static bool on_daemon_row(void *user, const struct report_row *row) {
    struct reading *reading = user;
    if (gate_fact_of(row->type) != GATE_FACT_DAEMON_STARTED) {
        return true;
    }
    char *data = strdup(row->data);
    if (data == NULL ||
        !BASE_ARRAY_ROOM(reading->starts, reading->start_count, reading->start_capacity)) {
        free(data);
        reading->no_memory = true;
        return false;
    }
    struct start *start = &reading->starts[reading->start_count++];
    *start = (struct start){.row = *row, .data = data};
    memcpy(start->hash, row->hash, sizeof start->hash);
    return true;
}

static bool take_starts(struct reading *reading, int64_t before) {
    while (reading->next_start < reading->start_count &&
           reading->starts[reading->next_start].row.seq < before) {
        struct start *start = &reading->starts[reading->next_start++];
        start->row.type = gate_fact_name(GATE_FACT_DAEMON_STARTED);
        start->row.subject = "";
        start->row.data = start->data;
        start->row.hash = start->hash;
        if (!report_records_take(&reading->records, &start->row)) {
            return false;
        }
    }
    return true;
}

static bool on_site_row(void *user, const struct report_row *row) {
    struct reading *reading = user;
    return take_starts(reading, row->seq) && report_records_take(&reading->records, row);
}

static bool on_record(void *user, const struct report_record *record) {
    struct reading *reading = user;
    return reading->question->hook(reading->question->user, record, &reading->context);
}

// Before it is told: for the one job, whether the chain from its opening to the head is whole.
struct seek {
    const char *job;
    struct json_tape tape;
    int64_t seq;
};

static bool on_row_seek(void *user, const struct report_row *row) {
    struct seek *seek = user;
    if (gate_fact_of(row->type) == GATE_FACT_JOB_OPENED &&
        json_scan(&seek->tape, row->data, row->data_length, &json_config_limits, NULL) &&
        json_equals(&seek->tape, json_present(&seek->tape, json_root(&seek->tape), "job"),
                    seek->job)) {
        seek->seq = row->seq;
    }
    return seek->seq == 0;
}

static enum report_status prove(struct reading *reading) {
    const struct report_source *source = reading->source;
    struct seek seek = {.job = reading->question->job};
    bool read = source->each(source->user, reading->question->site->site, on_row_seek, &seek);
    json_tape_free(&seek.tape);
    if (read && seek.seq == 0) {
        return REPORT_NONE;
    }
    reading->context.verified = read && source->prove(source->user, seek.seq);
    return reading->context.verified ? REPORT_DONE : REPORT_FAILED;
}

static bool read_rows(struct reading *reading) {
    const struct report_source *source = reading->source;
    struct report_records *records = &reading->records;
    if (!source->each(source->user, "", on_daemon_row, reading) ||
        (!reading->no_memory &&
         !source->each(source->user, reading->question->site->site, on_site_row, reading))) {
        return false;
    }
    if (!reading->no_memory && !records->failed && !records->ended) {
        take_starts(reading, INT64_MAX);
        report_records_end(records);
    }
    return true;
}

static enum report_status failed(struct report_question *question, const char *why) {
    snprintf(question->why, sizeof question->why, "%s", why);
    return REPORT_FAILED;
}

static enum report_status read_all(struct reading *reading) {
    const struct report_source *source = reading->source;
    struct report_question *question = reading->question;
    enum report_status status = question->job != NULL ? prove(reading) : REPORT_DONE;
    if (status == REPORT_NONE) {
        failed(question, "There is no such job.");
        return REPORT_NONE;
    }
    if (status != REPORT_DONE || !read_rows(reading)) {
        return failed(question, source->why(source->user));
    }
    if (reading->no_memory) {
        return failed(question, "out of memory");
    }
    return reading->records.failed ? failed(question, reading->records.what) : REPORT_DONE;
}

enum report_status report_records_read(const struct report_source *source,
                                       struct report_question *question) {
    struct reading reading = {
        .source = source,
        .question = question,
        .records = {.model = question->model,
                    .site = question->site,
                    .created = source->created,
                    .job = question->job,
                    .from = question->from,
                    .to = question->to,
                    .brief = question->brief,
                    .hook = on_record},
        .context = {.now = question->now,
                    .version = question->version,
                    .instance = source->instance,
                    .head_seq = source->head_seq,
                    .head_hash = source->head_hash},
    };
    reading.records.user = &reading;
    enum report_status status = report_records_begin(&reading.records)
                                    ? read_all(&reading)
                                    : failed(question, "out of memory");
    for (size_t i = 0; i < reading.start_count; i++) {
        free(reading.starts[i].data);
    }
    free(reading.starts);
    report_records_free(&reading.records);
    return status;
}
