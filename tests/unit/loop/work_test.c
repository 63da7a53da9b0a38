// The worker thread beside the loop.
#include "loop/work.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <unistd.h>

#include <cmocka.h>

#include "loop/loop.h"

struct bench {
    struct loop *loop;
    struct loop_work *work;
    int gate[2]; // a pipe that the work waits on
    int ran, ended;
};

static void run(void *user) {
    struct bench *bench = user;
    char byte;
    assert_int_equal(read(bench->gate[0], &byte, 1), 1);
    bench->ran++;
}

static void done(void *user) {
    struct bench *bench = user;
    bench->ended++;
}

static int set_up(void **state) {
    static struct bench bench;
    bench = (struct bench){.loop = loop_new()};
    assert_non_null(bench.loop);
    assert_int_equal(pipe(bench.gate), 0);
    bench.work = loop_work_new(bench.loop, done, &bench);
    assert_non_null(bench.work);
    *state = &bench;
    return 0;
}

static int tear_down(void **state) {
    struct bench *bench = *state;
    loop_work_free(bench->work);
    loop_free(bench->loop);
    close(bench->gate[0]);
    close(bench->gate[1]);
    return 0;
}

static void let_go(struct bench *bench) {
    assert_int_equal(write(bench->gate[1], "x", 1), 1);
}

static void the_loop_goes_on_meanwhile(void **state) {
    struct bench *bench = *state;
    assert_true(loop_work_begin(bench->work, run));
    assert_true(loop_turn(bench->loop, 20));
    assert_int_equal(bench->ended, 0);
    assert_false(loop_work_begin(bench->work, run)); // one at a time
    let_go(bench);
    for (int i = 0; i < 500 && bench->ended == 0; i++) {
        assert_true(loop_turn(bench->loop, 10));
    }
    assert_int_equal(bench->ended, 1);
    assert_int_equal(bench->ran, 1);
    assert_true(loop_work_begin(bench->work, run)); // and then the next
    let_go(bench);
}

static void the_end_is_told_once(void **state) {
    struct bench *bench = *state;
    for (int round = 1; round <= 3; round++) {
        assert_true(loop_work_begin(bench->work, run));
        let_go(bench);
        loop_work_wait(bench->work);
        assert_int_equal(bench->ended, round);
        loop_work_wait(bench->work);
        assert_true(loop_turn(bench->loop, 5));
        assert_int_equal(bench->ended, round);
    }
}

static void freed_while_busy_waits_and_tells_nothing(void **state) {
    struct bench *bench = *state;
    assert_true(loop_work_begin(bench->work, run));
    let_go(bench);
    loop_work_free(bench->work);
    bench->work = NULL;
    assert_int_equal(bench->ended, 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(the_loop_goes_on_meanwhile, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_end_is_told_once, set_up, tear_down),
        cmocka_unit_test_setup_teardown(freed_while_busy_waits_and_tells_nothing, set_up,
                                        tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
