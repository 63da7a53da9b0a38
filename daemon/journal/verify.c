// The whole journal examined: what is wrong with it, and from which fact on.
#include "journal/internal.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

static const char cannot_read[] = "cannot be read";

// The first complaint of PRAGMA quick_check; "" if it has none.
static enum journal_status complaint(struct journal *journal, char *text, size_t size) {
    sqlite3_stmt *statement = NULL;
    int result = sqlite3_prepare_v2(journal->db, "PRAGMA quick_check(1)", -1, &statement, NULL);
    text[0] = '\0';
    if (result == SQLITE_OK && sqlite3_step(statement) == SQLITE_ROW) {
        const char *said = journal_column_text(statement, 0, NULL);
        if (strcmp(said, "ok") != 0) {
            snprintf(text, size, "%s", said[0] == '\0' ? "quick_check failed" : said);
        }
    }
    int end = sqlite3_finalize(statement);
    result = result != SQLITE_OK ? result : end;
    if ((result & 0xff) == SQLITE_CORRUPT) {
        snprintf(text, size, "%s", sqlite3_errstr(result));
        return JOURNAL_OK;
    }
    return result == SQLITE_OK ? JOURNAL_OK : journal_fail(journal, result, cannot_read);
}

enum journal_status journal_quick_check(struct journal *journal) {
    char text[256];
    enum journal_status status = complaint(journal, text, sizeof text);
    if (status != JOURNAL_OK || text[0] == '\0') {
        return status;
    }
    return journal_refuse(journal, JOURNAL_CORRUPT,
                          "The journal %s is damaged (%s); keep a copy of the file, see what "
                          "'forelock journal verify' finds, and restore a backup.",
                          journal->path, text);
}

// --- Swapped facts: whose is what stands at a changed number? ---

// A row that outlives its SELECT.
struct copy {
    struct journal_row row;
    uint8_t hash[JOURNAL_HASH_SIZE];
    char *texts;
};

static const char *put(char **out, const char *text, size_t length) {
    char *start = *out;
    memcpy(start, text, length);
    start[length] = '\0';
    *out += length + 1;
    return start;
}

static bool copy_row(const struct journal_row *row, struct copy *copy) {
    copy->texts =
        malloc(row->site_length + row->type_length + row->subject_length + row->data_length + 4);
    if (copy->texts == NULL) {
        return false;
    }
    char *out = copy->texts;
    copy->row = *row;
    copy->row.site = put(&out, row->site, row->site_length);
    copy->row.type = put(&out, row->type, row->type_length);
    copy->row.subject = put(&out, row->subject, row->subject_length);
    copy->row.data = put(&out, row->data, row->data_length);
    return true;
}

// Whether what is in the copy, numbered as the row, and behind a hash, gives a hash that stands at
// either place: hashes may have been moved with what they belong to, or not.
static bool belongs(struct journal *journal, const struct copy *copy, const struct journal_row *at,
                    const uint8_t previous[JOURNAL_HASH_SIZE]) {
    struct journal_row moved = copy->row;
    moved.seq = at->seq;
    uint8_t hash[JOURNAL_HASH_SIZE];
    return journal_chain_next(journal, previous, &moved, hash) &&
           (memcmp(hash, copy->hash, JOURNAL_HASH_SIZE) == 0 ||
            memcmp(hash, at->hash, JOURNAL_HASH_SIZE) == 0);
}

static sqlite3_stmt *rows_from(struct journal *journal, int64_t seq) {
    sqlite3_stmt *statement = journal->sql[JOURNAL_SQL_EACH];
    sqlite3_bind_int64(statement, 1, seq);
    sqlite3_bind_int64(statement, 2, -1);
    return statement;
}

// Looks at the facts behind the copied one. The first bad fact is the lower one of a swapped pair,
// so the other is behind it. 0: none fits.
static int64_t find_home(struct journal *journal, const struct copy *copy) {
    sqlite3_stmt *statement = rows_from(journal, copy->row.seq + 1);
    uint8_t previous[JOURNAL_HASH_SIZE];
    memcpy(previous, copy->hash, JOURNAL_HASH_SIZE);
    int64_t home = 0;
    struct journal_row row;
    while (home == 0 && sqlite3_step(statement) == SQLITE_ROW &&
           journal_read_row(statement, &row)) {
        if (belongs(journal, copy, &row, previous) || belongs(journal, copy, &row, row.hash)) {
            home = row.seq;
        }
        memcpy(previous, row.hash, JOURNAL_HASH_SIZE);
    }
    sqlite3_reset(statement);
    return home;
}

static void tell_swap(struct journal *journal, struct journal_walk *walk) {
    struct copy copy = {.texts = NULL};
    sqlite3_stmt *statement = rows_from(journal, walk->seq);
    struct journal_row row;
    bool copied = sqlite3_step(statement) == SQLITE_ROW && journal_read_row(statement, &row) &&
                  row.seq == walk->seq && copy_row(&row, &copy);
    if (copied) {
        memcpy(copy.hash, row.hash, JOURNAL_HASH_SIZE);
    }
    sqlite3_reset(statement);
    int64_t home = copied ? find_home(journal, &copy) : 0;
    free(copy.texts);
    if (home != 0) {
        walk->fault = JOURNAL_FAULT_SWAPPED;
        walk->upto = home;
    }
}

// --- The verdict ---

static void judge(struct journal_verdict *verdict, enum journal_fault fault, int64_t seq,
                  const char *say) {
    verdict->fault = fault;
    verdict->seq = seq;
    snprintf(verdict->say, sizeof verdict->say,
             fault == JOURNAL_FAULT_NONE
                 ? "The journal is sound: %s."
                 : "The journal is damaged: %s; keep a copy of the file and restore a backup.",
             say);
}

static enum journal_status examine_chain(struct journal *journal, struct journal_verdict *verdict) {
    struct journal_walk walk;
    const struct journal_query all = {0};
    enum journal_status status = journal_walk(journal, &all, NULL, NULL, &walk);
    if (status == JOURNAL_CORRUPT) {
        walk.fault = JOURNAL_FAULT_FILE; // unreadable from somewhere on
        walk.seq = walk.checked + 1;
    } else if (status != JOURNAL_OK) {
        return status;
    }
    if (walk.fault == JOURNAL_FAULT_CHANGED) {
        tell_swap(journal, &walk);
    }
    char say[160];
    journal_walk_say(&walk, walk.checked, say, sizeof say);
    verdict->checked = walk.checked;
    judge(verdict, walk.fault, walk.seq, say);
    return JOURNAL_OK;
}

// What the chain does not show: pages, indexes, tables and triggers.
static enum journal_status examine_file(struct journal *journal, struct journal_verdict *verdict) {
    char text[256];
    enum journal_status status = complaint(journal, text, sizeof text);
    if (status == JOURNAL_OK && text[0] != '\0') {
        judge(verdict, JOURNAL_FAULT_FILE, 0, text);
        return JOURNAL_OK;
    }
    if (status == JOURNAL_OK) {
        status = journal_schema_check(journal);
    }
    if (status == JOURNAL_CORRUPT) {
        judge(verdict, JOURNAL_FAULT_FILE, 0, "its tables or triggers were altered");
        return JOURNAL_OK;
    }
    return status;
}

enum journal_status journal_verify(struct journal *journal, struct journal_verdict *verdict) {
    *verdict = (struct journal_verdict){0};
    enum journal_status status = journal_snapshot(journal);
    if (status != JOURNAL_OK) {
        return status;
    }
    status = examine_chain(journal, verdict);
    if (status == JOURNAL_OK && verdict->fault == JOURNAL_FAULT_NONE) {
        status = examine_file(journal, verdict);
    }
    journal_snapshot_end(journal);
    return status;
}
