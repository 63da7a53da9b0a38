// What went wrong, as a status for the program and a sentence for people.
#include "journal/internal.h"

#include <errno.h>
#include <stdarg.h>
#include <string.h>

const char *journal_fault_name(enum journal_fault fault) {
    static const char *const names[] = {
        [JOURNAL_FAULT_NONE] = "none",           [JOURNAL_FAULT_MISSING] = "missing",
        [JOURNAL_FAULT_CHANGED] = "changed",     [JOURNAL_FAULT_SWAPPED] = "swapped",
        [JOURNAL_FAULT_TRUNCATED] = "truncated", [JOURNAL_FAULT_EXTRA] = "extra",
        [JOURNAL_FAULT_FILE] = "file",
    };
    return names[fault];
}

const char *journal_why(const struct journal *journal) {
    return journal->error.say;
}

enum journal_status journal_refuse(struct journal *journal, enum journal_status status,
                                   const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(journal->error.say, sizeof journal->error.say, format, arguments);
    va_end(arguments);
    journal->error.status = status;
    return status;
}

enum journal_status journal_dead(struct journal *journal) {
    return journal_refuse(
        journal, JOURNAL_IO,
        "The journal %s has failed and is written no more; start the daemon anew.", journal->path);
}

static bool no_space(int error) {
    return error == ENOSPC || error == EDQUOT;
}

// An input/output error whose cause is a full disk is one that passes, unless it is a sync: after
// that nobody knows what the disk holds.
static enum journal_status io_status(struct journal *journal, int result) {
    switch (result) {
    case SQLITE_IOERR_NOMEM:
        return JOURNAL_MEMORY;
    case SQLITE_IOERR_FSYNC:
    case SQLITE_IOERR_DIR_FSYNC:
        return JOURNAL_IO;
    case SQLITE_IOERR_CORRUPTFS:
        return JOURNAL_CORRUPT;
    default:
        return no_space(sqlite3_system_errno(journal->db)) ? JOURNAL_FULL : JOURNAL_IO;
    }
}

static enum journal_status status_of(struct journal *journal, int result) {
    switch (result & 0xff) {
    case SQLITE_FULL:
        return JOURNAL_FULL;
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
    case SQLITE_PROTOCOL:
        return JOURNAL_BUSY;
    case SQLITE_CORRUPT:
    case SQLITE_CONSTRAINT:
    case SQLITE_MISMATCH:
        return JOURNAL_CORRUPT;
    case SQLITE_NOTADB:
        return JOURNAL_FOREIGN;
    case SQLITE_NOMEM:
        return JOURNAL_MEMORY;
    case SQLITE_TOOBIG:
    case SQLITE_MISUSE:
        return JOURNAL_MISUSE;
    case SQLITE_IOERR:
        return io_status(journal, result);
    default:
        return JOURNAL_IO;
    }
}

static const char *advice(enum journal_status status) {
    switch (status) {
    case JOURNAL_FULL:
        return "; make room on the disk";
    case JOURNAL_CORRUPT:
        return "; keep a copy of the file, see what 'forelock journal verify' finds, and restore a "
               "backup";
    case JOURNAL_FOREIGN:
        return "; name another file in the configuration";
    default:
        return "";
    }
}

enum journal_status journal_fail(struct journal *journal, int result, const char *what) {
    enum journal_status status = status_of(journal, result);
    int error = (result & 0xff) == SQLITE_IOERR || (result & 0xff) == SQLITE_CANTOPEN
                    ? sqlite3_system_errno(journal->db)
                    : 0;
    const char *cause = error != 0 ? strerror(error) : sqlite3_errstr(result);
    if ((result & 0xff) == SQLITE_CONSTRAINT) {
        cause = sqlite3_errmsg(journal->db);
    }
    if (status == JOURNAL_IO || status == JOURNAL_CORRUPT) {
        journal->dead = true;
    }
    return journal_refuse(journal, status, "The journal %s %s: %s%s.", journal->path, what, cause,
                          advice(status));
}
