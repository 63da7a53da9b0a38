// Every allocation of SQLite fails once: an error or success, never a crash or a lie.
#include "given.h"

#include <sqlite3.h>

static sqlite3_mem_methods usual;
static int64_t left; // allocations until the one that fails; 0: none
static bool failed;

static bool is_due(void) {
    if (left > 0 && --left == 0) {
        failed = true;
        return true;
    }
    return false;
}

static void *give(int size) {
    return is_due() ? NULL : usual.xMalloc(size);
}

static void *resize(void *memory, int size) {
    return is_due() ? NULL : usual.xRealloc(memory, size);
}

static int install(void **state) {
    (void)state;
    sqlite3_config(SQLITE_CONFIG_GETMALLOC, &usual);
    sqlite3_mem_methods methods = usual;
    methods.xMalloc = give;
    methods.xRealloc = resize;
    // A pool in front would satisfy small allocations without asking.
    return sqlite3_config(SQLITE_CONFIG_MALLOC, &methods) == SQLITE_OK &&
                   sqlite3_config(SQLITE_CONFIG_LOOKASIDE, 0, 0) == SQLITE_OK
               ? 0
               : -1;
}

static bool count_row(void *user, const struct journal_row *row) {
    int64_t *count = user;
    (*count)++;
    assert_int_equal(row->seq, *count);
    assert_string_equal(row->type, "job.opened");
    assert_string_equal(row->data, given_fact((int)row->seq).data);
    return true;
}

// A short life; how many facts were acknowledged in it.
static int live(struct given *given) {
    given->journal = given_try(given, JOURNAL_READ_WRITE_CREATE, JOURNAL_CHECK_WHOLE);
    if (given->journal == NULL) {
        assert_int_equal(given->error.status, JOURNAL_MEMORY);
        return 0;
    }
    int acknowledged = 0;
    for (int i = 1; i <= 3 && journal_begin(given->journal) == JOURNAL_OK; i++) {
        struct journal_fact fact = given_fact(i);
        journal_append(given->journal, &fact, NULL);
        const struct journal_heard heard = {"juniper", "3-power", i, 0};
        journal_put_heard(given->journal, &heard);
        journal_put_moment(given->journal, &(struct journal_moment){i, i, i});
        if (journal_commit(given->journal) != JOURNAL_OK) {
            break;
        }
        acknowledged = i;
    }
    int64_t count = 0;
    const struct journal_query query = {.verify = true};
    enum journal_status status = journal_each(given->journal, &query, count_row, &count);
    assert_true(status == JOURNAL_MEMORY || (status == JOURNAL_OK && count == acknowledged));
    return acknowledged;
}

static void every_allocation_fails_once(void **state) {
    (void)state;
    failed = true;
    // Early ones are told apart one by one; later ones are much the same.
    for (int nth = 1; failed; nth += 1 + nth / 100) {
        void *one = NULL;
        assert_int_equal(given_setup(&one), 0);
        struct given *given = one;
        failed = false;
        left = nth;
        int acknowledged = live(given);
        given_close(given);
        left = 0;
        given->journal = given_try(given, JOURNAL_READ_WRITE_CREATE, JOURNAL_CHECK_WHOLE);
        assert_non_null(given->journal);
        assert_int_equal(given_last(given), acknowledged);
        assert_true(failed || acknowledged == 3);
        given_teardown(&one);
    }
}

// A text that cannot be had for lack of memory must not be taken for damage.
static void reading_tells_memory_from_damage(void **state) {
    struct given *given = *state;
    given_facts(given, 3);
    failed = true;
    for (int i = 2; failed || i % 2 == 1; i++) {
        given->journal = given_try(given, JOURNAL_READ_ONLY, JOURNAL_CHECK_NONE);
        assert_non_null(given->journal);
        failed = false;
        left = i / 2;
        int64_t count = 0;
        const struct journal_query query = {.verify = i % 2 == 1};
        enum journal_status status = journal_each(given->journal, &query, count_row, &count);
        left = 0;
        assert_int_equal(status, failed ? JOURNAL_MEMORY : JOURNAL_OK);
        assert_true(failed || count == 3);
        given_close(given);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_allocation_fails_once),
        cmocka_unit_test_setup_teardown(reading_tells_memory_from_damage, given_setup,
                                        given_teardown),
    };
    return cmocka_run_group_tests(tests, install, NULL);
}
