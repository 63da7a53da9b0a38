// The journal: every fact in order, chained by hashes, on disk before anybody is told of it.
//
// One SQLite file in WAL mode, written by one process and read by any number. Nothing is ever
// repaired in silence: a damaged, foreign or newer file is refused with a sentence; an older format
// can be read, and is brought up to this one (tables are added) when it is opened for writing and
// found sound. The journal reads no clock and keeps no SELECT open after a call has returned. Not
// thread safe.
//
// The chain. Each fact's hash is SHA-256 over
//     the 32 bytes of the hash before it, then its columns in this order:
//     seq, at_ms, elapsed_ms (mono_ms here), site, type, subject, data
// where a column is a length (4 bytes, big-endian) followed by that many bytes: a text's UTF-8
// bytes, or an integer's 8 bytes (two's complement, big-endian). The hash before the first fact is
// SHA-256 over the 17 bytes "forelock journal\n" followed by the instance's name as such a column.
// The table `head` repeats the last seq and hash, so that facts cut off at the end are missed too.
// The chain shows damage and careless hands; it is no signature.
//
// The disk. <path>-wal and <path>-shm are SQLite's, <path>.lock keeps a second writer out, and
// <path>.reserve is disk space kept so that what ends or stops can be written on a full disk.
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#define JOURNAL_HASH_SIZE 32
#define JOURNAL_RESERVE_BYTES (2 * 1024 * 1024)
#define JOURNAL_REQUEST_KEEP_MS (7LL * 24 * 3600 * 1000) // how long a request is remembered

struct journal;

enum journal_status {
    JOURNAL_OK,
    JOURNAL_NONE,    // there is no such thing; no error
    JOURNAL_FULL,    // no disk space; the transaction is rolled back, the journal is usable
    JOURNAL_BUSY,    // another process holds the file
    JOURNAL_CORRUPT, // damaged; why names the fact and what to do
    JOURNAL_IO,      // reading or writing failed; the outcome is unknown: the process must exit
    JOURNAL_FOREIGN, // not a journal, a newer one, or another instance's
    JOURNAL_MEMORY,  // out of memory; an open transaction can only be rolled back
    JOURNAL_MISUSE,  // called out of turn, or with something that may not be stored
};

struct journal_error {
    enum journal_status status;
    char say[512]; // one sentence; "" if all is well
};

enum journal_mode {
    JOURNAL_READ_WRITE_CREATE,
    JOURNAL_READ_ONLY, // also while another process writes
};

enum journal_check {
    JOURNAL_CHECK_TAIL,  // identity, append-only triggers, head and the last facts' hashes
    JOURNAL_CHECK_QUICK, // and PRAGMA quick_check: reads the whole file
    JOURNAL_CHECK_WHOLE, // and every hash
    JOURNAL_CHECK_NONE,  // identity alone: to read or verify what may be damaged; only for reading
};

// How disk space is reserved; for tests. Each returns 0 or an errno.
struct journal_disk {
    void *user;
    int (*make)(void *user, const char *path, int64_t bytes);  // really allocated and synced
    int (*drop)(void *user, const char *path);                 // ENOENT: was not there
    int (*room)(void *user, const char *path, int64_t *bytes); // how many are free
};

struct journal_options {
    const char *path;
    const char *instance; // its owner's name; NULL: any, only for reading
    enum journal_mode mode;
    enum journal_check check;
    int64_t created_ms;              // Unix ms, kept in a new journal
    const char *vfs;                 // a registered SQLite VFS; NULL: the default
    const struct journal_disk *disk; // NULL: the file system; must outlive the journal
};

// A fact to write. Texts are UTF-8 and copied; NULL counts as "".
struct journal_fact {
    int64_t at_ms;    // wall clock, Unix ms
    int64_t mono_ms;  // the daemon's own monotonic time, which goes on over restarts
    const char *site; // "": the whole daemon
    const char *type; // not empty
    const char *subject;
    const char *data; // one compact JSON object, without control characters
};

// A fact as it was read. Everything is borrowed and good only during the callback.
struct journal_row {
    int64_t seq;
    int64_t at_ms;
    int64_t mono_ms;
    const char *site, *type, *subject, *data; // never NULL
    size_t site_length, type_length, subject_length, data_length;
    const uint8_t *hash; // JOURNAL_HASH_SIZE bytes
};

// The end of the chain. With seq 0 (no facts) the times are 0.
struct journal_head {
    int64_t seq;
    int64_t at_ms, mono_ms; // of the last fact
    int64_t newest_at_ms;   // the greatest at_ms of any fact
    int64_t published;      // see journal_set_published
    uint8_t hash[JOURNAL_HASH_SIZE];
};

// --- Opening ---

// Opens a journal, which is checked as asked; a new one is made if the mode says so. NULL: error
// says why, and a file that was there is left as it was. On a full disk the reserve is given up if
// that helps to open; ask journal_healthy.
struct journal *journal_open(const struct journal_options *options, struct journal_error *error);
// Rolls back an open transaction, checkpoints, closes and frees. NULL is allowed.
void journal_close(struct journal *journal);

// The name of the journal's owner and when it was made (Unix ms); the name is borrowed.
const char *journal_instance(const struct journal *journal);
int64_t journal_created_ms(const struct journal *journal);
// The sentence of the last call that returned neither OK nor NONE. Borrowed, good until the next.
const char *journal_why(const struct journal *journal);

// --- Writing: one transaction per turn of the loop ---

// Starts a transaction. MISUSE if one is open or the journal is for reading.
enum journal_status journal_begin(struct journal *journal);
// Adds a fact to the open transaction; seq (may be NULL) is its number. After anything but OK and
// MISUSE the transaction is lost: later calls repeat the status, and commit rolls back.
enum journal_status journal_append(struct journal *journal, const struct journal_fact *fact,
                                   int64_t *seq);
// Keeps, with the open transaction, up to which fact others have been told: who writes may go on
// telling from there after it was killed. Not part of the chain.
enum journal_status journal_set_published(struct journal *journal, int64_t seq);
// OK: everything written since begin is on the disk. Otherwise nothing of it is (but see IO), the
// transaction has ended, and the numbers it gave out are free again.
enum journal_status journal_commit(struct journal *journal);
void journal_rollback(struct journal *journal);
// To be called when there is nothing to do, and by a timer in case there always is: moves what has
// been committed from the log to the database file once there is enough of it (blocks for two
// syncs). FULL: nothing is lost, later is as good. MISUSE inside a transaction.
enum journal_status journal_idle(struct journal *journal);

// --- A full disk ---

// False once anything failed for good (JOURNAL_IO), after FULL until the reserve is back, and
// without a reserve: then nothing may be permitted. Always true for reading until an error.
bool journal_healthy(const struct journal *journal);
// Gives the reserve back to the disk, so that what ends or stops can be written after FULL.
// NONE: it is gone already.
enum journal_status journal_release_reserve(struct journal *journal);
// How much must be free on the journal's disk, the reserve that is not held included, and how much
// is [bytes].
struct journal_room {
    int64_t need, found;
};
// Tries to have the reserve again and some room beside it, once there is enough for both. OK: it is
// there, and the journal is healthy unless an error was final. FULL: still no room, and room (may
// be NULL) says how much it wants; else that is 0.
enum journal_status journal_restore_reserve(struct journal *journal, struct journal_room *room);

// --- Reading ---

struct journal_query {
    int64_t from_seq; // the first to read; 0 or 1: from the beginning
    int64_t limit;    // how many rows at most; 0: all
    const char *site; // only this site's facts and not the daemon's; NULL: all
    bool verify;      // check contiguity and hashes while reading; not together with site
};

// False ends the reading, which is no error. The callback must not use the journal.
typedef bool (*journal_row_hook)(void *user, const struct journal_row *row);

// Hands out facts in order. With verify, CORRUPT names the first fact that is missing or does not
// fit its hash, before it is handed out, and that the facts end where the head says if all were
// read. A page of rows is a call with a limit. Inside a transaction its own facts are seen as well,
// and verify is MISUSE.
enum journal_status journal_each(struct journal *journal, const struct journal_query *query,
                                 journal_row_hook hook, void *user);
// The end of the chain as committed. For reading: as it is now.
enum journal_status journal_last(struct journal *journal, struct journal_head *head);
// The journal as what reports are made from (report/source.h), good until it is closed. False: its
// head cannot be read, and journal_why says why.
struct report_source;
struct report_row;
bool journal_report_source(struct journal *journal, struct report_source *source);
// A row as reports know it: it borrows the row's texts.
struct report_row journal_report_row(const struct journal_row *row);

// Whether a configuration (of which journal and instance say where it lies and whose it is) still
// has what the journal there needs; `tell` is given a sentence for everything that it lacks, or a
// warning where whoever asks may not read it. The journal is opened for reading alone, and none is
// made: one that is not there yet lacks nothing. False: the daemon would not start with this.
struct model;
bool journal_fits(const struct model *model,
                  void (*tell)(void *user, bool warning, const char *what), void *user);

enum journal_fault {
    JOURNAL_FAULT_NONE,
    JOURNAL_FAULT_MISSING,   // a gap
    JOURNAL_FAULT_CHANGED,   // a fact (or a hash) is not what was written
    JOURNAL_FAULT_SWAPPED,   // a fact stands at another's number
    JOURNAL_FAULT_TRUNCATED, // the last facts are gone
    JOURNAL_FAULT_EXTRA,     // facts after the end, or before the beginning
    JOURNAL_FAULT_FILE,      // the file itself is damaged
};

struct journal_verdict {
    enum journal_fault fault;
    int64_t checked; // facts that are proved
    int64_t seq;     // the first bad fact; 0: not known or none
    char say[512];   // one sentence, also if all is well
};

// Checks the file and the whole chain, as one snapshot. OK: the verdict says what was found, also
// if that is damage. MISUSE inside a transaction.
enum journal_status journal_verify(struct journal *journal, struct journal_verdict *verdict);
// "none", "missing", …
const char *journal_fault_name(enum journal_fault fault);

// Writes all facts as JSON Lines, one snapshot:
// {"seq","at_ms","elapsed_ms","site","type","subject","data":{…},"hash":"<64 hex digits>"}
// with data byte for byte as it was hashed. IO: the stream failed.
enum journal_status journal_export(struct journal *journal, FILE *out);

// --- Requests: so that what was accepted once is not done twice ---

struct journal_request {
    const char *site, *person, *id; // the key
    const char *verb;
    uint8_t body_hash[JOURNAL_HASH_SIZE]; // of the body in canonical form
    const char *answer;                   // the answer as it was given
    const char *job;                      // "": none
    int64_t at_ms;                        // when it was accepted, Unix ms
};

// Remembers a request, in the open transaction. MISUSE if the key is taken.
enum journal_status journal_put_request(struct journal *journal,
                                        const struct journal_request *request);
// Finds one (the open transaction's included); texts are borrowed until the next call of this.
// NONE: not known.
enum journal_status journal_find_request(struct journal *journal, const char *site,
                                         const char *person, const char *id,
                                         struct journal_request *request);
// Forgets up to limit requests accepted before an instant (Unix ms), in the open transaction.
enum journal_status journal_purge_requests(struct journal *journal, int64_t before_ms, int limit,
                                           int *removed);

// --- Time beside the facts: the last instant, and when each point was last heard ---

// An instant that was written, by both clocks.
struct journal_moment {
    int64_t at_ms;     // wall clock, Unix ms
    int64_t mono_ms;   // the daemon's own monotonic time at that
    int64_t newest_ms; // the newest wall-clock time that the journal vouches for by then
};

// Replaces the last instant, in the open transaction.
enum journal_status journal_put_moment(struct journal *journal,
                                       const struct journal_moment *moment);
// The last instant; of a journal of before, that of its last fact, with the newest wall-clock time
// of all that it has. 0 throughout: nothing was ever written.
enum journal_status journal_last_moment(struct journal *journal, struct journal_moment *moment);

struct journal_heard {
    const char *site, *point;
    int64_t mono_ms; // the daemon's own monotonic time; 0: of a journal of before,
    int64_t wall_ms; // which has the wall clock alone
};

// Replaces a point's last-heard time, in the open transaction.
enum journal_status journal_put_heard(struct journal *journal, const struct journal_heard *heard);
// Hands out all of them by site and point; texts are good during the callback. False ends it.
enum journal_status journal_each_heard(struct journal *journal,
                                       bool (*hook)(void *user, const struct journal_heard *heard),
                                       void *user);

// --- Webhooks: how far the events have been delivered; not part of the chain ---

// All of a webhook's events up to cursor have been taken by its receiver, but for those of the jobs
// that are behind. Texts are good during a callback.
struct journal_webhook {
    const char *webhook; // its id
    int64_t cursor;
    int64_t attempts; // in a row that did not reach it
    int64_t next_ms;  // not to be tried before, Unix ms
    bool disabled;    // the receiver said that it is gone
    int64_t ok_ms;    // of the last success, Unix ms; 0: none
    int64_t failed_ms;
    const char *failure; // the last one, in words
};
struct journal_webhook_queue {
    const char *site, *job; // job "": the site's events that are of no job
    int64_t next;           // the first fact that has not been taken
    int64_t attempts, next_ms, since_ms;
};
typedef void (*journal_webhook_hook)(void *user, const struct journal_webhook *webhook);
typedef void (*journal_webhook_queue_hook)(void *user, const struct journal_webhook_queue *queue);

// Replaces all that is known of a webhook, in the open transaction.
enum journal_status journal_put_webhook(struct journal *journal,
                                        const struct journal_webhook *webhook,
                                        const struct journal_webhook_queue *queues, size_t count);
// Hands out a webhook, then its jobs that are behind, as one snapshot. NONE: it was never written.
// MISUSE inside a transaction.
enum journal_status journal_read_webhook(struct journal *journal, const char *webhook,
                                         journal_webhook_hook hook,
                                         journal_webhook_queue_hook queue_hook, void *user);

// --- Hashes ---

// SHA-256 of some bytes. False: the library failed (out of memory).
bool journal_sha256(const void *bytes, size_t length, uint8_t hash[JOURNAL_HASH_SIZE]);
