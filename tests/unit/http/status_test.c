// The status of an answer.
#include "http/http.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static int status(const enum gate_code *codes, size_t count) {
    struct gate_refusal refusals[4] = {0};
    struct gate_answer answer = {.refusals = refusals, .refusal_count = count};
    for (size_t i = 0; i < count; i++) {
        refusals[i].code = codes[i];
    }
    return http_status_of(&answer);
}

static int of_two(enum gate_code first, enum gate_code second) {
    const enum gate_code codes[] = {first, second};
    int there = status(codes, 2);
    const enum gate_code turned[] = {second, first};
    assert_int_equal(status(turned, 2), there);
    return there;
}

static void accepted(void **state) {
    (void)state;
    const struct gate_answer answer = {.accepted = true};
    assert_int_equal(http_status_of(&answer), 200);
}

// Refused for want of the memory to say why.
static void without_a_reason(void **state) {
    (void)state;
    assert_int_equal(status(NULL, 0), 503);
}

static void by_its_code(void **state) {
    (void)state;
    for (int code = 0; code < GATE_CODE_COUNT; code++) {
        const enum gate_code one = (enum gate_code)code;
        int expected = one == GATE_CODE_MALFORMED      ? 400
                       : one == GATE_CODE_NOT_ALLOWED  ? 403
                       : one == GATE_CODE_UNKNOWN_SITE ? 404
                       : one == GATE_CODE_UNKNOWN_VERB ? 404
                       : one == GATE_CODE_JOURNAL_DOWN ? 503
                                                       : 409;
        assert_int_equal(status(&one, 1), expected);
    }
}

static void of_several(void **state) {
    (void)state;
    assert_int_equal(of_two(GATE_CODE_JOURNAL_DOWN, GATE_CODE_NOT_ALLOWED), 503);
    assert_int_equal(of_two(GATE_CODE_JOURNAL_DOWN, GATE_CODE_POINT_LIVE), 503);
    assert_int_equal(of_two(GATE_CODE_NOT_ALLOWED, GATE_CODE_MALFORMED), 403);
    assert_int_equal(of_two(GATE_CODE_NOT_ALLOWED, GATE_CODE_TAG_MISSING), 403);
    assert_int_equal(of_two(GATE_CODE_TAG_MISSING, GATE_CODE_POINT_LIVE), 409);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(accepted),
                                       cmocka_unit_test(without_a_reason),
                                       cmocka_unit_test(by_its_code), cmocka_unit_test(of_several)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
