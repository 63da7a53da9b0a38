// The delivery state: order within a job, jobs beside each other, back-off, disabling, and the
// bound.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "webhook/delivery.h"
#include "webhook/schedule.h"

#include <stdio.h>
#include <string.h>

static struct webhook_delivery box;
static int64_t now;

static int setup(void **state) {
    (void)state;
    memset(&box, 0, sizeof box);
    now = 1000000;
    return 0;
}

static enum webhook_offer offer(const char *job, int64_t seq) {
    return webhook_delivery_offer(&box, "juniper", job, seq, now);
}

// The queue that may go now, taking off; its event must be this one.
static struct webhook_queue *begin(int64_t seq) {
    struct webhook_queue *queue = webhook_delivery_next(&box, now);
    assert_non_null(queue);
    assert_int_equal(queue->next, seq);
    webhook_queue_begin(&box, queue);
    return queue;
}

static void refuse(struct webhook_queue *queue) {
    webhook_queue_refused(&box, queue, now, 0, 1, "answered 500");
}

static void unreach(struct webhook_queue *queue) {
    webhook_queue_unreached(&box, queue, now, 0, 1, "no connection");
}

static void a_job_gets_its_next_event_only_after_the_one_before(void **state) {
    (void)state;
    assert_int_equal(offer("J-1", 1), WEBHOOK_OFFER_TAKEN);
    struct webhook_queue *queue = begin(1);
    assert_int_equal(offer("J-1", 2), WEBHOOK_OFFER_BEHIND);
    assert_int_equal(box.cursor, 2);
    assert_null(webhook_delivery_next(&box, now));
    webhook_queue_taken(&box, queue, now);
    assert_null(webhook_delivery_next(&box, now)); // its next is still to be found
    assert_ptr_equal(webhook_delivery_looking(&box), queue);
    assert_int_equal(queue->next, 2);
    webhook_queue_found(queue, 2);
    webhook_queue_taken(&box, begin(2), now);
    assert_int_equal(box.held, 0);
    assert_null(webhook_delivery_looking(&box));
}

static void others_go_on_beside_a_job_that_is_refused(void **state) {
    (void)state;
    offer("J-1", 1);
    refuse(begin(1));
    offer("J-2", 2);
    offer("", 3);
    struct webhook_queue *second = begin(2);
    webhook_queue_taken(&box, second, now);
    webhook_queue_searched(&box, second, box.cursor);
    webhook_queue_taken(&box, begin(3), now);
    assert_null(webhook_delivery_next(&box, now));
    assert_int_equal(box.held, 1);
    assert_string_equal(webhook_delivery_state(&box), "waiting");
    now = webhook_delivery_due(&box);
    webhook_queue_taken(&box, begin(1), now);
    assert_string_equal(webhook_delivery_state(&box), "up");
}

static void the_same_job_at_another_site_is_another(void **state) {
    (void)state;
    offer("J-1", 1);
    assert_int_equal(webhook_delivery_offer(&box, "alder", "J-1", 2, now), WEBHOOK_OFFER_TAKEN);
    assert_int_equal(box.held, 2);
}

static void a_refusal_backs_off_further_each_time(void **state) {
    int64_t before = 0;
    (void)state;
    offer("J-1", 1);
    for (int i = 0; i < 9; i++) {
        refuse(begin(1));
        int64_t wait = webhook_delivery_due(&box) - now;
        assert_true(wait > before);
        assert_null(webhook_delivery_next(&box, now + wait - 1));
        before = wait;
        now += wait;
    }
    webhook_queue_taken(&box, begin(1), now);
    assert_int_equal(box.held, 0);
}

static void what_the_receiver_asks_for_is_waited(void **state) {
    (void)state;
    offer("J-1", 1);
    webhook_queue_refused(&box, begin(1), now, 600000, 1, "answered 500");
    assert_int_equal(webhook_delivery_due(&box), now + 600000);
    now += 600000;
    webhook_queue_unreached(&box, begin(1), now, INT64_MAX / 2, 1, "answered 503");
    assert_int_equal(webhook_delivery_due(&box), now + WEBHOOK_DELAY_MAX_MS);
}

static void an_endpoint_that_is_away_is_tried_with_one(void **state) {
    struct webhook_queue *queues[3];
    (void)state;
    for (int i = 0; i < 3; i++) {
        char job[8];
        snprintf(job, sizeof job, "J-%d", i);
        offer(job, i + 1);
        queues[i] = begin(i + 1);
    }
    for (int i = 0; i < 3; i++) {
        unreach(queues[i]);
    }
    assert_int_equal(box.attempts, 1); // they failed together
    assert_false(webhook_delivery_open(&box, now));
    now = webhook_delivery_due(&box);
    struct webhook_queue *probe = begin(1);
    assert_null(webhook_delivery_next(&box, now));
    unreach(probe);
    assert_int_equal(box.attempts, 2);
    now = webhook_delivery_due(&box);
    webhook_queue_taken(&box, begin(1), now);
    begin(2); // reached: the others at once
    begin(3);
}

static void no_more_than_the_limit_fly(void **state) {
    (void)state;
    for (int i = 0; i < WEBHOOK_POSTS_MAX + 2; i++) {
        char job[8];
        snprintf(job, sizeof job, "J-%d", i);
        offer(job, i + 1);
    }
    for (int i = 0; i < WEBHOOK_POSTS_MAX; i++) {
        begin(i + 1);
    }
    assert_null(webhook_delivery_next(&box, now));
}

static void when_all_queues_are_held_the_cursor_waits(void **state) {
    (void)state;
    for (int i = 0; i < WEBHOOK_QUEUES_MAX; i++) {
        char job[8];
        snprintf(job, sizeof job, "J-%d", i);
        assert_int_equal(offer(job, i + 1), WEBHOOK_OFFER_TAKEN);
    }
    assert_int_equal(offer("J-999", 65), WEBHOOK_OFFER_FULL);
    assert_int_equal(box.cursor, 64);
    assert_int_equal(offer("J-3", 65), WEBHOOK_OFFER_BEHIND);
}

static void gone_is_gone_until_the_operator_retries(void **state) {
    (void)state;
    offer("J-1", 1);
    webhook_queue_gone(&box, begin(1), now, "answered 410");
    assert_string_equal(webhook_delivery_state(&box), "disabled");
    assert_null(webhook_delivery_next(&box, now + WEBHOOK_DELAY_MAX_MS * 10));
    assert_int_equal(webhook_delivery_due(&box), INT64_MAX);
    webhook_delivery_retry(&box);
    webhook_queue_taken(&box, begin(1), now);
    assert_string_equal(webhook_delivery_state(&box), "up");
}

static void a_retry_ends_every_back_off(void **state) {
    (void)state;
    offer("J-1", 1);
    refuse(begin(1));
    offer("J-2", 2);
    unreach(begin(2));
    assert_null(webhook_delivery_next(&box, now));
    webhook_delivery_retry(&box);
    begin(1);
    begin(2);
}

static void a_restart_sends_again_what_was_under_way(void **state) {
    (void)state;
    offer("J-1", 5);
    struct webhook_queue kept = *begin(5);
    box = (struct webhook_delivery){.cursor = 9};
    assert_true(webhook_delivery_restore(&box, &kept));
    struct webhook_queue *queue = webhook_delivery_looking(&box);
    assert_non_null(queue);
    assert_int_equal(queue->next, 5);
    webhook_queue_found(queue, 5);
    begin(5);
}

static void a_search_that_finds_nothing_frees_the_queue(void **state) {
    (void)state;
    offer("J-1", 1);
    struct webhook_queue *queue = begin(1);
    webhook_delivery_pass(&box, 900);
    webhook_queue_taken(&box, queue, now);
    webhook_queue_searched(&box, queue, 500);
    assert_int_equal(queue->next, 501);
    assert_int_equal(box.held, 1);
    webhook_queue_searched(&box, queue, 900);
    assert_int_equal(box.held, 0);
}

// --- Since when ---

static void nothing_waits(void **state) {
    (void)state;
    assert_int_equal(webhook_delivery_waits_since(&box), INT64_MAX);
    offer("J-1", 1);
    webhook_queue_taken(&box, begin(1), now);
    assert_int_equal(webhook_delivery_waits_since(&box), INT64_MAX);
}

static void a_success_counts_for_those_that_had_no_turn(void **state) {
    (void)state;
    offer("J-1", 1);
    offer("J-2", 2);
    struct webhook_queue *first = begin(1), *second = begin(2);
    assert_int_equal(webhook_delivery_waits_since(&box), 1000000);
    now += 5000;
    webhook_queue_taken(&box, first, now);
    assert_int_equal(webhook_delivery_waits_since(&box), now);
    refuse(second); // but it does not count for one that is refused
    assert_int_equal(webhook_delivery_waits_since(&box), 1000000);
}

static void a_clock_set_back_delays_nothing_for_good(void **state) {
    (void)state;
    offer("J-1", 1);
    refuse(begin(1));
    box.ok_ms = now;
    now -= 100 * WEBHOOK_DELAY_MAX_MS;
    webhook_delivery_clamp(&box, now);
    assert_true(webhook_delivery_due(&box) <= now + WEBHOOK_DELAY_MAX_MS);
    assert_int_equal(webhook_delivery_waits_since(&box), now);
    assert_int_equal(box.ok_ms, now);
}

#define TEST(name) cmocka_unit_test_setup(name, setup)

int main(void) {
    const struct CMUnitTest tests[] = {
        TEST(a_job_gets_its_next_event_only_after_the_one_before),
        TEST(others_go_on_beside_a_job_that_is_refused),
        TEST(the_same_job_at_another_site_is_another),
        TEST(a_refusal_backs_off_further_each_time),
        TEST(what_the_receiver_asks_for_is_waited),
        TEST(an_endpoint_that_is_away_is_tried_with_one),
        TEST(no_more_than_the_limit_fly),
        TEST(when_all_queues_are_held_the_cursor_waits),
        TEST(gone_is_gone_until_the_operator_retries),
        TEST(a_retry_ends_every_back_off),
        TEST(a_restart_sends_again_what_was_under_way),
        TEST(a_search_that_finds_nothing_frees_the_queue),
        TEST(nothing_waits),
        TEST(a_success_counts_for_those_that_had_no_turn),
        TEST(a_clock_set_back_delays_nothing_for_good),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
