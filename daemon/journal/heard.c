// When each point was last heard: what a restart needs to judge its own silence by.
#include "journal/internal.h"

enum journal_status journal_put_heard(struct journal *journal, const struct journal_heard *heard) {
    enum journal_status status = journal_may_write(journal);
    if (status != JOURNAL_OK) {
        return status;
    }
    sqlite3_stmt *statement = journal->sql[JOURNAL_SQL_PUT_HEARD];
    journal_bind_text(statement, 1, heard->site);
    journal_bind_text(statement, 2, heard->point);
    sqlite3_bind_int64(statement, 3, heard->heard_ms);
    sqlite3_bind_int64(statement, 4, heard->at_ms);
    status = journal_step(journal, JOURNAL_SQL_PUT_HEARD, "cannot be written");
    return status == JOURNAL_OK ? JOURNAL_OK : journal_lose(journal, status);
}

enum journal_status journal_each_heard(struct journal *journal,
                                       bool (*hook)(void *user, const struct journal_heard *heard),
                                       void *user) {
    sqlite3_stmt *statement = journal->sql[JOURNAL_SQL_EACH_HEARD];
    bool going = true;
    while (going && sqlite3_step(statement) == SQLITE_ROW) {
        const struct journal_heard heard = {
            .site = journal_column_text(statement, 0, NULL),
            .point = journal_column_text(statement, 1, NULL),
            .heard_ms = sqlite3_column_int64(statement, 2),
            .at_ms = sqlite3_column_int64(statement, 3),
        };
        going = hook(user, &heard);
    }
    int result = sqlite3_reset(statement);
    return result == SQLITE_OK ? JOURNAL_OK : journal_fail(journal, result, "cannot be read");
}
