// The loop: turns, timers, signals, and one instant a turn.
#include "loop/loop.h"

#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

static struct loop *loop;
static struct loop_timer *timer;
static int fired, ended, signaled;

static int set_up(void **state) {
    (void)state;
    fired = ended = signaled = 0;
    timer = NULL;
    loop = loop_new();
    return loop != NULL ? 0 : -1;
}

static int tear_down(void **state) {
    (void)state;
    loop_timer_free(timer);
    loop_free(loop);
    return 0;
}

static void on_timer(void *user) {
    assert_ptr_equal(user, &fired);
    fired++;
}

static void on_turn_end(void *user) {
    assert_ptr_equal(user, &ended);
    ended++;
}

static void turns(int count) {
    for (int i = 0; i < count; i++) {
        assert_true(loop_turn(loop, 20));
    }
}

static void once_is_once(void **state) {
    (void)state;
    timer = loop_timer_new(loop, on_timer, &fired);
    assert_true(loop_timer_once(timer, 0));
    turns(3);
    assert_int_equal(fired, 1);
    assert_true(loop_timer_once(timer, 0)); // and can be set again
    turns(3);
    assert_int_equal(fired, 2);
}

static void every_goes_on_until_stopped(void **state) {
    (void)state;
    timer = loop_timer_new(loop, on_timer, &fired);
    assert_true(loop_timer_every(timer, 5));
    turns(6);
    assert_true(fired >= 3);
    loop_timer_stop(timer);
    int before = fired;
    turns(3);
    assert_int_equal(fired, before);
}

static void setting_anew_replaces(void **state) {
    (void)state;
    timer = loop_timer_new(loop, on_timer, &fired);
    assert_true(loop_timer_every(timer, 1));
    assert_true(loop_timer_once(timer, 60000));
    turns(3);
    assert_int_equal(fired, 0);
}

static void free_itself(void *user) {
    (void)user;
    loop_timer_free(timer);
    timer = NULL;
    fired++;
}

static void a_timer_may_free_itself(void **state) {
    (void)state;
    timer = loop_timer_new(loop, free_itself, NULL);
    assert_true(loop_timer_every(timer, 1));
    turns(3);
    assert_int_equal(fired, 1);
}

static void the_hook_ends_each_turn(void **state) {
    (void)state;
    loop_on_turn_end(loop, on_turn_end, &ended);
    turns(4);
    assert_int_equal(ended, 4);
    loop_on_turn_end(loop, NULL, NULL);
    turns(1);
    assert_int_equal(ended, 4);
}

static void stop_from_timer(void *user) {
    (void)user;
    loop_stop(loop);
}

static void stopping_finishes_the_turn(void **state) {
    (void)state;
    loop_on_turn_end(loop, on_turn_end, &ended);
    timer = loop_timer_new(loop, stop_from_timer, NULL);
    assert_true(loop_timer_once(timer, 1));
    assert_true(loop_run(loop));
    assert_int_equal(ended, 1);
}

static void sleep_ms(int ms) {
    const struct timespec pause = {.tv_nsec = ms * 1000000L};
    nanosleep(&pause, NULL);
}

static void sleep_and_compare(void *user) {
    struct base_time before = loop_now(loop);
    (void)user;
    sleep_ms(20);
    struct base_time after = loop_now(loop);
    assert_int_equal(after.mono_ms, before.mono_ms);
    assert_int_equal(after.wall_ms, before.wall_ms);
    loop_now_again(loop);
    assert_true(loop_now(loop).mono_ms >= before.mono_ms + 20);
    fired++;
}

static void a_turn_has_one_instant(void **state) {
    (void)state;
    struct timespec wall;
    struct base_time before = loop_now(loop);
    clock_gettime(CLOCK_REALTIME, &wall);
    assert_in_range(wall.tv_sec * 1000 + wall.tv_nsec / 1000000 - before.wall_ms, 0, 1000);
    timer = loop_timer_new(loop, sleep_and_compare, NULL);
    assert_true(loop_timer_once(timer, 30));
    turns(3);
    assert_int_equal(fired, 1);
    // The wait before the timer is not part of its turn's time.
    assert_true(loop_now(loop).mono_ms >= before.mono_ms + 50);
}

static void on_signal(void *user, int number) {
    assert_ptr_equal(user, &signaled);
    assert_int_equal(number, SIGHUP);
    signaled++;
}

static void a_signal_is_told_from_the_loop(void **state) {
    (void)state;
    assert_true(loop_on_signal(loop, SIGHUP, on_signal, &signaled));
    assert_int_equal(raise(SIGHUP), 0);
    assert_int_equal(signaled, 0);
    turns(2);
    assert_int_equal(signaled, 1);
}

static void signals_have_a_bound(void **state) {
    (void)state;
    static const int NUMBERS[] = {SIGTERM, SIGINT,   SIGHUP,  SIGUSR1,
                                  SIGUSR2, SIGWINCH, SIGCONT, SIGALRM};
    for (int i = 0; i < 8; i++) {
        assert_true(loop_on_signal(loop, NUMBERS[i], on_signal, &signaled));
    }
    assert_false(loop_on_signal(loop, SIGQUIT, on_signal, &signaled));
}

static void a_closed_pipe_does_not_kill(void **state) {
    (void)state;
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    close(ends[0]);
    assert_int_equal(write(ends[1], "x", 1), -1);
    close(ends[1]);
}

static void note_turn(void *user) {
    *(int *)user = ended; // turns that had ended before the hook ran
}

static void ask_for_soon(void *user) {
    loop_timer_soon(user);
}

static void soon_is_in_the_same_turn(void **state) {
    (void)state;
    int turn = -1;
    loop_on_turn_end(loop, on_turn_end, &ended);
    struct loop_timer *soon = loop_timer_new(loop, note_turn, &turn);
    timer = loop_timer_new(loop, ask_for_soon, soon);
    assert_true(loop_timer_once(soon, 60000)); // ends by being called soon
    assert_true(loop_timer_once(timer, 0));
    turns(3);
    assert_int_equal(turn, 0);
    loop_timer_free(soon);
}

// --- Watching descriptors ---

static struct {
    struct loop_watch *watch;
    int ends[2];
    unsigned what, calls;
} pipe_watch;

static void on_ready(void *user, unsigned what) {
    assert_ptr_equal(user, &pipe_watch);
    pipe_watch.what = what;
    pipe_watch.calls++;
}

static int set_up_watch(void **state) {
    memset(&pipe_watch, 0, sizeof pipe_watch);
    if (set_up(state) != 0 || pipe(pipe_watch.ends) != 0) {
        return -1;
    }
    pipe_watch.watch = loop_watch_new(loop, on_ready, &pipe_watch);
    return pipe_watch.watch != NULL ? 0 : -1;
}

static int tear_down_watch(void **state) {
    loop_watch_free(pipe_watch.watch);
    close(pipe_watch.ends[0]);
    close(pipe_watch.ends[1]);
    return tear_down(state);
}

static void reading_goes_on_until_all_is_read(void **state) {
    (void)state;
    char byte;
    assert_true(loop_watch_set(pipe_watch.watch, pipe_watch.ends[0], LOOP_READ));
    turns(1);
    assert_int_equal(pipe_watch.calls, 0);
    assert_int_equal(write(pipe_watch.ends[1], "x", 1), 1);
    turns(2);
    assert_int_equal(pipe_watch.calls, 2);
    assert_int_equal(pipe_watch.what, LOOP_READ);
    assert_int_equal(read(pipe_watch.ends[0], &byte, 1), 1);
    turns(1);
    assert_int_equal(pipe_watch.calls, 2);
}

static void watching_is_changed_and_ended(void **state) {
    (void)state;
    assert_true(loop_watch_set(pipe_watch.watch, pipe_watch.ends[1], LOOP_WRITE));
    turns(1);
    assert_int_equal(pipe_watch.what, LOOP_WRITE);
    assert_true(loop_watch_set(pipe_watch.watch, pipe_watch.ends[0], LOOP_READ));
    turns(1);
    assert_int_equal(pipe_watch.calls, 1);
    assert_int_equal(write(pipe_watch.ends[1], "x", 1), 1);
    assert_true(loop_watch_set(pipe_watch.watch, pipe_watch.ends[0], 0));
    turns(1);
    assert_true(loop_watch_set(pipe_watch.watch, -1, LOOP_READ));
    turns(1);
    assert_int_equal(pipe_watch.calls, 1);
    assert_true(loop_watch_set(pipe_watch.watch, pipe_watch.ends[0], LOOP_READ));
    turns(1);
    assert_int_equal(pipe_watch.calls, 2);
}

static void what_waits_behind_the_descriptor_is_called_for(void **state) {
    (void)state;
    assert_true(loop_watch_set(pipe_watch.watch, pipe_watch.ends[0], LOOP_READ));
    loop_watch_soon(pipe_watch.watch);
    turns(2);
    assert_int_equal(pipe_watch.calls, 1);
    assert_int_equal(pipe_watch.what, LOOP_READ);
}

static void free_watch(void *user, unsigned what) {
    (void)what;
    fired++;
    loop_watch_free(*(struct loop_watch **)user);
}

static void a_watch_may_free_itself(void **state) {
    (void)state;
    struct loop_watch *own = NULL;
    own = loop_watch_new(loop, free_watch, &own);
    assert_true(loop_watch_set(own, pipe_watch.ends[1], LOOP_READ | LOOP_WRITE));
    turns(2);
    assert_int_equal(fired, 1);
}

#define WATCH(test) cmocka_unit_test_setup_teardown(test, set_up_watch, tear_down_watch)

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(once_is_once, set_up, tear_down),
        cmocka_unit_test_setup_teardown(every_goes_on_until_stopped, set_up, tear_down),
        cmocka_unit_test_setup_teardown(setting_anew_replaces, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_timer_may_free_itself, set_up, tear_down),
        cmocka_unit_test_setup_teardown(soon_is_in_the_same_turn, set_up, tear_down),
        WATCH(reading_goes_on_until_all_is_read),
        WATCH(watching_is_changed_and_ended),
        WATCH(what_waits_behind_the_descriptor_is_called_for),
        WATCH(a_watch_may_free_itself),
        cmocka_unit_test_setup_teardown(the_hook_ends_each_turn, set_up, tear_down),
        cmocka_unit_test_setup_teardown(stopping_finishes_the_turn, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_turn_has_one_instant, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_signal_is_told_from_the_loop, set_up, tear_down),
        cmocka_unit_test_setup_teardown(signals_have_a_bound, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_closed_pipe_does_not_kill, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
