// Badges as they are listed, and the canonical topic of the readers.
#include "feed/badge.h"
#include "feed/canonical.h"
#include "feeds.h"

static const char *listed(const char *badge) {
    static char buffer[4][MODEL_ID_SIZE];
    static size_t next;
    char *into = buffer[next++ % 4];
    (void)feed_badge_list(badge, into);
    return into;
}

static void a_badge_is_listed_as_read(void **state) {
    (void)state;
    static const char *const badges[] = {"0451", "04:A2:\xC3\xA9", "t-104", "x/y z", "-1"};
    for (size_t i = 0; i < sizeof badges / sizeof badges[0]; i++) {
        assert_string_equal(listed(badges[i]), badges[i]);
    }
    char whole[65];
    memset(whole, 'x', 64);
    whole[64] = '\0';
    assert_string_equal(listed(whole), whole);
}

static void one_that_is_too_long_is_cut_and_told_from_others(void **state) {
    (void)state;
    char a[100], b[100];
    memset(a, 'x', sizeof a - 1);
    a[sizeof a - 1] = '\0';
    memcpy(b, a, sizeof b);
    b[98] = 'y';
    assert_true(strncmp(listed(a), "xxxxx", 5) == 0);
    assert_true(strlen(listed(a)) == 64 && strcmp(listed(a), listed(b)) != 0);
    assert_string_equal(listed(a), listed(a));
    // Nor does one that is not cut pass for it.
    char copy[MODEL_ID_SIZE];
    memcpy(copy, listed(a), sizeof copy);
    assert_string_not_equal(listed(copy), copy);
}

static void what_is_no_text_is_made_one(void **state) {
    (void)state;
    assert_true(strncmp(listed("a\nb"), "a?b\xE2\x80\xA6", 6) == 0);
    assert_true(strncmp(listed("a\xFFz"), "a?z\xE2\x80\xA6", 6) == 0);
    assert_string_not_equal(listed("a\nb"), listed("a\rb"));
}

static void none_is_unreadable_and_no_badge_passes_for_that(void **state) {
    (void)state;
    char badge[MODEL_ID_SIZE];
    assert_false(feed_badge_list(NULL, badge));
    assert_string_equal(badge, "unreadable");
    assert_false(feed_badge_list("", badge));
    assert_false(feed_badge_list(" \t", badge));
    assert_true(feed_badge_list("unreadable", badge));
    assert_string_not_equal(badge, "unreadable");
}

// --- The canonical topic ---

#define NO_FEED                                                                                    \
    "{\"feeds\": [{\"feed\": \"r\", \"topic\": \"p/{c}\", \"to\": \"controller\", \"payload\": "   \
    "\"text\", \"controller\": \"{c}\", \"state\": {\"online\": [\"1\"], \"offline\": [\"0\"]}}]}"

static bool read_tagging(struct feeds *feeds, const char *payload, struct gate_tagging *tagging,
                         char badge[MODEL_ID_SIZE]) {
    struct json_tape tape = {0};
    char error[256] = "";
    bool taken = feed_tagging_read(feeds->model, &tape, payload, strlen(payload), badge, tagging,
                                   error, sizeof error);
    json_tape_free(&tape);
    assert_true(taken || error[0] != '\0');
    return taken;
}

static void a_persons_lock_is_theirs(void **state) {
    struct feeds *feeds = feeds_load(state, NO_FEED);
    struct gate_tagging tagging;
    char badge[MODEL_ID_SIZE];
    assert_true(
        read_tagging(feeds, "{\"state\": \"hung\", \"person\": \"t-104\"}", &tagging, badge));
    assert_true(tagging.hung);
    assert_string_equal(tagging.person, "t-104");
    assert_true(
        read_tagging(feeds, "{\"state\": \"lifted\", \"person\": \"04:A2\"}", &tagging, badge));
    assert_null(tagging.person);
    assert_string_equal(tagging.badge, "04:A2");
    assert_true(read_tagging(feeds, "{\"state\": \"hung\", \"person\": 0.50}", &tagging, badge));
    assert_string_equal(tagging.badge, "0.50");
}

static void a_lock_of_nobody_hangs_and_is_not_lifted_by_guess(void **state) {
    static const char *const none[] = {"", ", \"person\": null", ", \"person\": {}",
                                       ", \"person\": \"\""};
    struct feeds *feeds = feeds_load(state, NO_FEED);
    struct gate_tagging tagging;
    char badge[MODEL_ID_SIZE], payload[80];
    for (size_t i = 0; i < sizeof none / sizeof none[0]; i++) {
        snprintf(payload, sizeof payload, "{\"state\": \"hung\"%s}", none[i]);
        assert_true(read_tagging(feeds, payload, &tagging, badge));
        assert_null(tagging.person);
        assert_string_equal(tagging.badge, FEED_BADGE_UNREAD);
        snprintf(payload, sizeof payload, "{\"state\": \"lifted\"%s}", none[i]);
        assert_false(read_tagging(feeds, payload, &tagging, badge));
    }
}

static void a_badge_of_any_length_hangs_and_is_lifted(void **state) {
    struct feeds *feeds = feeds_load(state, NO_FEED);
    struct gate_tagging tagging;
    char hung[MODEL_ID_SIZE], lifted[MODEL_ID_SIZE], payload[160];
    snprintf(payload, sizeof payload, "{\"state\": \"hung\", \"person\": \"%080d\"}", 7);
    assert_true(read_tagging(feeds, payload, &tagging, hung));
    snprintf(payload, sizeof payload, "{\"state\": \"lifted\", \"person\": \"%080d\"}", 7);
    assert_true(read_tagging(feeds, payload, &tagging, lifted));
    assert_string_equal(hung, lifted);
    snprintf(payload, sizeof payload, "{\"state\": \"lifted\", \"person\": \"%080d\"}", 8);
    assert_true(read_tagging(feeds, payload, &tagging, lifted));
    assert_string_not_equal(hung, lifted);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(a_badge_is_listed_as_read),
        cmocka_unit_test(one_that_is_too_long_is_cut_and_told_from_others),
        cmocka_unit_test(what_is_no_text_is_made_one),
        cmocka_unit_test(none_is_unreadable_and_no_badge_passes_for_that),
        cmocka_unit_test_setup_teardown(a_persons_lock_is_theirs, feeds_make, feeds_end),
        cmocka_unit_test_setup_teardown(a_lock_of_nobody_hangs_and_is_not_lifted_by_guess,
                                        feeds_make, feeds_end),
        cmocka_unit_test_setup_teardown(a_badge_of_any_length_hangs_and_is_lifted, feeds_make,
                                        feeds_end),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
