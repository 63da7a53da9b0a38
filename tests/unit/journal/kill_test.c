// A writer killed at random instants: what it acknowledged is there, contiguous and proved.
#include "given.h"

#include <signal.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define ROUNDS 60
#define BATCH 7

// Commits for as long as it lives, and tells each commit through the pipe once it is acknowledged.
static void write_forever(struct given *given, int acknowledge) {
    given->journal = given_try(given, JOURNAL_READ_WRITE_CREATE, JOURNAL_CHECK_TAIL);
    struct journal_head head;
    if (given->journal == NULL || journal_last(given->journal, &head) != JOURNAL_OK) {
        _exit(1);
    }
    int64_t last = head.seq;
    for (;;) {
        if (journal_begin(given->journal) != JOURNAL_OK) {
            _exit(2);
        }
        for (int i = 0; i < BATCH; i++) {
            struct journal_fact fact = given_fact((int)last + 1);
            if (journal_append(given->journal, &fact, &last) != JOURNAL_OK) {
                _exit(3);
            }
        }
        if (journal_commit(given->journal) != JOURNAL_OK ||
            write(acknowledge, &last, sizeof last) != sizeof last ||
            journal_idle(given->journal) != JOURNAL_OK) {
            _exit(4);
        }
    }
}

// The last number acknowledged before the end of the child; before if it said nothing.
static int64_t kill_one(struct given *given, int64_t before, long after_us) {
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        close(ends[0]);
        write_forever(given, ends[1]);
    }
    close(ends[1]);
    nanosleep(&(struct timespec){0, after_us * 1000}, NULL);
    kill(child, SIGKILL);
    int64_t last = before, next;
    while (read(ends[0], &next, sizeof next) == sizeof next) {
        last = next;
    }
    close(ends[0]);
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status));
    return last;
}

static void what_was_acknowledged_is_there(void **state) {
    struct given *given = *state;
    srandom(7);
    int64_t acknowledged = 0;
    for (int round = 0; round < ROUNDS; round++) {
        acknowledged = kill_one(given, acknowledged, 500 + random() % 60000);
        given->journal = given_try(given, JOURNAL_READ_WRITE_CREATE, JOURNAL_CHECK_WHOLE);
        if (given->journal == NULL) {
            fail_msg("%s", given->error.say);
        }
        int64_t last = given_last(given);
        assert_in_range(last, acknowledged, acknowledged + BATCH); // one commit may be unheard of
        assert_int_equal(last % BATCH, 0);                         // and none is half there
        acknowledged = last;
        given_close(given);
    }
    assert_true(acknowledged > ROUNDS);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(what_was_acknowledged_is_there, given_setup,
                                        given_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
