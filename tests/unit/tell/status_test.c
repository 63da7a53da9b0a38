// The status of an answer.
#include "wire/tell.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static int status(const enum model_code *codes, size_t count) {
    struct gate_refusal refusals[4] = {0};
    struct gate_answer answer = {.refusals = refusals, .refusal_count = count};
    for (size_t i = 0; i < count; i++) {
        refusals[i].code = codes[i];
    }
    return wire_status(&answer);
}

static int of_two(enum model_code first, enum model_code second) {
    const enum model_code codes[] = {first, second};
    int there = status(codes, 2);
    const enum model_code turned[] = {second, first};
    assert_int_equal(status(turned, 2), there);
    return there;
}

static void accepted(void **state) {
    (void)state;
    const struct gate_answer answer = {.accepted = true};
    assert_int_equal(wire_status(&answer), 200);
}

// Refused for want of the memory to say why.
static void without_a_reason(void **state) {
    (void)state;
    assert_int_equal(status(NULL, 0), 503);
}

static void by_its_code(void **state) {
    (void)state;
    for (int code = 0; code < MODEL_CODE_COUNT; code++) {
        const enum model_code one = (enum model_code)code;
        int expected = one == MODEL_CODE_MALFORMED      ? 400
                       : one == MODEL_CODE_NOT_ALLOWED  ? 403
                       : one == MODEL_CODE_UNKNOWN_SITE ? 404
                       : one == MODEL_CODE_UNKNOWN_VERB ? 404
                       : one == MODEL_CODE_JOURNAL_DOWN ? 503
                                                        : 409;
        assert_int_equal(status(&one, 1), expected);
    }
}

static void of_several(void **state) {
    (void)state;
    assert_int_equal(of_two(MODEL_CODE_JOURNAL_DOWN, MODEL_CODE_NOT_ALLOWED), 503);
    assert_int_equal(of_two(MODEL_CODE_JOURNAL_DOWN, MODEL_CODE_POINT_LIVE), 503);
    assert_int_equal(of_two(MODEL_CODE_NOT_ALLOWED, MODEL_CODE_MALFORMED), 403);
    assert_int_equal(of_two(MODEL_CODE_NOT_ALLOWED, MODEL_CODE_TAG_MISSING), 403);
    assert_int_equal(of_two(MODEL_CODE_TAG_MISSING, MODEL_CODE_POINT_LIVE), 409);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(accepted),
                                       cmocka_unit_test(without_a_reason),
                                       cmocka_unit_test(by_its_code), cmocka_unit_test(of_several)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
