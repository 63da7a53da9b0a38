// Properties of the rules over many readings: they grow and fall where they must, they do not care
// in which units a reading is given, and equality passes while a hair beyond fails. The readings
// come from a fixed generator, so that a failure comes again.
#include "given.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#define ROUNDS 500

static uint64_t seed = 0x9e3779b97f4a7c15u;

// A figure between two, by xorshift.
static double between(double low, double high) {
    seed ^= seed << 13;
    seed ^= seed >> 7;
    seed ^= seed << 17;
    return low + (high - low) * ((double)(seed >> 11) / 9007199254740992.0);
}

static struct model_result result_of(const char *rule, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
static struct model_result result_of(const char *rule, const char *format, ...) {
    char line[256];
    va_list list;
    va_start(list, format);
    vsnprintf(line, sizeof line, format, list);
    va_end(list);
    return given_result(rule, line);
}

static double least_pressure(const char *system, int nozzles, double ullage) {
    struct model_result result = result_of(
        "pressure-decay", "system=%s nozzles=%d ullage_gal=%.17g initial_inwc=2 final_inwc=0",
        system, nozzles, ullage);
    assert_true(result.limits.has_min);
    return result.limits.min;
}

static void more_ullage_asks_for_more_pressure(void **state) {
    (void)state;
    for (int i = 0; i < ROUNDS; i++) {
        const char *system = i % 2 ? "assist" : "balance";
        int nozzles = (int)between(1, 30);
        double ullage = between(100, 30000), more = ullage * between(1.001, 3);
        assert_true(least_pressure(system, nozzles, ullage) <
                    least_pressure(system, nozzles, more));
        assert_true(least_pressure(system, nozzles, more) < 2);
        // More nozzles leak more, and balance systems more than assist.
        assert_true(least_pressure(system, nozzles + 6, ullage) <=
                    least_pressure(system, nozzles, ullage));
        assert_true(least_pressure("balance", nozzles, ullage) <
                    least_pressure("assist", nozzles, ullage));
    }
}

static void less_pressure_never_passes_where_more_fails(void **state) {
    (void)state;
    for (int i = 0; i < ROUNDS; i++) {
        double ullage = between(400, 20000), high = between(0, 2), low = high * between(0, 1);
        static const char line[] =
            "system=assist nozzles=4 ullage_gal=%.17g initial_inwc=2 final_inwc=%.17g";
        bool less = result_of("pressure-decay", line, ullage, low).pass;
        bool more = result_of("pressure-decay", line, ullage, high).pass;
        assert_true(more || !less);
    }
}

static void the_ratio_is_linear(void **state) {
    (void)state;
    for (int i = 0; i < ROUNDS; i++) {
        double factor = between(0.9, 1.1), vapor = between(0.3, 1), liquid = between(4, 6);
        static const char line[] =
            "meter_factor=%.17g vapor_initial_ft3=0 vapor_final_ft3=%.17g liquid_gal=%.17g";
        double once = result_of("vapor-liquid-ratio", line, factor, vapor, liquid).value;
        double twice = result_of("vapor-liquid-ratio", line, factor, vapor * 2, liquid).value;
        double half = result_of("vapor-liquid-ratio", line, factor, vapor, liquid * 2).value;
        assert_true(fabs(twice - 2 * once) <= 1e-14);
        assert_true(fabs(half - once / 2) <= 1e-14);
    }
}

static void units_do_not_matter(void **state) {
    (void)state;
    for (int i = 0; i < ROUNDS; i++) {
        double gallons = between(1, 20), seconds = between(10, 200);
        double inches = between(8, 30), adapter = between(-3, 6), target = between(5, 150);
        double us =
            result_of("flow-rate", "volume_gal=%.17g seconds=%.17g", gallons, seconds).value;
        double si = result_of("flow-rate", "volume_l=%.17g seconds=%.17g",
                              gallons * trade_unit_factor(TRADE_GALLON), seconds)
                        .value;
        assert_true(fabs(us - si) <= 1e-14 * us);
        us = result_of("torque", "target_ftlb=%.17g wrench_in=%.17g adapter_in=%.17g", target,
                       inches, adapter)
                 .value;
        si = result_of("torque", "target_nm=%.17g wrench_mm=%.17g adapter_mm=%.17g",
                       target * trade_unit_factor(TRADE_FOOT_POUND),
                       inches * trade_unit_factor(TRADE_INCH),
                       adapter * trade_unit_factor(TRADE_INCH))
                 .value;
        assert_true(fabs(us * trade_unit_factor(TRADE_FOOT_POUND) - si) <= 1e-14 * si);
    }
}

static void a_longer_wrench_is_set_lower(void **state) {
    (void)state;
    for (int i = 0; i < ROUNDS; i++) {
        double target = between(5, 150), wrench = between(8, 30), adapter = between(0.1, 8);
        static const char line[] = "target_ftlb=%.17g wrench_in=%.17g adapter_in=%.17g";
        double set = result_of("torque", line, target, wrench, adapter).value;
        assert_true(set < target);
        assert_true(set > result_of("torque", line, target, wrench, adapter * 1.5).value);
        assert_true(result_of("torque", line, target, wrench, -adapter / 8).value > target);
        assert_true(fabs(result_of("torque", line, target, wrench, 0.0).value - target) <=
                    1e-15 * target);
    }
}

// Each with a place for the one reading that meets its limit there.
static void equality_passes_and_a_hair_beyond_fails(void **state) {
    static const struct {
        const char *rule, *line;
        double limit;
        bool least; // the limit is a least one
    } rows[] = {
        {"range", "value=%.17g max=7", 7, false},
        {"range", "value=%.17g min=7", 7, true},
        {"back-pressure", "flow_cfh=60 pressure_inwc=%.17g", 0.35, false},
        {"back-pressure", "flow_cfh=80 pressure_inwc=%.17g", 0.62, false},
        {"back-pressure", "flow_cfh=40 pressure_inwc=%.17g", 0.16, false},
        {"vacuum-decay", "start_inwc=8 final_inwc=%.17g", 5.5, true},
        {"vacuum-decay", "start_inwc=2 final_inwc=%.17g", 0.8, true},
        {"flow-rate", "seconds=60 volume_gal=%.17g", 10, false},
        {"flow-rate", "seconds=60 volume_gal=%.17g", 5, true},
        {"liquid-removal", "initial_ml=%.17g final_ml=0 dispensed_gal=1", 5, true},
        {"continuity", "criterion=chain ohms=%.17g", 1000000, false},
        {"continuity", "criterion=parts pieces=3 hose_ft=13 ohms=%.17g", 2410000, false},
        {"vapor-liquid-ratio",
         "meter_factor=1 vapor_initial_ft3=0 liquid_gal=4.675625 vapor_final_ft3=%.17g", 0.71875,
         false}, // 1.15 and 0.95, of 7.481/1.6 gal
        {"vapor-liquid-ratio",
         "meter_factor=1 vapor_initial_ft3=0 liquid_gal=4.675625 vapor_final_ft3=%.17g", 0.59375,
         true},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char line[160];
        double beyond = rows[i].limit * (rows[i].least ? 1 - 1e-12 : 1 + 1e-12);
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wformat-nonliteral"
        snprintf(line, sizeof line, rows[i].line, rows[i].limit);
        struct model_result at = given_result(rows[i].rule, line);
        snprintf(line, sizeof line, rows[i].line, beyond);
#pragma GCC diagnostic pop
        struct model_result past = given_result(rows[i].rule, line);
        if (!at.pass || at.margin != 0 || past.pass || !(past.margin < 0)) {
            fail_msg("%s %s: %d %g, %d %g", rows[i].rule, line, at.pass, at.margin, past.pass,
                     past.margin);
        }
    }
}

static void every_verdict_names_its_source(void **state) {
    (void)state;
    assert_non_null(
        strstr(result_of("liquid-removal", "initial_ml=9 final_ml=0 dispensed_gal=1").source,
               "from memory, unverified"));
    assert_non_null(strstr(result_of("range", "value=1 max=2").source, "configuration"));
    assert_non_null(
        strstr(result_of("pressure-decay",
                         "system=balance nozzles=3 ullage_gal=900 initial_inwc=2 final_inwc=1")
                   .source,
               "from memory, unverified"));
    assert_null(strstr(result_of("flow-rate", "volume_gal=5 seconds=40").source, "memory"));
}

// Readings of one rule that tightens, drawn anew each time.
static void line_draw(const char *rule, char *line, size_t size) {
    static const double starts[] = {8, 7, 6, 5, 4, 3, 2}, flows[] = {40, 60, 80};
    if (strcmp(rule, "pressure-decay") == 0) {
        snprintf(line, size,
                 "system=%s nozzles=%d ullage_gal=%.17g initial_inwc=2 final_inwc=%.17g",
                 between(0, 2) < 1 ? "assist" : "balance", (int)between(1, 30), between(100, 30000),
                 between(0, 2));
    } else if (strcmp(rule, "vacuum-decay") == 0) {
        double start = starts[(int)between(0, 7)];
        snprintf(line, size, "start_inwc=%g final_inwc=%.17g", start, between(0, start));
    } else if (strcmp(rule, "back-pressure") == 0) {
        snprintf(line, size, "flow_cfh=%g pressure_inwc=%.17g", flows[(int)between(0, 3)],
                 between(0, 1));
    } else if (strcmp(rule, "flow-rate") == 0) {
        snprintf(line, size, "volume_gal=%.17g seconds=60", between(1, 12));
    } else if (strcmp(rule, "vessel-decay") == 0) {
        snprintf(line, size, "initial_inwc=2 final_inwc=%.17g", between(0, 2));
    } else if (strcmp(rule, "hose-length") == 0) {
        snprintf(line, size, "length_ft=%.17g", between(1, 30));
    } else if (strcmp(rule, "meter-draft") == 0) {
        snprintf(line, size, "tolerance=%s draft_gal=%.17g error1_in3=%.17g",
                 between(0, 2) < 1 ? "maintenance" : "acceptance", between(1, 100),
                 between(-10, 10));
    } else if (strcmp(rule, "leak-detector") == 0) {
        snprintf(line, size, "ml=%.17g seconds=60 psi=%.17g tripped=true", between(1, 500),
                 between(5, 50));
    } else if (strcmp(rule, "spill") == 0) {
        snprintf(line, size, "quantity_gal=%.17g sheen=false hours=1", between(1, 50));
    } else if (between(0, 2) < 1) {
        snprintf(line, size, "criterion=chain ohms=%.17g", between(0, 2e6));
    } else {
        snprintf(line, size, "criterion=parts ohms=%.17g pieces=%d hose_ft=%.17g", between(0, 4e6),
                 (int)between(1, 9), between(0, 18));
    }
}

// Whether one end lets through nothing that the other keeps out.
static bool no_looser(const struct model_limits *limits, const struct model_limits *than) {
    return (!than->has_min || (limits->has_min && limits->min >= than->min)) &&
           (!than->has_max || (limits->has_max && limits->max <= than->max));
}

// A limit that a procedure may have makes a test no easier, whatever is read; the rule's row tells
// the loosest of its own limits truly; and what the row refuses would never have held.
static void a_procedure_never_makes_a_test_easier(void **state) {
    char line[160], limited[240];
    (void)state;
    for (size_t r = 0; trade_rule_at(r) != NULL; r++) {
        const struct trade_rule *rule = trade_rule_at(r);
        for (int i = 0; i < ROUNDS && rule->limits == TRADE_LIMITS_TIGHTEN; i++) {
            struct trade_error error;
            line_draw(rule->rule, line, sizeof line);
            struct model_result own = given_result(rule->rule, line);
            bool least = own.limits.has_min, other = between(0, 4) < 1;
            double end = (least ? own.limits.min : own.limits.max) * between(0.2, 1.8);
            struct model_limits given = {least != other, least == other, end, end};
            snprintf(limited, sizeof limited, "%s %s=%.17g", line, given.has_min ? "min" : "max",
                     end);
            struct model_result result = given_result(rule->rule, limited);
            assert_true(no_looser(&own.limits, &rule->own));
            assert_true(no_looser(&result.limits, &own.limits));
            assert_true(own.pass || !result.pass);
            assert_true(no_looser(&result.limits, &given));
            if (!trade_limits_allowed(rule, &given, &error) &&
                strstr(error.what, "loosens") != NULL) {
                assert_true(no_looser(&own.limits, &result.limits)); // the rule's own alone held
                assert_null(strstr(result.source, "configuration"));
            }
            assert_int_equal(strstr(result.source, "limit from configuration") != NULL,
                             !no_looser(&own.limits, &result.limits));
        }
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(more_ullage_asks_for_more_pressure),
        cmocka_unit_test(less_pressure_never_passes_where_more_fails),
        cmocka_unit_test(the_ratio_is_linear),
        cmocka_unit_test(units_do_not_matter),
        cmocka_unit_test(a_longer_wrench_is_set_lower),
        cmocka_unit_test(equality_passes_and_a_hair_beyond_fails),
        cmocka_unit_test(every_verdict_names_its_source),
        cmocka_unit_test(a_procedure_never_makes_a_test_easier),
    };
    return cmocka_run_group_tests_name("properties of the rules", tests, NULL, NULL);
}
