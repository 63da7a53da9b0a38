// The nearest name.
#include "base/nearest.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))

static const char *const names[] = {"id", "job", "reason", "readings", "person"};

static void the_closest_has_the_fewest_changes(void **state) {
    (void)state;
    assert_string_equal(base_closest("reason", names, COUNT(names)), "reason");
    assert_string_equal(base_closest("reding", names, COUNT(names)), "readings");
    assert_string_equal(base_closest("jop", names, COUNT(names)), "job");
    assert_string_equal(base_closest("", names, COUNT(names)), "id");
    assert_null(base_closest("job", names, 0));
}

static void of_as_near_ones_it_is_the_first(void **state) {
    static const char *const alike[] = {"cat", "bat", "at"};
    (void)state;
    assert_string_equal(base_closest("rat", alike, COUNT(alike)), "cat");
}

static void the_nearest_may_have_been_meant(void **state) {
    (void)state;
    assert_string_equal(base_nearest("resaon", names, COUNT(names)), "reason");
    assert_null(base_nearest("voltage", names, COUNT(names)));
    assert_null(base_nearest("xx", names, COUNT(names))); // all of it would change
    assert_null(base_nearest("a-name-that-is-longer-than-any-that-we-have", names, COUNT(names)));
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(the_closest_has_the_fewest_changes),
        cmocka_unit_test(of_as_near_ones_it_is_the_first),
        cmocka_unit_test(the_nearest_may_have_been_meant),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
