// What is opened and what is refused: a second writer, strangers, newer formats, other instances.
#include "given.h"

#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static void refused(struct given *given, enum journal_mode mode, enum journal_status status,
                    const char *words) {
    struct journal *journal = given_try(given, mode, JOURNAL_CHECK_QUICK);
    journal_close(journal);
    assert_null(journal);
    assert_int_equal(given->error.status, status);
    if (strstr(given->error.say, words) == NULL) {
        fail_msg("\"%s\" does not say \"%s\"", given->error.say, words);
    }
    assert_int_equal(given->error.say[strlen(given->error.say) - 1], '.');
}

static void write_file(const char *path, const char *text) {
    int descriptor = open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    assert_true(descriptor >= 0);
    assert_int_equal(write(descriptor, text, strlen(text)), strlen(text));
    close(descriptor);
}

static void a_new_journal_keeps_to_its_owner(void **state) {
    struct given *given = *state;
    mode_t before = umask(0);
    given_open(given);
    umask(before);
    given_commit(given, 1, 1);
    static const char *const names[] = {"", "-wal", "-shm", ".lock", ".reserve"};
    for (size_t i = 0; i < COUNT(names); i++) {
        char path[200];
        struct stat status;
        snprintf(path, sizeof path, "%s%s", given->path, names[i]);
        assert_int_equal(stat(path, &status), 0);
        assert_int_equal(status.st_mode & 0777, 0640);
    }
    assert_int_equal(given_ask(given, "PRAGMA application_id"), 0x464c434b);
    assert_int_equal(given_ask(given, "PRAGMA user_version"), 3);
}

static void a_second_writer_is_refused(void **state) {
    struct given *given = *state;
    given_open(given);
    refused(given, JOURNAL_READ_WRITE_CREATE, JOURNAL_BUSY, "already being written");
    given_close(given);
    given_open(given);
}

static void readers_see_what_is_committed(void **state) {
    struct given *given = *state;
    given_open(given);
    given_commit(given, 1, 5);
    struct journal *writer = given->journal;
    struct journal *reader = given_try(given, JOURNAL_READ_ONLY, JOURNAL_CHECK_WHOLE);
    assert_non_null(reader);
    given_commit(given, 6, 6);
    assert_int_equal(journal_begin(writer), JOURNAL_OK);
    struct journal_fact fact = given_fact(7);
    assert_int_equal(journal_append(writer, &fact, NULL), JOURNAL_OK);
    struct journal_head head;
    assert_int_equal(journal_last(reader, &head), JOURNAL_OK);
    assert_int_equal(head.seq, 6);
    struct journal_verdict verdict;
    assert_int_equal(journal_verify(reader, &verdict), JOURNAL_OK);
    assert_int_equal(verdict.fault, JOURNAL_FAULT_NONE);
    assert_int_equal(verdict.checked, 6);
    assert_int_equal(journal_commit(writer), JOURNAL_OK);
    assert_int_equal(journal_last(reader, &head), JOURNAL_OK);
    assert_int_equal(head.seq, 7);
    assert_int_equal(journal_begin(reader), JOURNAL_MISUSE);
    assert_int_equal(journal_restore_reserve(reader, NULL), JOURNAL_MISUSE);
    assert_true(journal_healthy(reader));
    journal_close(reader);
}

static void nothing_to_read(void **state) {
    struct given *given = *state;
    refused(given, JOURNAL_READ_ONLY, JOURNAL_IO, "No such file");
    write_file(given->path, "");
    refused(given, JOURNAL_READ_ONLY, JOURNAL_FOREIGN, "is not a journal");
    given_open(given); // an empty file is what a start that was cut off leaves
}

static void not_a_database(void **state) {
    struct given *given = *state;
    char text[5000];
    memset(text, 'x', sizeof text - 1);
    text[sizeof text - 1] = '\0';
    write_file(given->path, text);
    refused(given, JOURNAL_READ_WRITE_CREATE, JOURNAL_FOREIGN, "file is not a database");
    struct stat status;
    assert_int_equal(stat(given->path, &status), 0);
    assert_int_equal(status.st_size, sizeof text - 1); // left as it was
}

static void somebody_elses_database(void **state) {
    struct given *given = *state;
    given_tamper(given, "CREATE TABLE song (title TEXT)");
    refused(given, JOURNAL_READ_WRITE_CREATE, JOURNAL_FOREIGN, "is not a journal of this program");
    assert_int_equal(given_ask(given, "SELECT count(*) FROM sqlite_schema"), 1);
}

static void a_newer_format(void **state) {
    struct given *given = *state;
    given_facts(given, 2);
    given_tamper(given, "PRAGMA user_version = 4");
    refused(given, JOURNAL_READ_WRITE_CREATE, JOURNAL_FOREIGN,
            "has format 4, and this program knows format 3");
    refused(given, JOURNAL_READ_ONLY, JOURNAL_FOREIGN, "has format 4");
}

static void another_instance(void **state) {
    struct given *given = *state;
    given_facts(given, 2);
    struct journal_options options = {.path = given->path, .instance = "edge-2"};
    assert_null(journal_open(&options, &given->error));
    assert_int_equal(given->error.status, JOURNAL_FOREIGN);
    assert_non_null(
        strstr(given->error.say, "belongs to the daemon \"edge-1\" and not to \"edge-2\""));
    options.mode = JOURNAL_READ_ONLY;
    options.instance = NULL; // whoever's
    given->journal = journal_open(&options, &given->error);
    assert_non_null(given->journal);
    assert_string_equal(journal_instance(given->journal), "edge-1");
}

static void an_instance_relabeled(void **state) {
    struct given *given = *state;
    given_facts(given, 2);
    given_tamper(given, "UPDATE meta SET value = 'edge-9' WHERE name = 'instance';"
                        "UPDATE meta SET value = 'edge-1' WHERE name = 'instance'");
    given_open(given); // as it was
    given_tamper(given, "UPDATE meta SET value = 'edge-9' WHERE name = 'instance'");
    const struct journal_options options = {.path = given->path, .instance = "edge-9"};
    assert_null(journal_open(&options, &given->error));
    assert_int_equal(given->error.status, JOURNAL_CORRUPT); // the chain begins with the name
    assert_non_null(strstr(given->error.say, "fact 1 is not what was written"));
}

static void options_that_do_not_fit(void **state) {
    struct given *given = *state;
    const struct journal_options options[] = {
        {.instance = "edge-1"},
        {.path = "", .instance = "edge-1"},
        {.path = given->path},
        {.path = given->path, .instance = ""},
        {.path = given->path, .instance = "edge-1", .check = JOURNAL_CHECK_NONE},
    };
    for (size_t i = 0; i < COUNT(options); i++) {
        assert_null(journal_open(&options[i], &given->error));
        assert_int_equal(given->error.status, JOURNAL_MISUSE);
    }
}

// Root may write anywhere, so the folder is looked at through somebody else's eyes.
static int as_nobody(struct given *given, int (*look)(struct given *given)) {
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        if (geteuid() == 0 && (setgid(65534) != 0 || setuid(65534) != 0)) {
            _exit(99);
        }
        _exit(look(given));
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status));
    return WEXITSTATUS(status);
}

static int write_there(struct given *given) {
    struct journal *journal = given_try(given, JOURNAL_READ_WRITE_CREATE, JOURNAL_CHECK_TAIL);
    bool refusal = journal == NULL && given->error.status == JOURNAL_IO &&
                   strstr(given->error.say, "cannot be written: Permission denied.") != NULL;
    journal_close(journal);
    return refusal ? 0 : 1;
}

static int read_there(struct given *given) {
    struct journal *journal = given_try(given, JOURNAL_READ_ONLY, JOURNAL_CHECK_WHOLE);
    struct journal_head head = {0};
    bool good = journal != NULL && journal_last(journal, &head) == JOURNAL_OK && head.seq == 3;
    journal_close(journal);
    return good ? 0 : 1;
}

static void a_read_only_folder(void **state) {
    struct given *given = *state;
    char plain[sizeof given->path];
    snprintf(plain, sizeof plain, "%s", given->path);
    // A name that would mean something else in a URI.
    snprintf(given->path, sizeof given->path, "%s/50%%?#.db", given->folder);
    given_facts(given, 3);
    assert_int_equal(chmod(given->path, 0444), 0);
    assert_int_equal(chmod(given->folder, 0555), 0);
    assert_int_equal(as_nobody(given, read_there), 0);
    snprintf(given->path, sizeof given->path, "%s", plain);
    assert_int_equal(as_nobody(given, write_there), 0);
    assert_int_equal(chmod(given->folder, 0700), 0);
}

static void a_child_does_not_keep_the_lock(void **state) {
    struct given *given = *state;
    bool inherited[64];
    for (int i = 0; i < 64; i++) {
        inherited[i] = fcntl(i, F_GETFD) >= 0;
    }
    given_open(given);
    int ours = 0;
    for (int i = 0; i < 64; i++) {
        int flags = fcntl(i, F_GETFD);
        if (flags >= 0 && !inherited[i]) {
            assert_true((flags & FD_CLOEXEC) != 0);
            ours++;
        }
    }
    assert_true(ours >= 3); // the lock, the file and its log
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, given_setup, given_teardown)

int main(void) {
    const struct CMUnitTest tests[] = {
        TEST(a_new_journal_keeps_to_its_owner),
        TEST(a_second_writer_is_refused),
        TEST(readers_see_what_is_committed),
        TEST(nothing_to_read),
        TEST(not_a_database),
        TEST(somebody_elses_database),
        TEST(a_newer_format),
        TEST(another_instance),
        TEST(an_instance_relabeled),
        TEST(options_that_do_not_fit),
        TEST(a_read_only_folder),
        TEST(a_child_does_not_keep_the_lock),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
