// How fast the journal is, beside SQLite alone on the same file in the same run.
//
// Prints facts per second at 1 and 100 facts a commit, and how long it takes to stream a journal
// with and without proving its chain, as a ratio to a bare scan. Usage: bench_journal [FACTS [DIR]]
#include "journal/journal.h"

#include <inttypes.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define SYNCED_COMMITS 2000
#define ROUNDS 3 // the best of so many counts

static double now_s(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

static void check(enum journal_status status, const struct journal *journal) {
    if (status != JOURNAL_OK) {
        fprintf(stderr, "%s\n", journal_why(journal));
        exit(1);
    }
}

static struct journal *open_journal(const char *path, enum journal_mode mode,
                                    enum journal_check level) {
    const struct journal_options options = {
        .path = path, .instance = "bench", .mode = mode, .check = level};
    struct journal_error error;
    struct journal *journal = journal_open(&options, &error);
    if (journal == NULL) {
        fprintf(stderr, "%s\n", error.say);
        exit(1);
    }
    return journal;
}

static void append(struct journal *journal, int64_t i) {
    char data[256];
    snprintf(data, sizeof data,
             "{\"job\":\"j-%" PRId64 "\",\"position\":\"3A\",\"at\":\"2026-03-31T23:59:59.999Z\","
             "\"evidence\":[{\"point\":\"3-power\",\"state\":\"isolated\",\"trust\":\"fresh\","
             "\"heard\":\"2026-03-31T23:59:58.123Z\"}],\"person\":\"t-%" PRId64 "\"}",
             i / 20, i % 50);
    const struct journal_fact fact = {
        .at_ms = 1700000000000 + i,
        .mono_ms = i,
        .site = i % 2 == 0 ? "juniper" : "alder",
        .type = "tag.hung",
        .subject = "3A",
        .data = data,
    };
    check(journal_append(journal, &fact, NULL), journal);
}

static void write_facts(struct journal *journal, int64_t count, int64_t a_commit) {
    double start = now_s();
    for (int64_t i = 0; i < count; i += a_commit) {
        check(journal_begin(journal), journal);
        for (int64_t j = i; j < i + a_commit && j < count; j++) {
            append(journal, j);
        }
        check(journal_commit(journal), journal);
        check(journal_idle(journal), journal);
    }
    double took = now_s() - start;
    printf("%5" PRId64 " facts a commit: %9.0f facts/s\n", a_commit, (double)count / took);
}

// Looks at every column, as any reader of facts would.
static bool touch(void *user, const struct journal_row *row) {
    uint64_t *sum = user;
    *sum += (uint64_t)row->seq + row->data_length + (unsigned char)row->data[row->data_length / 2] +
            (unsigned char)row->type[0] + (unsigned char)row->site[0] + row->hash[0];
    return true;
}

static double stream(const char *path, bool verify, uint64_t *sum) {
    struct journal *journal = open_journal(path, JOURNAL_READ_ONLY, JOURNAL_CHECK_NONE);
    const struct journal_query query = {.verify = verify};
    *sum = 0;
    double start = now_s();
    check(journal_each(journal, &query, touch, sum), journal);
    double took = now_s() - start;
    journal_close(journal);
    return took;
}

static double scan(const char *path, uint64_t *sum) {
    sqlite3 *db = NULL;
    sqlite3_stmt *rows = NULL;
    if (sqlite3_open_v2(path, &db, SQLITE_OPEN_READONLY | SQLITE_OPEN_NOMUTEX, NULL) != SQLITE_OK ||
        sqlite3_prepare_v2(db, "SELECT * FROM fact ORDER BY seq", -1, &rows, NULL) != SQLITE_OK) {
        fprintf(stderr, "%s\n", sqlite3_errmsg(db));
        exit(1);
    }
    *sum = 0;
    double start = now_s();
    while (sqlite3_step(rows) == SQLITE_ROW) {
        const unsigned char *data = sqlite3_column_text(rows, 6);
        size_t length = (size_t)sqlite3_column_bytes(rows, 6);
        *sum += (uint64_t)sqlite3_column_int64(rows, 0) + length + data[length / 2] +
                sqlite3_column_text(rows, 4)[0] + sqlite3_column_text(rows, 3)[0] +
                ((const unsigned char *)sqlite3_column_blob(rows, 7))[0];
    }
    double took = now_s() - start;
    sqlite3_finalize(rows);
    sqlite3_close(db);
    return took;
}

static double opening(const char *path, enum journal_check level) {
    double start = now_s();
    journal_close(open_journal(path, JOURNAL_READ_ONLY, level));
    return now_s() - start;
}

static void keep_least(double *least, double took) {
    if (*least == 0 || took < *least) {
        *least = took;
    }
}

static void compare_reading(const char *path) {
    double bare = 0, plain = 0, proved = 0, tail = 0, quick = 0;
    for (int i = 0; i < ROUNDS; i++) {
        uint64_t a, b, c;
        keep_least(&bare, scan(path, &a));
        keep_least(&plain, stream(path, false, &b));
        keep_least(&proved, stream(path, true, &c));
        keep_least(&tail, opening(path, JOURNAL_CHECK_TAIL));
        keep_least(&quick, opening(path, JOURNAL_CHECK_QUICK));
        if (a != b || b != c) {
            fprintf(stderr, "the readers disagree\n");
            exit(1);
        }
    }
    printf("bare scan          %7.3f s\n", bare);
    printf("journal_each       %7.3f s  ratio %.2f\n", plain, plain / bare);
    printf("  with the chain   %7.3f s  ratio %.2f\n", proved, proved / bare);
    printf("opening, tail      %7.3f s  ratio %.2f\n", tail, tail / bare);
    printf("opening, quick     %7.3f s  ratio %.2f\n", quick, quick / bare);
    printf("start (quick, then the chain while streaming) ratio %.2f\n", (quick + proved) / bare);
}

static void remove_files(const char *folder, const char *path) {
    static const char *const suffixes[] = {"", "-wal", "-shm", ".lock", ".reserve"};
    for (size_t i = 0; i < sizeof suffixes / sizeof *suffixes; i++) {
        char name[400];
        snprintf(name, sizeof name, "%s%s", path, suffixes[i]);
        unlink(name);
    }
    rmdir(folder);
}

int main(int argc, char **argv) {
    int64_t facts = argc > 1 ? strtoll(argv[1], NULL, 10) : 1000000;
    char folder[256], path[300];
    snprintf(folder, sizeof folder, "%s/bench-XXXXXX", argc > 2 ? argv[2] : P_tmpdir);
    if (facts < 1 || mkdtemp(folder) == NULL) {
        fprintf(stderr, "usage: bench_journal [FACTS [DIR]]\n");
        return 2;
    }
    snprintf(path, sizeof path, "%s/bench.db", folder);
    struct journal *journal = open_journal(path, JOURNAL_READ_WRITE_CREATE, JOURNAL_CHECK_TAIL);
    write_facts(journal, SYNCED_COMMITS, 1);
    write_facts(journal, facts, 100);
    journal_close(journal);
    compare_reading(path);
    remove_files(folder, path);
    return 0;
}
