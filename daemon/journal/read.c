// Reading: facts in order, proved or not, and the end of the chain.
#include "journal/internal.h"

#include <inttypes.h>
#include <string.h>

static const char cannot_read[] = "cannot be read";

bool journal_read_row(sqlite3_stmt *statement, struct journal_row *row) {
    row->seq = sqlite3_column_int64(statement, 0);
    row->at_ms = sqlite3_column_int64(statement, 1);
    row->mono_ms = sqlite3_column_int64(statement, 2);
    row->site = journal_column_text(statement, 3, &row->site_length);
    row->type = journal_column_text(statement, 4, &row->type_length);
    row->subject = journal_column_text(statement, 5, &row->subject_length);
    row->data = journal_column_text(statement, 6, &row->data_length);
    row->hash = sqlite3_column_blob(statement, 7);
    return row->hash != NULL && sqlite3_column_bytes(statement, 7) == JOURNAL_HASH_SIZE;
}

// A text that could not be had for lack of memory reads as NULL and would look like damage.
static bool memory_ran_out(struct journal *journal) {
    return sqlite3_errcode(journal->db) == SQLITE_NOMEM;
}

static enum journal_status out_of_memory(struct journal *journal) {
    return journal_refuse(journal, JOURNAL_MEMORY, "The journal %s %s: out of memory.",
                          journal->path, cannot_read);
}

static sqlite3_stmt *bind_each(struct journal *journal, int64_t from, int64_t limit,
                               const char *site) {
    sqlite3_stmt *statement =
        journal->sql[site == NULL ? JOURNAL_SQL_EACH : JOURNAL_SQL_EACH_OF_SITE];
    sqlite3_bind_int64(statement, 1, from);
    sqlite3_bind_int64(statement, 2, limit <= 0 ? -1 : limit);
    if (site != NULL) {
        journal_bind_text(statement, 3, site);
    }
    return statement;
}

static enum journal_status read_plain(struct journal *journal, const struct journal_query *query,
                                      journal_row_hook hook, void *user) {
    sqlite3_stmt *statement = bind_each(journal, query->from_seq, query->limit, query->site);
    enum journal_status status = JOURNAL_OK;
    struct journal_row row;
    while (sqlite3_step(statement) == SQLITE_ROW) {
        bool has_hash = journal_read_row(statement, &row);
        if (!has_hash || memory_ran_out(journal)) {
            struct journal_walk walk = {JOURNAL_FAULT_CHANGED, row.seq, row.seq, 0};
            status = memory_ran_out(journal) ? out_of_memory(journal)
                                             : journal_walk_refuse(journal, &walk);
            break;
        }
        if (!hook(user, &row)) {
            break;
        }
    }
    int result = sqlite3_reset(statement);
    if (status == JOURNAL_OK && result != SQLITE_OK) {
        return journal_fail(journal, result, cannot_read);
    }
    return status;
}

// --- The walk ---

struct walker {
    struct journal *journal;
    struct journal_walk *walk;
    struct journal_head head;
    int64_t next; // the number that must come
    uint8_t hash[JOURNAL_HASH_SIZE];
    bool out_of_memory;
};

static bool fault(struct walker *walker, enum journal_fault kind, int64_t seq, int64_t upto) {
    walker->walk->fault = kind;
    walker->walk->seq = seq;
    walker->walk->upto = upto;
    return false;
}

// False: the row is not the next link, or memory ran out.
static bool walk_row(struct walker *walker, const struct journal_row *row, bool has_hash) {
    uint8_t hash[JOURNAL_HASH_SIZE];
    if (row->seq < walker->next || row->seq > walker->head.seq) {
        int64_t last = walker->head.seq;
        return row->seq > last && walker->next <= last
                   ? fault(walker, JOURNAL_FAULT_MISSING, walker->next, last)
                   : fault(walker, JOURNAL_FAULT_EXTRA, row->seq, row->seq);
    }
    if (row->seq > walker->next) {
        return fault(walker, JOURNAL_FAULT_MISSING, walker->next, row->seq - 1);
    }
    if (!journal_chain_next(walker->journal, walker->hash, row, hash) ||
        memory_ran_out(walker->journal)) {
        walker->out_of_memory = true;
        return false;
    }
    if (!has_hash || memcmp(hash, row->hash, JOURNAL_HASH_SIZE) != 0) {
        return fault(walker, JOURNAL_FAULT_CHANGED, row->seq, row->seq);
    }
    memcpy(walker->hash, hash, JOURNAL_HASH_SIZE);
    walker->next++;
    walker->walk->checked++;
    return true;
}

// The facts have come to their end: do they reach the head, and is it theirs?
static void walk_end(struct walker *walker) {
    if (walker->next <= walker->head.seq) {
        fault(walker, JOURNAL_FAULT_TRUNCATED, walker->next, walker->head.seq);
    } else if (memcmp(walker->hash, walker->head.hash, JOURNAL_HASH_SIZE) != 0) {
        fault(walker, JOURNAL_FAULT_CHANGED, walker->head.seq, walker->head.seq);
    }
}

static enum journal_status hash_of(struct journal *journal, int64_t seq, bool *found,
                                   uint8_t hash[JOURNAL_HASH_SIZE]) {
    sqlite3_stmt *statement = journal->sql[JOURNAL_SQL_HASH_OF];
    sqlite3_bind_int64(statement, 1, seq);
    *found = sqlite3_step(statement) == SQLITE_ROW && journal_column_hash(statement, 0, hash);
    int result = sqlite3_reset(statement);
    return result == SQLITE_OK ? JOURNAL_OK : journal_fail(journal, result, cannot_read);
}

// Where the walk begins: at the root, or behind a hash that is taken as it stands.
static enum journal_status walk_start(struct walker *walker, int64_t from) {
    struct journal *journal = walker->journal;
    enum journal_status status = journal_read_head(journal, &walker->head);
    if (status != JOURNAL_OK) {
        return status;
    }
    if (from > walker->head.seq + 1) {
        from = walker->head.seq + 1;
    }
    if (from <= 1) {
        walker->next = 1;
        memcpy(walker->hash, journal->root, JOURNAL_HASH_SIZE);
        return JOURNAL_OK;
    }
    walker->next = from;
    bool found = false;
    status = hash_of(journal, from - 1, &found, walker->hash);
    if (status == JOURNAL_OK && !found) {
        fault(walker, JOURNAL_FAULT_MISSING, from - 1, from - 1);
    }
    return status;
}

enum journal_status journal_walk(struct journal *journal, const struct journal_query *query,
                                 journal_row_hook hook, void *user, struct journal_walk *walk) {
    *walk = (struct journal_walk){0};
    struct walker walker = {.journal = journal, .walk = walk};
    enum journal_status status = walk_start(&walker, query->from_seq);
    if (status != JOURNAL_OK || walk->fault != JOURNAL_FAULT_NONE) {
        return status;
    }
    // Numbers before the first are looked for as well.
    int64_t from = walker.next == 1 ? INT64_MIN : walker.next;
    sqlite3_stmt *statement = bind_each(journal, from, query->limit, NULL);
    struct journal_row row;
    bool going = true;
    while (going && sqlite3_step(statement) == SQLITE_ROW) {
        bool has_hash = journal_read_row(statement, &row);
        going = walk_row(&walker, &row, has_hash) && (hook == NULL || hook(user, &row));
    }
    int result = sqlite3_reset(statement);
    if (walker.out_of_memory) {
        return out_of_memory(journal);
    }
    if (result != SQLITE_OK) {
        return journal_fail(journal, result, cannot_read);
    }
    if (going && (query->limit <= 0 || walk->checked < query->limit)) {
        walk_end(&walker);
    }
    return JOURNAL_OK;
}

void journal_walk_say(const struct journal_walk *walk, int64_t count, char *say, size_t size) {
    switch (walk->fault) {
    case JOURNAL_FAULT_MISSING:
        if (walk->seq == walk->upto) {
            snprintf(say, size, "fact %" PRId64 " is missing", walk->seq);
            break;
        }
        snprintf(say, size, "facts %" PRId64 " to %" PRId64 " are missing", walk->seq, walk->upto);
        break;
    case JOURNAL_FAULT_CHANGED:
        snprintf(say, size, "fact %" PRId64 " is not what was written", walk->seq);
        break;
    case JOURNAL_FAULT_SWAPPED:
        snprintf(say, size, "fact %" PRId64 " holds what was written as fact %" PRId64, walk->seq,
                 walk->upto);
        break;
    case JOURNAL_FAULT_TRUNCATED:
        snprintf(say, size, "the end from fact %" PRId64 " to %" PRId64 " is cut off", walk->seq,
                 walk->upto);
        break;
    case JOURNAL_FAULT_EXTRA:
        snprintf(say, size, "fact %" PRId64 " was added by another hand", walk->seq);
        break;
    case JOURNAL_FAULT_FILE:
        snprintf(say, size, "the file is damaged at or after fact %" PRId64, walk->seq);
        break;
    case JOURNAL_FAULT_NONE:
        snprintf(say, size, "all %" PRId64 " facts are as they were written", count);
        break;
    }
}

enum journal_status journal_walk_refuse(struct journal *journal, const struct journal_walk *walk) {
    char say[160];
    journal_walk_say(walk, 0, say, sizeof say);
    journal->dead = true;
    return journal_refuse(journal, JOURNAL_CORRUPT,
                          "The journal %s is damaged: %s; keep a copy of the file, see what "
                          "'forelock journal verify' finds, and restore a backup.",
                          journal->path, say);
}

static enum journal_status read_proved(struct journal *journal, const struct journal_query *query,
                                       journal_row_hook hook, void *user) {
    enum journal_status status = journal_snapshot(journal);
    if (status != JOURNAL_OK) {
        return status;
    }
    struct journal_walk walk;
    status = journal_walk(journal, query, hook, user, &walk);
    journal_snapshot_end(journal);
    if (status == JOURNAL_OK && walk.fault != JOURNAL_FAULT_NONE) {
        return journal_walk_refuse(journal, &walk);
    }
    return status;
}

enum journal_status journal_each(struct journal *journal, const struct journal_query *query,
                                 journal_row_hook hook, void *user) {
    if (query->verify && query->site != NULL) {
        return journal_refuse(journal, JOURNAL_MISUSE, "One site's facts alone are no chain.");
    }
    return query->verify ? read_proved(journal, query, hook, user)
                         : read_plain(journal, query, hook, user);
}

// --- The end ---

static enum journal_status read_last_row(struct journal *journal, struct journal_head *head) {
    sqlite3_stmt *statement = journal->sql[JOURNAL_SQL_LAST_ROW];
    sqlite3_bind_int64(statement, 1, head->seq);
    if (sqlite3_step(statement) == SQLITE_ROW) {
        head->at_ms = sqlite3_column_int64(statement, 0);
        head->mono_ms = sqlite3_column_int64(statement, 1);
    }
    int result = sqlite3_reset(statement);
    return result == SQLITE_OK ? JOURNAL_OK : journal_fail(journal, result, cannot_read);
}

enum journal_status journal_read_head(struct journal *journal, struct journal_head *head) {
    *head = (struct journal_head){0};
    sqlite3_stmt *statement = journal->sql[JOURNAL_SQL_GET_HEAD];
    bool found = false;
    if (sqlite3_step(statement) == SQLITE_ROW) {
        head->seq = sqlite3_column_int64(statement, 0);
        head->newest_at_ms = sqlite3_column_int64(statement, 1);
        found = journal_column_hash(statement, 2, head->hash);
        head->published = sqlite3_column_int64(statement, 3);
    }
    int result = sqlite3_reset(statement);
    if (result != SQLITE_OK) {
        return journal_fail(journal, result, cannot_read);
    }
    if (!found || head->seq < 0 || head->seq == INT64_MAX) {
        journal->dead = true;
        return journal_refuse(journal, JOURNAL_CORRUPT,
                              "The journal %s is damaged: it does not tell where its facts end; "
                              "keep a copy of the file and restore a backup.",
                              journal->path);
    }
    return read_last_row(journal, head);
}

enum journal_status journal_last(struct journal *journal, struct journal_head *head) {
    if (journal->mode == JOURNAL_READ_WRITE_CREATE) {
        *head = journal->committed;
        return JOURNAL_OK;
    }
    enum journal_status status = journal_snapshot(journal);
    if (status == JOURNAL_OK) {
        status = journal_read_head(journal, head);
        journal_snapshot_end(journal);
    }
    return status;
}
