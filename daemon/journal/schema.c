// The tables, and every statement that is used on them.
#include "journal/internal.h"

#include <string.h>

// The insert trigger keeps the sequence contiguous, and with it REPLACE from replacing a fact,
// which would not fire the delete trigger.
const char *const journal_schema =
    "CREATE TABLE meta (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;"
    "CREATE TABLE fact (seq INTEGER PRIMARY KEY CHECK (seq >= 1), at_ms INTEGER NOT NULL,"
    " elapsed_ms INTEGER NOT NULL, site TEXT NOT NULL, type TEXT NOT NULL, subject TEXT NOT NULL,"
    " data TEXT NOT NULL, hash BLOB NOT NULL CHECK (length(hash) = 32)) STRICT;"
    "CREATE INDEX fact_site ON fact (site);"
    "CREATE TRIGGER fact_contiguous BEFORE INSERT ON fact"
    " WHEN NEW.seq <> (SELECT coalesce(max(seq), 0) + 1 FROM fact)"
    " BEGIN SELECT raise(ABORT, 'facts are numbered without a gap'); END;"
    "CREATE TRIGGER fact_not_updated BEFORE UPDATE ON fact"
    " BEGIN SELECT raise(ABORT, 'facts are never changed'); END;"
    "CREATE TRIGGER fact_not_deleted BEFORE DELETE ON fact"
    " BEGIN SELECT raise(ABORT, 'facts are never deleted'); END;"
    "CREATE TABLE head (one INTEGER PRIMARY KEY CHECK (one = 1), seq INTEGER NOT NULL,"
    " newest_at_ms INTEGER NOT NULL, hash BLOB NOT NULL, told INTEGER NOT NULL) STRICT;"
    "CREATE TABLE request (site TEXT NOT NULL, person TEXT NOT NULL, id TEXT NOT NULL,"
    " verb TEXT NOT NULL, body_hash BLOB NOT NULL CHECK (length(body_hash) = 32),"
    " answer TEXT NOT NULL, job TEXT NOT NULL, at_ms INTEGER NOT NULL,"
    " PRIMARY KEY (site, person, id)) STRICT;"
    "CREATE INDEX request_at ON request (at_ms);"
    "CREATE TABLE heard (site TEXT NOT NULL, point TEXT NOT NULL, heard_ms INTEGER NOT NULL,"
    " at_ms INTEGER NOT NULL, PRIMARY KEY (site, point)) STRICT, WITHOUT ROWID;";

const char *const journal_schema_added[JOURNAL_SCHEMA_VERSION - 1] = {
    "CREATE TABLE webhook (webhook TEXT PRIMARY KEY, cursor INTEGER NOT NULL,"
    " attempts INTEGER NOT NULL, next_ms INTEGER NOT NULL, disabled INTEGER NOT NULL,"
    " ok_ms INTEGER NOT NULL, failed_ms INTEGER NOT NULL, failure TEXT NOT NULL)"
    " STRICT, WITHOUT ROWID;"
    "CREATE TABLE webhook_lane (webhook TEXT NOT NULL, site TEXT NOT NULL, job TEXT NOT NULL,"
    " next INTEGER NOT NULL, attempts INTEGER NOT NULL, next_ms INTEGER NOT NULL,"
    " since_ms INTEGER NOT NULL, PRIMARY KEY (webhook, site, job)) STRICT, WITHOUT ROWID;",
    // `heard` told the time by the wall clock, and is read where nothing newer was written.
    "CREATE TABLE last_heard (site TEXT NOT NULL, point TEXT NOT NULL,"
    " elapsed_ms INTEGER NOT NULL, PRIMARY KEY (site, point)) STRICT, WITHOUT ROWID;"
    "CREATE TABLE moment (one INTEGER PRIMARY KEY CHECK (one = 1), at_ms INTEGER NOT NULL,"
    " elapsed_ms INTEGER NOT NULL, newest_at_ms INTEGER NOT NULL) STRICT;",
};

// Tables, indexes and triggers of each format.
static const int objects_of[] = {0, 10, 12, 14};

const char *const journal_sql_text[JOURNAL_SQL_COUNT] = {
    [JOURNAL_SQL_BEGIN_WRITE] = "BEGIN IMMEDIATE",
    [JOURNAL_SQL_BEGIN_READ] = "BEGIN",
    [JOURNAL_SQL_COMMIT] = "COMMIT",
    [JOURNAL_SQL_ROLLBACK] = "ROLLBACK",
    [JOURNAL_SQL_APPEND] = "INSERT INTO fact VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
    [JOURNAL_SQL_SET_HEAD] = "UPDATE head SET seq = ?1, newest_at_ms = ?2, hash = ?3, told = ?4",
    [JOURNAL_SQL_GET_HEAD] = "SELECT seq, newest_at_ms, hash, told FROM head",
    [JOURNAL_SQL_LAST_ROW] = "SELECT at_ms, elapsed_ms FROM fact WHERE seq = ?1",
    [JOURNAL_SQL_EACH] = "SELECT seq, at_ms, elapsed_ms, site, type, subject, data, hash FROM fact"
                         " WHERE seq >= ?1 ORDER BY seq LIMIT ?2",
    [JOURNAL_SQL_EACH_OF_SITE] =
        "SELECT seq, at_ms, elapsed_ms, site, type, subject, data, hash FROM fact"
        " WHERE seq >= ?1 AND site = ?3 ORDER BY seq LIMIT ?2",
    [JOURNAL_SQL_HASH_OF] = "SELECT hash FROM fact WHERE seq = ?1",
    [JOURNAL_SQL_PUT_REQUEST] = "INSERT INTO request (site, person, id, verb, body_hash, answer,"
                                " job, at_ms) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
    [JOURNAL_SQL_FIND_REQUEST] = "SELECT site, person, id, verb, answer, job, body_hash, at_ms"
                                 " FROM request WHERE site = ?1 AND person = ?2 AND id = ?3",
    [JOURNAL_SQL_PURGE_REQUESTS] =
        "DELETE FROM request WHERE rowid IN"
        " (SELECT rowid FROM request WHERE at_ms < ?1 ORDER BY at_ms LIMIT ?2)",
    [JOURNAL_SQL_NEWEST_HEARD] = "SELECT max(at_ms) FROM heard",
    [JOURNAL_SQL_PUT_WEBHOOK] =
        "INSERT INTO webhook VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8) ON CONFLICT (webhook)"
        " DO UPDATE SET cursor = excluded.cursor, attempts = excluded.attempts,"
        " next_ms = excluded.next_ms, disabled = excluded.disabled, ok_ms = excluded.ok_ms,"
        " failed_ms = excluded.failed_ms, failure = excluded.failure",
    [JOURNAL_SQL_FIND_WEBHOOK] = "SELECT cursor, attempts, next_ms, disabled, ok_ms, failed_ms,"
                                 " failure FROM webhook WHERE webhook = ?1",
    [JOURNAL_SQL_PUT_WEBHOOK_QUEUE] =
        "INSERT OR REPLACE INTO webhook_lane VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
    [JOURNAL_SQL_DROP_WEBHOOK_QUEUES] = "DELETE FROM webhook_lane WHERE webhook = ?1",
    [JOURNAL_SQL_EACH_WEBHOOK_QUEUE] = "SELECT site, job, next, attempts, next_ms, since_ms"
                                       " FROM webhook_lane WHERE webhook = ?1 ORDER BY next",
    [JOURNAL_SQL_PUT_HEARD] = "INSERT OR REPLACE INTO last_heard VALUES (?1, ?2, ?3)",
    [JOURNAL_SQL_EACH_HEARD] =
        "SELECT site, point, elapsed_ms, 0 FROM last_heard UNION ALL"
        " SELECT site, point, 0, heard_ms FROM heard WHERE NOT EXISTS (SELECT 1 FROM last_heard"
        " WHERE last_heard.site = heard.site AND last_heard.point = heard.point) ORDER BY 1, 2",
    [JOURNAL_SQL_PUT_MOMENT] = "INSERT OR REPLACE INTO moment VALUES (1, ?1, ?2, ?3)",
    [JOURNAL_SQL_GET_MOMENT] = "SELECT at_ms, elapsed_ms, newest_at_ms FROM moment",
};

// The schema's text of an object must be a part of the text that creates it: SQLite keeps it as it
// was written, so anything dropped, added or loosened by hand shows.
static bool known(const struct journal *journal, sqlite3_stmt *statement) {
    const char *text = journal_column_text(statement, 0, NULL);
    bool found = text[0] != '\0' && strstr(journal_schema, text) != NULL;
    for (int i = 0; i + 2 <= journal->version && text[0] != '\0' && !found; i++) {
        found = strstr(journal_schema_added[i], text) != NULL;
    }
    return found;
}

enum journal_status journal_schema_check(struct journal *journal) {
    const int objects = objects_of[journal->version];
    sqlite3_stmt *statement = NULL;
    int result = sqlite3_prepare_v2(journal->db,
                                    "SELECT sql FROM sqlite_schema WHERE name NOT LIKE 'sqlite_%'",
                                    -1, &statement, NULL);
    int count = 0;
    bool good = true;
    while (result == SQLITE_OK && sqlite3_step(statement) == SQLITE_ROW) {
        good = good && known(journal, statement);
        count++;
    }
    int end = sqlite3_finalize(statement);
    if (result != SQLITE_OK || end != SQLITE_OK) {
        return journal_fail(journal, result != SQLITE_OK ? result : end, "cannot be read");
    }
    if (!good || count != objects) {
        return journal_refuse(
            journal, JOURNAL_CORRUPT,
            "The journal %s was altered: its tables, or the triggers that keep facts from being "
            "changed, are not as they were made; keep a copy of the file and restore a backup.",
            journal->path);
    }
    return JOURNAL_OK;
}
