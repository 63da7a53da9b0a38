// Writing and reading facts: numbers, hashes by an independent program, queries, export.
#include "given.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

struct seen {
    int64_t first, last, count, stop_after;
    char text[512];
    uint8_t hash[JOURNAL_HASH_SIZE];
};

static bool see(void *user, const struct journal_row *row) {
    struct seen *seen = user;
    if (seen->count++ == 0) {
        seen->first = row->seq;
    }
    seen->last = row->seq;
    snprintf(seen->text, sizeof seen->text, "%s|%s|%s|%s", row->site, row->type, row->subject,
             row->data);
    assert_int_equal(row->site_length, strlen(row->site));
    assert_int_equal(row->data_length, strlen(row->data));
    memcpy(seen->hash, row->hash, sizeof seen->hash);
    return seen->count != seen->stop_after;
}

static struct seen read_all(struct given *given, struct journal_query query, int64_t stop_after) {
    struct seen seen = {.stop_after = stop_after};
    assert_int_equal(journal_each(given->journal, &query, see, &seen), JOURNAL_OK);
    return seen;
}

static void to_hex(const uint8_t hash[JOURNAL_HASH_SIZE], char text[2 * JOURNAL_HASH_SIZE + 1]) {
    for (int i = 0; i < JOURNAL_HASH_SIZE; i++) {
        snprintf(text + 2 * i, 3, "%02x", hash[i]);
    }
}

static void empty_journal_has_a_root(void **state) {
    struct given *given = *state;
    given_open(given);
    struct journal_head head;
    assert_int_equal(journal_last(given->journal, &head), JOURNAL_OK);
    assert_int_equal(head.seq, 0);
    assert_int_equal(head.at_ms, 0);
    char hex[65];
    to_hex(head.hash, hex);
    assert_string_equal(hex, "c90f72251f580e55d3b4c11230a1ebc802f80b1477393ec59966932b8c4777eb");
    assert_string_equal(journal_instance(given->journal), "edge-1");
    assert_int_equal(journal_created_ms(given->journal), 1700000000000);
}

// The expected hashes were worked out by another program from the encoding in journal.h.
static void hashes_are_as_documented(void **state) {
    struct given *given = *state;
    given_open(given);
    const struct journal_fact facts[] = {
        {1700000000123, -5, "juniper", "job.opened", "3A",
         "{\"job\":\"j-1\",\"title\":\"H\xc3\xb6hle\"}"},
        {-1, 0, NULL, "daemon.started", NULL, "{}"},
    };
    static const char *const expected[] = {
        "da1ff38a451a08e352287b81cd2ffb2ceccaf3fc9e78bb2be517ed7e15dfa08b",
        "4c58864b6ca7bbf7ee40a68d64e60c0b28c04c4b56aa15b068512ebca5872a9a",
    };
    for (size_t i = 0; i < COUNT(facts); i++) {
        assert_int_equal(journal_begin(given->journal), JOURNAL_OK);
        assert_int_equal(journal_append(given->journal, &facts[i], NULL), JOURNAL_OK);
        assert_int_equal(journal_commit(given->journal), JOURNAL_OK);
        struct journal_head head;
        journal_last(given->journal, &head);
        char hex[65];
        to_hex(head.hash, hex);
        assert_string_equal(hex, expected[i]);
        assert_int_equal(head.at_ms, facts[i].at_ms);
        assert_int_equal(head.mono_ms, facts[i].mono_ms);
        assert_int_equal(head.newest_at_ms, 1700000000123);
    }
}

static void facts_are_read_as_written(void **state) {
    struct given *given = *state;
    given_open(given);
    given_commit(given, 1, 1);
    given_commit(given, 2, 30);
    struct seen seen = read_all(given, (struct journal_query){.from_seq = 17, .limit = 1}, 0);
    assert_int_equal(seen.count, 1);
    assert_string_equal(
        seen.text,
        "juniper|job.opened|3A|{\"job\":\"j-17\",\"at\":null,\"reading\":17.5,\"ok\":true}");
    seen = read_all(given, (struct journal_query){.from_seq = 5, .limit = 10}, 0);
    assert_int_equal(seen.first, 5);
    assert_int_equal(seen.last, 14);
    seen = read_all(given, (struct journal_query){.from_seq = 31}, 0);
    assert_int_equal(seen.count, 0);
    seen = read_all(given, (struct journal_query){0}, 7);
    assert_int_equal(seen.last, 7);
    seen = read_all(given, (struct journal_query){.verify = true}, 0);
    assert_int_equal(seen.count, 30);
    seen = read_all(given, (struct journal_query){.from_seq = 20, .verify = true}, 0);
    assert_int_equal(seen.first, 20);
    assert_int_equal(seen.last, 30);
    seen = read_all(given, (struct journal_query){.limit = 4, .verify = true}, 0);
    assert_int_equal(seen.last, 4);
    // What was not read to its end leaves nothing open that would stand in a writer's way.
    given_commit(given, 31, 31);
}

static void one_sites_facts(void **state) {
    struct given *given = *state;
    given_open(given);
    given_commit(given, 1, 30);
    struct seen seen = read_all(given, (struct journal_query){.from_seq = 4, .site = "alder"}, 0);
    assert_int_equal(seen.first, 6);
    assert_int_equal(seen.last, 30);
    assert_int_equal(seen.count, 9);
    seen = read_all(given, (struct journal_query){.limit = 2, .site = "alder"}, 0);
    assert_int_equal(seen.last, 6);
    assert_int_equal(read_all(given, (struct journal_query){.site = "elm"}, 0).count, 0);
    const struct journal_query both = {.site = "alder", .verify = true};
    assert_int_equal(journal_each(given->journal, &both, see, &seen), JOURNAL_MISUSE);
}

static void rolled_back_numbers_are_free(void **state) {
    struct given *given = *state;
    given_open(given);
    given_commit(given, 1, 2);
    assert_int_equal(journal_begin(given->journal), JOURNAL_OK);
    struct journal_fact fact = given_fact(9);
    int64_t seq = 0;
    assert_int_equal(journal_append(given->journal, &fact, &seq), JOURNAL_OK);
    assert_int_equal(seq, 3);
    journal_rollback(given->journal);
    given_commit(given, 3, 3);
    assert_int_equal(read_all(given, (struct journal_query){.verify = true}, 0).count, 3);
}

static void misuse_changes_nothing(void **state) {
    struct given *given = *state;
    given_open(given);
    struct journal *journal = given->journal;
    struct journal_fact fact = given_fact(1);
    assert_int_equal(journal_append(journal, &fact, NULL), JOURNAL_MISUSE);
    assert_int_equal(journal_commit(journal), JOURNAL_MISUSE);
    assert_int_equal(journal_begin(journal), JOURNAL_OK);
    assert_int_equal(journal_begin(journal), JOURNAL_MISUSE);
    static const char *const bad[] = {"",  "{", "[]", "{\"a\":\n1}", " {}", "{\"a\":\"\x01\"}",
                                      NULL};
    for (size_t i = 0; i < COUNT(bad); i++) {
        struct journal_fact no = given_fact(1);
        no.data = bad[i];
        assert_int_equal(journal_append(journal, &no, NULL), JOURNAL_MISUSE);
        assert_true(strstr(journal_why(journal), "compact JSON object") != NULL);
    }
    fact.type = "";
    assert_int_equal(journal_append(journal, &fact, NULL), JOURNAL_MISUSE);
    struct journal_verdict verdict;
    assert_int_equal(journal_verify(journal, &verdict), JOURNAL_MISUSE);
    fact = given_fact(1);
    assert_int_equal(journal_append(journal, &fact, NULL), JOURNAL_OK);
    assert_int_equal(journal_commit(journal), JOURNAL_OK);
    assert_int_equal(given_last(given), 1);
    assert_true(journal_healthy(journal));
}

static void facts_cannot_be_altered_by_sql(void **state) {
    struct given *given = *state;
    given_facts(given, 3);
    static const char *const statements[] = {
        "UPDATE fact SET at_ms = 0 WHERE seq = 2",
        "DELETE FROM fact WHERE seq = 3",
        "INSERT INTO fact VALUES (5, 0, 0, '', 'x', '', '{}', zeroblob(32))",
        "INSERT OR REPLACE INTO fact VALUES (2, 0, 0, '', 'x', '', '{}', zeroblob(32))",
        "INSERT INTO fact VALUES (4, 0, 0, '', 'x', '', '{}', zeroblob(31))",
        "INSERT INTO fact VALUES (4, 'soon', 0, '', 'x', '', '{}', zeroblob(32))",
    };
    for (size_t i = 0; i < COUNT(statements); i++) {
        given_refused(given, statements[i]);
    }
    given_open(given);
    assert_int_equal(read_all(given, (struct journal_query){.verify = true}, 0).count, 3);
}

static void export_is_json_lines(void **state) {
    struct given *given = *state;
    given_open(given);
    assert_int_equal(journal_begin(given->journal), JOURNAL_OK);
    const struct journal_fact facts[] = {
        {1700000000123, -5, "juniper", "job.opened", "3A",
         "{\"job\":\"j-1\",\"title\":\"H\xc3\xb6hle\"}"},
        {-1, 0, "", "a\"b\\c\td", "", "{}"},
    };
    for (size_t i = 0; i < COUNT(facts); i++) {
        assert_int_equal(journal_append(given->journal, &facts[i], NULL), JOURNAL_OK);
    }
    assert_int_equal(journal_commit(given->journal), JOURNAL_OK);
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    assert_int_equal(journal_export(given->journal, out), JOURNAL_OK);
    fclose(out);
    static const char first[] =
        "{\"seq\":1,\"at_ms\":1700000000123,\"elapsed_ms\":-5,\"site\":\"juniper\","
        "\"type\":\"job.opened\",\"subject\":\"3A\",\"data\":{\"job\":\"j-1\",\"title\":"
        "\"H\xc3\xb6hle\"},"
        "\"hash\":\"da1ff38a451a08e352287b81cd2ffb2ceccaf3fc9e78bb2be517ed7e15dfa08b\"}\n"
        "{\"seq\":2,\"at_ms\":-1,\"elapsed_ms\":0,\"site\":\"\",\"type\":\"a\\\"b\\\\c\\u0009d\",";
    assert_memory_equal(text, first, sizeof first - 1);
    free(text);
    FILE *full = fopen("/dev/full", "w");
    assert_non_null(full);
    assert_int_equal(journal_export(given->journal, full), JOURNAL_IO);
    fclose(full);
}

static void assert_moment(struct given *given, int64_t at, int64_t mono, int64_t newest) {
    struct journal_moment moment = {-1, -1, -1};
    assert_int_equal(journal_last_moment(given->journal, &moment), JOURNAL_OK);
    assert_int_equal(moment.at_ms, at);
    assert_int_equal(moment.mono_ms, mono);
    assert_int_equal(moment.newest_ms, newest);
}

static void the_last_instant_is_the_one_that_was_written(void **state) {
    struct given *given = *state;
    given_open(given);
    assert_moment(given, 0, 0, 0);
    assert_int_equal(journal_begin(given->journal), JOURNAL_OK);
    struct journal_fact fact = given_fact(1);
    fact.at_ms = 9000;
    journal_append(given->journal, &fact, NULL);
    fact.at_ms = 8000; // the clock was set back
    fact.mono_ms = 50;
    journal_append(given->journal, &fact, NULL);
    assert_int_equal(journal_commit(given->journal), JOURNAL_OK);
    given_close(given);
    given_open(given);
    assert_moment(given, 8000, 50, 9000); // as of a journal of before
    const struct journal_moment moments[] = {{8400, 450, 9000}, {8500, 550, 8500}};
    assert_int_equal(journal_put_moment(given->journal, &moments[0]), JOURNAL_MISUSE);
    for (int i = 0; i < 2; i++) {
        assert_int_equal(journal_begin(given->journal), JOURNAL_OK);
        assert_int_equal(journal_put_moment(given->journal, &moments[i]), JOURNAL_OK);
        assert_int_equal(journal_commit(given->journal), JOURNAL_OK);
    }
    given_close(given);
    given_open(given);
    assert_moment(given, 8500, 550, 8500);  // that the clock was right was said
    assert_int_equal(given_last(given), 2); // no part of the chain
}

// What the second format knew beside its facts: by the wall clock alone.
static void a_journal_of_before_tells_by_the_wall_clock(void **state) {
    struct given *given = *state;
    given_facts(given, 1);
    given_tamper(given, "DROP TABLE moment; DROP TABLE last_heard; PRAGMA user_version = 2;"
                        "INSERT INTO heard VALUES ('juniper', '3-power', 9990000, 9991000)");
    given_open(given);
    struct journal_moment moment;
    struct journal_head head;
    assert_int_equal(journal_last(given->journal, &head), JOURNAL_OK);
    assert_int_equal(journal_last_moment(given->journal, &moment), JOURNAL_OK);
    assert_int_equal(moment.at_ms, head.at_ms);
    assert_int_equal(moment.mono_ms, head.mono_ms);
    assert_int_equal(moment.newest_ms, head.newest_at_ms > 9991000 ? head.newest_at_ms : 9991000);
}

// Bytes of the journal's file, or of one beside it.
static int64_t bytes_of(const struct given *given, const char *suffix) {
    char path[sizeof given->path + 8];
    struct stat status;
    snprintf(path, sizeof path, "%s%s", given->path, suffix);
    assert_int_equal(stat(path, &status), 0);
    return status.st_size;
}

static void log_is_moved_when_there_is_enough(void **state) {
    struct given *given = *state;
    given_open(given);
    given_commit(given, 1, 10);
    int64_t before = bytes_of(given, "");
    assert_true(bytes_of(given, "-wal") > 0);
    assert_int_equal(journal_idle(given->journal), JOURNAL_OK);
    assert_int_equal(bytes_of(given, ""), before); // not worth it yet
    given_commit(given, 11, 40000);
    int64_t log = bytes_of(given, "-wal");
    assert_true(log > 4000000);
    assert_int_equal(bytes_of(given, ""), before);
    assert_int_equal(journal_begin(given->journal), JOURNAL_OK);
    assert_int_equal(journal_idle(given->journal), JOURNAL_MISUSE);
    journal_rollback(given->journal);
    assert_int_equal(journal_idle(given->journal), JOURNAL_OK);
    assert_true(bytes_of(given, "") > 4000000);
    given_commit(given, 40001, 40001);
    assert_int_equal(bytes_of(given, "-wal"), log); // begun anew
    struct journal_verdict verdict;
    assert_int_equal(journal_verify(given->journal, &verdict), JOURNAL_OK);
    assert_int_equal(verdict.fault, JOURNAL_FAULT_NONE);
    assert_int_equal(verdict.checked, 40001);
    assert_string_equal(verdict.say,
                        "The journal is sound: all 40001 facts are as they were written.");
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, given_setup, given_teardown)

int main(void) {
    const struct CMUnitTest tests[] = {
        TEST(empty_journal_has_a_root),
        TEST(hashes_are_as_documented),
        TEST(facts_are_read_as_written),
        TEST(one_sites_facts),
        TEST(rolled_back_numbers_are_free),
        TEST(misuse_changes_nothing),
        TEST(facts_cannot_be_altered_by_sql),
        TEST(export_is_json_lines),
        TEST(the_last_instant_is_the_one_that_was_written),
        TEST(a_journal_of_before_tells_by_the_wall_clock),
        TEST(log_is_moved_when_there_is_enough),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
