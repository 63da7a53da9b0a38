// The site's rows through the index of sites, the daemon's starts among them by their numbers.
#include "report/gather.h"

#include <stdlib.h>
#include <string.h>

struct start {
    int64_t seq, at_ms, elapsed_ms;
    char *data;
    uint8_t hash[REPORT_HASH_SIZE];
};

struct gathering {
    struct report_question *question;
    struct report_records book;
    struct report_context telling;
    struct start *starts;
    size_t start_count, start_capacity, next_start;
    bool failed;
};

static struct report_row row_of(const struct journal_row *row) {
    return (struct report_row){.seq = row->seq,
                               .at_ms = row->at_ms,
                               .elapsed_ms = row->elapsed_ms,
                               .type = row->type,
                               .subject = row->subject,
                               .data = row->data,
                               .data_length = row->data_length,
                               .hash = row->hash};
}

static bool on_daemon_row(void *user, const struct journal_row *row) {
    struct gathering *g = user;
    if (gate_fact_of(row->type) != GATE_FACT_DAEMON_STARTED) {
        return true;
    }
    if (g->start_count == g->start_capacity) {
        size_t capacity = g->start_capacity == 0 ? 64 : g->start_capacity * 2;
        struct start *grown = reallocarray(g->starts, capacity, sizeof *grown);
        if (grown == NULL) {
            return !(g->failed = true);
        }
        g->starts = grown;
        g->start_capacity = capacity;
    }
    struct start *start = &g->starts[g->start_count];
    *start = (struct start){row->seq, row->at_ms, row->elapsed_ms, strdup(row->data), {0}};
    memcpy(start->hash, row->hash, REPORT_HASH_SIZE);
    g->failed = start->data == NULL;
    g->start_count += !g->failed;
    return !g->failed;
}

static bool take_starts(struct gathering *g, int64_t before) {
    while (g->next_start < g->start_count && g->starts[g->next_start].seq < before) {
        const struct start *start = &g->starts[g->next_start++];
        const struct report_row row = {.seq = start->seq,
                                       .at_ms = start->at_ms,
                                       .elapsed_ms = start->elapsed_ms,
                                       .type = gate_fact_name(GATE_FACT_DAEMON_STARTED),
                                       .subject = "",
                                       .data = start->data,
                                       .data_length = strlen(start->data),
                                       .hash = start->hash};
        if (!report_records_take(&g->book, &row)) {
            return false;
        }
    }
    return true;
}

static bool on_site_row(void *user, const struct journal_row *row) {
    struct gathering *g = user;
    const struct report_row taken = row_of(row);
    return take_starts(g, row->seq) && report_records_take(&g->book, &taken);
}

static bool on_record(void *user, const struct report_record *record) {
    struct gathering *g = user;
    return g->question->hook(g->question->user, record, &g->telling);
}

// Before it is told: for the one job, whether the chain from its opening to the head is whole.
struct seek {
    const char *job;
    struct json_tape tape;
    int64_t seq;
};

static bool on_row_seek(void *user, const struct journal_row *row) {
    struct seek *seek = user;
    if (gate_fact_of(row->type) == GATE_FACT_JOB_OPENED &&
        json_scan(&seek->tape, row->data, row->data_length, &json_config_limits, NULL) &&
        json_equals(&seek->tape, json_present(&seek->tape, json_root(&seek->tape), "job"),
                    seek->job)) {
        seek->seq = row->seq;
    }
    return seek->seq == 0;
}

static enum journal_status prove(struct journal *journal, struct gathering *g) {
    struct seek seek = {.job = g->question->job};
    struct journal_query query = {.site = g->question->site->site};
    enum journal_status status = journal_each(journal, &query, on_row_seek, &seek);
    json_tape_free(&seek.tape);
    if (status != JOURNAL_OK || seek.seq == 0) {
        return status == JOURNAL_OK ? JOURNAL_NONE : status;
    }
    struct journal_query chain = {.from_seq = seek.seq, .verify = true};
    status = journal_each(journal, &chain, NULL, NULL);
    g->telling.verified = status == JOURNAL_OK;
    return status;
}

static enum journal_status read_all(struct journal *journal, struct gathering *g) {
    struct journal_query daemon = {.site = ""}, site = {.site = g->question->site->site};
    enum journal_status status = g->question->job != NULL ? prove(journal, g) : JOURNAL_OK;
    if (status == JOURNAL_OK) {
        status = journal_each(journal, &daemon, on_daemon_row, g);
    }
    if (status == JOURNAL_OK && !g->failed) {
        status = journal_each(journal, &site, on_site_row, g);
    }
    if (status == JOURNAL_OK && !g->failed && !g->book.failed && !g->book.ended) {
        take_starts(g, INT64_MAX);
        report_records_end(&g->book);
    }
    return status;
}

static void say(struct report_question *question, const char *why) {
    snprintf(question->why, sizeof question->why, "%s", why);
}

static enum journal_status outcome(struct journal *journal, struct gathering *g,
                                   enum journal_status status) {
    if (status == JOURNAL_NONE || (status == JOURNAL_OK && g->failed)) {
        say(g->question, status == JOURNAL_NONE ? "There is no such job." : "out of memory");
        return status == JOURNAL_NONE ? status : JOURNAL_MEMORY;
    }
    if (status != JOURNAL_OK) {
        say(g->question, journal_why(journal));
        return status;
    }
    if (g->book.failed) {
        say(g->question, g->book.what);
        return JOURNAL_CORRUPT;
    }
    return JOURNAL_OK;
}

enum journal_status report_gather(struct journal *journal, struct report_question *question) {
    struct journal_head head;
    enum journal_status status = journal_last(journal, &head);
    struct gathering g = {
        .question = question,
        .book = {.model = question->model,
                 .site = question->site,
                 .created = journal_created_ms(journal),
                 .job = question->job,
                 .from = question->from,
                 .to = question->to,
                 .brief = question->brief,
                 .hook = on_record},
        .telling = {.now = question->now,
                    .version = question->version,
                    .instance = journal_instance(journal),
                    .head_seq = head.seq,
                    .head_hash = head.hash},
    };
    g.book.user = &g;
    if (status == JOURNAL_OK) {
        g.failed = !report_records_begin(&g.book);
        status = g.failed ? JOURNAL_OK : read_all(journal, &g);
    }
    status = outcome(journal, &g, status);
    for (size_t i = 0; i < g.start_count; i++) {
        free(g.starts[i].data);
    }
    free(g.starts);
    report_records_free(&g.book);
    return status;
}
