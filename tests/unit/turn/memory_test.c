// Memory that runs out: nothing half is told, and nothing is acknowledged.
#include "rig.h"

#include <string.h>

#include "failing_memory.h"
#include "rig_operations.h"

#define SIGN "{\"id\":\"r-2\",\"job\":\"J-1\",\"check\":\"barricade\"}"

// A request, its commit and what comes of it, with every allocation in turn failing.
static bool survives(long allocations) {
    struct rig *rig = rig_new();
    const struct wire_request_in request = {
        .person = "t-1", .verb = "sign-check", .body = SIGN, .length = strlen(SIGN)};
    rig_to_open(rig);
    size_t rows = rig->row_count;
    turn_delivered(rig->turn);
    failing_memory_left = allocations;
    bool taken = turn_submit_request(rig->turn, &request);
    if (!taken) {
        turn_fail(rig->turn);
    }
    turn_end(rig->turn);
    bool ran_out = failing_memory_left == 0;
    failing_memory_left = -1;
    bool ending = turn_view(rig->turn).ending;
    if (ending) {
        assert_int_equal(rig_count(rig, "acknowledge"), 0);
        assert_int_equal(rig_count(rig, "write"), 0);
        assert_int_equal(rig_count(rig, "reply"), 0);
        assert_int_equal(rig_count(rig, "stop"), 1);
        assert_int_equal(rig->row_count, rows);
    } else {
        rig_settle(rig);
        assert_int_equal(rig_count(rig, "reply"), 1);
        assert_int_equal(rig_count(rig, "acknowledge"), 1);
    }
    assert_true(taken || ending);
    assert_true(ran_out || !ending);
    rig_free(rig);
    return !ran_out;
}

static void a_request_is_whole_or_is_not(void **state) {
    (void)state;
    long allocations = 0;
    while (!survives(allocations)) {
        assert_true(++allocations < 1000);
    }
    assert_true(allocations > 3);
}

RIG_TEST(a_delivery_that_found_no_memory_is_not_acknowledged) {
    turn_delivered(rig->turn);
    turn_fail(rig->turn);
    rig_turn(rig);
    assert_int_equal(rig_count(rig, "stop"), 1);
    assert_int_equal(rig_count(rig, "acknowledge"), 0);
    assert_true(turn_view(rig->turn).ending);
}

RIG_TEST(a_request_of_the_http_api_that_found_no_memory_ends_nothing) {
    const struct wire_request_in request = {.person = "k-1",
                                            .verb = "open-job",
                                            .body = RIG_OPEN,
                                            .length = strlen(RIG_OPEN),
                                            .ticket = 2};
    failing_memory_left = 0;
    assert_false(turn_submit_request(rig->turn, &request));
    failing_memory_left = -1;
    rig_settle(rig);
    assert_false(turn_view(rig->turn).ending);
    assert_null(rig_job(rig, "J-1"));
}

// A break that finds no memory to be noted ends the turn, and the daemon with it.
RIG_TEST(a_break_that_finds_no_memory_is_not_passed_over) {
    rig_to_confirmed(rig);
    for (long allocations = 0; allocations < 200; allocations++) {
        failing_memory_left = allocations;
        rig_hear(rig, S_POWER3, MODEL_POINT_LIVE);
        failing_memory_left = -1;
        if (rig_count(rig, "stream-alarm") > 0) {
            break;
        }
        rig_turn(rig);
        assert_true(turn_view(rig->turn).ending);
        return;
    }
    assert_int_equal(rig_count(rig, "stream-alarm"), 1);
}

static void without_memory_there_is_no_turn(void **state) {
    struct turn_options options = {.model = world_model(), .version = "test", .boot = "boot-1"};
    struct rig *rig = rig_new();
    long allocations = 0;
    struct turn *turn = NULL;
    (void)state;
    while (turn == NULL) {
        failing_memory_left = allocations++;
        turn = turn_new(&options, &rig_operations, rig);
        failing_memory_left = -1;
        assert_true(allocations < 100);
    }
    assert_true(allocations > 5);
    turn_free(turn);
    rig_free(rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_request_is_whole_or_is_not),
        cmocka_unit_test(a_delivery_that_found_no_memory_is_not_acknowledged),
        cmocka_unit_test(a_request_of_the_http_api_that_found_no_memory_ends_nothing),
        cmocka_unit_test(a_break_that_finds_no_memory_is_not_passed_over),
        cmocka_unit_test(without_memory_there_is_no_turn),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
