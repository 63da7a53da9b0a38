// Whose limits hold, and what happens exactly on them and one step off.
#include "given.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#define COUNT_OF(array) (sizeof(array) / sizeof((array)[0]))
#define DECAY "system=assist nozzles=6 ullage_gal=1000 initial_inwc=2 "
#define DECAY_SI "system=assist nozzles=6 ullage_l=3785.411784 initial_pa=498.17782 "

static bool passes(const char *rule, const char *line) {
    struct model_result result = given_result(rule, line);

    assert_true(result.has_pass && result.has_margin);
    assert_int_equal(result.pass, result.equality_fails ? result.margin > 0 : result.margin >= 0);
    return result.pass;
}

// Readings that sit on the limit, in decimals that binary cannot hold, pass with no margin.
static void equality_passes(void **state) {
    static const struct {
        const char *rule, *line;
    } rows[] = {
        {"range", "value=0.1 max=0.1"},
        {"range", "value=0.1 min=0.1"},
        {"range", "value=0.1 min=0.1 max=0.1"},
        {"vacuum-decay", "start_inwc=8 final_inwc=5.5"},
        {"vacuum-decay", "start_inwc=7 final_inwc=4.7"},
        {"vacuum-decay", "start_pa=1743.62237 final_pa=1170.717877"},
        {"back-pressure", "flow_cfh=40 pressure_inwc=0.16"},
        {"back-pressure", "flow_cfh=60 pressure_inwc=0.35"},
        {"back-pressure", "flow_cfh=80 pressure_inwc=0.62"},
        {"back-pressure", "flow_cfh=60 pressure_pa=87.1811185"},
        {"vapor-liquid-ratio",
         "meter_factor=1 vapor_initial_ft3=100 vapor_final_ft3=100.59375 liquid_gal=4.675625"},
        {"vapor-liquid-ratio",
         "meter_factor=1 vapor_initial_ft3=4711.1 vapor_final_ft3=4711.81875 liquid_gal=4.675625"},
        {"liquid-removal", "initial_ml=0.3 final_ml=0.1 dispensed_gal=0.04"},
        {"liquid-removal", "initial_ml=150 final_ml=100 dispensed_gal=10"},
        {"liquid-removal", "initial_ml=20000.6 final_ml=19999.9 dispensed_gal=0.14"},
        {"liquid-removal", "initial_ml=150 final_ml=100 dispensed_l=37.85411784"},
        {"flow-rate", "volume_gal=5.5 seconds=33"},
        {"flow-rate", "volume_l=37.85411784 seconds=60"},
        {"flow-rate", "volume_gal=5 seconds=60"},
        {"flow-rate", "volume_l=18.92705892 seconds=60"},
        {"continuity", "criterion=chain ohms=1000000"},
        {"continuity", "criterion=parts ohms=2410000 pieces=3 hose_ft=13"},
        {"continuity", "criterion=parts ohms=521000 pieces=1 hose_ft=0.3"},
        {"continuity", "criterion=parts ohms=2410000 pieces=3 hose_m=3.9624"},
        {"hose-length", "length_ft=18"},
        {"hose-length", "length_m=5.4864"},
        {"meter-draft", "tolerance=maintenance draft_gal=5 error1_in3=-6"},
        {"meter-draft", "tolerance=maintenance draft_l=18.92705892 error1_ml=98.322384"},
        {"leak-detector", "ml=189.2705892 seconds=60 psi=10 tripped=true"},
        {"leak-detector", "ml=378.5411784 seconds=60 kpa=275.79029172673444 tripped=true"},
        {"spill", "quantity_gal=25 sheen=false hours=24"},
        {"spill", "quantity_l=94.6352946 sheen=false hours=24"},
        {"torque-applied", "reading_ftlb=27.2 wrench_in=12 adapter_in=3 max=34"},
        {"torque-applied", "reading_nm=27.2 wrench_in=12 adapter_in=3 max=34 unit=N.m"},
    };

    (void)state;
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct model_result result = given_result(rows[i].rule, rows[i].line);
        if (!result.pass || result.margin != 0.0) {
            fail_msg("%s %s: margin %.17g", rows[i].rule, rows[i].line, result.margin);
        }
    }
}

// Nothing is rounded first: the smallest step past the limit that a decimal can tell fails.
static void just_past_fails(void **state) {
    static const struct {
        const char *rule, *line;
    } rows[] = {
        {"range", "value=0.10000000000000002 max=0.1"},
        {"range", "value=0.09999999999999999 min=0.1"},
        {"vacuum-decay", "start_inwc=8 final_inwc=5.499999999999999"},
        {"back-pressure", "flow_cfh=60 pressure_inwc=0.35000000000000003"},
        {"back-pressure", "flow_cfh=60 pressure_pa=87.18111851"},
        {"vapor-liquid-ratio",
         "meter_factor=1 vapor_initial_ft3=100 vapor_final_ft3=100.5937499999 liquid_gal=4.675625"},
        {"vapor-liquid-ratio",
         "meter_factor=1 vapor_initial_ft3=0 vapor_final_ft3=0.7187500000001 liquid_gal=4.675625"},
        {"liquid-removal", "initial_ml=150 final_ml=100.0000000001 dispensed_gal=10"},
        {"flow-rate", "volume_gal=10.0000000001 seconds=60"},
        {"flow-rate", "volume_gal=4.9999999999 seconds=60"},
        {"continuity", "criterion=chain ohms=1000000.0000000001164"},
        {"continuity", "criterion=parts ohms=2410000.000001 pieces=3 hose_ft=13"},
        {"vessel-decay", "initial_inwc=2 final_inwc=1.77"}, // more than it is asked for
        {"vessel-decay", "initial_pa=498 final_pa=440.8873707"},
        {"hose-length", "length_ft=18.000000000000004"},
        {"meter-draft", "tolerance=maintenance draft_gal=5 error1_in3=-6.0000000000001"},
        {"leak-detector", "ml=189.27058920001 seconds=60 psi=10 tripped=true"},
        {"spill", "quantity_gal=25.000000000000004 sheen=false hours=24"},
        {"torque-applied", "reading_ftlb=27.2000000000001 wrench_in=12 adapter_in=3 max=34"},
    };

    (void)state;
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        if (passes(rows[i].rule, rows[i].line)) {
            fail_msg("%s %s: passed", rows[i].rule, rows[i].line);
        }
    }
}

// The limit of a decay is no decimal: it is met by itself, and not by the next double below.
static void decay_turns_at_its_own_limit(void **state) {
    double least = given_result("pressure-decay", DECAY "final_inwc=1").limits.min;
    char line[160];

    (void)state;
    snprintf(line, sizeof line, DECAY "final_inwc=%.17g", least);
    assert_true(passes("pressure-decay", line));
    snprintf(line, sizeof line, DECAY "final_inwc=%.17g", nextafter(least, 0));
    assert_false(passes("pressure-decay", line));
    snprintf(line, sizeof line, DECAY_SI "final_pa=%.17g", least * 249.08891);
    assert_true(passes("pressure-decay", line));
    snprintf(line, sizeof line, DECAY_SI "final_pa=%.17g", least * 249.08891 * (1 - 1e-13));
    assert_false(passes("pressure-decay", line));
}

static void limits_print_as_the_contract_has_them(void **state) {
    struct model_result both = given_result("range", "value=5 min=1 max=8");
    struct model_result least = given_result("range", "value=5 min=1");
    struct model_result most = given_result("range", "value=5 max=8");
    struct model_result none = given_result("pass-fail", "pass=false");

    (void)state;
    assert_true(both.limit_is_interval);
    assert_float_equal(both.margin, 3.0, 0.0);
    assert_false(least.limit_is_interval || least.limits.has_max);
    assert_float_equal(least.margin, 4.0, 0.0);
    assert_false(most.limit_is_interval || most.limits.has_min);
    assert_float_equal(most.margin, 3.0, 0.0);
    assert_false(none.has_value || none.has_margin || none.limit_is_interval || none.pass);
    assert_false(none.limits.has_min || none.limits.has_max);
    assert_true(none.has_pass);
    assert_true(given_result("pass-fail", "pass=true").pass);
}

// A procedure replaces a window that the contract leaves to it, and the one limit that is a figure
// from memory; any other it can only tighten.
static void procedure_limits(void **state) {
    static const struct {
        const char *rule, *line;
        double min, max; // NAN: none
    } rows[] = {
        {"vapor-liquid-ratio", "min=0.9 max=1.2", 0.9, 1.2},
        {"vapor-liquid-ratio", "max=1.05", 0.95, 1.05},
        {"vapor-liquid-ratio", "min=1", 1.0, 1.15},
        {"liquid-removal", "min=4", 4.0, NAN},
        {"liquid-removal", "min=6", 6.0, NAN},
        {"flow-rate", "max=8", 5.0, 8.0},
        {"flow-rate", "max=12", 5.0, 10.0},
        {"flow-rate", "min=4", 5.0, 10.0},
        {"flow-rate", "min=6", 6.0, 10.0}, // what the order asks for, the greater
        {"back-pressure", "max=0.3", NAN, 0.3},
        {"back-pressure", "max=0.4", NAN, 0.35},
        {"continuity", "max=1000", NAN, 1000.0},
        {"continuity", "max=2000000", NAN, 1000000.0},
        {"vacuum-decay", "min=2.5", 2.5, NAN},
        {"vacuum-decay", "min=2", 2.2, NAN},
    };
    static const struct {
        const char *rule, *readings;
    } givens[] = {
        {"vapor-liquid-ratio", "meter_factor=1 vapor_initial_ft3=0 vapor_final_ft3=1 liquid_gal=5"},
        {"liquid-removal", "initial_ml=50 final_ml=1 dispensed_gal=9"},
        {"flow-rate", "volume_gal=5 seconds=40"},
        {"back-pressure", "flow_cfh=60 pressure_inwc=0.1"},
        {"continuity", "criterion=chain ohms=7"},
        {"vacuum-decay", "start_inwc=4 final_inwc=3"},
    };
    char line[200];

    (void)state;
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        size_t at = 0;
        while (strcmp(givens[at].rule, rows[i].rule) != 0) {
            at++;
        }
        snprintf(line, sizeof line, "%s %s", givens[at].readings, rows[i].line);
        struct model_limits held = given_result(rows[i].rule, line).limits;
        assert_int_equal(held.has_min, !isnan(rows[i].min));
        assert_int_equal(held.has_max, !isnan(rows[i].max));
        if ((held.has_min && held.min != rows[i].min) ||
            (held.has_max && held.max != rows[i].max)) {
            fail_msg("%s %s: %g to %g", rows[i].rule, line, held.min, held.max);
        }
    }
}

// A limit that follows from the readings is not replaced by one figure, also where its K is from
// memory: what tightens at one tank would loosen at another.
static void procedure_never_loosens_a_decay(void **state) {
    static const struct {
        const char *system;
        unsigned nozzles;
    } rows[] = {
        {"assist", 6},   {"assist", 7},   {"assist", 12},  {"assist", 13},
        {"assist", 19},  {"assist", 25},  {"balance", 1},  {"balance", 7},
        {"balance", 13}, {"balance", 19}, {"balance", 25},
    };
    char line[160];

    (void)state;
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        snprintf(line, sizeof line,
                 "system=%s nozzles=%u ullage_gal=1000 initial_inwc=2 final_inwc=0.5 min=0.5",
                 rows[i].system, rows[i].nozzles);
        assert_false(passes("pressure-decay", line));
        snprintf(line, sizeof line,
                 "system=%s nozzles=%u ullage_gal=1000 initial_inwc=2 final_inwc=1.4 min=1.5",
                 rows[i].system, rows[i].nozzles);
        assert_float_equal(given_result("pressure-decay", line).limits.min, 1.5, 0.0);
        assert_false(passes("pressure-decay", line));
    }
}

// What trade_limits_allowed says of one end: NULL where it is allowed, else the words of refusal.
static const char *refused(const char *rule, bool is_min, double end) {
    static struct trade_error error;
    struct model_limits given = {is_min, !is_min, end, end};

    if (trade_limits_allowed(trade_rule_find(rule), &given, &error)) {
        return NULL;
    }
    assert_string_equal(error.reading, is_min ? "min" : "max");
    return error.what;
}

// Every rule: what tightens its limit and what equals it is allowed, what loosens it is not.
static void a_procedure_may_tighten_and_never_loosen(void **state) {
    static const struct {
        const char *rule;
        bool is_min;
        double tighter, equal, looser; // NAN: there is none
    } rows[] = {
        {"range", false, 1, 1, NAN},
        {"pressure-decay", true, 1.5, 0, -0.01}, // of no ullage nothing need be left
        {"vacuum-decay", true, 2.5, 0.8, 0.79},  // what the lowest row of the table asks for
        {"back-pressure", false, 0.3, 0.62, 0.63},
        {"vapor-liquid-ratio", true, 1, 0.95, NAN}, // the window is the certification's
        {"vapor-liquid-ratio", false, 1.05, 1.15, NAN},
        {"liquid-removal", true, 6, 5, NAN}, // from memory
        {"flow-rate", false, 8, 10, 10.01},
        {"flow-rate", true, 6, 5, 4.9},
        {"vessel-decay", true, 1.8, 1.77, 1.76},
        {"hose-length", false, 12, 18, 18.1},
        {"meter-draft", false, 2, 6, NAN},   // grows with the draft without end
        {"leak-detector", false, 2, 3, NAN}, // and with the pressure
        {"spill", false, 10, 25, 25.1},
        {"torque-applied", false, 36, 36, NAN},
        {"torque-applied", true, 32, 32, NAN},
        {"continuity", false, 1000, 1e6, NAN}, // grows with the hardware without end
    };

    (void)state;
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        const char *what = refused(rows[i].rule, rows[i].is_min, rows[i].tighter);
        if (what != NULL) {
            fail_msg("%s %g: %s", rows[i].rule, rows[i].tighter, what);
        }
        assert_null(refused(rows[i].rule, rows[i].is_min, rows[i].equal));
        if (!isnan(rows[i].looser)) {
            what = refused(rows[i].rule, rows[i].is_min, rows[i].looser);
            assert_non_null(what);
            assert_non_null(strstr(what, "loosens the limit"));
        }
    }
    // No rule is left out: those without limits refuse them.
    for (size_t i = 0; trade_rule_at(i) != NULL; i++) {
        const struct trade_rule *rule = trade_rule_at(i);
        bool takes = false;
        for (size_t k = 0; k < COUNT_OF(rows) && !takes; k++) {
            takes = strcmp(rows[k].rule, rule->rule) == 0;
        }
        assert_int_equal(takes, rule->limits != TRADE_LIMITS_NONE);
        if (!takes) {
            assert_non_null(strstr(refused(rule->rule, true, 1), "takes no min"));
            assert_non_null(strstr(refused(rule->rule, false, 1), "takes no max"));
        }
    }
}

// A rule without limits of its own is no test until a procedure gives some.
static void a_procedure_gives_what_the_rule_has_not(void **state) {
    static const struct model_limits none = {0}, most = {.has_max = true, .max = 36},
                                     least = {.has_min = true, .min = 0.9},
                                     both = {true, true, 0.9, 1.1};
    struct trade_error error;

    (void)state;
    assert_false(trade_limits_complete(trade_rule_find("torque-applied"), &none, &error));
    assert_non_null(strstr(error.what, "needs \"min\", \"max\" or both"));
    assert_true(trade_limits_complete(trade_rule_find("torque-applied"), &most, &error));
    assert_false(trade_limits_complete(trade_rule_find("range"), &none, &error));
    assert_true(trade_limits_complete(trade_rule_find("flow-rate"), &none, &error));
    assert_true(trade_limits_complete(trade_rule_find("pass-fail"), &none, &error));
    // A window that is one certification's is given whole.
    assert_false(trade_limits_complete(trade_rule_find("vapor-liquid-ratio"), &most, &error));
    assert_string_equal(error.reading, "min");
    assert_false(trade_limits_complete(trade_rule_find("vapor-liquid-ratio"), &least, &error));
    assert_string_equal(error.reading, "max");
    assert_true(trade_limits_complete(trade_rule_find("vapor-liquid-ratio"), &both, &error));
    // The calculator tells the figure alone.
    struct model_result figure =
        given_result("torque-applied", "reading_ftlb=34 wrench_in=12 adapter_in=3");
    assert_false(figure.has_pass || figure.has_margin);
}

// A strict limit that a procedure has made stricter is an ordinary one.
static void a_stricter_limit_of_a_procedure_may_be_met(void **state) {
    (void)state;
    assert_true(passes("vessel-decay", "initial_inwc=2 final_inwc=1.8 min=1.8"));
    struct model_result own =
        given_result("vessel-decay", "initial_inwc=2 final_inwc=1.77 min=1.77");
    assert_false(own.pass);
    assert_float_equal(own.margin, 0.0, 0.0);
}

static void looser_replaced_limits_are_allowed(void **state) {
    (void)state;
    assert_null(refused("vapor-liquid-ratio", true, 0.9));
    assert_null(refused("vapor-liquid-ratio", false, 1.2));
    assert_null(refused("liquid-removal", true, 4));
}

// A test that nothing can pass keeps a position out of service for good, and is refused at once.
static void limits_that_nothing_can_meet(void **state) {
    static const struct {
        const char *rule;
        struct model_limits given;
        const char *end;
    } rows[] = {
        {"range", {true, true, 3, 2}, "min"},
        {"flow-rate", {true, false, 10.5, 0}, "min"}, // over the published 10
        {"flow-rate", {false, true, 0, -1}, "max"},
        {"vapor-liquid-ratio", {true, false, 1.2, 0}, "min"},
        {"vapor-liquid-ratio", {false, true, 0, 0.9}, "max"},
        {"vapor-liquid-ratio", {false, true, 0, -1}, "max"},
        {"liquid-removal", {false, true, 0, 4}, "max"},
        {"pressure-decay", {true, false, 2.03, 0}, "min"},
        {"vacuum-decay", {true, false, 8.01, 0}, "min"},
        {"continuity", {false, true, 0, -1}, "max"},
        {"hose-length", {true, false, 18.5, 0}, "min"},
        {"torque-applied", {false, true, 0, -1}, "max"},
        {"torque-applied", {true, true, 36, 32}, "min"},
    };
    struct trade_error error;

    (void)state;
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        const struct trade_rule *rule = trade_rule_find(rows[i].rule);
        if (trade_limits_allowed(rule, &rows[i].given, &error)) {
            fail_msg("row %zu: %s allowed", i, rows[i].rule);
        }
        assert_string_equal(error.reading, rows[i].end);
        assert_non_null(strstr(error.what, "nothing would pass"));
    }
}

// What stands in the place of a procedure's silence, for those that do not know the rules.
static void replaced_limits(void **state) {
    struct model_limits ratio = trade_limits_replaced("vapor-liquid-ratio");
    struct model_limits removal = trade_limits_replaced("liquid-removal");
    struct model_limits flow = trade_limits_replaced("flow-rate");
    struct model_limits none = trade_limits_replaced("no-such-rule");

    (void)state;
    assert_true(ratio.has_min && ratio.has_max && ratio.min == 0.95 && ratio.max == 1.15);
    assert_true(removal.has_min && !removal.has_max && removal.min == 5);
    assert_false(flow.has_min || flow.has_max || none.has_min || none.has_max);
}

static void looser_limits_are_said_not_to_hold(void **state) {
    struct model_result result;
    struct trade_working working;
    struct trade_error error;

    (void)state;
    assert_true(
        given_calculate("flow-rate", "volume_gal=11 seconds=60 max=12", &result, &working, &error));
    assert_false(result.pass);
    assert_non_null(strstr(given_cautions(&result), "max of 12"));
    assert_true(
        given_calculate("flow-rate", "volume_gal=11 seconds=60 max=8", &result, &working, &error));
    assert_string_equal(given_cautions(&result), "");
    assert_true(
        given_calculate("pressure-decay", DECAY "final_inwc=1.3 min=1", &result, &working, &error));
    assert_non_null(strstr(given_cautions(&result), "min of 1 "));
}

// An interval that nothing can be in fails everything; it never passes.
static void empty_interval_fails(void **state) {
    (void)state;
    assert_false(passes("range", "value=4 min=5 max=3"));
    assert_false(passes("range", "value=6 min=5 max=3"));
    assert_false(passes("range", "value=2 min=5 max=3"));
}

static void limits_refused(void **state) {
    (void)state;
    given_refused("range", "value=4", "min");
    given_refused("range", "value=4 max=nan", "max");
    given_refused("range", "value=4 min=-inf", "min");
    given_refused("flow-rate", "volume_gal=5 seconds=40 max=inf", "max");
    given_refused("pass-fail", "pass=true min=1", "min");
    given_refused("pass-fail", "pass=true max=1", "max");
    given_refused("torque", "target_ftlb=34 wrench_in=12 adapter_in=2 max=40", "max");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(equality_passes),
        cmocka_unit_test(just_past_fails),
        cmocka_unit_test(decay_turns_at_its_own_limit),
        cmocka_unit_test(limits_print_as_the_contract_has_them),
        cmocka_unit_test(procedure_limits),
        cmocka_unit_test(procedure_never_loosens_a_decay),
        cmocka_unit_test(a_procedure_may_tighten_and_never_loosen),
        cmocka_unit_test(a_procedure_gives_what_the_rule_has_not),
        cmocka_unit_test(a_stricter_limit_of_a_procedure_may_be_met),
        cmocka_unit_test(looser_replaced_limits_are_allowed),
        cmocka_unit_test(limits_that_nothing_can_meet),
        cmocka_unit_test(replaced_limits),
        cmocka_unit_test(looser_limits_are_said_not_to_hold),
        cmocka_unit_test(empty_interval_fails),
        cmocka_unit_test(limits_refused),
    };

    return cmocka_run_group_tests_name("trade limits", tests, NULL, NULL);
}
