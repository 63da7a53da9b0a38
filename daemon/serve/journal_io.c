// The journal as the daemon uses it; see journal_io.h.
#include "serve/journal_io.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "loop/work.h"
#include "report/replay.h"

#define PURGE_AT_ONCE 500

struct serve_journal {
    struct journal *journal;
    struct loop_work *writer;
    // While the writer is busy, these are its own.
    const struct turn_commit *commit;
    enum turn_outcome outcome;
    char why[512]; // of an outcome that is not TURN_WRITTEN
};

static struct journal *journal_of(void *user) {
    struct daemon *daemon = user;
    return daemon->journal->journal;
}

static const char *site_name(const struct daemon *daemon, uint32_t site) {
    return site != MODEL_NONE ? daemon->model->sites[site].site : "";
}

// --- Remembered requests ---

bool serve_journal_digest(void *user, const char *text, size_t length, uint8_t digest[32]) {
    (void)user;
    return journal_sha256(text, length, digest);
}

enum turn_found serve_journal_find(void *user, uint32_t site, const char *person, const char *id,
                                   struct turn_answered *found) {
    struct daemon *daemon = user;
    struct journal *journal = journal_of(user);
    struct journal_request request;
    enum journal_status status =
        journal_find_request(journal, site_name(daemon, site), person, id, &request);
    if (status == JOURNAL_NONE) {
        return TURN_NOT_FOUND;
    }
    if (status != JOURNAL_OK) {
        serve_log_error("journal", "%s", journal_why(journal));
        return TURN_UNREADABLE;
    }
    snprintf(found->verb, sizeof found->verb, "%s", request.verb);
    memcpy(found->body, request.body_hash, sizeof found->body);
    found->answer = request.answer;
    found->length = strlen(request.answer);
    return TURN_FOUND;
}

// --- Writing ---

// A text of the batch with a final NUL, which the journal takes.
static const char *text_of(struct json_out *copy, const struct turn_batch *batch, size_t at,
                           size_t length) {
    json_out_reset(copy);
    json_out_raw(copy, batch->text.data + at, length);
    return copy->failed ? NULL : copy->data;
}

static enum journal_status write_records(struct daemon *daemon, struct json_out *copy) {
    const struct turn_batch *batch = &daemon->journal->commit->batch;
    enum journal_status status = JOURNAL_OK;
    for (size_t i = 0; i < batch->record_count && status == JOURNAL_OK; i++) {
        const struct turn_record *record = &batch->records[i];
        struct journal_fact fact = {.at_ms = record->at.wall,
                                    .mono_ms = record->at.mono,
                                    .site = site_name(daemon, record->site),
                                    .type = gate_fact_name(record->type),
                                    .subject = record->subject,
                                    .data = text_of(copy, batch, record->data, record->length)};
        status = fact.data != NULL ? journal_append(daemon->journal->journal, &fact, NULL)
                                   : JOURNAL_MEMORY;
    }
    return status;
}

static enum journal_status write_remembered(struct daemon *daemon, struct json_out *copy) {
    const struct turn_batch *batch = &daemon->journal->commit->batch;
    enum journal_status status = JOURNAL_OK;
    for (size_t i = 0; i < batch->remembered_count && status == JOURNAL_OK; i++) {
        const struct turn_remembered *entry = &batch->remembered[i];
        struct journal_request request = {.site = site_name(daemon, entry->site),
                                          .person = entry->person,
                                          .id = entry->id,
                                          .verb = entry->verb,
                                          .answer =
                                              text_of(copy, batch, entry->answer, entry->length),
                                          .job = "",
                                          .at_ms = entry->at};
        memcpy(request.body_hash, entry->body, 32);
        status = request.answer != NULL ? journal_put_request(daemon->journal->journal, &request)
                                        : JOURNAL_MEMORY;
    }
    return status;
}

static enum journal_status write_heard(struct daemon *daemon) {
    const struct turn_commit *commit = daemon->journal->commit;
    enum journal_status status = JOURNAL_OK;
    for (size_t i = 0; i < commit->heard_count && status == JOURNAL_OK; i++) {
        struct journal_heard entry = {.site = site_name(daemon, commit->heard[i].site),
                                      .point = commit->heard[i].point,
                                      .mono_ms = commit->heard[i].heard};
        status = journal_put_heard(daemon->journal->journal, &entry);
    }
    return status;
}

static enum journal_status attempt(struct daemon *daemon) {
    const struct turn_commit *commit = daemon->journal->commit;
    struct journal *journal = daemon->journal->journal;
    struct json_out copy = {0};
    enum journal_status status = journal_begin(journal);
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
    if (status == JOURNAL_OK) {
        const struct journal_moment moment = {
            .at_ms = commit->at.wall, .mono_ms = commit->at.mono, .newest_ms = commit->newest};
        status = journal_put_moment(journal, &moment);
    }
    if (status == JOURNAL_OK && commit->notes) {
        status = serve_webhooks_write(daemon, journal);
    }
    if (status == JOURNAL_OK) {
        status = journal_set_published(journal, commit->published);
    }
    json_out_free(&copy);
    if (status != JOURNAL_OK) {
        journal_rollback(journal);
        return status;
    }
    return journal_commit(journal);
}

// Writes the commit in one transaction. In the worker thread: it touches the commit, the journal,
// the webhooks' notes and the model, nothing else.
static void run_commit(void *user) {
    struct daemon *daemon = user;
    struct serve_journal *self = daemon->journal;
    enum journal_status status = attempt(daemon);
    self->outcome = TURN_WRITTEN;
    self->why[0] = '\0';
    if (status == JOURNAL_FULL && journal_release_reserve(self->journal) == JOURNAL_OK) {
        self->outcome = TURN_WRITTEN_FROM_RESERVE;
        status = attempt(daemon);
    }
    if (status != JOURNAL_OK) {
        snprintf(self->why, sizeof self->why, "%s", journal_why(self->journal));
        self->outcome =
            status == JOURNAL_FULL || status == JOURNAL_BUSY ? TURN_NOT_WRITTEN : TURN_DISK_LOST;
    }
}

static void on_committed(void *user) {
    struct daemon *daemon = user;
    const struct serve_journal *self = daemon->journal;
    turn_committed(daemon->turn, self->outcome, self->why);
}

void serve_journal_write(void *user, const struct turn_commit *commit) {
    struct daemon *daemon = user;
    daemon->journal->commit = commit;
    loop_work_begin(daemon->journal->writer, run_commit);
}

void serve_journal_wait(void *user) {
    struct daemon *daemon = user;
    loop_work_wait(daemon->journal->writer);
}

void serve_journal_keep_published(struct daemon *daemon) {
    struct journal *journal = daemon->journal->journal;
    if (journal_begin(journal) == JOURNAL_OK &&
        (journal_set_published(journal, turn_published(daemon->turn)) != JOURNAL_OK ||
         journal_commit(journal) != JOURNAL_OK)) {
        serve_log_warn("journal", "%s (events may be told again)", journal_why(journal));
        journal_rollback(journal);
    }
}

bool serve_journal_recover(void *user, int64_t *need, int64_t *found) {
    struct journal *journal = journal_of(user);
    struct journal_room room;
    bool restored = journal_restore_reserve(journal, &room) == JOURNAL_OK;
    *need = room.need;
    *found = room.found;
    return restored && journal_healthy(journal);
}

void serve_journal_idle(struct daemon *daemon) {
    struct journal *journal = daemon->journal->journal;
    int64_t wall = loop_now(daemon->loop).wall_ms;
    int removed = 0;
    if (journal_begin(journal) == JOURNAL_OK) {
        journal_purge_requests(journal, wall - JOURNAL_REQUEST_KEEP_MS, PURGE_AT_ONCE, &removed);
        if (removed == 0) {
            journal_rollback(journal);
        } else if (journal_commit(journal) != JOURNAL_OK) {
            serve_log_warn("journal", "%s", journal_why(journal));
        }
    }
    journal_idle(journal);
}

// --- Opening and folding ---

bool serve_journal_open(struct daemon *daemon) {
    struct journal_error error;
    struct journal_options options = {.path = daemon->model->journal,
                                      .instance = daemon->model->instance,
                                      .mode = JOURNAL_READ_WRITE_CREATE,
                                      .check = JOURNAL_CHECK_QUICK,
                                      .created_ms = loop_now(daemon->loop).wall_ms};
    struct serve_journal *self = calloc(1, sizeof *self);
    daemon->journal = self;
    if (self == NULL) {
        serve_log_error("journal", "out of memory");
        return false;
    }
    self->journal = journal_open(&options, &error);
    if (self->journal == NULL) {
        serve_log_error("journal", "%s: %s", daemon->model->journal, error.say);
        return false;
    }
    self->writer = loop_work_new(daemon->loop, on_committed, daemon);
    if (self->writer == NULL) {
        serve_log_error("journal", "there can be no thread to write");
    }
    return self->writer != NULL;
}

void serve_journal_stop(struct daemon *daemon) {
    if (daemon->journal != NULL) {
        loop_work_free(daemon->journal->writer);
        daemon->journal->writer = NULL;
    }
}

void serve_journal_close(struct daemon *daemon) {
    serve_journal_stop(daemon);
    if (daemon->journal != NULL) {
        journal_close(daemon->journal->journal);
        free(daemon->journal);
        daemon->journal = NULL;
    }
}

bool serve_journal_healthy(const struct daemon *daemon) {
    return journal_healthy(daemon->journal->journal);
}

struct journal *serve_journal_of(const struct daemon *daemon) {
    return daemon->journal->journal;
}

struct fold {
    const struct model *model;
    struct gate *gate;
    struct gate_time now; // of last-heard times
};

static bool fold_row(void *user, const struct journal_row *row) {
    const struct report_row given = journal_report_row(row);
    return report_replay_apply(user, &given);
}

static bool fold_heard(void *user, const struct journal_heard *heard) {
    const struct fold *fold = user;
    const struct model_site *site = model_site_find(fold->model, heard->site);
    uint32_t point = site != NULL ? model_point_find(site, heard->point) : MODEL_NONE;
    if (point != MODEL_NONE) {
        // A journal of before has the wall clock alone.
        int64_t mono = heard->mono_ms != 0 ? heard->mono_ms
                                           : fold->now.mono - (fold->now.wall - heard->wall_ms);
        gate_heard_before(fold->gate, site->index, point, mono, fold->now);
    }
    return true;
}

bool serve_journal_fold(void *user, struct gate *gate, struct turn_journal_end *end) {
    struct daemon *daemon = user;
    struct journal *journal = daemon->journal->journal;
    struct report_replay replay = {.gate = gate, .model = daemon->model};
    struct journal_query query = {.verify = true};
    struct journal_head head = {0};
    struct journal_moment moment = {0};
    enum journal_status status = journal_each(journal, &query, fold_row, &replay);
    report_replay_free(&replay);
    if (replay.what[0] != '\0') {
        serve_log_error("journal", "%s: %s", daemon->model->journal, replay.what);
        return false;
    }
    if (status == JOURNAL_OK) {
        status = journal_last(journal, &head);
    }
    if (status == JOURNAL_OK) {
        status = journal_last_moment(journal, &moment);
    }
    if (status != JOURNAL_OK) {
        serve_log_error("journal", "%s: %s", daemon->model->journal, journal_why(journal));
        return false;
    }
    end->newest_wall = moment.newest_ms;
    end->kept = (struct gate_time){moment.at_ms, moment.mono_ms};
    end->last = (uint64_t)head.seq;
    end->published = (uint64_t)head.published;
    return true;
}

bool serve_journal_fold_heard(void *user, struct gate *gate, struct gate_time now) {
    struct daemon *daemon = user;
    struct journal *journal = daemon->journal->journal;
    struct fold fold = {.model = daemon->model, .gate = gate, .now = now};
    bool read = journal_each_heard(journal, fold_heard, &fold) == JOURNAL_OK;
    if (!read) {
        serve_log_error("journal", "%s", journal_why(journal));
    }
    return read;
}

// --- Reading for events ---

struct reading {
    bool (*each)(void *user, const struct wire_record *record);
    void *user;
};

static bool read_row(void *user, const struct journal_row *row) {
    struct reading *reading = user;
    struct wire_record record = {.seq = (uint64_t)row->seq,
                                 .at = row->at_ms,
                                 .site = row->site[0] != '\0' ? row->site : NULL,
                                 .type = row->type,
                                 .subject = row->subject[0] != '\0' ? row->subject : NULL,
                                 .data = row->data,
                                 .data_length = row->data_length};
    return reading->each(reading->user, &record);
}

void serve_journal_each(void *user, uint64_t from,
                        bool (*each)(void *each_user, const struct wire_record *record),
                        void *each_user) {
    struct reading reading = {each, each_user};
    struct journal_query query = {.from_seq = (int64_t)from};
    journal_each(journal_of(user), &query, read_row, &reading);
}
