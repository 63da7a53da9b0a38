// The failing disk (disk.h): every call is the usual VFS's, but writes and syncs are counted.
#include "disk.h"

#include <errno.h>
#include <sqlite3.h>
#include <string.h>
#include <time.h>

struct disk disk;

struct shim_file {
    sqlite3_file base;
    bool log;
    sqlite3_file *real; // lies behind this struct
};

static sqlite3_file *real_of(sqlite3_file *file) {
    return ((struct shim_file *)file)->real;
}

// --- What fails ---

static bool is_due(int64_t *left) {
    return *left > 0 && --*left == 0;
}

static int grow(sqlite3_file *real, int64_t end) {
    sqlite3_int64 size = 0;
    real->pMethods->xFileSize(real, &size);
    int64_t more = end > size ? end - size : 0;
    if (disk.room < 0 || more == 0) {
        return SQLITE_OK;
    }
    if (more > disk.room) {
        return SQLITE_FULL;
    }
    disk.room -= more;
    return SQLITE_OK;
}

static int shim_write(sqlite3_file *file, const void *bytes, int count, sqlite3_int64 offset) {
    sqlite3_file *real = real_of(file);
    disk.writes++;
    if (is_due(&disk.fail_write)) {
        return disk.write_result;
    }
    if (grow(real, offset + count) != SQLITE_OK) {
        return SQLITE_FULL;
    }
    disk.unsynced = disk.unsynced || ((struct shim_file *)file)->log;
    return real->pMethods->xWrite(real, bytes, count, offset);
}

static int shim_sync(sqlite3_file *file, int flags) {
    sqlite3_file *real = real_of(file);
    disk.syncs++;
    if (is_due(&disk.fail_sync)) {
        return SQLITE_IOERR_FSYNC;
    }
    if (disk.sync_ms > 0) {
        nanosleep(&(struct timespec){0, disk.sync_ms * 1000000L}, NULL);
    }
    if (((struct shim_file *)file)->log) {
        disk.unsynced = false;
    }
    return real->pMethods->xSync(real, flags);
}

// --- What does not ---

static int shim_close(sqlite3_file *file) {
    return real_of(file)->pMethods->xClose(real_of(file));
}

static int shim_read(sqlite3_file *file, void *bytes, int count, sqlite3_int64 offset) {
    return real_of(file)->pMethods->xRead(real_of(file), bytes, count, offset);
}

static int shim_truncate(sqlite3_file *file, sqlite3_int64 size) {
    return real_of(file)->pMethods->xTruncate(real_of(file), size);
}

static int shim_size(sqlite3_file *file, sqlite3_int64 *size) {
    return real_of(file)->pMethods->xFileSize(real_of(file), size);
}

static int shim_lock(sqlite3_file *file, int level) {
    return real_of(file)->pMethods->xLock(real_of(file), level);
}

static int shim_unlock(sqlite3_file *file, int level) {
    return real_of(file)->pMethods->xUnlock(real_of(file), level);
}

static int shim_reserved(sqlite3_file *file, int *reserved) {
    return real_of(file)->pMethods->xCheckReservedLock(real_of(file), reserved);
}

static int shim_control(sqlite3_file *file, int code, void *argument) {
    return real_of(file)->pMethods->xFileControl(real_of(file), code, argument);
}

static int shim_sector(sqlite3_file *file) {
    return real_of(file)->pMethods->xSectorSize(real_of(file));
}

static int shim_device(sqlite3_file *file) {
    return real_of(file)->pMethods->xDeviceCharacteristics(real_of(file));
}

static int shim_map(sqlite3_file *file, int region, int size, int extend, void volatile **memory) {
    return real_of(file)->pMethods->xShmMap(real_of(file), region, size, extend, memory);
}

static int shim_shm_lock(sqlite3_file *file, int offset, int count, int flags) {
    return real_of(file)->pMethods->xShmLock(real_of(file), offset, count, flags);
}

static void shim_barrier(sqlite3_file *file) {
    real_of(file)->pMethods->xShmBarrier(real_of(file));
}

static int shim_unmap(sqlite3_file *file, int remove) {
    return real_of(file)->pMethods->xShmUnmap(real_of(file), remove);
}

static const sqlite3_io_methods shim_methods = {
    .iVersion = 2,
    .xClose = shim_close,
    .xRead = shim_read,
    .xWrite = shim_write,
    .xTruncate = shim_truncate,
    .xSync = shim_sync,
    .xFileSize = shim_size,
    .xLock = shim_lock,
    .xUnlock = shim_unlock,
    .xCheckReservedLock = shim_reserved,
    .xFileControl = shim_control,
    .xSectorSize = shim_sector,
    .xDeviceCharacteristics = shim_device,
    .xShmMap = shim_map,
    .xShmLock = shim_shm_lock,
    .xShmBarrier = shim_barrier,
    .xShmUnmap = shim_unmap,
};

static sqlite3_vfs *usual;
static sqlite3_vfs shim_vfs;

static int shim_open(sqlite3_vfs *vfs, const char *name, sqlite3_file *file, int flags, int *out) {
    struct shim_file *shim = (struct shim_file *)file;
    (void)vfs;
    shim->real = (sqlite3_file *)(shim + 1);
    shim->log = (flags & SQLITE_OPEN_WAL) != 0;
    int result = usual->xOpen(usual, name, shim->real, flags, out);
    shim->base.pMethods = shim->real->pMethods == NULL ? NULL : &shim_methods;
    return result;
}

void disk_reset(void) {
    disk = (struct disk){.room = -1};
    if (usual != NULL) {
        return;
    }
    usual = sqlite3_vfs_find(NULL);
    shim_vfs = *usual;
    shim_vfs.zName = DISK_VFS;
    shim_vfs.szOsFile = (int)sizeof(struct shim_file) + usual->szOsFile;
    shim_vfs.xOpen = shim_open;
    sqlite3_vfs_register(&shim_vfs, 0);
}

// --- The reserve ---

static int room_make(void *user, const char *path, int64_t bytes) {
    (void)user;
    (void)path;
    if (disk.room >= 0 && disk.room < bytes) {
        return ENOSPC;
    }
    disk.room -= disk.room < 0 ? 0 : bytes;
    disk.reserve = bytes;
    return 0;
}

static int room_drop(void *user, const char *path) {
    (void)user;
    (void)path;
    if (disk.reserve == 0) {
        return ENOENT;
    }
    disk.room += disk.room < 0 ? 0 : disk.reserve;
    disk.reserve = 0;
    return 0;
}

static int room_left(void *user, const char *path, int64_t *bytes) {
    (void)user;
    (void)path;
    *bytes = disk.room < 0 ? INT64_MAX : disk.room;
    return 0;
}

const struct journal_disk disk_room = {NULL, room_make, room_drop, room_left};
