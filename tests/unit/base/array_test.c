// The array that grows: contents kept, few allocations, nothing changed where there is no memory.
#include "base/array.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

void *__real_realloc(void *items, size_t size);
void *__wrap_realloc(void *items, size_t size);

static int calls;
static bool short_of_memory;

void *__wrap_realloc(void *items, size_t size) {
    calls++;
    return short_of_memory ? NULL : __real_realloc(items, size);
}

struct list {
    uint32_t *items;
    size_t count, capacity;
};

static bool add(struct list *list, uint32_t value) {
    if (!BASE_ARRAY_ROOM(list->items, list->count, list->capacity)) {
        return false;
    }
    list->items[list->count++] = value;
    return true;
}

static void test_items_are_kept_and_few_calls_made(void **state) {
    (void)state;
    struct list list = {0};
    calls = 0;
    for (uint32_t i = 0; i < 100000; i++) {
        assert_true(add(&list, i));
        assert_true(list.count <= list.capacity);
    }
    for (uint32_t i = 0; i < 100000; i++) {
        assert_int_equal(list.items[i], i);
    }
    assert_true(calls <= 16); // 4 * 2^15 > 100000
    free(list.items);
}

static void test_no_call_while_there_is_room(void **state) {
    (void)state;
    struct list list = {0};
    assert_true(add(&list, 1));
    calls = 0;
    list.count = 0; // emptied for the next turn: the room stays
    assert_true(add(&list, 2));
    assert_int_equal(calls, 0);
    free(list.items);
}

static void test_many_at_once(void **state) {
    (void)state;
    struct list list = {0};
    assert_true(BASE_ARRAY_RESERVE(list.items, list.count, 0, list.capacity));
    assert_null(list.items);
    assert_true(BASE_ARRAY_RESERVE(list.items, list.count, 1000, list.capacity));
    assert_true(list.capacity >= 1000);
    list.count = 1000;
    calls = 0;
    assert_true(BASE_ARRAY_RESERVE(list.items, list.count, list.capacity - 1000, list.capacity));
    assert_int_equal(calls, 0);
    assert_true(BASE_ARRAY_RESERVE(list.items, list.count, 1001, list.capacity));
    assert_true(list.capacity >= 2001);
    free(list.items);
}

static void test_without_memory_it_is_as_it_was(void **state) {
    (void)state;
    struct list list = {0};
    for (uint32_t i = 0; i < 4; i++) {
        assert_true(add(&list, i));
    }
    const struct list before = list;
    short_of_memory = true;
    assert_false(add(&list, 4));
    short_of_memory = false;
    assert_ptr_equal(list.items, before.items);
    assert_int_equal(list.count, before.count);
    assert_int_equal(list.capacity, before.capacity);
    assert_int_equal(list.items[3], 3);
    assert_true(add(&list, 4));
    free(list.items);
}

static void test_sizes_that_wrap_are_refused(void **state) {
    (void)state;
    uint64_t *items = NULL;
    size_t capacity = 0;
    assert_false(base_array_grow(&items, 2, SIZE_MAX - 1, &capacity, sizeof *items));
    assert_false(base_array_grow(&items, 0, SIZE_MAX / 4, &capacity, sizeof *items));
    capacity = SIZE_MAX / 2 + 1; // doubled it would wrap to nothing
    assert_false(base_array_grow(&items, capacity, 1, &capacity, sizeof *items));
    assert_true(capacity == SIZE_MAX / 2 + 1);
    assert_null(items);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_items_are_kept_and_few_calls_made),
        cmocka_unit_test(test_no_call_while_there_is_room),
        cmocka_unit_test(test_many_at_once),
        cmocka_unit_test(test_without_memory_it_is_as_it_was),
        cmocka_unit_test(test_sizes_that_wrap_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
