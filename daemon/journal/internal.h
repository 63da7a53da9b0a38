// What the journal's own files share.
#pragma once

#include "journal/journal.h"

#include <openssl/evp.h>
#include <sqlite3.h>

#define JOURNAL_APPLICATION_ID 0x464c434b // "FLCK"
#define JOURNAL_SCHEMA_VERSION 3          // 2 added the tables of webhooks, 3 those of time
#define JOURNAL_SCHEMA_OLDEST 1
#define JOURNAL_TAIL_ROWS 1000    // how many facts are proved at each opening
#define JOURNAL_ENOUGH_PAGES 1000 // of log, to be worth a checkpoint: about 4 MB

// Every statement is prepared at opening; schema.c has the text.
enum journal_sql {
    JOURNAL_SQL_BEGIN_WRITE,
    JOURNAL_SQL_BEGIN_READ,
    JOURNAL_SQL_COMMIT,
    JOURNAL_SQL_ROLLBACK,
    JOURNAL_SQL_APPEND,
    JOURNAL_SQL_SET_HEAD,
    JOURNAL_SQL_GET_HEAD,
    JOURNAL_SQL_LAST_ROW,
    JOURNAL_SQL_EACH,
    JOURNAL_SQL_EACH_OF_SITE,
    JOURNAL_SQL_HASH_OF,
    JOURNAL_SQL_PUT_REQUEST,
    JOURNAL_SQL_FIND_REQUEST,
    JOURNAL_SQL_PURGE_REQUESTS,
    JOURNAL_SQL_NEWEST_HEARD,
    JOURNAL_SQL_PUT_WEBHOOK, // from here on of the second format
    JOURNAL_SQL_FIND_WEBHOOK,
    JOURNAL_SQL_PUT_WEBHOOK_QUEUE,
    JOURNAL_SQL_DROP_WEBHOOK_QUEUES,
    JOURNAL_SQL_EACH_WEBHOOK_QUEUE,
    JOURNAL_SQL_PUT_HEARD, // from here on of the third format
    JOURNAL_SQL_EACH_HEARD,
    JOURNAL_SQL_PUT_MOMENT,
    JOURNAL_SQL_GET_MOMENT,
    JOURNAL_SQL_COUNT
};

struct journal_buffer {
    uint8_t *bytes;
    size_t capacity;
};

struct journal {
    sqlite3 *db;
    char *path;
    char *instance;
    int64_t created_ms;
    enum journal_mode mode;
    int lock;    // descriptor of the lock file; -1: none
    int version; // of the file's format
    struct journal_disk disk;
    bool reserved; // the reserve is there
    bool full;     // a commit found the disk full, and the reserve has not been restored since
    bool dead;     // an error was final

    EVP_MD *sha256;
    EVP_MD_CTX *digest;
    struct journal_buffer scratch; // a row as it is hashed
    struct journal_buffer found;   // the texts of the request found last
    uint8_t root[JOURNAL_HASH_SIZE];

    sqlite3_stmt *sql[JOURNAL_SQL_COUNT];
    bool writing;                  // a write transaction is open
    enum journal_status lost;      // why it can only be rolled back; OK: it can be committed
    struct journal_head committed; // of the writer
    struct journal_head tail;      // with what the open transaction has added
    int log_pages;

    struct journal_error error;
};

// --- status.c ---

__attribute__((format(printf, 3, 4))) enum journal_status
journal_refuse(struct journal *journal, enum journal_status status, const char *format, ...);
// Turns a SQLite result into a status and a sentence; what it says of the journal ("cannot be
// written"). Errors that are final make the journal dead.
enum journal_status journal_fail(struct journal *journal, int result, const char *what);

// Refuses because of an error that was final.
enum journal_status journal_dead(struct journal *journal);

// --- schema.c ---

// Creates everything of the first format but the rows of meta and head; what each later one added.
extern const char *const journal_schema;
extern const char *const journal_schema_added[JOURNAL_SCHEMA_VERSION - 1];
extern const char *const journal_sql_text[JOURNAL_SQL_COUNT];
// Whether tables, index and triggers are exactly those of the schema. CORRUPT: they are not.
enum journal_status journal_schema_check(struct journal *journal);

// --- chain.c ---

// Makes room for size bytes; false: out of memory, the buffer is as it was.
bool journal_buffer_reserve(struct journal_buffer *buffer, size_t size);
bool journal_chain_init(struct journal *journal);
// Sets journal->root from journal->instance. False: out of memory.
bool journal_chain_root(struct journal *journal);
void journal_chain_free(struct journal *journal);
// The hash of a row behind a previous hash; row->hash is not looked at. False: out of memory.
bool journal_chain_next(struct journal *journal, const uint8_t previous[JOURNAL_HASH_SIZE],
                        const struct journal_row *row, uint8_t hash[JOURNAL_HASH_SIZE]);

// --- journal.c: steps that everybody takes ---

// Steps a statement that gives no rows, and resets it.
enum journal_status journal_step(struct journal *journal, enum journal_sql sql, const char *what);
// Binds a text for the next step; NULL is bound as "". The text must live until then.
void journal_bind_text(sqlite3_stmt *statement, int index, const char *text);
// A text column; never NULL. Length may be NULL.
const char *journal_column_text(sqlite3_stmt *statement, int column, size_t *length);
// Copies a hash column; false: it is not one.
bool journal_column_hash(sqlite3_stmt *statement, int column, uint8_t hash[JOURNAL_HASH_SIZE]);
// One snapshot for several SELECTs. MISUSE inside a write transaction.
enum journal_status journal_snapshot(struct journal *journal);
void journal_snapshot_end(struct journal *journal);
// Makes the names in a directory last: syncs the directory that path lies in. An errno, or 0.
int journal_sync_folder(const char *path);
// OK if a write may be added to the open transaction; else why not.
enum journal_status journal_may_write(struct journal *journal);
// A write in the open transaction failed: it is lost with that status.
enum journal_status journal_lose(struct journal *journal, enum journal_status status);
// path + suffix, to be freed; NULL: out of memory.
char *journal_beside(const char *path, const char *suffix);

// --- read.c ---

// What a walk along the chain found.
struct journal_walk {
    enum journal_fault fault;
    int64_t seq;     // where
    int64_t upto;    // the last one missing, in a gap
    int64_t checked; // facts that are proved
};

// Reads the head's row, and of the last fact what the head does not hold, as the snapshot has it.
enum journal_status journal_read_head(struct journal *journal, struct journal_head *head);
// Proves the facts from a number on to the end, in the snapshot, and hands them out (hook may be
// NULL). OK with a fault in walk if the chain is broken.
enum journal_status journal_walk(struct journal *journal, const struct journal_query *query,
                                 journal_row_hook hook, void *user, struct journal_walk *walk);
// The sentence of a walk's fault, without what to do; count is the facts that there should be.
void journal_walk_say(const struct journal_walk *walk, int64_t count, char *say, size_t size);
// Refuses with CORRUPT and the walk's sentence, with what to do.
enum journal_status journal_walk_refuse(struct journal *journal, const struct journal_walk *walk);
// Reads a row of JOURNAL_SQL_EACH. False: its hash is not one.
bool journal_read_row(sqlite3_stmt *statement, struct journal_row *row);

// --- verify.c ---

// PRAGMA quick_check. CORRUPT: it found something.
enum journal_status journal_quick_check(struct journal *journal);

// --- reserve.c ---

extern const struct journal_disk journal_real_disk;
// Makes the reserve at opening; a disk without room leaves the journal usable but not healthy.
enum journal_status journal_reserve_init(struct journal *journal);
// Gives up the reserve of a journal that is not open. False: there was none.
bool journal_reserve_drop(const struct journal_options *options);
