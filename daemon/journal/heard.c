// Time as the journal keeps it beside its facts: the last instant by both clocks, and when each
// point was last heard. It is what a restart judges the silence, and every age, by.
#include "journal/internal.h"

static const char cannot_read[] = "cannot be read";
static const char cannot_write[] = "cannot be written";

// Writes what is bound to a statement; what cannot be written loses the journal.
static enum journal_status put(struct journal *journal, enum journal_sql sql) {
    enum journal_status status = journal_step(journal, sql, cannot_write);
    return status == JOURNAL_OK ? JOURNAL_OK : journal_lose(journal, status);
}

// Ends the reading of a statement, and says whether all that there is was read.
static enum journal_status end_reading(struct journal *journal, sqlite3_stmt *statement) {
    int result = sqlite3_reset(statement);
    return result == SQLITE_OK ? JOURNAL_OK : journal_fail(journal, result, cannot_read);
}

enum journal_status journal_put_heard(struct journal *journal, const struct journal_heard *heard) {
    enum journal_status status = journal_may_write(journal);
    if (status != JOURNAL_OK) {
        return status;
    }
    sqlite3_stmt *statement = journal->sql[JOURNAL_SQL_PUT_HEARD];
    journal_bind_text(statement, 1, heard->site);
    journal_bind_text(statement, 2, heard->point);
    sqlite3_bind_int64(statement, 3, heard->mono_ms);
    return put(journal, JOURNAL_SQL_PUT_HEARD);
}

enum journal_status journal_each_heard(struct journal *journal,
                                       bool (*hook)(void *user, const struct journal_heard *heard),
                                       void *user) {
    sqlite3_stmt *statement = journal->sql[JOURNAL_SQL_EACH_HEARD];
    bool going = statement != NULL;
    if (!going) {
        return journal_refuse(journal, JOURNAL_MISUSE,
                              "The journal %s is of a format that is only read.", journal->path);
    }
    while (going && sqlite3_step(statement) == SQLITE_ROW) {
        const struct journal_heard heard = {
            .site = journal_column_text(statement, 0, NULL),
            .point = journal_column_text(statement, 1, NULL),
            .mono_ms = sqlite3_column_int64(statement, 2),
            .wall_ms = sqlite3_column_int64(statement, 3),
        };
        going = hook(user, &heard);
    }
    return end_reading(journal, statement);
}

enum journal_status journal_put_moment(struct journal *journal,
                                       const struct journal_moment *moment) {
    enum journal_status status = journal_may_write(journal);
    if (status != JOURNAL_OK) {
        return status;
    }
    sqlite3_stmt *statement = journal->sql[JOURNAL_SQL_PUT_MOMENT];
    sqlite3_bind_int64(statement, 1, moment->at_ms);
    sqlite3_bind_int64(statement, 2, moment->mono_ms);
    sqlite3_bind_int64(statement, 3, moment->newest_ms);
    return put(journal, JOURNAL_SQL_PUT_MOMENT);
}

// The wall clock of what journals of before wrote beside their facts.
static enum journal_status newest_heard(struct journal *journal, int64_t *newest_ms) {
    sqlite3_stmt *statement = journal->sql[JOURNAL_SQL_NEWEST_HEARD];
    if (sqlite3_step(statement) == SQLITE_ROW && sqlite3_column_int64(statement, 0) > *newest_ms) {
        *newest_ms = sqlite3_column_int64(statement, 0);
    }
    return end_reading(journal, statement);
}

// Rule (5, After a restart; R38): The last instant is the one that was written last, whatever
// wrote it. [moment-of-the-last-fact]
// Rule (3, alarms; R19): The newest time is the one that was vouched for with it.
// [newest-of-any-fact]
enum journal_status journal_last_moment(struct journal *journal, struct journal_moment *moment) {
    struct journal_head head;
    sqlite3_stmt *statement = journal->sql[JOURNAL_SQL_GET_MOMENT];
    enum journal_status status = journal_last(journal, &head);
    if (status != JOURNAL_OK) {
        return status;
    }
    *moment = (struct journal_moment){head.at_ms, head.mono_ms, head.newest_at_ms};
    bool found = statement != NULL && sqlite3_step(statement) == SQLITE_ROW &&
                 sqlite3_column_int64(statement, 1) >= head.mono_ms;
    if (found) {
        *moment = (struct journal_moment){sqlite3_column_int64(statement, 0),
                                          sqlite3_column_int64(statement, 1),
                                          sqlite3_column_int64(statement, 2)};
    }
    int result = statement != NULL ? sqlite3_reset(statement) : SQLITE_OK;
    if (result != SQLITE_OK) {
        return journal_fail(journal, result, cannot_read);
    }
    return found ? JOURNAL_OK : newest_heard(journal, &moment->newest_ms);
}
