// A test for each product, and what copies and the stricter of two make of the fields of tests and
// checks that averaging, hardware and districts brought.
#include "model/model.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static const char *grades[] = {"regular", "premium"}, *other[] = {"premium", "diesel"};
static struct model_position positions[] = {
    {.position = "3A", .dispenser = "3", .products = grades, .product_count = 2},
    {.position = "3B", .dispenser = "3", .products = other, .product_count = 2},
    {.position = "4A", .dispenser = "4"},
};
static const struct model_site site = {
    .site = "juniper", .positions = positions, .position_count = COUNT(positions)};

static struct model_test tests[] = {
    {.test = "leak", .rule = "pass-fail", .each_product = true},
    {.test = "shutoff", .rule = "pass-fail"},
};
static const struct model_requirements needs = {
    .procedure = "spout", .title = "Spout", .tests = tests, .test_count = COUNT(tests)};

static void expect(const struct model_requirements *from, uint32_t position, const char *const *ids,
                   size_t count) {
    struct model_requirements *all = model_requirements_at(from, &site, position);
    assert_non_null(all);
    assert_int_equal(all->test_count, count);
    for (size_t i = 0; i < count; i++) {
        assert_string_equal(all->tests[i].test, ids[i]);
        assert_false(all->tests[i].each_product);
    }
    free(all);
}

static void test_each_product(void **state) {
    (void)state;
    static const char *const ids[] = {"leak.regular", "leak.premium", "shutoff"};
    expect(&needs, 0, ids, COUNT(ids));
}

static void test_no_products(void **state) {
    (void)state;
    static const char *const ids[] = {"leak", "shutoff"};
    expect(&needs, 2, ids, COUNT(ids));
}

static void test_whole_cabinet(void **state) {
    (void)state;
    static const char *const ids[] = {"leak.regular", "leak.premium", "leak.diesel", "shutoff"};
    struct model_requirements whole = needs;
    whole.takes_dispenser = true;
    expect(&whole, 0, ids, COUNT(ids));
    expect(&needs, 0, (const char *const[]){"leak.regular", "leak.premium", "shutoff"}, 3);
}

// A test that happens to be named as one for a product is not lost.
static void test_same_name(void **state) {
    (void)state;
    struct model_test named[] = {{.test = "leak.regular", .rule = "range"},
                                 tests[0],
                                 {.test = "leak.premium", .rule = "range"}};
    struct model_requirements all = needs;
    all.tests = named;
    all.test_count = COUNT(named);
    static const char *const ids[] = {"leak.regular", "spout.leak.regular", "leak.premium",
                                      "spout.leak.premium"};
    expect(&all, 0, ids, COUNT(ids));
}

static void test_long_names(void **state) {
    (void)state;
    char id[MODEL_ID_SIZE], product[MODEL_ID_SIZE];
    memset(id, 'i', sizeof(id) - 1);
    memset(product, 'p', sizeof(product) - 1);
    id[sizeof(id) - 1] = product[sizeof(product) - 1] = '\0';
    const char *one[] = {product};
    struct model_position where = {
        .position = "5A", .dispenser = "5", .products = one, .product_count = 1};
    struct model_site there = {.site = "juniper", .positions = &where, .position_count = 1};
    struct model_test test = {.rule = "range", .each_product = true};
    memcpy(test.test, id, sizeof(id));
    struct model_requirements from = {.procedure = "p", .tests = &test, .test_count = 1};
    struct model_requirements *all = model_requirements_at(&from, &there, 0);
    assert_non_null(all);
    assert_int_equal(strlen(all->tests[0].test), 129);
    struct model_requirements other_rule = *all;
    struct model_test same = all->tests[0];
    same.rule = "pass-fail";
    other_rule.tests = &same;
    other_rule.procedure = id;
    struct model_requirements *both = model_requirements_stricter(all, &other_rule);
    assert_non_null(both);
    assert_int_equal(both->test_count, 2);
    assert_int_equal(strlen(both->tests[1].test), 194); // nothing of it is cut off
    assert_string_equal(both->tests[1].test + 65, all->tests[0].test);
    free(both);
    free(all);
}

static void test_copy_of_new_fields(void **state) {
    (void)state;
    char district[] = "north-basin", effective[] = "2026-07-01", measure[] = "voltage";
    struct model_check check = {.check = "c", .ask = "?", .measure = measure, .note = true};
    struct model_test test = {.test = "t", .rule = "range", .runs = 3, .borderline = 0.02};
    struct model_requirements from = {.procedure = "p",
                                      .title = "P",
                                      .checks = &check,
                                      .check_count = 1,
                                      .tests = &test,
                                      .test_count = 1,
                                      .district = district,
                                      .effective = effective};
    struct model_requirements *copy = model_requirements_copy(&from);
    assert_non_null(copy);
    district[0] = effective[0] = measure[0] = '?';
    assert_string_equal(copy->district, "north-basin");
    assert_string_equal(copy->effective, "2026-07-01");
    assert_string_equal(copy->checks[0].measure, "voltage");
    assert_true(copy->checks[0].note);
    assert_int_equal(copy->tests[0].runs, 3);
    assert_true(copy->tests[0].borderline == 0.02);
    free(copy);
}

static void test_stricter_of_new_fields(void **state) {
    (void)state;
    struct model_check check_a = {.check = "c", .ask = "?", .measure = "voltage"},
                       check_b = check_a;
    struct model_test test_a = {.test = "t", .rule = "range", .runs = 3, .borderline = 0.01},
                      test_b = {.test = "t",
                                .rule = "range",
                                .borderline = 0.02,
                                .fails_dispenser = true,
                                .each_product = true};
    struct model_requirements a = {.procedure = "p",
                                   .checks = &check_a,
                                   .check_count = 1,
                                   .tests = &test_a,
                                   .test_count = 1,
                                   .district = "here"};
    struct model_requirements b = a;
    b.checks = &check_b;
    b.tests = &test_b;
    b.district = "there";
    struct model_requirements *all = model_requirements_stricter(&a, &b);
    assert_non_null(all);
    assert_string_equal(all->checks[0].measure, "voltage");
    assert_string_equal(all->district, "here"); // the rules are those of the opening
    assert_int_equal(all->tests[0].runs, 3);
    assert_true(all->tests[0].borderline == 0.02);
    assert_true(all->tests[0].fails_dispenser && all->tests[0].each_product);
    free(all);
    check_b.measure = "pressure"; // not the same: people answer it
    check_b.note = true;
    all = model_requirements_stricter(&a, &b);
    assert_non_null(all);
    assert_null(all->checks[0].measure);
    assert_true(all->checks[0].note);
    free(all);
    check_b.measure = NULL;
    all = model_requirements_stricter(&b, &a);
    assert_non_null(all);
    assert_null(all->checks[0].measure);
    free(all);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(test_each_product),
        cmocka_unit_test(test_no_products),
        cmocka_unit_test(test_whole_cabinet),
        cmocka_unit_test(test_same_name),
        cmocka_unit_test(test_long_names),
        cmocka_unit_test(test_copy_of_new_fields),
        cmocka_unit_test(test_stricter_of_new_fields),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
