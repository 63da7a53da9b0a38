// Surveys: what the broker keeps is found, told apart from what is published, and the end is told.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "rig.h"

static struct broker broker;
static struct rig rig;
static size_t kept, kept_elsewhere, ends;
static bool complete;

static void on_retained(void *user, const struct mqtt_message *message) {
    assert_ptr_equal(user, &kept);
    assert_true(message->retained);
    if (strncmp(message->topic, "lock/", 5) == 0) {
        kept++;
    } else {
        kept_elsewhere++;
    }
}

static void on_end(void *user, bool was_complete) {
    assert_ptr_equal(user, &kept);
    ends++;
    complete = was_complete;
}

static bool survey(const char *const *filters, size_t count) {
    return mqtt_survey(rig.mqtt, filters, count, on_retained, on_end, &kept);
}

static int set_up(void **state) {
    (void)state;
    kept = kept_elsewhere = ends = 0;
    complete = false;
    rig_open(&rig, &broker);
    return 0;
}

static int tear_down(void **state) {
    (void)state;
    rig_close(&rig);
    return 0;
}

static void start(void) {
    struct mqtt_options options = rig_options(&broker);
    rig_link(&rig, &options, true);
}

#define SITES 50
#define POINTS 64

static void keep_points(void) {
    for (int i = 0; i < SITES * POINTS; i++) {
        char topic[64];
        snprintf(topic, sizeof(topic), "lock/site-%d/point/p-%d", i / POINTS, i % POINTS);
        rig_publish(&rig, topic, "{}", true);
    }
    rig_wait(&rig, &rig.confirmed, SITES * POINTS, 20000);
}

static void finds_all_that_is_kept(void **state) {
    (void)state;
    static char names[SITES][32];
    static const char *filters[SITES];
    start();
    rig_probe(&rig, "none/#");
    keep_points();
    for (int i = 0; i < SITES; i++) {
        snprintf(names[i], sizeof(names[i]), "lock/site-%d/point/+", i);
        filters[i] = names[i];
    }
    assert_true(survey(filters, SITES));
    assert_false(survey(filters, SITES)); // one at a time
    assert_int_equal(kept, 0);
    rig_wait(&rig, &ends, 1, 20000);
    assert_true(complete);
    assert_int_equal(kept, SITES * POINTS);
    assert_int_equal(kept_elsewhere, 0);
    assert_int_equal(rig.seen_count, 0);
    // A second one finds the same, and the subscriptions of the first are gone.
    assert_true(survey(filters, 1));
    rig_wait(&rig, &ends, 2, 5000);
    assert_int_equal(kept, SITES * POINTS + POINTS);
    rig_publish(&rig, "lock/site-0/point/p-0", "{}", false);
    rig_pass(&rig, 100);
    assert_int_equal(kept, SITES * POINTS + POINTS);
    assert_int_equal(rig.seen_count, 0);
}

static void one_wide_filter_finds_thousands(void **state) {
    (void)state;
    static const char *const WIDE[] = {"lock/+/point/+"};
    start();
    assert_true(survey(WIDE, 1));
    rig_wait(&rig, &ends, 1, 20000);
    assert_true(complete);
    assert_int_equal(kept, SITES * POINTS);
}

static void what_is_published_meanwhile_is_not_kept(void **state) {
    (void)state;
    static const char *const FILTERS[] = {"lock/new/point/+", "lock/none/job/+"};
    start();
    rig_probe(&rig, "none/#");
    assert_true(survey(FILTERS, 2));
    for (int i = 0; i < 20; i++) {
        rig_publish(&rig, "lock/new/point/1", "{}", false);
        rig_publish(&rig, "lock/new/signal/1", "{}", false);
        assert_true(rig_send(&rig, "lock/new/point/2", "{}", false, false));
    }
    rig_wait(&rig, &ends, 1, 5000);
    rig_wait(&rig, &rig.seen_count, 20, 5000);
    assert_true(complete);
    assert_int_equal(kept, 0);
    assert_int_equal(rig.seen_count, 20); // the signals, and nothing else
}

static void no_filters_end_at_once(void **state) {
    (void)state;
    start();
    assert_true(survey(NULL, 0));
    assert_int_equal(ends, 0);
    rig_wait(&rig, &ends, 1, 5000);
    assert_true(complete);
}

static void a_break_ends_it_incomplete(void **state) {
    (void)state;
    static const char *const FILTERS[] = {"lock/+/point/+"};
    start();
    broker_freeze(&broker, true);
    assert_true(survey(FILTERS, 1));
    rig_pass(&rig, 100);
    assert_int_equal(ends, 0);
    broker_kill(&broker);
    rig_wait(&rig, &ends, 1, 5000);
    assert_false(complete);
    assert_false(mqtt_up(rig.mqtt, MQTT_LIVE));
    assert_false(survey(FILTERS, 1)); // while down
    broker_start(&broker, "");
    rig_wait(&rig, &rig.ups[MQTT_LIVE], 2, 10000);
    assert_int_equal(ends, 1);
    assert_true(survey(FILTERS, 1));
    rig_wait(&rig, &ends, 2, 5000);
    assert_true(complete);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(finds_all_that_is_kept, set_up, tear_down),
        cmocka_unit_test_setup_teardown(one_wide_filter_finds_thousands, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_is_published_meanwhile_is_not_kept, set_up, tear_down),
        cmocka_unit_test_setup_teardown(no_filters_end_at_once, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_break_ends_it_incomplete, set_up, tear_down),
    };
    broker_prepare(&broker);
    broker_start(&broker, "max_queued_messages 1000"); // the default
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    broker_remove(&broker);
    return failed;
}
