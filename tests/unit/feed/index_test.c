// Topics: which feeds a message finds, which is nearest to one that none reads, what is subscribed.
#include "feeds.h"

#include "failing_memory.h"

#define FEEDS                                                                                      \
    "{\"feeds\": ["                                                                                \
    "{\"feed\": \"any\", \"topic\": \"plant/{site}/{c}/x\", \"to\": \"signal\", \"sensor\": "      \
    "\"{c}-aux\", \"payload\": \"text\", \"state\": {\"isolated\": [\"0\"], \"live\": [\"1\"]}},"  \
    "{\"feed\": \"one\", \"topic\": \"plant/juniper/3/x\", \"to\": \"signal\", \"sensor\": "       \
    "\"3-power\", \"payload\": \"text\", \"state\": {\"isolated\": [\"0\"], \"live\": [\"1\"]}},"  \
    "{\"feed\": \"locks\", \"topic\": \"plant/{site}/{p}/x\", \"to\": \"tag\", \"point\": "        \
    "\"{p}-power\", \"payload\": \"json\", \"person\": {\"at\": \"/b\"}, \"state\": {\"at\": "     \
    "\"/e\", \"hung\": [1], \"lifted\": [0]}}]}"

static void on_reading(void *user, const struct feed_reading *reading) {
    struct feeds *feeds = user;
    feeds->readings[feeds->count++] = *reading;
}

static size_t map(struct feeds *feeds, const char *topic, unsigned which) {
    const struct feed_message message = {.topic = topic, .payload = "0", .length = 1};
    const struct feed_callbacks callbacks = {.reading = on_reading, .user = feeds};
    feeds->count = 0;
    return feed_map(feeds->set, &message, which, &callbacks);
}

static void test_dispatch(void **state) {
    struct feeds *feeds = feeds_load(state, FEEDS);
    assert_int_equal(map(feeds, "plant/juniper/3/x", FEED_LIVE), 2);
    assert_int_equal(feeds->readings[0].feed, 0);
    assert_int_equal(feeds->readings[1].feed, 1);
    assert_int_equal(map(feeds, "plant/juniper/3/x", FEED_DURABLE), 1);
    assert_int_equal(feeds->readings[0].feed, 2);
    assert_int_equal(map(feeds, "plant/juniper/4/x", FEED_LIVE), 1);
    assert_int_equal(map(feeds, "plant/juniper/3", FEED_LIVE), 0);
    assert_int_equal(map(feeds, "plant/juniper/3/x/", FEED_LIVE), 0);
    assert_int_equal(map(feeds, "", FEED_LIVE), 0);
    assert_int_equal(map(feeds, "////", FEED_LIVE), 0);
}

static void test_nearest(void **state) {
    struct feeds *feeds = feeds_load(state, FEEDS);
    char why[300];
    assert_int_equal(feed_nearest(feeds->set, "plant/juniper/3/y", why, sizeof why), 1);
    assert_string_equal(why, "level 4 is \"y\"; the feed's topic plant/juniper/3/x has \"x\"");
    assert_int_equal(feed_nearest(feeds->set, "plant/willow/9/y", why, sizeof why), 0);
    assert_int_equal(feed_nearest(feeds->set, "plant/juniper/3", why, sizeof why), 1);
    assert_string_equal(why, "it has 3 levels; the feed's topic plant/juniper/3/x has 4");
}

static void test_nearest_of_none(void **state) {
    struct feeds *feeds = feeds_load(state, "{\"feeds\": []}");
    char why[300];
    assert_int_equal(feed_nearest(feeds->set, "a/b", why, sizeof why), MODEL_NONE);
    assert_int_equal(map(feeds, "a/b", FEED_LIVE | FEED_DURABLE), 0);
}

static void test_filters(void **state) {
    struct feeds *feeds = feeds_load(state, FEEDS);
    size_t count = 0;
    const char **filters = feed_filters(feeds->model, FEED_LIVE, &count);
    assert_int_equal(count, 2);
    assert_string_equal(filters[0], "plant/juniper/+/x");
    assert_string_equal(filters[1], "plant/juniper/3/x");
    free(filters);
    filters = feed_filters(feeds->model, FEED_LIVE | FEED_DURABLE, &count);
    assert_int_equal(count, 2); // the same topic is asked for once
    free(filters);
    filters = feed_filters(feeds->model, 0, &count);
    assert_int_equal(count, 0);
    free(filters);
}

static void test_no_memory(void **state) {
    struct feeds *feeds = feeds_load(state, FEEDS);
    struct feed_set *set = NULL;
    const char **filters = NULL;
    size_t count;
    long left = 0;
    for (; set == NULL && left < 100; left++) {
        failing_memory_left = left;
        set = feed_set_new(feeds->model);
        failing_memory_left = -1;
    }
    assert_non_null(set);
    assert_true(left > 6);
    feed_set_free(set);
    failing_memory_left = 0;
    filters = feed_filters(feeds->model, FEED_LIVE, &count);
    failing_memory_left = -1;
    assert_null(filters);
    // A message for which there is no memory is unreadable, and makes its sensor unknown.
    const struct feed_message message = {
        .topic = "plant/juniper/3/x", .payload = "{\"e\": 1, \"b\": \"t-104\"}", .length = 22};
    const struct feed_callbacks callbacks = {.reading = on_reading, .user = feeds};
    feeds->count = 0;
    failing_memory_left = 0;
    feed_map(feeds->set, &message, FEED_DURABLE, &callbacks);
    failing_memory_left = -1;
    assert_int_equal(feeds->readings[0].outcome, FEED_UNREADABLE);
    assert_false(feeds->readings[0].take);
}

#define TEST(function) cmocka_unit_test_setup_teardown(function, feeds_make, feeds_end)

int main(void) {
    const struct CMUnitTest tests[] = {
        TEST(test_dispatch), TEST(test_nearest),   TEST(test_nearest_of_none),
        TEST(test_filters),  TEST(test_no_memory),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
