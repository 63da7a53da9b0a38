// The journal as the daemon uses it.
#include "serve/book.h"

#include <string.h>

#define PURGE_AT_ONCE 500

static const char *site_name(const struct daemon *daemon, uint32_t site) {
    return site != MODEL_NONE ? daemon->model->sites[site].site : "";
}

// --- Remembered requests ---

bool book_body_hash(struct daemon *daemon, uint8_t body[32]) {
    json_out_reset(&daemon->event);
    return request_canonical(&daemon->request, &daemon->event) &&
           journal_sha256(daemon->event.data, daemon->event.length, body);
}

enum book_found book_request_find(struct daemon *daemon, uint32_t site, const char *person,
                                  const char *id, struct book_request *found) {
    struct journal_request request;
    enum journal_status status =
        journal_find_request(daemon->journal, site_name(daemon, site), person, id, &request);
    if (status == JOURNAL_NONE) {
        return BOOK_NOT_FOUND;
    }
    if (status != JOURNAL_OK) {
        log_error("journal", "%s", journal_why(daemon->journal));
        return BOOK_UNREADABLE;
    }
    snprintf(found->verb, sizeof found->verb, "%s", request.verb);
    memcpy(found->body, request.body_hash, 32);
    found->answer = request.answer;
    found->length = strlen(request.answer);
    return BOOK_FOUND;
}

// --- Writing ---

// A text of the batch with a final NUL, which the journal takes.
static const char *text_of(struct json_out *copy, const struct daemon_batch *batch, size_t at,
                           size_t length) {
    json_out_reset(copy);
    json_out_raw(copy, batch->text.data + at, length);
    return copy->failed ? NULL : copy->data;
}

static enum journal_status write_records(struct daemon *daemon, struct json_out *copy) {
    const struct daemon_batch *batch = &daemon->flight.batch;
    enum journal_status status = JOURNAL_OK;
    for (size_t i = 0; i < batch->record_count && status == JOURNAL_OK; i++) {
        const struct daemon_record *record = &batch->records[i];
        struct journal_fact fact = {.at_ms = record->at.wall,
                                    .elapsed_ms = record->at.line,
                                    .site = site_name(daemon, record->site),
                                    .type = gate_fact_name(record->type),
                                    .subject = record->subject,
                                    .data = text_of(copy, batch, record->data, record->length)};
        status = fact.data != NULL ? journal_append(daemon->journal, &fact, NULL) : JOURNAL_MEMORY;
    }
    return status;
}

static enum journal_status write_remembered(struct daemon *daemon, struct json_out *copy) {
    const struct daemon_batch *batch = &daemon->flight.batch;
    enum journal_status status = JOURNAL_OK;
    for (size_t i = 0; i < batch->remembered_count && status == JOURNAL_OK; i++) {
        const struct daemon_remembered *entry = &batch->remembered[i];
        struct journal_request request = {.site = site_name(daemon, entry->site),
                                          .person = entry->person,
                                          .id = entry->id,
                                          .verb = entry->verb,
                                          .answer =
                                              text_of(copy, batch, entry->answer, entry->length),
                                          .job = "",
                                          .at_ms = entry->at};
        memcpy(request.body_hash, entry->body, 32);
        status = request.answer != NULL ? journal_put_request(daemon->journal, &request)
                                        : JOURNAL_MEMORY;
    }
    return status;
}

static enum journal_status write_heard(struct daemon *daemon) {
    const struct daemon_flight *flight = &daemon->flight;
    enum journal_status status = JOURNAL_OK;
    for (size_t i = 0; i < flight->heard_count && status == JOURNAL_OK; i++) {
        struct journal_heard entry = {.site = site_name(daemon, flight->heard[i].site),
                                      .point = flight->heard[i].point,
                                      .heard_ms = flight->heard[i].heard,
                                      .at_ms = flight->at};
        status = journal_put_heard(daemon->journal, &entry);
    }
    return status;
}

static enum journal_status attempt(struct daemon *daemon) {
    struct json_out copy = {0};
    enum journal_status status = journal_begin(daemon->journal);
    if (status != JOURNAL_OK) {
        return status;
    }
    status = write_records(daemon, &copy);
    if (status == JOURNAL_OK) {
        status = write_remembered(daemon, &copy);
    }
    if (status == JOURNAL_OK) {
        status = write_heard(daemon);
    }
    if (status == JOURNAL_OK && daemon->flight.hooks) {
        status = daemon_hooks_write(daemon);
    }
    if (status == JOURNAL_OK) {
        status = journal_set_told(daemon->journal, daemon->flight.told);
    }
    json_out_free(&copy);
    if (status != JOURNAL_OK) {
        journal_rollback(daemon->journal);
        return status;
    }
    return journal_commit(daemon->journal);
}

void book_write(void *user) {
    struct daemon *daemon = user;
    struct daemon_flight *flight = &daemon->flight;
    enum journal_status status = attempt(daemon);
    flight->result = DAEMON_WRITTEN;
    if (status == JOURNAL_FULL && journal_release_reserve(daemon->journal) == JOURNAL_OK) {
        flight->result = DAEMON_WRITTEN_FROM_RESERVE;
        status = attempt(daemon);
    }
    if (status != JOURNAL_OK) {
        snprintf(flight->why, sizeof flight->why, "%s", journal_why(daemon->journal));
        flight->result =
            status == JOURNAL_FULL || status == JOURNAL_BUSY ? DAEMON_NOT_WRITTEN : DAEMON_FATAL;
    }
}

void book_keep_told(struct daemon *daemon) {
    if (journal_begin(daemon->journal) == JOURNAL_OK &&
        (journal_set_told(daemon->journal, daemon_told_so_far(daemon)) != JOURNAL_OK ||
         journal_commit(daemon->journal) != JOURNAL_OK)) {
        log_warn("journal", "%s (events may be told again)", journal_why(daemon->journal));
        journal_rollback(daemon->journal);
    }
}

bool book_recover(struct daemon *daemon) {
    return journal_restore_reserve(daemon->journal) == JOURNAL_OK &&
           journal_healthy(daemon->journal);
}

void book_idle(struct daemon *daemon) {
    int removed = 0;
    if (journal_begin(daemon->journal) == JOURNAL_OK) {
        journal_purge_requests(daemon->journal, daemon_now(daemon).wall - JOURNAL_REQUEST_KEEP_MS,
                               PURGE_AT_ONCE, &removed);
        if (removed == 0) {
            journal_rollback(daemon->journal);
        } else if (journal_commit(daemon->journal) != JOURNAL_OK) {
            log_warn("journal", "%s", journal_why(daemon->journal));
        }
    }
    journal_idle(daemon->journal);
}

// --- Opening and folding ---

bool book_open(struct daemon *daemon) {
    struct journal_error error;
    struct journal_options options = {.path = daemon->model->journal,
                                      .instance = daemon->model->instance,
                                      .mode = JOURNAL_READ_WRITE_CREATE,
                                      .check = JOURNAL_CHECK_QUICK,
                                      .created_ms = loop_now(daemon->loop).wall_ms};
    daemon->journal = journal_open(&options, &error);
    if (daemon->journal == NULL) {
        log_error("journal", "%s: %s", daemon->model->journal, error.say);
        return false;
    }
    daemon->journal_up = journal_healthy(daemon->journal);
    return true;
}

struct fold {
    struct daemon *daemon;
    struct fact_arena arena;
    struct json_tape tape;
    const struct model_site *site; // of the last fact: facts of one site stand together
    char what[320];
    int64_t seq;
    bool failed;
};

static bool fold_wrong(struct fold *fold, const struct journal_row *row, const char *what) {
    snprintf(fold->what, sizeof fold->what, "fact %lld (%s): %s", (long long)row->seq, row->type,
             what);
    fold->failed = true;
    return false;
}

static uint32_t fold_site(struct fold *fold, const char *site) {
    if (site[0] == '\0') {
        return MODEL_NONE;
    }
    if (fold->site == NULL || strcmp(fold->site->site, site) != 0) {
        fold->site = model_site_find(fold->daemon->model, site);
    }
    return fold->site != NULL ? fold->site->index : MODEL_NONE;
}

static bool fold_row(void *user, const struct journal_row *row) {
    struct fold *fold = user;
    struct json_error error;
    struct gate_fact fact;
    char what[256];
    int type = gate_fact_of(row->type);
    uint32_t site = fold_site(fold, row->site);
    if (type < 0) {
        return fold_wrong(fold, row, "a type that this version does not know");
    }
    fact_arena_reset(&fold->arena);
    if (!json_scan(&fold->tape, row->data, row->data_length, &json_config_limits, &error) ||
        !fact_decode(&fold->tape, json_root(&fold->tape), (enum gate_fact_type)type, site,
                     (struct gate_time){row->at_ms, row->elapsed_ms}, &fold->arena, &fact)) {
        return fold_wrong(fold, row, "data that cannot be read");
    }
    fact.missing_site = site == MODEL_NONE && row->site[0] != '\0' ? row->site : NULL;
    if (!gate_apply(fold->daemon->gate, &fact, what, sizeof what)) {
        return fold_wrong(fold, row, what);
    }
    return true;
}

static bool fold_heard(void *user, const struct journal_heard *heard) {
    struct daemon *daemon = user;
    const struct model_site *site = model_site_find(daemon->model, heard->site);
    uint32_t point = site != NULL ? model_point_find(site, heard->point) : MODEL_NONE;
    if (point != MODEL_NONE) {
        gate_heard_before(daemon->gate, site->index, point, heard->heard_ms, daemon_now(daemon));
    }
    return true;
}

bool book_fold(struct daemon *daemon, int64_t *newest_wall, int64_t *last_line) {
    struct fold fold = {.daemon = daemon};
    struct journal_query query = {.verify = true};
    struct journal_head head = {0};
    enum journal_status status = journal_each(daemon->journal, &query, fold_row, &fold);
    fact_arena_free(&fold.arena);
    json_tape_free(&fold.tape);
    if (fold.failed) {
        log_error("journal", "%s: %s", daemon->model->journal, fold.what);
        return false;
    }
    if (status == JOURNAL_OK) {
        status = journal_last(daemon->journal, &head);
    }
    if (status == JOURNAL_OK) {
        status = journal_newest_ms(daemon->journal, newest_wall);
    }
    if (status != JOURNAL_OK) {
        log_error("journal", "%s: %s", daemon->model->journal, journal_why(daemon->journal));
        return false;
    }
    *last_line = head.elapsed_ms;
    daemon->next_seq = (uint64_t)head.seq + 1;
    if (daemon->next_event == 0) { // not after a commit that failed: what was told is told
        daemon->next_event = (uint64_t)(head.told < head.seq ? head.told : head.seq) + 1;
    }
    return true;
}

bool book_fold_heard(struct daemon *daemon) {
    return journal_each_heard(daemon->journal, fold_heard, daemon) == JOURNAL_OK;
}

// --- Reading for events ---

struct reading {
    bool (*each)(void *user, const struct tell_record *record);
    void *user;
};

static bool read_row(void *user, const struct journal_row *row) {
    struct reading *reading = user;
    struct tell_record record = {.seq = (uint64_t)row->seq,
                                 .at = row->at_ms,
                                 .site = row->site[0] != '\0' ? row->site : NULL,
                                 .type = row->type,
                                 .subject = row->subject[0] != '\0' ? row->subject : NULL,
                                 .data = row->data,
                                 .data_length = row->data_length};
    return reading->each(reading->user, &record);
}

bool book_each(struct daemon *daemon, uint64_t from,
               bool (*each)(void *user, const struct tell_record *record), void *user) {
    struct reading reading = {each, user};
    struct journal_query query = {.from_seq = (int64_t)from};
    return journal_each(daemon->journal, &query, read_row, &reading) == JOURNAL_OK;
}
