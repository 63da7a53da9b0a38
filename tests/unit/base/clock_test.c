// The clocks: which one is which, in which unit, and that the one for ages never goes back.
#include "base/clock.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <time.h>

#include <cmocka.h>

// The bounds are read around the call, so that a slow machine changes nothing.
static int64_t bound(clockid_t clock) {
    struct timespec now;
    assert_int_equal(clock_gettime(clock, &now), 0);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static void test_mono_is_the_time_since_boot(void **state) {
    (void)state;
    const int64_t before = bound(CLOCK_BOOTTIME), mono = base_clock_mono_ms();
    assert_true(before <= mono && mono <= bound(CLOCK_BOOTTIME));
}

static void test_wall_is_since_1970(void **state) {
    (void)state;
    const int64_t wall = base_clock_wall_ms();
    assert_true(wall > 1700000000000); // ms; in seconds or us it would be far off
    assert_true(wall < 100000000000000);
    const int64_t apart = wall - (int64_t)time(NULL) * 1000;
    assert_true(apart > -60000 && apart < 60000);
}

static void test_now_is_both(void **state) {
    (void)state;
    const int64_t before = base_clock_mono_ms();
    const struct base_time now = base_clock_now();
    assert_true(before <= now.mono_ms && now.mono_ms <= base_clock_mono_ms());
    const int64_t apart = base_clock_wall_ms() - now.wall_ms;
    assert_true(apart > -60000 && apart < 60000);
}

static void test_mono_never_goes_back(void **state) {
    (void)state;
    int64_t last = base_clock_mono_ms();
    for (int i = 0; i < 100000; i++) {
        const int64_t now = base_clock_mono_ms();
        assert_true(now >= last);
        last = now;
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_mono_is_the_time_since_boot),
        cmocka_unit_test(test_wall_is_since_1970),
        cmocka_unit_test(test_now_is_both),
        cmocka_unit_test(test_mono_never_goes_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
