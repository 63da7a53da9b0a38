// Out of memory: the Nth allocation fails, for every N that comes up, and nothing breaks or lies.
#include "given.h"

#include <stdio.h>

void *__real_malloc(size_t size);
void *__real_realloc(void *old, size_t size);
void *__wrap_malloc(size_t size);
void *__wrap_realloc(void *old, size_t size);

// How many more allocations succeed; below 0 all do.
static int left = -1;

static bool runs_out(void) {
    if (left < 0) {
        return false;
    }
    return left == 0 || left-- == 0;
}

void *__wrap_malloc(size_t size) {
    return runs_out() ? NULL : __real_malloc(size);
}

void *__wrap_realloc(void *old, size_t size) {
    return runs_out() ? NULL : __real_realloc(old, size);
}

// An object of so many members that the tape must grow, its keys be sorted and memory be taken
// for that; and a number of more digits than fit on the stack.
static const char *wide_object(void) {
    static char text[8192];
    size_t length = 0;

    for (int i = 0; i < 300; i++) {
        length += (size_t)snprintf(text + length, sizeof text - length, "%c\"k%d\":%d",
                                   i == 0 ? '{' : ',', i, i);
    }
    length += (size_t)snprintf(text + length, sizeof text - length, ",\"long\":");
    memset(text + length, '7', 100);
    snprintf(text + length + 100, sizeof text - length - 100, "}");
    return text;
}

static void the_scanner_says_so(void **state) {
    (void)state;
    const char *text = wide_object();
    int failures = 0;

    for (int n = 0;; n++) {
        struct json_tape tape = {0};
        struct json_error error = {0};
        left = n;
        bool taken = json_scan(&tape, text, strlen(text), &json_message_limits, &error);
        left = -1;
        if (!taken) {
            failures++;
            assert_string_equal(error.what, "out of memory while reading this");
            assert_null(json_root(&tape));
        }
        assert_true(json_scan(&tape, text, strlen(text), &json_message_limits, &error));
        json_tape_free(&tape);
        if (taken) {
            break;
        }
    }
    assert_true(failures >= 3);
}

static void the_writer_stays_failed(void **state) {
    (void)state;
    const char *text = wide_object();
    struct json_tape tape = {0};
    int failures = 0;
    bool failed = true;

    assert_true(json_scan(&tape, text, strlen(text), &json_message_limits, NULL));
    for (int n = 0; failed; n++) {
        struct json_out out = {0};
        left = n;
        json_out_canonical(&out, &tape, json_root(&tape));
        left = -1;
        failed = out.failed;
        failures += failed ? 1 : 0;
        size_t length = out.length;
        json_out_int(&out, 1);
        assert_int_equal(out.failed, failed);
        assert_int_equal(out.length, failed ? length : length + 2);
        json_out_reset(&out);
        assert_false(out.failed);
        json_out_int(&out, 1);
        assert_string_equal(out.data, "1");
        json_out_free(&out);
    }
    assert_true(failures >= 4);
    json_tape_free(&tape);
}

static void equality_only_gets_slower(void **state) {
    (void)state;
    const char *text = wide_object();
    struct json_tape a = {0};
    struct json_tape b = {0};

    assert_true(json_scan(&a, text, strlen(text), &json_message_limits, NULL));
    assert_true(json_scan(&b, text, strlen(text), &json_message_limits, NULL));
    for (int n = 0; n < 4; n++) {
        left = n;
        bool same = json_same(&a, json_root(&a), &b, json_root(&b));
        left = -1;
        assert_true(same);
    }
    json_tape_free(&a);
    json_tape_free(&b);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_scanner_says_so),
        cmocka_unit_test(the_writer_stays_failed),
        cmocka_unit_test(equality_only_gets_slower),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
