// The ladders: each step within a fifth of what it says, no end, and no two alike.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "webhook/schedule.h"

static void holds(enum webhook_ladder ladder, uint32_t attempts, int64_t base_s) {
    for (uint64_t seed = 0; seed < 500; seed++) {
        int64_t delay = webhook_delay_ms(ladder, attempts, seed * 7919);
        assert_in_range(delay, base_s * 800, base_s * 1200);
        assert_in_range(delay, 1, WEBHOOK_DELAY_MAX_MS);
    }
}

static void the_steps(void **state) {
    static const int64_t refused[] = {5, 300, 1800, 7200, 18000, 36000, 50400, 72000, 86400};
    static const int64_t unreached[] = {5, 30, 120, 300, 900, 1800, 3600};
    (void)state;
    for (uint32_t i = 0; i < 9; i++) {
        holds(WEBHOOK_REFUSED, i + 1, refused[i]);
    }
    for (uint32_t i = 0; i < 7; i++) {
        holds(WEBHOOK_UNREACHED, i + 1, unreached[i]);
    }
    holds(WEBHOOK_REFUSED, 0, 5);
}

static void without_end(void **state) {
    (void)state;
    holds(WEBHOOK_REFUSED, 1000, 86400);
    holds(WEBHOOK_REFUSED, UINT32_MAX, 86400);
    holds(WEBHOOK_UNREACHED, 168, 3600); // a week of them
    holds(WEBHOOK_UNREACHED, UINT32_MAX, 3600);
}

static void the_seed_alone_decides(void **state) {
    int64_t low = INT64_MAX, high = 0;
    (void)state;
    for (uint64_t seed = 0; seed < 1000; seed++) {
        int64_t delay = webhook_delay_ms(WEBHOOK_REFUSED, 3, seed);
        assert_int_equal(delay, webhook_delay_ms(WEBHOOK_REFUSED, 3, seed));
        low = delay < low ? delay : low;
        high = delay > high ? delay : high;
    }
    // Spread over nearly the whole band, so that many daemons do not come back at once.
    assert_true(low < 1800 * 820 && high > 1800 * 1180);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_steps),
        cmocka_unit_test(without_end),
        cmocka_unit_test(the_seed_alone_decides),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
