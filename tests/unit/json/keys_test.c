// Objects of many members: keys that stand twice are found there too, and in no more than n log n.
#include "given.h"

#include <stdio.h>
#include <time.h>

static const struct json_limits wide = {.max_length = 1 << 24, .max_depth = 4};

struct object {
    char *text;
    size_t length;
    size_t *places; // of the opening quote of each key
};

// {"k0":[0],"k1":[1],…}; the key at twice (if below count) is that at original again, escaped.
static struct object make(size_t count, size_t original, size_t twice) {
    struct object object = {.text = malloc(count * 32 + 3),
                            .places = malloc(count * sizeof(size_t))};
    char *p = object.text;

    assert_non_null(p);
    assert_non_null(object.places);
    *p++ = '{';
    for (size_t i = 0; i < count; i++) {
        object.places[i] = (size_t)(p - object.text);
        p += i == twice ? snprintf(p, 32, "\"\\u006b%zu\":[%zu],", original, i)
                        : snprintf(p, 32, "\"k%zu\":[%zu],", i, i);
    }
    p[-1] = '}';
    object.length = (size_t)(p - object.text);
    return object;
}

static void release(struct object *object) {
    free(object->text);
    free(object->places);
}

static void distinct_keys_are_taken(void **state) {
    (void)state;
    for (size_t count = 1; count <= 70; count++) {
        struct object object = make(count, 0, count);
        struct json_tape tape = {0};
        assert_true(json_scan(&tape, object.text, object.length, &wide, NULL));
        assert_int_equal(json_root(&tape)->count, count);
        assert_int_equal(tape.count, 1 + 3 * count);
        json_tape_free(&tape);
        release(&object);
    }
}

// Every pair of places, on both sides of the size at which the way of looking changes.
static void a_second_key_is_found_wherever_it_stands(void **state) {
    (void)state;
    for (size_t twice = 1; twice < 24; twice++) {
        for (size_t original = 0; original < twice; original++) {
            struct object object = make(24, original, twice);
            struct json_tape tape = {0};
            struct json_error error = {0};
            char pointer[16];
            snprintf(pointer, sizeof pointer, "/k%zu", original);
            assert_false(json_scan(&tape, object.text, object.length, &wide, &error));
            assert_int_equal(error.offset, object.places[twice]);
            assert_string_equal(error.pointer, pointer);
            assert_string_equal(error.what, "this key stands twice in its object");
            json_tape_free(&tape);
            release(&object);
        }
    }
}

static double seconds_to_scan(size_t count) {
    struct object object = make(count, 0, count);
    struct json_tape tape = {0};
    struct timespec from;
    struct timespec to;

    assert_true(json_scan(&tape, object.text, object.length, &wide, NULL)); // grows the tape
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &from);
    assert_true(json_scan(&tape, object.text, object.length, &wide, NULL));
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &to);
    json_tape_free(&tape);
    release(&object);
    return (double)(to.tv_sec - from.tv_sec) + (double)(to.tv_nsec - from.tv_nsec) / 1e9;
}

// Thirty-two times the members would cost a thousand times the time if each were compared with
// each; sorted, it is about fifty. The processor's time is taken, so that a busy machine does not
// count; what is left of noise has a factor of four.
static void many_members_do_not_cost_their_square(void **state) {
    (void)state;
    double few = seconds_to_scan(10000);
    double many = seconds_to_scan(320000);

    assert_true(many < 200 * few);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(distinct_keys_are_taken),
        cmocka_unit_test(a_second_key_is_found_wherever_it_stands),
        cmocka_unit_test(many_members_do_not_cost_their_square),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
