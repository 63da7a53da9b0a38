// A disk that fails on purpose: an SQLite VFS over the usual one, and a reserve that shares its
// room.
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "journal/journal.h"

struct disk {
    int64_t writes, syncs; // so far
    int64_t fail_write;    // the write after which so many are left fails; 0: none
    int write_result;      // with this SQLite code
    int64_t fail_sync;     // likewise
    int64_t room;          // bytes by which files can grow; below 0: no limit
    int64_t reserve;       // bytes that the reserve holds
    int sync_ms;           // how long a sync takes
    bool unsynced;         // something was written to the log after its last sync
};

extern struct disk disk;                    // as it behaves now
extern const struct journal_disk disk_room; // the reserve on it

#define DISK_VFS "failing"

// Registers the VFS (once), and makes the disk a good and endless one.
void disk_reset(void);
