// Requests that were accepted, so that one that comes again is answered and not done again.
#include "journal/internal.h"

#include <string.h>

enum journal_status journal_put_request(struct journal *journal,
                                        const struct journal_request *request) {
    enum journal_status status = journal_may_write(journal);
    if (status != JOURNAL_OK) {
        return status;
    }
    sqlite3_stmt *statement = journal->sql[JOURNAL_SQL_PUT_REQUEST];
    journal_bind_text(statement, 1, request->site);
    journal_bind_text(statement, 2, request->person);
    journal_bind_text(statement, 3, request->id);
    journal_bind_text(statement, 4, request->verb);
    sqlite3_bind_blob(statement, 5, request->body_hash, JOURNAL_HASH_SIZE, SQLITE_STATIC);
    journal_bind_text(statement, 6, request->answer);
    journal_bind_text(statement, 7, request->job);
    sqlite3_bind_int64(statement, 8, request->at_ms);
    sqlite3_step(statement);
    int result = sqlite3_reset(statement);
    if (result == SQLITE_OK) {
        return JOURNAL_OK;
    }
    if ((result & 0xff) == SQLITE_CONSTRAINT) { // undoes this statement alone
        return journal_refuse(journal, JOURNAL_MISUSE,
                              "The request %s of %s at %s is remembered already.", request->id,
                              request->person, request->site);
    }
    return journal_lose(journal, journal_fail(journal, result, "cannot be written"));
}

// The texts are copied, so that no SELECT stays open behind them.
static bool take_texts(struct journal *journal, sqlite3_stmt *statement,
                       struct journal_request *request) {
    const char **texts[] = {&request->site, &request->person, &request->id,
                            &request->verb, &request->answer, &request->job};
    static const int count = sizeof texts / sizeof *texts;
    size_t size = 0;
    for (int i = 0; i < count; i++) {
        size_t length;
        journal_column_text(statement, i, &length);
        size += length + 1;
    }
    if (!journal_buffer_reserve(&journal->found, size)) {
        return false;
    }
    uint8_t *out = journal->found.bytes;
    for (int i = 0; i < count; i++) {
        size_t length;
        const char *text = journal_column_text(statement, i, &length);
        memcpy(out, text, length);
        out[length] = '\0';
        *texts[i] = (const char *)out;
        out += length + 1;
    }
    return sqlite3_errcode(journal->db) != SQLITE_NOMEM;
}

enum journal_status journal_find_request(struct journal *journal, const char *site,
                                         const char *person, const char *id,
                                         struct journal_request *request) {
    sqlite3_stmt *statement = journal->sql[JOURNAL_SQL_FIND_REQUEST];
    journal_bind_text(statement, 1, site);
    journal_bind_text(statement, 2, person);
    journal_bind_text(statement, 3, id);
    bool found = sqlite3_step(statement) == SQLITE_ROW, memory = true;
    if (found) {
        memory = take_texts(journal, statement, request);
        request->at_ms = sqlite3_column_int64(statement, 7);
        if (memory && !journal_column_hash(statement, 6, request->body_hash)) {
            memset(request->body_hash, 0, JOURNAL_HASH_SIZE); // damaged: equal to no body's
        }
    }
    int result = sqlite3_reset(statement);
    if (!memory) {
        return journal_refuse(journal, JOURNAL_MEMORY, "A request cannot be read: out of memory.");
    }
    if (result != SQLITE_OK) {
        return journal_fail(journal, result, "cannot be read");
    }
    return found ? JOURNAL_OK : JOURNAL_NONE;
}

enum journal_status journal_purge_requests(struct journal *journal, int64_t before_ms, int limit,
                                           int *removed) {
    *removed = 0;
    enum journal_status status = journal_may_write(journal);
    if (status != JOURNAL_OK) {
        return status;
    }
    sqlite3_stmt *statement = journal->sql[JOURNAL_SQL_PURGE_REQUESTS];
    sqlite3_bind_int64(statement, 1, before_ms);
    sqlite3_bind_int(statement, 2, limit < 0 ? 0 : limit);
    status = journal_step(journal, JOURNAL_SQL_PURGE_REQUESTS, "cannot be written");
    if (status != JOURNAL_OK) {
        return journal_lose(journal, status);
    }
    *removed = sqlite3_changes(journal->db);
    return JOURNAL_OK;
}
