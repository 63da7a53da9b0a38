// Damage of every kind: found, named by the first bad fact, and never opened for writing.
#include "given.h"

#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define FACTS 200

struct damage {
    const char *sql;
    enum journal_fault fault;
    int64_t seq;
    const char *words;
};

// Two whole rows, or only what they say, at each other's number.
#define SWAP(a, b)                                                                                 \
    "UPDATE fact SET seq = 9999 WHERE seq = " a ";UPDATE fact SET seq = " a " WHERE seq = " b ";"  \
    "UPDATE fact SET seq = " b " WHERE seq = 9999"
#define SWAP_TEXT(a, b)                                                                            \
    "CREATE TEMP TABLE old AS SELECT * FROM fact;"                                                 \
    "UPDATE fact SET (at_ms, elapsed_ms, site, type, subject, data) ="                             \
    " (SELECT at_ms, elapsed_ms, site, type, subject, data FROM old"                               \
    " WHERE old.seq = " a " + " b " - fact.seq) WHERE seq IN (" a ", " b ")"

static const struct damage damages[] = {
    {"UPDATE fact SET data = replace(data, 'true', 'tru3') WHERE seq = 57", JOURNAL_FAULT_CHANGED,
     57, "fact 57 is not what was written"},
    {"UPDATE fact SET at_ms = at_ms + 1 WHERE seq = 1", JOURNAL_FAULT_CHANGED, 1, "fact 1 "},
    {"UPDATE fact SET elapsed_ms = 0 WHERE seq = 200", JOURNAL_FAULT_CHANGED, 200, "fact 200 "},
    {"UPDATE fact SET site = 'juniperj', type = 'ob.opened' WHERE seq = 5", JOURNAL_FAULT_CHANGED,
     5, "fact 5 "},
    {"UPDATE fact SET subject = '3B' WHERE seq = 99", JOURNAL_FAULT_CHANGED, 99, "fact 99 "},
    {"UPDATE fact SET hash = zeroblob(32) WHERE seq = 100", JOURNAL_FAULT_CHANGED, 100,
     "fact 100 "},
    {"UPDATE head SET hash = zeroblob(32)", JOURNAL_FAULT_CHANGED, 200, "fact 200 "},
    {"DELETE FROM fact WHERE seq = 44", JOURNAL_FAULT_MISSING, 44, "fact 44 is missing"},
    {"DELETE FROM fact WHERE seq BETWEEN 1 AND 3", JOURNAL_FAULT_MISSING, 1,
     "facts 1 to 3 are missing"},
    {"DELETE FROM fact WHERE seq >= 198", JOURNAL_FAULT_TRUNCATED, 198,
     "the end from fact 198 to 200 is cut off"},
    {"DELETE FROM fact", JOURNAL_FAULT_TRUNCATED, 1, "the end from fact 1 to 200"},
    {"INSERT INTO fact SELECT 201, at_ms, elapsed_ms, site, type, subject, data, hash FROM fact"
     " WHERE seq = 200",
     JOURNAL_FAULT_EXTRA, 201, "fact 201 was added"},
    {"PRAGMA ignore_check_constraints = ON;"
     "INSERT INTO fact VALUES (0, 0, 0, '', 'x', '', '{}', zeroblob(32))",
     JOURNAL_FAULT_EXTRA, 0, "fact 0 was added"},
    {SWAP("20", "21"), JOURNAL_FAULT_SWAPPED, 20, "fact 20 holds what was written as fact 21"},
    {SWAP("20", "150"), JOURNAL_FAULT_SWAPPED, 20, "fact 20 holds what was written as fact 150"},
    {SWAP("1", "200"), JOURNAL_FAULT_SWAPPED, 1, "fact 1 holds what was written as fact 200"},
    {SWAP_TEXT("30", "31"), JOURNAL_FAULT_SWAPPED, 30, "written as fact 31"},
    {SWAP_TEXT("30", "90"), JOURNAL_FAULT_SWAPPED, 30, "written as fact 90"},
    {"DROP INDEX fact_site", JOURNAL_FAULT_FILE, 0, "tables or triggers were altered"},
    {"CREATE TRIGGER fact_lost AFTER INSERT ON heard BEGIN DELETE FROM fact; END",
     JOURNAL_FAULT_FILE, 0, "tables or triggers were altered"},
};

static bool ignore(void *user, const struct journal_row *row) {
    int64_t *last = user;
    *last = row->seq;
    return true;
}

static void says(const char *text, const char *words) {
    if (strstr(text, words) == NULL) {
        fail_msg("\"%s\" does not say \"%s\"", text, words);
    }
}

static void check_damage(struct given *given, const struct damage *damage) {
    given_facts(given, FACTS);
    given_tamper(given, damage->sql);
    assert_null(given_try(given, JOURNAL_READ_WRITE_CREATE, JOURNAL_CHECK_TAIL));
    assert_int_equal(given->error.status, JOURNAL_CORRUPT);
    says(given->error.say, "restore a backup");
    given->journal = given_try(given, JOURNAL_READ_ONLY, JOURNAL_CHECK_NONE);
    assert_non_null(given->journal);
    struct journal_verdict verdict;
    assert_int_equal(journal_verify(given->journal, &verdict), JOURNAL_OK);
    assert_string_equal(journal_fault_name(verdict.fault), journal_fault_name(damage->fault));
    assert_int_equal(verdict.seq, damage->seq);
    says(verdict.say, damage->words);
    if (damage->fault != JOURNAL_FAULT_FILE) {
        int64_t last = 0;
        const struct journal_query query = {.verify = true};
        assert_int_equal(journal_each(given->journal, &query, ignore, &last), JOURNAL_CORRUPT);
        assert_int_equal(last, verdict.checked); // the bad one is not handed out
        says(journal_why(given->journal), "fact");
    }
}

static void every_kind_is_named(void **state) {
    (void)state;
    for (size_t i = 0; i < COUNT(damages); i++) {
        void *one = NULL;
        assert_int_equal(given_setup(&one), 0);
        check_damage(one, &damages[i]);
        given_teardown(&one);
    }
}

// Triggers that are gone would let the next hand work unseen.
static void missing_triggers_are_refused(void **state) {
    struct given *given = *state;
    given_facts(given, 3);
    given_tamper(given,
                 "CREATE TRIGGER fact_not_updated2 BEFORE UPDATE ON fact BEGIN SELECT 1; END;"
                 "DROP TRIGGER fact_not_updated2");
    given_open(given); // as it was
    given_tamper(given, "CREATE TRIGGER other BEFORE UPDATE ON fact BEGIN SELECT 1; END");
    assert_null(given_try(given, JOURNAL_READ_ONLY, JOURNAL_CHECK_TAIL));
    assert_int_equal(given->error.status, JOURNAL_CORRUPT);
    says(given->error.say, "triggers that keep facts from being changed");
}

// The tail is proved at each opening; what lies before it when the whole is.
static void old_damage_is_found_by_the_whole_check(void **state) {
    struct given *given = *state;
    given_facts(given, 3000);
    given_tamper(given, "UPDATE fact SET at_ms = 1 WHERE seq = 1500");
    given->journal = given_try(given, JOURNAL_READ_WRITE_CREATE, JOURNAL_CHECK_QUICK);
    assert_non_null(given->journal);
    given_close(given);
    assert_null(given_try(given, JOURNAL_READ_WRITE_CREATE, JOURNAL_CHECK_WHOLE));
    says(given->error.say, "fact 1500 is not what was written");
    given_tamper(given, "UPDATE fact SET at_ms = 1 WHERE seq = 2500");
    assert_null(given_try(given, JOURNAL_READ_WRITE_CREATE, JOURNAL_CHECK_TAIL));
    says(given->error.say, "fact 2500 is not what was written");
}

static long find_in_file(int descriptor, const char *words) {
    char page[4096];
    for (off_t at = 0; pread(descriptor, page, sizeof page, at) == sizeof page; at += sizeof page) {
        const char *found = memmem(page, sizeof page, words, strlen(words));
        if (found != NULL) {
            return (long)(at + (found - page));
        }
    }
    return -1;
}

static void one_byte_in_the_file(void **state) {
    struct given *given = *state;
    given_facts(given, FACTS);
    int descriptor = open(given->path, O_RDWR | O_CLOEXEC);
    assert_true(descriptor >= 0);
    long at = find_in_file(descriptor, "\"reading\":123.5");
    assert_true(at > 0);
    assert_int_equal(pwrite(descriptor, "R", 1, at + 1), 1);
    close(descriptor);
    assert_null(given_try(given, JOURNAL_READ_WRITE_CREATE, JOURNAL_CHECK_QUICK));
    says(given->error.say, "fact 123 is not what was written");
}

static void a_page_of_zeros(void **state) {
    struct given *given = *state;
    given_facts(given, 5000);
    int descriptor = open(given->path, O_RDWR | O_CLOEXEC);
    assert_true(descriptor >= 0);
    long at = find_in_file(descriptor, "\"job\":\"j-2500\"");
    assert_true(at > 0);
    static const char zeros[4096];
    assert_int_equal(pwrite(descriptor, zeros, sizeof zeros, at / 4096 * 4096), sizeof zeros);
    close(descriptor);
    assert_null(given_try(given, JOURNAL_READ_WRITE_CREATE, JOURNAL_CHECK_QUICK));
    assert_int_equal(given->error.status, JOURNAL_CORRUPT);
    given->journal = given_try(given, JOURNAL_READ_ONLY, JOURNAL_CHECK_NONE);
    assert_non_null(given->journal);
    struct journal_verdict verdict;
    assert_int_equal(journal_verify(given->journal, &verdict), JOURNAL_OK);
    assert_int_equal(verdict.fault, JOURNAL_FAULT_FILE);
    assert_in_range(verdict.seq, 2400, 2500);
    assert_int_equal(verdict.seq, verdict.checked + 1);
}

static void a_file_cut_short(void **state) {
    struct given *given = *state;
    given_facts(given, 5000);
    struct stat status;
    assert_int_equal(stat(given->path, &status), 0);
    for (int percent = 90; percent >= 10; percent -= 20) {
        assert_int_equal(truncate(given->path, status.st_size / 100 * percent), 0);
        assert_null(given_try(given, JOURNAL_READ_WRITE_CREATE, JOURNAL_CHECK_QUICK));
        assert_int_equal(given->error.status, JOURNAL_CORRUPT);
        says(given->error.say, "keep a copy of the file");
    }
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, given_setup, given_teardown)

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_kind_is_named),
        TEST(missing_triggers_are_refused),
        TEST(old_damage_is_found_by_the_whole_check),
        TEST(one_byte_in_the_file),
        TEST(a_page_of_zeros),
        TEST(a_file_cut_short),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
