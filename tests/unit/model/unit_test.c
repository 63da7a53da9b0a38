// A figure in one unit as a figure in another.
#include "model/unit.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static void is(double value, const char *from, const char *to, double expected) {
    double got = NAN;
    assert_true(model_unit_convert(value, from, to, &got));
    assert_true(fabs(got - expected) <= 1e-9 * fabs(expected));
}

static void cannot(const char *from, const char *to) {
    double got;
    assert_false(model_unit_convert(1, from, to, &got));
}

// NIST SP 811 (2008), appendix B.8, from memory: 1 psi = 6.894 757 kPa, 1 gal (US) = 3.785 412 L,
// 1 lbf.ft = 1.355 818 N.m, 1 inH2O (conventional) = 249.088 9 Pa.
static void the_published_factors(void **state) {
    (void)state;
    double got;
    assert_true(model_unit_convert(1, "psi", "kPa", &got) && fabs(got - 6.894757) < 5e-7);
    assert_true(model_unit_convert(1, "gal", "L", &got) && fabs(got - 3.785412) < 5e-7);
    assert_true(model_unit_convert(1, "ft.lbf", "N.m", &got) && fabs(got - 1.355818) < 5e-7);
    assert_true(model_unit_convert(1, "inH2O", "Pa", &got) && fabs(got - 249.0889) < 5e-5);
    is(2, "bar", "kPa", 200);
    is(5, "mbar", "hPa", 5);
    is(12, "in.lbf", "ft.lbf", 1);
    is(3, "ft", "m", 0.9144);
    is(7, "MPa", "kPa", 7000);
    is(1, "inWC", "inH2O", 1);
    is(4, "L", "mL", 4000);
    is(1, "kohm", "ohm", 1000);
    is(1, "Mohm", "kohm", 1000);
    is(20, "mA", "A", 0.02);
    is(1, "m3", "L", 1000);
    is(250, "cm", "mm", 2500);
    is(2, "in", "mm", 50.8);
}

static void blanks_and_case_do_not_matter(void **state) {
    (void)state;
    is(240, " v ", "V", 240);
    is(1, "KPA", "Pa", 1000);
    is(9, "%lel", " %LEL", 9);
    is(9, NULL, "", 9);
}

static void the_case_of_a_prefix_matters_where_it_is_written_right(void **state) {
    (void)state;
    is(240, "mV", "V", 0.24);
    is(240, "MV", "V", 240e6);
}

static void a_k_before_any_unit_is_a_thousand(void **state) {
    (void)state;
    is(3, "kppm", "ppm", 3000);
}

static void what_is_of_another_kind_cannot_be_told(void **state) {
    (void)state;
    cannot("V", "psi");
    cannot("furlong", "m");
    cannot("ppm", "%LEL");
    cannot(NULL, "V");
    cannot("V", NULL);
    cannot("k", NULL);
}

static void each_unit_has_one_twin(void **state) {
    (void)state;
    assert_string_equal(model_unit_twin("ft.lbf"), "N.m");
    assert_string_equal(model_unit_twin("N.m"), "ft.lbf");
    assert_string_equal(model_unit_twin("gal"), "L");
    assert_string_equal(model_unit_twin("kPa"), "psi");
    assert_null(model_unit_twin("in.lbf"));
    assert_null(model_unit_twin(NULL));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_published_factors),
        cmocka_unit_test(blanks_and_case_do_not_matter),
        cmocka_unit_test(the_case_of_a_prefix_matters_where_it_is_written_right),
        cmocka_unit_test(a_k_before_any_unit_is_a_thousand),
        cmocka_unit_test(what_is_of_another_kind_cannot_be_told),
        cmocka_unit_test(each_unit_has_one_twin),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
