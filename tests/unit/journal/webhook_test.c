// How far webhooks have come: kept and read back; and a journal of the first format, brought up.
#include "given.h"

#include <string.h>
#include <unistd.h>

struct found {
    int rows, queues;
    int64_t cursor, attempts, next_ms, ok_ms, failed_ms;
    bool disabled;
    char failure[64];
    char jobs[8][16];
    int64_t next[8];
};

static void take_row(void *user, const struct journal_webhook *row) {
    struct found *found = user;
    found->rows++;
    found->cursor = row->cursor;
    found->attempts = row->attempts;
    found->next_ms = row->next_ms;
    found->ok_ms = row->ok_ms;
    found->failed_ms = row->failed_ms;
    found->disabled = row->disabled;
    snprintf(found->failure, sizeof found->failure, "%s", row->failure);
}

static void take_queue(void *user, const struct journal_webhook_queue *queue) {
    struct found *found = user;
    assert_true(found->queues < 8);
    snprintf(found->jobs[found->queues], 16, "%s/%s", queue->site, queue->job);
    found->next[found->queues++] = queue->next;
}

static enum journal_status read_it(struct journal *journal, const char *name, struct found *found) {
    memset(found, 0, sizeof *found);
    return journal_read_webhook(journal, name, take_row, take_queue, found);
}

static void put(struct journal *journal, const struct journal_webhook *row,
                const struct journal_webhook_queue *queues, size_t count) {
    assert_int_equal(journal_begin(journal), JOURNAL_OK);
    assert_int_equal(journal_put_webhook(journal, row, queues, count), JOURNAL_OK);
    assert_int_equal(journal_commit(journal), JOURNAL_OK);
}

static const struct journal_webhook tracker = {.webhook = "tracker",
                                               .cursor = 41,
                                               .attempts = 3,
                                               .next_ms = 77,
                                               .disabled = true,
                                               .ok_ms = 5,
                                               .failed_ms = 6,
                                               .failure = "answered 410 Gone"};
static const struct journal_webhook_queue queues[] = {
    {.site = "juniper", .job = "J-2", .next = 40, .attempts = 1, .next_ms = 9, .since_ms = 8},
    {.site = "juniper", .job = "", .next = 12},
};

static void what_is_put_is_read(void **state) {
    struct given *given = *state;
    struct found found;
    given_open(given);
    assert_int_equal(read_it(given->journal, "tracker", &found), JOURNAL_NONE);
    put(given->journal, &tracker, queues, 2);
    given_close(given);
    struct journal *reader = given_try(given, JOURNAL_READ_ONLY, JOURNAL_CHECK_WHOLE);
    assert_int_equal(read_it(reader, "tracker", &found), JOURNAL_OK);
    assert_int_equal(found.rows, 1);
    assert_int_equal(found.cursor, 41);
    assert_int_equal(found.attempts, 3);
    assert_int_equal(found.next_ms, 77);
    assert_true(found.disabled);
    assert_int_equal(found.ok_ms, 5);
    assert_int_equal(found.failed_ms, 6);
    assert_string_equal(found.failure, "answered 410 Gone");
    assert_int_equal(found.queues, 2); // by their next event
    assert_string_equal(found.jobs[0], "juniper/");
    assert_int_equal(found.next[0], 12);
    assert_string_equal(found.jobs[1], "juniper/J-2");
    assert_int_equal(read_it(reader, "other", &found), JOURNAL_NONE);
    journal_close(reader);
}

static void the_next_note_takes_the_place_of_all(void **state) {
    struct given *given = *state;
    struct found found;
    struct journal_webhook other = tracker, later = tracker;
    given_open(given);
    other.webhook = "other";
    put(given->journal, &tracker, queues, 2);
    put(given->journal, &other, queues, 1);
    later.cursor = 50;
    later.disabled = false;
    put(given->journal, &later, NULL, 0);
    assert_int_equal(read_it(given->journal, "tracker", &found), JOURNAL_OK);
    assert_int_equal(found.cursor, 50);
    assert_false(found.disabled);
    assert_int_equal(found.queues, 0);
    assert_int_equal(read_it(given->journal, "other", &found), JOURNAL_OK);
    assert_int_equal(found.queues, 1);
}

static void a_note_is_no_part_of_the_chain(void **state) {
    struct given *given = *state;
    struct journal_verdict verdict;
    struct journal_head before, after;
    given_open(given);
    given_commit(given, 1, 3);
    assert_int_equal(journal_last(given->journal, &before), JOURNAL_OK);
    put(given->journal, &tracker, queues, 2);
    assert_int_equal(journal_last(given->journal, &after), JOURNAL_OK);
    assert_memory_equal(before.hash, after.hash, JOURNAL_HASH_SIZE);
    assert_int_equal(journal_verify(given->journal, &verdict), JOURNAL_OK);
    assert_int_equal(verdict.fault, JOURNAL_FAULT_NONE);
}

static void only_in_a_transaction(void **state) {
    struct given *given = *state;
    struct found found;
    given_open(given);
    assert_int_equal(journal_put_webhook(given->journal, &tracker, queues, 2), JOURNAL_MISUSE);
    assert_int_equal(journal_begin(given->journal), JOURNAL_OK);
    assert_int_equal(journal_put_webhook(given->journal, &tracker, queues, 2), JOURNAL_OK);
    assert_int_equal(read_it(given->journal, "tracker", &found), JOURNAL_MISUSE);
    journal_rollback(given->journal);
    assert_int_equal(read_it(given->journal, "tracker", &found), JOURNAL_NONE);
}

// --- The first format ---

// A journal as it was before there were webhooks.
static void first_format(struct given *given) {
    given_facts(given, 5);
    given_tamper(given, "DROP TABLE webhook_lane; DROP TABLE webhook; DROP TABLE moment;"
                        "DROP TABLE last_heard; PRAGMA user_version = 1");
    assert_int_equal(given_ask(given, "SELECT count(*) FROM sqlite_schema WHERE name LIKE 'web%'"),
                     0);
}

static void the_first_format_can_be_read(void **state) {
    struct given *given = *state;
    struct journal_verdict verdict;
    struct found found;
    first_format(given);
    struct journal *reader = given_try(given, JOURNAL_READ_ONLY, JOURNAL_CHECK_WHOLE);
    assert_non_null(reader);
    assert_int_equal(journal_verify(reader, &verdict), JOURNAL_OK);
    assert_int_equal(verdict.checked, 5);
    assert_int_equal(read_it(reader, "tracker", &found), JOURNAL_NONE);
    journal_close(reader);
    assert_int_equal(given_ask(given, "PRAGMA user_version"), 1);
}

static void opened_for_writing_it_is_brought_up(void **state) {
    struct given *given = *state;
    struct journal_verdict verdict;
    struct found found;
    first_format(given);
    given_open(given);
    assert_int_equal(given_ask(given, "PRAGMA user_version"), 3);
    put(given->journal, &tracker, queues, 2);
    assert_int_equal(read_it(given->journal, "tracker", &found), JOURNAL_OK);
    given_commit(given, 6, 7);
    assert_int_equal(journal_verify(given->journal, &verdict), JOURNAL_OK);
    assert_int_equal(verdict.fault, JOURNAL_FAULT_NONE);
    assert_int_equal(verdict.checked, 7);
    given_close(given);
    given_open(given);
    assert_int_equal(given_last(given), 7);
}

static void a_damaged_one_is_left_as_it_was(void **state) {
    struct given *given = *state;
    first_format(given);
    given_tamper(given, "UPDATE fact SET data = '{}' WHERE seq = 3");
    assert_null(given_try(given, JOURNAL_READ_WRITE_CREATE, JOURNAL_CHECK_QUICK));
    assert_int_equal(given->error.status, JOURNAL_CORRUPT);
    assert_int_equal(given_ask(given, "PRAGMA user_version"), 1);
}

// The newer tables in a file that says it is older were put there by another hand.
static void a_format_relabeled(void **state) {
    struct given *given = *state;
    given_facts(given, 2);
    given_tamper(given, "PRAGMA user_version = 1");
    assert_null(given_try(given, JOURNAL_READ_WRITE_CREATE, JOURNAL_CHECK_QUICK));
    assert_int_equal(given->error.status, JOURNAL_CORRUPT);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, given_setup, given_teardown)

int main(void) {
    const struct CMUnitTest tests[] = {
        TEST(what_is_put_is_read),
        TEST(the_next_note_takes_the_place_of_all),
        TEST(a_note_is_no_part_of_the_chain),
        TEST(only_in_a_transaction),
        TEST(the_first_format_can_be_read),
        TEST(opened_for_writing_it_is_brought_up),
        TEST(a_damaged_one_is_left_as_it_was),
        TEST(a_format_relabeled),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
