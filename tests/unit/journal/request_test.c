// Requests that were accepted, and when points were last heard.
#include "given.h"

#include <string.h>

static struct journal_request request_of(const char *person, const char *id, int64_t at_ms) {
    struct journal_request request = {
        .site = "juniper",
        .person = person,
        .id = id,
        .verb = "hang-tag",
        .answer = "{\"accepted\":true}",
        .job = "j-1",
        .at_ms = at_ms,
    };
    assert_true(journal_sha256(id, strlen(id), request.body_hash));
    return request;
}

static void put(struct given *given, const char *person, const char *id, int64_t at_ms) {
    struct journal_request request = request_of(person, id, at_ms);
    assert_int_equal(journal_put_request(given->journal, &request), JOURNAL_OK);
}

static enum journal_status find(struct given *given, const char *person, const char *id,
                                struct journal_request *request) {
    return journal_find_request(given->journal, "juniper", person, id, request);
}

static void sha256_is_sha256(void **state) {
    (void)state;
    static const uint8_t abc[] = {0xba, 0x78, 0x16, 0xbf, 0x8f, 0x01, 0xcf, 0xea};
    uint8_t hash[JOURNAL_HASH_SIZE];
    assert_true(journal_sha256("abc", 3, hash));
    assert_memory_equal(hash, abc, sizeof abc);
}

static void a_request_is_found_again(void **state) {
    struct given *given = *state;
    given_open(given);
    struct journal_request found, expected = request_of("t-104", "r-1", 5000);
    assert_int_equal(journal_put_request(given->journal, &expected), JOURNAL_MISUSE);
    assert_int_equal(find(given, "t-104", "r-1", &found), JOURNAL_NONE);
    assert_int_equal(journal_begin(given->journal), JOURNAL_OK);
    put(given, "t-104", "r-1", 5000);
    assert_int_equal(find(given, "t-104", "r-1", &found), JOURNAL_OK); // before the commit, too
    assert_int_equal(journal_commit(given->journal), JOURNAL_OK);
    given_close(given);
    given_open(given);
    assert_int_equal(find(given, "t-104", "r-1", &found), JOURNAL_OK);
    assert_string_equal(found.site, "juniper");
    assert_string_equal(found.person, "t-104");
    assert_string_equal(found.id, "r-1");
    assert_string_equal(found.verb, "hang-tag");
    assert_string_equal(found.answer, "{\"accepted\":true}");
    assert_string_equal(found.job, "j-1");
    assert_int_equal(found.at_ms, 5000);
    assert_memory_equal(found.body_hash, expected.body_hash, JOURNAL_HASH_SIZE);
    assert_int_equal(find(given, "t-105", "r-1", &found), JOURNAL_NONE);
    assert_int_equal(find(given, "t-104", "r-2", &found), JOURNAL_NONE);
    assert_int_equal(journal_find_request(given->journal, "alder", "t-104", "r-1", &found),
                     JOURNAL_NONE);
}

static void a_taken_key_leaves_the_rest(void **state) {
    struct given *given = *state;
    given_open(given);
    assert_int_equal(journal_begin(given->journal), JOURNAL_OK);
    put(given, "t-104", "r-1", 5000);
    struct journal_request again = request_of("t-104", "r-1", 6000), found;
    assert_int_equal(journal_put_request(given->journal, &again), JOURNAL_MISUSE);
    assert_non_null(strstr(journal_why(given->journal), "remembered already"));
    put(given, "t-104", "r-2", 6000);
    assert_int_equal(journal_commit(given->journal), JOURNAL_OK);
    assert_int_equal(find(given, "t-104", "r-2", &found), JOURNAL_OK);
    assert_int_equal(find(given, "t-104", "r-1", &found), JOURNAL_OK);
    assert_int_equal(found.at_ms, 5000);
}

static void rolled_back_with_its_facts(void **state) {
    struct given *given = *state;
    given_open(given);
    assert_int_equal(journal_begin(given->journal), JOURNAL_OK);
    struct journal_fact fact = given_fact(1);
    assert_int_equal(journal_append(given->journal, &fact, NULL), JOURNAL_OK);
    put(given, "t-104", "r-1", 5000);
    journal_rollback(given->journal);
    struct journal_request found;
    assert_int_equal(find(given, "t-104", "r-1", &found), JOURNAL_NONE);
    assert_int_equal(given_last(given), 0);
}

static void forgotten_oldest_first_and_bounded(void **state) {
    struct given *given = *state;
    given_open(given);
    assert_int_equal(journal_begin(given->journal), JOURNAL_OK);
    for (int i = 0; i < 10; i++) {
        char id[8];
        snprintf(id, sizeof id, "r-%d", i);
        put(given, "t-104", id, 1000 * ((i * 7) % 10)); // not in order of time
    }
    int removed = -1;
    assert_int_equal(journal_purge_requests(given->journal, 5000, 3, &removed), JOURNAL_OK);
    assert_int_equal(removed, 3);
    assert_int_equal(journal_purge_requests(given->journal, 5000, 3, &removed), JOURNAL_OK);
    assert_int_equal(removed, 2);
    assert_int_equal(journal_purge_requests(given->journal, 5000, 3, &removed), JOURNAL_OK);
    assert_int_equal(removed, 0);
    assert_int_equal(journal_commit(given->journal), JOURNAL_OK);
    struct journal_request found;
    for (int i = 0; i < 10; i++) {
        char id[8];
        snprintf(id, sizeof id, "r-%d", i);
        enum journal_status status = (i * 7) % 10 < 5 ? JOURNAL_NONE : JOURNAL_OK;
        assert_int_equal(find(given, "t-104", id, &found), status);
    }
    assert_int_equal(journal_purge_requests(given->journal, 5000, 3, &removed), JOURNAL_MISUSE);
}

static bool list(void *user, const struct journal_heard *heard) {
    char *text = user;
    size_t length = strlen(text);
    snprintf(text + length, 200 - length, "%s/%s=%d@%d ", heard->site, heard->point,
             (int)heard->mono_ms, (int)heard->wall_ms);
    return strstr(text, "stop") == NULL;
}

static void heard_times_are_replaced(void **state) {
    struct given *given = *state;
    given_open(given);
    static const struct journal_heard heard[] = {
        {"juniper", "3-power", 100, 0},
        {"juniper", "1-power", 110, 0},
        {"alder", "3-power", 120, 0},
        {"juniper", "3-power", 1100, 0},
    };
    assert_int_equal(journal_put_heard(given->journal, heard), JOURNAL_MISUSE);
    assert_int_equal(journal_begin(given->journal), JOURNAL_OK);
    for (size_t i = 0; i < COUNT(heard); i++) {
        assert_int_equal(journal_put_heard(given->journal, &heard[i]), JOURNAL_OK);
    }
    assert_int_equal(journal_commit(given->journal), JOURNAL_OK);
    given_close(given);
    given_open(given);
    char text[200] = "";
    assert_int_equal(journal_each_heard(given->journal, list, text), JOURNAL_OK);
    assert_string_equal(text, "alder/3-power=120@0 juniper/1-power=110@0 juniper/3-power=1100@0 ");
    snprintf(text, sizeof text, "stop ");
    assert_int_equal(journal_each_heard(given->journal, list, text), JOURNAL_OK);
    assert_string_equal(text, "stop alder/3-power=120@0 ");
    assert_int_equal(given_last(given), 0); // no part of the chain
}

// A journal of before has the wall clock alone, until something newer is written of the point.
static void heard_times_of_before_are_told_by_the_wall_clock(void **state) {
    struct given *given = *state;
    given_open(given);
    given_close(given);
    given_tamper(given, "INSERT INTO heard VALUES ('juniper', '3-power', 100, 200);"
                        "INSERT INTO heard VALUES ('juniper', '1-power', 110, 200)");
    given_open(given);
    const struct journal_heard heard = {"juniper", "3-power", 1100, 0};
    assert_int_equal(journal_begin(given->journal), JOURNAL_OK);
    assert_int_equal(journal_put_heard(given->journal, &heard), JOURNAL_OK);
    assert_int_equal(journal_commit(given->journal), JOURNAL_OK);
    char text[200] = "";
    assert_int_equal(journal_each_heard(given->journal, list, text), JOURNAL_OK);
    assert_string_equal(text, "juniper/1-power=0@110 juniper/3-power=1100@0 ");
}

static int64_t told(struct given *given) {
    struct journal_head head;
    assert_int_equal(journal_last(given->journal, &head), JOURNAL_OK);
    return head.published;
}

static void what_was_told_is_kept_with_a_commit(void **state) {
    struct given *given = *state;
    given_open(given);
    assert_int_equal(told(given), 0);
    assert_int_equal(journal_set_published(given->journal, 1), JOURNAL_MISUSE); // no transaction
    given_commit(given, 1, 3);
    assert_int_equal(journal_begin(given->journal), JOURNAL_OK);
    assert_int_equal(journal_set_published(given->journal, 2), JOURNAL_OK);
    journal_rollback(given->journal);
    assert_int_equal(told(given), 0);
    assert_int_equal(journal_begin(given->journal), JOURNAL_OK);
    assert_int_equal(journal_set_published(given->journal, 2), JOURNAL_OK);
    assert_int_equal(journal_commit(given->journal), JOURNAL_OK);
    given_close(given);
    given_open(given);
    assert_int_equal(told(given), 2);
    given_commit(given, 4, 4);
    given_close(given);
    given_open(given);
    assert_int_equal(told(given), 2);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, given_setup, given_teardown)

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sha256_is_sha256),
        TEST(a_request_is_found_again),
        TEST(a_taken_key_leaves_the_rest),
        TEST(rolled_back_with_its_facts),
        TEST(forgotten_oldest_first_and_bounded),
        TEST(heard_times_are_replaced),
        TEST(heard_times_of_before_are_told_by_the_wall_clock),
        TEST(what_was_told_is_kept_with_a_commit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
