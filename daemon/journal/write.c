// Writing: one transaction at a time, committed as a group.
#include "journal/internal.h"

#include <string.h>

static const char cannot_write[] = "cannot be written";

enum journal_status journal_begin(struct journal *journal) {
    if (journal->dead) {
        return journal_dead(journal);
    }
    if (journal->mode == JOURNAL_READ_ONLY || journal->writing) {
        return journal_refuse(journal, JOURNAL_MISUSE,
                              journal->writing ? "A transaction of the journal is open already."
                                               : "The journal is open for reading only.");
    }
    enum journal_status status = journal_step(journal, JOURNAL_SQL_BEGIN_WRITE, cannot_write);
    if (status == JOURNAL_OK) {
        journal->writing = true;
        journal->lost = JOURNAL_OK;
        journal->tail = journal->committed;
    }
    return status;
}

static size_t length_of(const char *text) {
    return text == NULL ? 0 : strlen(text);
}

// Compact JSON has no control characters, so that a fact is one line wherever it is exported; the
// rest of its grammar is its maker's business.
static bool is_object(const char *text, size_t length) {
    if (length < 2 || text[0] != '{' || text[length - 1] != '}') {
        return false;
    }
    for (size_t i = 0; i < length; i++) {
        if ((unsigned char)text[i] < 0x20) {
            return false;
        }
    }
    return true;
}

static struct journal_row row_of(const struct journal_fact *fact, int64_t seq) {
    return (struct journal_row){
        .seq = seq,
        .at_ms = fact->at_ms,
        .mono_ms = fact->mono_ms,
        .site = fact->site == NULL ? "" : fact->site,
        .type = fact->type == NULL ? "" : fact->type,
        .subject = fact->subject == NULL ? "" : fact->subject,
        .data = fact->data == NULL ? "" : fact->data,
        .site_length = length_of(fact->site),
        .type_length = length_of(fact->type),
        .subject_length = length_of(fact->subject),
        .data_length = length_of(fact->data),
    };
}

static enum journal_status insert(struct journal *journal, const struct journal_row *row,
                                  const uint8_t hash[JOURNAL_HASH_SIZE]) {
    sqlite3_stmt *statement = journal->sql[JOURNAL_SQL_APPEND];
    sqlite3_bind_int64(statement, 1, row->seq);
    sqlite3_bind_int64(statement, 2, row->at_ms);
    sqlite3_bind_int64(statement, 3, row->mono_ms);
    sqlite3_bind_text(statement, 4, row->site, (int)row->site_length, SQLITE_STATIC);
    sqlite3_bind_text(statement, 5, row->type, (int)row->type_length, SQLITE_STATIC);
    sqlite3_bind_text(statement, 6, row->subject, (int)row->subject_length, SQLITE_STATIC);
    sqlite3_bind_text(statement, 7, row->data, (int)row->data_length, SQLITE_STATIC);
    sqlite3_bind_blob(statement, 8, hash, JOURNAL_HASH_SIZE, SQLITE_STATIC);
    return journal_step(journal, JOURNAL_SQL_APPEND, cannot_write);
}

static void advance(struct journal_head *tail, const struct journal_row *row,
                    const uint8_t hash[JOURNAL_HASH_SIZE]) {
    tail->seq = row->seq;
    tail->at_ms = row->at_ms;
    tail->mono_ms = row->mono_ms;
    if (row->at_ms > tail->newest_at_ms) {
        tail->newest_at_ms = row->at_ms;
    }
    memcpy(tail->hash, hash, JOURNAL_HASH_SIZE);
}

enum journal_status journal_append(struct journal *journal, const struct journal_fact *fact,
                                   int64_t *seq) {
    enum journal_status status = journal_may_write(journal);
    if (status != JOURNAL_OK) {
        return status;
    }
    struct journal_row row = row_of(fact, journal->tail.seq + 1);
    if (row.type_length == 0 || !is_object(row.data, row.data_length)) {
        return journal_refuse(journal, JOURNAL_MISUSE,
                              "A fact needs a type, and data that is one compact JSON object.");
    }
    uint8_t hash[JOURNAL_HASH_SIZE];
    if (!journal_chain_next(journal, journal->tail.hash, &row, hash)) {
        journal_refuse(journal, JOURNAL_MEMORY, "A fact cannot be hashed: out of memory.");
        return journal_lose(journal, JOURNAL_MEMORY);
    }
    status = insert(journal, &row, hash);
    if (status != JOURNAL_OK) {
        return journal_lose(journal, status);
    }
    advance(&journal->tail, &row, hash);
    if (seq != NULL) {
        *seq = row.seq;
    }
    return JOURNAL_OK;
}

static enum journal_status write_head(struct journal *journal) {
    if (journal->tail.seq == journal->committed.seq &&
        journal->tail.published == journal->committed.published) {
        return JOURNAL_OK;
    }
    sqlite3_stmt *statement = journal->sql[JOURNAL_SQL_SET_HEAD];
    sqlite3_bind_int64(statement, 1, journal->tail.seq);
    sqlite3_bind_int64(statement, 2, journal->tail.newest_at_ms);
    sqlite3_bind_blob(statement, 3, journal->tail.hash, JOURNAL_HASH_SIZE, SQLITE_STATIC);
    sqlite3_bind_int64(statement, 4, journal->tail.published);
    return journal_step(journal, JOURNAL_SQL_SET_HEAD, cannot_write);
}

// SQLite has often rolled back by itself; what the error said stays said.
static void end_without_commit(struct journal *journal) {
    if (sqlite3_get_autocommit(journal->db) == 0) {
        sqlite3_step(journal->sql[JOURNAL_SQL_ROLLBACK]);
        if (sqlite3_reset(journal->sql[JOURNAL_SQL_ROLLBACK]) != SQLITE_OK &&
            sqlite3_get_autocommit(journal->db) == 0) {
            journal->dead = true;
        }
    }
    journal->writing = false;
}

enum journal_status journal_set_published(struct journal *journal, int64_t seq) {
    enum journal_status status = journal_may_write(journal);
    if (status == JOURNAL_OK) {
        journal->tail.published = seq;
    }
    return status;
}

enum journal_status journal_commit(struct journal *journal) {
    enum journal_status status = journal_may_write(journal);
    if (!journal->writing) {
        return status;
    }
    if (status == JOURNAL_OK) {
        status = write_head(journal);
    }
    if (status == JOURNAL_OK) {
        status = journal_step(journal, JOURNAL_SQL_COMMIT, cannot_write);
    }
    if (status == JOURNAL_OK) {
        journal->committed = journal->tail;
        journal->writing = false;
        return JOURNAL_OK;
    }
    journal->full = journal->full || status == JOURNAL_FULL;
    end_without_commit(journal);
    return status;
}

void journal_rollback(struct journal *journal) {
    if (journal->writing) {
        journal->full = journal->full || journal->lost == JOURNAL_FULL;
        end_without_commit(journal);
    }
}

// PASSIVE: does what can be done without waiting for a reader.
enum journal_status journal_idle(struct journal *journal) {
    if (journal->mode == JOURNAL_READ_ONLY || journal->dead ||
        journal->log_pages < JOURNAL_ENOUGH_PAGES) {
        return journal->dead ? journal_dead(journal) : JOURNAL_OK;
    }
    if (journal->writing) {
        return journal_refuse(journal, JOURNAL_MISUSE,
                              "The journal is not idle inside a transaction.");
    }
    int pages = 0, moved = 0;
    int result =
        sqlite3_wal_checkpoint_v2(journal->db, NULL, SQLITE_CHECKPOINT_PASSIVE, &pages, &moved);
    if (result == SQLITE_OK && pages == moved) {
        journal->log_pages = 0; // the next commit starts the log anew
    }
    if (result == SQLITE_OK || (result & 0xff) == SQLITE_BUSY) {
        return JOURNAL_OK;
    }
    return journal_fail(journal, result, cannot_write);
}
