// A disk that is full, fails or is slow: nothing is acknowledged that is not there.
#include "disk.h"
#include "given.h"

#include <fcntl.h>
#include <sched.h>
#include <sqlite3.h>
#include <string.h>
#include <sys/mount.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

static struct journal *try_failing(struct given *given) {
    const struct journal_options options = {
        .path = given->path,
        .instance = "edge-1",
        .check = JOURNAL_CHECK_WHOLE,
        .vfs = DISK_VFS,
        .disk = &disk_room,
    };
    return journal_open(&options, &given->error);
}

static void open_failing(struct given *given) {
    disk_reset();
    given->journal = try_failing(given);
    if (given->journal == NULL) {
        fail_msg("%s", given->error.say);
    }
}

static enum journal_status try_commit(struct given *given, int first, int last) {
    enum journal_status status = journal_begin(given->journal);
    if (status != JOURNAL_OK) {
        return status;
    }
    for (int i = first; i <= last; i++) {
        struct journal_fact fact = given_fact(i);
        journal_append(given->journal, &fact, NULL); // the commit tells what became of it
    }
    return journal_commit(given->journal);
}

static void a_commit_is_one_sync(void **state) {
    struct given *given = *state;
    open_failing(given);
    given_commit(given, 1, 1);
    for (int i = 2; i < 20; i++) {
        int64_t before = disk.syncs;
        given_commit(given, i, i);
        assert_int_equal(disk.syncs, before + 1);
        assert_false(disk.unsynced);
    }
    int64_t before = disk.syncs;
    assert_int_equal(journal_begin(given->journal), JOURNAL_OK);
    assert_int_equal(journal_commit(given->journal), JOURNAL_OK);
    assert_int_equal(disk.syncs, before); // nothing was written
}

static int64_t now_ms(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static void a_slow_sync_is_waited_for(void **state) {
    struct given *given = *state;
    open_failing(given);
    given_commit(given, 1, 1);
    disk.sync_ms = 50;
    int64_t start = now_ms();
    assert_int_equal(journal_begin(given->journal), JOURNAL_OK);
    struct journal_fact fact = given_fact(2);
    assert_int_equal(journal_append(given->journal, &fact, NULL), JOURNAL_OK);
    assert_int_equal(journal_commit(given->journal), JOURNAL_OK);
    assert_true(now_ms() - start >= 50);
    assert_false(disk.unsynced);
}

static void a_full_disk_then_the_reserve_then_room(void **state) {
    struct given *given = *state;
    open_failing(given);
    given_commit(given, 1, 10);
    assert_true(journal_healthy(given->journal));
    disk.room = 2000;
    assert_int_equal(try_commit(given, 11, 12), JOURNAL_FULL);
    assert_non_null(strstr(journal_why(given->journal), "make room on the disk"));
    assert_false(journal_healthy(given->journal));
    assert_int_equal(given_last(given), 10);
    assert_int_equal(journal_restore_reserve(given->journal, NULL), JOURNAL_FULL);
    assert_int_equal(journal_release_reserve(given->journal), JOURNAL_OK);
    assert_int_equal(journal_release_reserve(given->journal), JOURNAL_NONE);
    for (int i = 11; i <= 60; i++) { // what ends or stops is written
        given_commit(given, i, i);
    }
    assert_false(journal_healthy(given->journal)); // but nothing permitted
    assert_int_equal(journal_restore_reserve(given->journal, NULL), JOURNAL_FULL);
    assert_false(journal_healthy(given->journal));
    disk.room = JOURNAL_RESERVE_BYTES + 1000; // for the reserve, and nothing beside it
    struct journal_room wanted;
    assert_int_equal(journal_restore_reserve(given->journal, &wanted), JOURNAL_FULL);
    assert_int_equal(wanted.need, 3 << 20);
    assert_int_equal(wanted.found, JOURNAL_RESERVE_BYTES + 1000);
    assert_int_equal(disk.reserve, 0); // nothing was taken of it
    assert_non_null(strstr(journal_why(given->journal), "wants 3.0 MiB"));
    disk.room = 3 << 20; // so much, and no more
    assert_int_equal(journal_restore_reserve(given->journal, &wanted), JOURNAL_OK);
    assert_int_equal(wanted.need, 0);
    assert_int_equal(journal_release_reserve(given->journal), JOURNAL_OK);
    assert_false(journal_healthy(given->journal));
    disk.room = 8 << 20;
    assert_int_equal(journal_restore_reserve(given->journal, NULL), JOURNAL_OK);
    assert_true(journal_healthy(given->journal));
    given_commit(given, 61, 70);
    disk.room = -1;
    struct journal_verdict verdict;
    assert_int_equal(journal_verify(given->journal, &verdict), JOURNAL_OK);
    assert_int_equal(verdict.fault, JOURNAL_FAULT_NONE);
    assert_int_equal(verdict.checked, 70);
}

static void a_start_without_room_is_not_healthy(void **state) {
    struct given *given = *state;
    given_facts(given, 3);
    disk_reset();
    disk.room = 1 << 20;
    given->journal = try_failing(given);
    assert_non_null(given->journal);
    assert_false(journal_healthy(given->journal));
    given_commit(given, 4, 4); // stops can be written as long as there is anything left
    disk.room = -1;
    assert_int_equal(journal_restore_reserve(given->journal, NULL), JOURNAL_OK);
    assert_true(journal_healthy(given->journal));
}

static void a_checkpoint_on_a_full_disk_loses_nothing(void **state) {
    struct given *given = *state;
    open_failing(given);
    given_commit(given, 1, 40000);
    disk.room = 0;
    assert_int_equal(journal_idle(given->journal), JOURNAL_FULL);
    disk.room = -1;
    given_commit(given, 40001, 40001);
    assert_int_equal(journal_idle(given->journal), JOURNAL_OK);
    struct journal_verdict verdict;
    assert_int_equal(journal_verify(given->journal, &verdict), JOURNAL_OK);
    assert_int_equal(verdict.checked, 40001);
    assert_int_equal(verdict.fault, JOURNAL_FAULT_NONE);
}

static void a_failed_sync_is_final(void **state) {
    struct given *given = *state;
    open_failing(given);
    given_commit(given, 1, 3);
    disk.fail_sync = 1;
    assert_int_equal(try_commit(given, 4, 5), JOURNAL_IO);
    assert_false(journal_healthy(given->journal));
    assert_int_equal(try_commit(given, 4, 5), JOURNAL_IO); // though the disk is good again
    assert_non_null(strstr(journal_why(given->journal), "start the daemon anew"));
    assert_int_equal(journal_restore_reserve(given->journal, NULL), JOURNAL_OK);
    assert_false(journal_healthy(given->journal));
    given_close(given);
    open_failing(given);
    int64_t last = given_last(given);
    assert_true(last == 3 || last == 5); // what was never acknowledged may be there, but whole
}

// The Nth write or sync of a life fails: what was acknowledged is there after a new start, whole
// and in order, and a full disk leaves the journal usable.
static void fail_nth(struct given *given, int64_t *counter, int nth, int result) {
    disk_reset();
    disk.write_result = result;
    *counter = nth;
    int acknowledged = 0;
    given->journal = try_failing(given);
    while (given->journal != NULL && acknowledged < 12) {
        enum journal_status status = try_commit(given, acknowledged + 1, acknowledged + 3);
        if (status == JOURNAL_OK) {
            acknowledged += 3;
        } else if (result != SQLITE_FULL) {
            break;
        } else {
            assert_int_equal(status, JOURNAL_FULL);
        }
    }
    bool failed = *counter == 0;
    given_close(given);
    disk_reset();
    given->journal = try_failing(given);
    assert_non_null(given->journal);
    int64_t last = given_last(given);
    assert_in_range(last, acknowledged, acknowledged + 3);
    assert_int_equal(last % 3, 0);
    assert_true(result != SQLITE_FULL || last == acknowledged);
    assert_true(failed || acknowledged == 12);
}

static void sweep(int64_t *counter, int result, int upto) {
    for (int nth = 1; nth <= upto; nth++) {
        void *one = NULL;
        assert_int_equal(given_setup(&one), 0);
        fail_nth(one, counter, nth, result);
        given_teardown(&one);
    }
}

static void every_write_fails_once(void **state) {
    (void)state;
    sweep(&disk.fail_write, SQLITE_FULL, 80);
    sweep(&disk.fail_write, SQLITE_IOERR_WRITE, 80);
}

static void every_sync_fails_once(void **state) {
    (void)state;
    sweep(&disk.fail_sync, SQLITE_IOERR_FSYNC, 12);
}

// --- A file system that really is full ---

#define REAL_BYTES "size=4m"

// Only this process sees it. False: no right to mount.
static bool mount_small(struct given *given) {
    return unshare(CLONE_NEWNS) == 0 && mount(NULL, "/", NULL, MS_REC | MS_PRIVATE, NULL) == 0 &&
           mount("tmpfs", given->folder, "tmpfs", 0, REAL_BYTES) == 0;
}

// In a child. 0: as it should be; 77: no right to mount.
static int on_a_small_disk(struct given *given) {
    if (!mount_small(given)) {
        return 77;
    }
    given->journal = given_try(given, JOURNAL_READ_WRITE_CREATE, JOURNAL_CHECK_WHOLE);
    if (given->journal == NULL || !journal_healthy(given->journal)) {
        return 1;
    }
    int last = 0;
    enum journal_status status = JOURNAL_OK;
    while (last < 100000 && (status = try_commit(given, last + 1, last + 10)) == JOURNAL_OK) {
        last += 10;
    }
    if (status != JOURNAL_FULL || journal_healthy(given->journal) || given_last(given) != last) {
        return 2;
    }
    if (journal_release_reserve(given->journal) != JOURNAL_OK) {
        return 3;
    }
    for (int i = 0; i < 20; i++, last++) {
        if (try_commit(given, last + 1, last + 1) != JOURNAL_OK) {
            return 4;
        }
    }
    if (journal_restore_reserve(given->journal, NULL) != JOURNAL_FULL) {
        return 5;
    }
    if (mount("tmpfs", given->folder, "tmpfs", MS_REMOUNT, "size=32m") != 0 ||
        journal_restore_reserve(given->journal, NULL) != JOURNAL_OK ||
        !journal_healthy(given->journal) || try_commit(given, last + 1, last + 1) != JOURNAL_OK) {
        return 6;
    }
    struct journal_verdict verdict;
    bool sound = journal_verify(given->journal, &verdict) == JOURNAL_OK &&
                 verdict.fault == JOURNAL_FAULT_NONE && verdict.checked == last + 1;
    given_close(given);
    return sound ? 0 : 7;
}

static void fill_up(const char *folder) {
    char path[128];
    static const char block[4096];
    snprintf(path, sizeof path, "%s/ballast", folder);
    int descriptor = open(path, O_WRONLY | O_CREAT | O_CLOEXEC, 0600);
    while (write(descriptor, block, sizeof block) > 0) {
    }
    close(descriptor);
}

// A daemon that is started on a full disk lives on its reserve.
static int start_on_a_full_disk(struct given *given) {
    if (!mount_small(given)) {
        return 77;
    }
    given_facts(given, 20);
    fill_up(given->folder);
    given->journal = given_try(given, JOURNAL_READ_WRITE_CREATE, JOURNAL_CHECK_WHOLE);
    if (given->journal == NULL) {
        return 1;
    }
    bool healthy = journal_healthy(given->journal);
    return !healthy && try_commit(given, 21, 21) == JOURNAL_OK ? 0 : 2;
}

static void in_child(struct given *given, int (*live)(struct given *given)) {
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        _exit(live(given));
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status));
    if (WEXITSTATUS(status) == 77) {
        skip();
    }
    assert_int_equal(WEXITSTATUS(status), 0);
}

static void a_real_full_disk(void **state) {
    in_child(*state, on_a_small_disk);
}

static void a_start_on_a_real_full_disk(void **state) {
    in_child(*state, start_on_a_full_disk);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, given_setup, given_teardown)

int main(void) {
    const struct CMUnitTest tests[] = {
        TEST(a_commit_is_one_sync),
        TEST(a_slow_sync_is_waited_for),
        TEST(a_full_disk_then_the_reserve_then_room),
        TEST(a_start_without_room_is_not_healthy),
        TEST(a_checkpoint_on_a_full_disk_loses_nothing),
        TEST(a_failed_sync_is_final),
        cmocka_unit_test(every_write_fails_once),
        cmocka_unit_test(every_sync_fails_once),
        TEST(a_real_full_disk),
        TEST(a_start_on_a_real_full_disk),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
