// Opening and closing: one writer at a time, and nothing but a sound journal of this instance.
#include "journal/internal.h"

#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <libgen.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <unistd.h>

#define BUSY_WAIT_MS 1000 // another process that opens or closes the file holds it for a moment

static enum journal_status exec(struct journal *journal, const char *text, const char *what) {
    int result = sqlite3_exec(journal->db, text, NULL, NULL, NULL);
    return result == SQLITE_OK ? JOURNAL_OK : journal_fail(journal, result, what);
}

// The first column of the only row of a query.
static enum journal_status ask_number(struct journal *journal, const char *text, int64_t *number) {
    sqlite3_stmt *statement = NULL;
    int result = sqlite3_prepare_v2(journal->db, text, -1, &statement, NULL);
    if (result == SQLITE_OK && sqlite3_step(statement) == SQLITE_ROW) {
        *number = sqlite3_column_int64(statement, 0);
    }
    int end = sqlite3_finalize(statement);
    result = result != SQLITE_OK ? result : end;
    return result == SQLITE_OK ? JOURNAL_OK : journal_fail(journal, result, "cannot be read");
}

static enum journal_status out_of_memory(struct journal *journal) {
    return journal_refuse(journal, JOURNAL_MEMORY,
                          "The journal %s cannot be opened: out of memory.", journal->path);
}

// SQLite's own locks let several writers take turns; the journal has one for as long as it runs.
// They are also lost when any descriptor of the file is closed, so this is a file of its own.
static enum journal_status lock(struct journal *journal) {
    char *path = journal_beside(journal->path, ".lock");
    if (path == NULL) {
        return out_of_memory(journal);
    }
    journal->lock = open(path, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0640);
    int error = errno;
    free(path);
    if (journal->lock < 0) {
        return journal_refuse(journal, error == ENOSPC ? JOURNAL_FULL : JOURNAL_IO,
                              "The journal %s cannot be written: %s.", journal->path,
                              strerror(error));
    }
    if (flock(journal->lock, LOCK_EX | LOCK_NB) == 0) {
        return JOURNAL_OK;
    }
    return journal_refuse(journal, JOURNAL_BUSY,
                          "The journal %s is already being written by another daemon; stop that "
                          "one, or name another file.",
                          journal->path);
}

// A new file is made here and not by SQLite, so that only owner and group may read what it says of
// people; SQLite gives its companions the same permissions.
static void make_file(const char *path) {
    int descriptor = open(path, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0640);
    if (descriptor >= 0) {
        close(descriptor);
    }
}

static int log_grew(void *user, sqlite3 *db, const char *schema, int pages) {
    struct journal *journal = user;
    (void)db;
    (void)schema;
    journal->log_pages = pages;
    return SQLITE_OK;
}

// Nobody can be writing: there is no log, and none can be made here.
static bool is_at_rest(const char *path) {
    char *log = journal_beside(path, "-wal");
    char *folder = strdup(path);
    bool rest = log != NULL && folder != NULL && access(log, F_OK) != 0 &&
                access(dirname(folder), W_OK) != 0;
    free(folder);
    free(log);
    return rest;
}

// The path as a URI that tells SQLite not to look for companions; NULL: out of memory.
static char *immutable_uri(const char *path) {
    static const char suffix[] = "?immutable=1";
    char *uri = malloc(5 + 3 * strlen(path) + sizeof suffix);
    if (uri == NULL) {
        return NULL;
    }
    char *out = stpcpy(uri, "file:");
    for (; *path != '\0'; path++) {
        if (strchr("%?#", *path) != NULL) {
            out += snprintf(out, 4, "%%%02X", (unsigned char)*path);
            continue;
        }
        *out++ = *path;
    }
    memcpy(out, suffix, sizeof suffix);
    return uri;
}

static int connect_read(struct journal *journal, const char *vfs) {
    int flags = SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE | SQLITE_OPEN_READONLY;
    if (!is_at_rest(journal->path)) {
        return sqlite3_open_v2(journal->path, &journal->db, flags, vfs);
    }
    char *uri = immutable_uri(journal->path);
    if (uri == NULL) {
        return SQLITE_NOMEM;
    }
    int result = sqlite3_open_v2(uri, &journal->db, flags | SQLITE_OPEN_URI, vfs);
    free(uri);
    return result;
}

static int connect_write(struct journal *journal, const char *vfs) {
    make_file(journal->path);
    int flags = SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE | SQLITE_OPEN_READWRITE;
    return sqlite3_open_v2(journal->path, &journal->db, flags, vfs);
}

static enum journal_status connect(struct journal *journal, const struct journal_options *options) {
    bool reading = options->mode == JOURNAL_READ_ONLY;
    int result =
        reading ? connect_read(journal, options->vfs) : connect_write(journal, options->vfs);
    if (result != SQLITE_OK) {
        return journal->db == NULL ? out_of_memory(journal)
                                   : journal_fail(journal, result, "cannot be opened");
    }
    sqlite3_busy_timeout(journal->db, BUSY_WAIT_MS);
    sqlite3_db_config(journal->db, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
    sqlite3_db_config(journal->db, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, NULL);
    return exec(journal, "PRAGMA cell_size_check = ON", "cannot be opened");
}

// Whose file it is, looked at before anything is written to it.
static enum journal_status identify(struct journal *journal, bool *empty) {
    int64_t application = 0, version = 0, objects = 0;
    enum journal_status status = ask_number(journal, "PRAGMA application_id", &application);
    if (status == JOURNAL_OK) {
        status = ask_number(journal, "PRAGMA user_version", &version);
    }
    if (status == JOURNAL_OK) {
        status = ask_number(journal, "SELECT count(*) FROM sqlite_schema", &objects);
    }
    if (status != JOURNAL_OK) {
        return status;
    }
    *empty = application == 0 && version == 0 && objects == 0;
    if (*empty ? journal->mode == JOURNAL_READ_ONLY : application != JOURNAL_APPLICATION_ID) {
        return journal_refuse(journal, JOURNAL_FOREIGN,
                              "%s is not a journal of this program; name another file in the "
                              "configuration.",
                              journal->path);
    }
    journal->version = *empty ? JOURNAL_SCHEMA_VERSION : (int)version;
    if (!*empty && (version < JOURNAL_SCHEMA_OLDEST || version > JOURNAL_SCHEMA_VERSION)) {
        return journal_refuse(journal, JOURNAL_FOREIGN,
                              "The journal %s has format %" PRId64 ", and this program knows "
                              "format %d; use the version that wrote it, or a newer one.",
                              journal->path, version, JOURNAL_SCHEMA_VERSION);
    }
    return JOURNAL_OK;
}

static int insert_meta(struct journal *journal, int64_t created_ms) {
    sqlite3_stmt *statement = NULL;
    int result = sqlite3_prepare_v2(journal->db,
                                    "INSERT INTO meta VALUES ('instance', ?1), ('created_ms', ?2)",
                                    -1, &statement, NULL);
    if (result == SQLITE_OK) {
        journal_bind_text(statement, 1, journal->instance);
        char number[24];
        snprintf(number, sizeof number, "%" PRId64, created_ms);
        journal_bind_text(statement, 2, number);
        sqlite3_step(statement);
    }
    int end = sqlite3_finalize(statement);
    return result != SQLITE_OK ? result : end;
}

static int insert_head(struct journal *journal) {
    sqlite3_stmt *statement = NULL;
    int result = sqlite3_prepare_v2(journal->db, "INSERT INTO head VALUES (1, 0, 0, ?1, 0)", -1,
                                    &statement, NULL);
    if (result == SQLITE_OK) {
        sqlite3_bind_blob(statement, 1, journal->root, JOURNAL_HASH_SIZE, SQLITE_STATIC);
        sqlite3_step(statement);
    }
    int end = sqlite3_finalize(statement);
    return result != SQLITE_OK ? result : end;
}

// All in one transaction: a file that was cut off in the making is empty, and made again.
static enum journal_status create(struct journal *journal, const struct journal_options *options) {
    char identity[96];
    snprintf(identity, sizeof identity, "PRAGMA application_id = %d; PRAGMA user_version = %d",
             JOURNAL_APPLICATION_ID, JOURNAL_SCHEMA_VERSION);
    const char *const steps[] = {"BEGIN IMMEDIATE", identity, journal_schema,
                                 journal_schema_added[0], journal_schema_added[1]};
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
        enum journal_status status = exec(journal, steps[i], "cannot be made");
        if (status != JOURNAL_OK) {
            return status;
        }
    }
    int result = insert_meta(journal, options->created_ms);
    if (result == SQLITE_OK) {
        result = insert_head(journal);
    }
    if (result != SQLITE_OK) {
        return journal_fail(journal, result, "cannot be made");
    }
    enum journal_status status = exec(journal, "COMMIT", "cannot be made");
    if (status == JOURNAL_OK && journal_sync_folder(journal->path) != 0) {
        return journal_refuse(journal, JOURNAL_IO, "The folder of %s cannot be synced: %s.",
                              journal->path, strerror(errno));
    }
    return status;
}

// A file system without shared memory leaves the mode as it is, and calls that no error.
static int keep_mode(void *user, int columns, char **texts, char **names) {
    (void)names;
    bool *wal = user;
    *wal = columns == 1 && strcmp(texts[0], "wal") == 0;
    return 0;
}

static enum journal_status prepare_to_write(struct journal *journal) {
    bool wal = false;
    int result = sqlite3_exec(journal->db, "PRAGMA journal_mode = WAL", keep_mode, &wal, NULL);
    if (result != SQLITE_OK) {
        return journal_fail(journal, result, "cannot be written");
    }
    if (!wal) {
        return journal_refuse(journal, JOURNAL_IO,
                              "The journal %s cannot be written: its file system has no shared "
                              "memory for it; put it on a local disk.",
                              journal->path);
    }
    return exec(journal, "PRAGMA synchronous = FULL; PRAGMA wal_autocheckpoint = 0",
                "cannot be written");
}

// autocheckpoint is kept in the hook that counts pages, so ours has to be set again after it.
static enum journal_status start_writing(struct journal *journal, bool empty,
                                         const struct journal_options *options) {
    enum journal_status status = prepare_to_write(journal);
    sqlite3_wal_hook(journal->db, log_grew, journal);
    if (status == JOURNAL_OK && empty) {
        status = create(journal, options);
    }
    return status;
}

static enum journal_status read_meta(struct journal *journal) {
    sqlite3_stmt *statement = NULL;
    int result =
        sqlite3_prepare_v2(journal->db,
                           "SELECT (SELECT value FROM meta WHERE name = 'instance'),"
                           " (SELECT CAST(value AS INTEGER) FROM meta WHERE name = 'created_ms')",
                           -1, &statement, NULL);
    if (result == SQLITE_OK && sqlite3_step(statement) == SQLITE_ROW) {
        journal->instance = strdup(journal_column_text(statement, 0, NULL));
        journal->created_ms = sqlite3_column_int64(statement, 1);
    }
    int end = sqlite3_finalize(statement);
    result = result != SQLITE_OK ? result : end;
    if (result != SQLITE_OK) {
        return journal_fail(journal, result, "cannot be read");
    }
    return journal->instance == NULL ? out_of_memory(journal) : JOURNAL_OK;
}

static enum journal_status compare_instance(struct journal *journal, const char *instance) {
    free(journal->instance);
    journal->instance = NULL;
    enum journal_status status = read_meta(journal);
    if (status != JOURNAL_OK) {
        return status;
    }
    if (instance != NULL && strcmp(instance, journal->instance) != 0) {
        return journal_refuse(journal, JOURNAL_FOREIGN,
                              "The journal %s belongs to the daemon \"%s\" and not to \"%s\"; name "
                              "another file in the configuration.",
                              journal->path, journal->instance, instance);
    }
    return journal_chain_root(journal) ? JOURNAL_OK : out_of_memory(journal);
}

// What the file's format has tables for, and has not been prepared yet.
static enum journal_status prepare_all(struct journal *journal) {
    static const int counts[] = {0, JOURNAL_SQL_PUT_WEBHOOK, JOURNAL_SQL_PUT_HEARD,
                                 JOURNAL_SQL_COUNT};
    int count = counts[journal->version];
    for (int i = 0; i < count; i++) {
        if (journal->sql[i] != NULL) {
            continue;
        }
        int result = sqlite3_prepare_v3(journal->db, journal_sql_text[i], -1,
                                        SQLITE_PREPARE_PERSISTENT, &journal->sql[i], NULL);
        if (result != SQLITE_OK) {
            return journal_fail(journal, result, "cannot be read");
        }
    }
    return JOURNAL_OK;
}

// Proves the end of the chain, or all of it.
static enum journal_status check_chain(struct journal *journal, bool whole) {
    enum journal_status status = journal_snapshot(journal);
    if (status != JOURNAL_OK) {
        return status;
    }
    struct journal_walk walk;
    status = journal_read_head(journal, &journal->committed);
    if (status == JOURNAL_OK) {
        int64_t from = whole ? 1 : journal->committed.seq - JOURNAL_TAIL_ROWS;
        const struct journal_query query = {.from_seq = from};
        status = journal_walk(journal, &query, NULL, NULL, &walk);
    }
    if (status == JOURNAL_OK && walk.fault != JOURNAL_FAULT_NONE) {
        status = journal_walk_refuse(journal, &walk);
    }
    journal_snapshot_end(journal);
    return status;
}

static enum journal_status check(struct journal *journal, enum journal_check level) {
    if (level == JOURNAL_CHECK_NONE) {
        return JOURNAL_OK;
    }
    enum journal_status status = journal_schema_check(journal);
    if (status == JOURNAL_OK && level != JOURNAL_CHECK_TAIL) {
        status = journal_quick_check(journal);
    }
    return status == JOURNAL_OK ? check_chain(journal, level == JOURNAL_CHECK_WHOLE) : status;
}

// An older format that was found sound gets what it lacks, in one transaction: cut off, it is the
// older one still.
static enum journal_status upgrade(struct journal *journal) {
    static const char what[] = "cannot be brought up to date";
    char version[48];
    snprintf(version, sizeof version, "PRAGMA user_version = %d; COMMIT", JOURNAL_SCHEMA_VERSION);
    enum journal_status status = exec(journal, "BEGIN IMMEDIATE", what);
    for (int i = journal->version; i < JOURNAL_SCHEMA_VERSION && status == JOURNAL_OK; i++) {
        status = exec(journal, journal_schema_added[i - 1], what);
    }
    if (status == JOURNAL_OK) {
        status = exec(journal, version, what);
    }
    if (status != JOURNAL_OK) {
        return status;
    }
    journal->version = JOURNAL_SCHEMA_VERSION;
    return prepare_all(journal);
}

static enum journal_status open_steps(struct journal *journal,
                                      const struct journal_options *options) {
    bool writing = options->mode == JOURNAL_READ_WRITE_CREATE, empty = false;
    enum journal_status status = writing ? lock(journal) : JOURNAL_OK;
    if (status == JOURNAL_OK) {
        status = connect(journal, options);
    }
    if (status == JOURNAL_OK) {
        status = identify(journal, &empty);
    }
    // Whose it is comes before the first write, unless it is nobody's yet.
    if (status == JOURNAL_OK && !empty) {
        status = compare_instance(journal, options->instance);
    }
    if (status == JOURNAL_OK && writing) {
        status = start_writing(journal, empty, options);
    }
    if (status == JOURNAL_OK && empty) {
        status = compare_instance(journal, options->instance);
    }
    if (status == JOURNAL_OK) {
        status = prepare_all(journal);
    }
    if (status == JOURNAL_OK) {
        status = check(journal, options->check);
    }
    if (status == JOURNAL_OK && writing && journal->version < JOURNAL_SCHEMA_VERSION) {
        status = upgrade(journal);
    }
    return status == JOURNAL_OK && writing ? journal_reserve_init(journal) : status;
}

static bool options_fit(const struct journal_options *options) {
    if (options->path == NULL || options->path[0] == '\0') {
        return false;
    }
    if (options->mode == JOURNAL_READ_ONLY) {
        return true;
    }
    return options->instance != NULL && options->instance[0] != '\0' &&
           options->check != JOURNAL_CHECK_NONE;
}

static struct journal *allocate(const struct journal_options *options) {
    struct journal *journal = calloc(1, sizeof *journal);
    if (journal == NULL) {
        return NULL;
    }
    journal->lock = -1;
    journal->mode = options->mode;
    journal->disk = options->disk == NULL ? journal_real_disk : *options->disk;
    journal->path = strdup(options->path);
    journal->instance = strdup(options->instance == NULL ? "" : options->instance);
    if (journal->path == NULL || journal->instance == NULL || !journal_chain_init(journal) ||
        !journal_chain_root(journal)) {
        journal_close(journal);
        return NULL;
    }
    return journal;
}

static struct journal *open_once(const struct journal_options *options,
                                 struct journal_error *error) {
    struct journal *journal = allocate(options);
    if (journal == NULL) {
        *error =
            (struct journal_error){JOURNAL_MEMORY, "The journal cannot be opened: out of memory."};
        return NULL;
    }
    if (open_steps(journal, options) != JOURNAL_OK) {
        *error = journal->error;
        journal_close(journal);
        return NULL;
    }
    *error = (struct journal_error){JOURNAL_OK, ""};
    return journal;
}

// A daemon that comes up on a full disk must still be able to write what ends or stops, so it may
// use the reserve that it left there; it is not healthy then.
struct journal *journal_open(const struct journal_options *options, struct journal_error *error) {
    if (!options_fit(options)) {
        *error = (struct journal_error){JOURNAL_MISUSE,
                                        "A journal needs a path, and an instance to be written."};
        return NULL;
    }
    struct journal *journal = open_once(options, error);
    if (journal == NULL && error->status == JOURNAL_FULL &&
        options->mode == JOURNAL_READ_WRITE_CREATE && journal_reserve_drop(options)) {
        journal = open_once(options, error);
    }
    return journal;
}

void journal_close(struct journal *journal) {
    if (journal == NULL) {
        return;
    }
    for (int i = 0; i < JOURNAL_SQL_COUNT; i++) {
        sqlite3_finalize(journal->sql[i]);
    }
    if (journal->dead) { // then nothing more is moved on a disk that is not understood
        sqlite3_db_config(journal->db, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, NULL);
    }
    sqlite3_close(journal->db); // rolls back what is open, and checkpoints
    if (journal->lock >= 0) {
        close(journal->lock);
    }
    journal_chain_free(journal);
    free(journal->instance);
    free(journal->path);
    free(journal);
}

const char *journal_instance(const struct journal *journal) {
    return journal->instance;
}

int64_t journal_created_ms(const struct journal *journal) {
    return journal->created_ms;
}
