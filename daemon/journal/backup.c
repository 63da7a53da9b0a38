// A copy of the running journal, made beside its name and moved there when it is whole.
#include "journal/internal.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static enum journal_status cannot(struct journal *journal, const char *path, int error) {
    enum journal_status status = error == ENOSPC || error == EDQUOT ? JOURNAL_FULL
                                 : error == EEXIST                  ? JOURNAL_MISUSE
                                                                    : JOURNAL_IO;
    return journal_refuse(journal, status, "The backup %s cannot be made: %s.", path,
                          strerror(error));
}

// An error of the copy says nothing of the journal, so it does not make it dead.
static enum journal_status copy_failed(struct journal *journal, const char *path, int result) {
    int code = result & 0xff;
    enum journal_status status = code == SQLITE_FULL      ? JOURNAL_FULL
                                 : code == SQLITE_NOMEM   ? JOURNAL_MEMORY
                                 : code == SQLITE_CORRUPT ? JOURNAL_CORRUPT
                                 : code == SQLITE_BUSY    ? JOURNAL_BUSY
                                                          : JOURNAL_IO;
    return journal_refuse(journal, status, "The backup %s cannot be made: %s.", path,
                          sqlite3_errstr(result));
}

// In one step, which is one snapshot: in several, a writer elsewhere would make it begin anew.
static int copy_pages(struct journal *journal, sqlite3 *copy) {
    sqlite3_backup *backup = sqlite3_backup_init(copy, "main", journal->db, "main");
    if (backup == NULL) {
        return sqlite3_extended_errcode(copy);
    }
    int step = sqlite3_backup_step(backup, -1);
    int end = sqlite3_backup_finish(backup);
    return step == SQLITE_DONE ? end : step;
}

static enum journal_status copy_to(struct journal *journal, const char *part) {
    int descriptor = open(part, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0640);
    if (descriptor < 0) {
        return cannot(journal, part, errno);
    }
    close(descriptor);
    sqlite3 *copy = NULL;
    int result = sqlite3_open_v2(part, &copy, SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX, NULL);
    if (result == SQLITE_OK) {
        result = copy_pages(journal, copy);
    }
    int closed = sqlite3_close(copy);
    result = result == SQLITE_OK ? closed : result;
    return result == SQLITE_OK ? JOURNAL_OK : copy_failed(journal, part, result);
}

// A name that is taken is refused; link(2) does so too, where the file system knows no better.
static enum journal_status give_name(struct journal *journal, const char *part, const char *path) {
    if (renameat2(AT_FDCWD, part, AT_FDCWD, path, RENAME_NOREPLACE) != 0 &&
        (errno != EINVAL || link(part, path) != 0)) {
        return cannot(journal, path, errno);
    }
    int error = journal_sync_folder(path);
    return error == 0 ? JOURNAL_OK : cannot(journal, path, error);
}

enum journal_status journal_backup(struct journal *journal, const char *path) {
    if (journal->writing) {
        return journal_refuse(journal, JOURNAL_MISUSE,
                              "The journal cannot be copied inside a transaction.");
    }
    if (access(path, F_OK) == 0) {
        return cannot(journal, path, EEXIST);
    }
    char *part = journal_beside(path, ".part");
    if (part == NULL) {
        return cannot(journal, path, ENOMEM);
    }
    unlink(part); // what a copy that was cut off has left
    enum journal_status status = copy_to(journal, part);
    if (status == JOURNAL_OK) {
        status = give_name(journal, part, path);
    }
    unlink(part); // gone already if all went well
    free(part);
    return status;
}
