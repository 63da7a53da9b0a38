// The folder, the journal and the hand that alters it (given.h).
#include "given.h"

#include <dirent.h>
#include <inttypes.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

int given_setup(void **state) {
    struct given *given = calloc(1, sizeof *given);
    if (given == NULL) {
        return -1;
    }
    snprintf(given->folder, sizeof given->folder, "%s/journal-XXXXXX", P_tmpdir);
    if (mkdtemp(given->folder) == NULL) {
        free(given);
        return -1;
    }
    snprintf(given->path, sizeof given->path, "%s/edge.db", given->folder);
    *state = given;
    return 0;
}

static void remove_folder(const char *folder) {
    DIR *list = opendir(folder);
    struct dirent *entry;
    while (list != NULL && (entry = readdir(list)) != NULL) {
        char path[400];
        snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
        if (entry->d_name[0] != '.') {
            unlink(path);
        }
    }
    if (list != NULL) {
        closedir(list);
    }
    rmdir(folder);
}

int given_teardown(void **state) {
    struct given *given = *state;
    given_close(given);
    remove_folder(given->folder);
    free(given);
    return 0;
}

struct journal *given_try(struct given *given, enum journal_mode mode, enum journal_check check) {
    const struct journal_options options = {
        .path = given->path,
        .instance = "edge-1",
        .mode = mode,
        .check = check,
        .created_ms = 1700000000000,
    };
    return journal_open(&options, &given->error);
}

void given_open(struct given *given) {
    given->journal = given_try(given, JOURNAL_READ_WRITE_CREATE, JOURNAL_CHECK_QUICK);
    if (given->journal == NULL) {
        fail_msg("%s", given->error.say);
    }
}

void given_close(struct given *given) {
    journal_close(given->journal);
    given->journal = NULL;
}

struct journal_fact given_fact(int i) {
    static char data[96];
    snprintf(data, sizeof data, "{\"job\":\"j-%d\",\"at\":null,\"reading\":%d.5,\"ok\":true}", i,
             i);
    return (struct journal_fact){
        .at_ms = 1700000000000 + i,
        .mono_ms = i * 10,
        .site = i % 3 == 0 ? "alder" : "juniper",
        .type = "job.opened",
        .subject = i % 2 == 0 ? "" : "3A",
        .data = data,
    };
}

void given_commit(struct given *given, int first, int last) {
    assert_int_equal(journal_begin(given->journal), JOURNAL_OK);
    for (int i = first; i <= last; i++) {
        struct journal_fact fact = given_fact(i);
        int64_t seq = 0;
        assert_int_equal(journal_append(given->journal, &fact, &seq), JOURNAL_OK);
        assert_int_equal(seq, i);
    }
    assert_int_equal(journal_commit(given->journal), JOURNAL_OK);
}

void given_facts(struct given *given, int count) {
    given_open(given);
    given_commit(given, 1, count);
    given_close(given);
}

int64_t given_last(struct given *given) {
    struct journal_head head;
    assert_int_equal(journal_last(given->journal, &head), JOURNAL_OK);
    return head.seq;
}

// --- The other hand ---

static void run(sqlite3 *db, const char *sql) {
    char *error = NULL;
    if (sqlite3_exec(db, sql, NULL, NULL, &error) != SQLITE_OK) {
        fail_msg("%s: %s", sql, error);
    }
}

// The triggers as SQL that makes them, and as SQL that drops them.
static void read_triggers(sqlite3 *db, char *make, char *drop, size_t size) {
    sqlite3_stmt *statement = NULL;
    sqlite3_prepare_v2(db, "SELECT sql, name FROM sqlite_schema WHERE type = 'trigger'", -1,
                       &statement, NULL);
    make[0] = drop[0] = '\0';
    while (sqlite3_step(statement) == SQLITE_ROW) {
        size_t made = strlen(make), dropped = strlen(drop);
        snprintf(make + made, size - made, "%s;", (const char *)sqlite3_column_text(statement, 0));
        snprintf(drop + dropped, size - dropped, "DROP TRIGGER %s;",
                 (const char *)sqlite3_column_text(statement, 1));
    }
    sqlite3_finalize(statement);
}

void given_tamper(struct given *given, const char *sql) {
    given_close(given);
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(given->path, &db), SQLITE_OK);
    char make[1024], drop[1024];
    read_triggers(db, make, drop, sizeof make);
    run(db, drop);
    run(db, sql);
    run(db, make);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

int64_t given_ask(struct given *given, const char *sql) {
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(given->path, &db), SQLITE_OK);
    sqlite3_stmt *statement = NULL;
    assert_int_equal(sqlite3_prepare_v2(db, sql, -1, &statement, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_step(statement), SQLITE_ROW);
    int64_t number = sqlite3_column_int64(statement, 0);
    sqlite3_finalize(statement);
    sqlite3_close(db);
    return number;
}

void given_refused(struct given *given, const char *sql) {
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(given->path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL) & 0xff, SQLITE_CONSTRAINT);
    sqlite3_close(db);
}
