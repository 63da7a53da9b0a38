// Disk space kept in reserve: given up when the disk is full, so that stops can still be written.
#include "journal/internal.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/statvfs.h>
#include <unistd.h>

// Beside the reserve, before anything is permitted again: else the next commit would be full again.
#define ROOM_BYTES (1024 * 1024)
#define MIB (1024.0 * 1024.0)

// Written out and synced, so that no file system can think better of it later.
static int fill(int descriptor, int64_t bytes) {
    int error = posix_fallocate(descriptor, 0, bytes);
    if (error == 0 && fsync(descriptor) != 0) {
        error = errno;
    }
    return error;
}

static int real_make(void *user, const char *path, int64_t bytes) {
    (void)user;
    int descriptor = open(path, O_WRONLY | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0640);
    if (descriptor < 0) {
        return errno;
    }
    int error = fill(descriptor, bytes);
    close(descriptor);
    if (error == 0) {
        error = journal_sync_folder(path);
    }
    if (error != 0) {
        unlink(path); // half a reserve would only take what is left
    }
    return error;
}

static int real_drop(void *user, const char *path) {
    (void)user;
    return unlink(path) == 0 ? 0 : errno;
}

// Of the journal's own file: the reserve may not be there.
static int real_room(void *user, const char *path, int64_t *bytes) {
    (void)user;
    struct statvfs disk;
    if (statvfs(path, &disk) != 0) {
        return errno;
    }
    *bytes = (int64_t)(disk.f_bavail * disk.f_frsize);
    return 0;
}

const struct journal_disk journal_real_disk = {NULL, real_make, real_drop, real_room};

static enum journal_status refuse(struct journal *journal, int error, const char *what) {
    bool full = error == ENOSPC || error == EDQUOT;
    return journal_refuse(journal, full ? JOURNAL_FULL : JOURNAL_IO,
                          "The disk space in reserve for %s cannot be %s: %s.", journal->path, what,
                          strerror(error));
}

static enum journal_status out_of_memory(struct journal *journal) {
    return journal_refuse(journal, JOURNAL_MEMORY, "The reserve of %s: out of memory.",
                          journal->path);
}

enum journal_status journal_reserve_init(struct journal *journal) {
    char *path = journal_beside(journal->path, ".reserve");
    if (path == NULL) {
        return out_of_memory(journal);
    }
    journal->reserved = journal->disk.make(journal->disk.user, path, JOURNAL_RESERVE_BYTES) == 0;
    free(path);
    return JOURNAL_OK;
}

bool journal_reserve_drop(const struct journal_options *options) {
    const struct journal_disk *disk = options->disk == NULL ? &journal_real_disk : options->disk;
    char *path = journal_beside(options->path, ".reserve");
    bool dropped = path != NULL && disk->drop(disk->user, path) == 0;
    free(path);
    return dropped;
}

enum journal_status journal_release_reserve(struct journal *journal) {
    if (!journal->reserved) {
        return JOURNAL_NONE;
    }
    char *path = journal_beside(journal->path, ".reserve");
    if (path == NULL) {
        return out_of_memory(journal);
    }
    int error = journal->disk.drop(journal->disk.user, path);
    free(path);
    if (error != 0 && error != ENOENT) {
        return refuse(journal, error, "released");
    }
    journal->reserved = false;
    return error == 0 ? JOURNAL_OK : JOURNAL_NONE;
}

// Nothing is taken while there is not enough for all of it: what ends or stops needs what is left.
static int restore(struct journal *journal, const char *path, struct journal_room *room) {
    room->need = ROOM_BYTES + (journal->reserved ? 0 : JOURNAL_RESERVE_BYTES);
    int error = journal->disk.room(journal->disk.user, journal->path, &room->found);
    if (error == 0 && room->found < room->need) {
        error = ENOSPC;
    }
    if (error == 0 && !journal->reserved) {
        error = journal->disk.make(journal->disk.user, path, JOURNAL_RESERVE_BYTES);
        journal->reserved = error == 0;
    }
    return error;
}

static enum journal_status refuse_room(struct journal *journal, const struct journal_room *room) {
    return journal_refuse(journal, JOURNAL_FULL,
                          "%s wants %.1f MiB free on its disk to write again, and finds %.1f MiB.",
                          journal->path, (double)room->need / MIB, (double)room->found / MIB);
}

enum journal_status journal_restore_reserve(struct journal *journal, struct journal_room *room) {
    struct journal_room wanted = {0};
    if (room != NULL) {
        *room = wanted;
    }
    if (journal->mode == JOURNAL_READ_ONLY) {
        return journal_refuse(journal, JOURNAL_MISUSE, "The journal is open for reading only.");
    }
    char *path = journal_beside(journal->path, ".reserve");
    if (path == NULL) {
        return out_of_memory(journal);
    }
    int error = restore(journal, path, &wanted);
    free(path);
    if (error == ENOSPC || error == EDQUOT) {
        if (room != NULL) {
            *room = wanted;
        }
        return refuse_room(journal, &wanted);
    }
    if (error != 0) {
        return refuse(journal, error, "restored");
    }
    journal->full = false;
    return JOURNAL_OK;
}

bool journal_healthy(const struct journal *journal) {
    return !journal->dead && !journal->full &&
           (journal->reserved || journal->mode == JOURNAL_READ_ONLY);
}
