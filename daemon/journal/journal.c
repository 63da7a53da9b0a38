// Small steps that every part of the journal takes.
#include "journal/internal.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum journal_status journal_step(struct journal *journal, enum journal_sql sql, const char *what) {
    sqlite3_step(journal->sql[sql]);
    int result = sqlite3_reset(journal->sql[sql]);
    return result == SQLITE_OK ? JOURNAL_OK : journal_fail(journal, result, what);
}

void journal_bind_text(sqlite3_stmt *statement, int index, const char *text) {
    sqlite3_bind_text(statement, index, text == NULL ? "" : text, -1, SQLITE_STATIC);
}

const char *journal_column_text(sqlite3_stmt *statement, int column, size_t *length) {
    const char *text = (const char *)sqlite3_column_text(statement, column);
    if (length != NULL) {
        *length = text == NULL ? 0 : (size_t)sqlite3_column_bytes(statement, column);
    }
    return text == NULL ? "" : text;
}

bool journal_column_hash(sqlite3_stmt *statement, int column, uint8_t hash[JOURNAL_HASH_SIZE]) {
    const void *blob = sqlite3_column_blob(statement, column);
    if (blob == NULL || sqlite3_column_bytes(statement, column) != JOURNAL_HASH_SIZE) {
        return false;
    }
    memcpy(hash, blob, JOURNAL_HASH_SIZE);
    return true;
}

enum journal_status journal_snapshot(struct journal *journal) {
    if (journal->writing) {
        return journal_refuse(journal, JOURNAL_MISUSE,
                              "The journal cannot be proved or copied inside a transaction.");
    }
    return journal_step(journal, JOURNAL_SQL_BEGIN_READ, "cannot be read");
}

void journal_snapshot_end(struct journal *journal) {
    // Nothing was written, so this cannot lose anything; and the sentence of an error before it
    // must stay.
    sqlite3_step(journal->sql[JOURNAL_SQL_ROLLBACK]);
    sqlite3_reset(journal->sql[JOURNAL_SQL_ROLLBACK]);
}

enum journal_status journal_may_write(struct journal *journal) {
    if (!journal->writing) {
        return journal_refuse(journal, JOURNAL_MISUSE,
                              "The journal is written only inside a transaction.");
    }
    return journal->lost;
}

enum journal_status journal_lose(struct journal *journal, enum journal_status status) {
    journal->lost = status;
    return status;
}

char *journal_beside(const char *path, const char *suffix) {
    char *text = NULL;
    return asprintf(&text, "%s%s", path, suffix) < 0 ? NULL : text;
}

int journal_sync_folder(const char *path) {
    const char *slash = strrchr(path, '/');
    char *folder = slash == NULL   ? strdup(".")
                   : slash == path ? strdup("/")
                                   : strndup(path, (size_t)(slash - path));
    if (folder == NULL) {
        return ENOMEM;
    }
    int descriptor = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    int error = descriptor < 0 || fsync(descriptor) != 0 ? errno : 0;
    if (descriptor >= 0) {
        close(descriptor);
    }
    free(folder);
    return error;
}
