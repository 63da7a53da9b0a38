// How far each webhook has been delivered: a cursor, and the jobs that are behind it.
#include "journal/internal.h"

static const char cannot_read[] = "cannot be read";
static const char cannot_write[] = "cannot be written";

static enum journal_status put_queue(struct journal *journal, const char *webhook,
                                     const struct journal_webhook_queue *queue) {
    sqlite3_stmt *statement = journal->sql[JOURNAL_SQL_PUT_WEBHOOK_QUEUE];
    journal_bind_text(statement, 1, webhook);
    journal_bind_text(statement, 2, queue->site);
    journal_bind_text(statement, 3, queue->job);
    sqlite3_bind_int64(statement, 4, queue->next);
    sqlite3_bind_int64(statement, 5, queue->attempts);
    sqlite3_bind_int64(statement, 6, queue->next_ms);
    sqlite3_bind_int64(statement, 7, queue->since_ms);
    return journal_step(journal, JOURNAL_SQL_PUT_WEBHOOK_QUEUE, cannot_write);
}

static enum journal_status put_row(struct journal *journal, const struct journal_webhook *webhook) {
    sqlite3_stmt *statement = journal->sql[JOURNAL_SQL_PUT_WEBHOOK];
    journal_bind_text(statement, 1, webhook->webhook);
    sqlite3_bind_int64(statement, 2, webhook->cursor);
    sqlite3_bind_int64(statement, 3, webhook->attempts);
    sqlite3_bind_int64(statement, 4, webhook->next_ms);
    sqlite3_bind_int64(statement, 5, webhook->disabled ? 1 : 0);
    sqlite3_bind_int64(statement, 6, webhook->ok_ms);
    sqlite3_bind_int64(statement, 7, webhook->failed_ms);
    journal_bind_text(statement, 8, webhook->failure);
    return journal_step(journal, JOURNAL_SQL_PUT_WEBHOOK, cannot_write);
}

enum journal_status journal_put_webhook(struct journal *journal,
                                        const struct journal_webhook *webhook,
                                        const struct journal_webhook_queue *queues, size_t count) {
    enum journal_status status = journal_may_write(journal);
    if (status != JOURNAL_OK) {
        return status;
    }
    status = put_row(journal, webhook);
    if (status == JOURNAL_OK) {
        journal_bind_text(journal->sql[JOURNAL_SQL_DROP_WEBHOOK_QUEUES], 1, webhook->webhook);
        status = journal_step(journal, JOURNAL_SQL_DROP_WEBHOOK_QUEUES, cannot_write);
    }
    for (size_t i = 0; i < count && status == JOURNAL_OK; i++) {
        status = put_queue(journal, webhook->webhook, &queues[i]);
    }
    return status == JOURNAL_OK ? JOURNAL_OK : journal_lose(journal, status);
}

static enum journal_status read_row(struct journal *journal, const char *webhook,
                                    journal_webhook_hook hook, void *user) {
    sqlite3_stmt *statement = journal->sql[JOURNAL_SQL_FIND_WEBHOOK];
    bool found = false;
    journal_bind_text(statement, 1, webhook);
    if (sqlite3_step(statement) == SQLITE_ROW) {
        const struct journal_webhook row = {
            .webhook = webhook,
            .cursor = sqlite3_column_int64(statement, 0),
            .attempts = sqlite3_column_int64(statement, 1),
            .next_ms = sqlite3_column_int64(statement, 2),
            .disabled = sqlite3_column_int64(statement, 3) != 0,
            .ok_ms = sqlite3_column_int64(statement, 4),
            .failed_ms = sqlite3_column_int64(statement, 5),
            .failure = journal_column_text(statement, 6, NULL),
        };
        found = true;
        hook(user, &row);
    }
    int result = sqlite3_reset(statement);
    if (result != SQLITE_OK) {
        return journal_fail(journal, result, cannot_read);
    }
    return found ? JOURNAL_OK : JOURNAL_NONE;
}

static enum journal_status read_queues(struct journal *journal, const char *webhook,
                                       journal_webhook_queue_hook hook, void *user) {
    sqlite3_stmt *statement = journal->sql[JOURNAL_SQL_EACH_WEBHOOK_QUEUE];
    journal_bind_text(statement, 1, webhook);
    while (sqlite3_step(statement) == SQLITE_ROW) {
        const struct journal_webhook_queue queue = {
            .site = journal_column_text(statement, 0, NULL),
            .job = journal_column_text(statement, 1, NULL),
            .next = sqlite3_column_int64(statement, 2),
            .attempts = sqlite3_column_int64(statement, 3),
            .next_ms = sqlite3_column_int64(statement, 4),
            .since_ms = sqlite3_column_int64(statement, 5),
        };
        hook(user, &queue);
    }
    int result = sqlite3_reset(statement);
    return result == SQLITE_OK ? JOURNAL_OK : journal_fail(journal, result, cannot_read);
}

enum journal_status journal_read_webhook(struct journal *journal, const char *webhook,
                                         journal_webhook_hook hook,
                                         journal_webhook_queue_hook queue_hook, void *user) {
    if (journal->sql[JOURNAL_SQL_FIND_WEBHOOK] == NULL) {
        return JOURNAL_NONE; // of the first format, which has no such tables
    }
    enum journal_status status = journal_snapshot(journal);
    if (status != JOURNAL_OK) {
        return status;
    }
    status = read_row(journal, webhook, hook, user);
    if (status == JOURNAL_OK) {
        status = read_queues(journal, webhook, queue_hook, user);
    }
    journal_snapshot_end(journal);
    return status;
}
