// Readings: what is refused and by which name, and that both spellings mean the same.
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

// One line of readings for each rule that works out, and the same in SI where there are twins.
static const struct {
    const char *rule, *line, *si;
} good[] = {
    {"pass-fail", "pass=true", NULL},
    {"range", "value=3 max=5", NULL},
    {"pressure-decay", "system=assist nozzles=6 ullage_gal=1000 initial_inwc=2 final_inwc=1.22",
     "system=assist nozzles=6 ullage_l=3785.411784 initial_pa=498.17782 final_pa=303.8884702"},
    {"vacuum-decay", "start_inwc=8 final_inwc=5.6", "start_pa=1992.71128 final_pa=1394.897896"},
    {"vessel-decay", "initial_inwc=2 final_inwc=1.8", "initial_pa=498.17782 final_pa=448.360038"},
    {"back-pressure", "flow_cfh=60 pressure_inwc=0.3", "flow_cfh=60 pressure_pa=74.726673"},
    {"vapor-liquid-ratio",
     "meter_factor=1.02 vapor_initial_ft3=100 vapor_final_ft3=100.64 liquid_gal=4.75 flow_gpm=8",
     "meter_factor=1.02 vapor_initial_l=2831.6846592 vapor_final_l=2849.80744101888 "
     "liquid_l=17.980705974 flow_lpm=30.283294272"},
    {"liquid-removal", "initial_ml=150 final_ml=90 dispensed_gal=10",
     "initial_ml=150 final_ml=90 dispensed_l=37.85411784"},
    {"flow-rate", "volume_gal=5 seconds=32", "volume_l=18.92705892 seconds=32"},
    {"continuity", "criterion=parts ohms=5 pieces=3 hose_ft=13",
     "criterion=parts ohms=5 pieces=3 hose_m=3.9624"},
    {"hose-length", "length_ft=12", "length_m=3.6576"},
    {"meter-draft", "tolerance=maintenance draft_gal=5 error1_in3=-4 error2_in3=-3 error3_in3=-2",
     "tolerance=maintenance draft_l=18.92705892 error1_ml=-65.548256 error2_ml=-49.161192 "
     "error3_ml=-32.774128"},
    {"leak-detector", "ml=150 seconds=60 psi=30 tripped=true",
     "ml=150 seconds=60 kpa=206.84271879505083 tripped=true"},
    {"spill", "quantity_gal=20 sheen=false hours=3", "quantity_l=75.70823568 sheen=false hours=3"},
    {"torque-applied", "reading_ftlb=27.2 wrench_in=12 adapter_in=3 angle_deg=30 max=36",
     "reading_nm=36.87824819461408864 wrench_mm=304.8 adapter_mm=76.2 angle_deg=30 max=36"},
    {"torque", "target_ftlb=34 wrench_in=12 adapter_in=-2 angle_deg=30 wrench_max_ftlb=80",
     "target_ftlb=34 wrench_mm=304.8 adapter_mm=-50.8 angle_deg=30 wrench_max_nm=108.5"},
    {"inventory", "throughput_gal=10000", NULL},
    {"volume-at-15C", "density_kgm3=740 temperature_c=25 volume_gal=10", NULL},
};

static bool close_to(double a, double b) {
    return fabs(a - b) <= 1e-12 * fabs(b);
}

static void twins_mean_the_same(void **state) {
    (void)state;
    for (size_t i = 0; i < COUNT_OF(good); i++) {
        struct model_result us = given_result(good[i].rule, good[i].line);
        if (good[i].si == NULL) {
            continue;
        }
        struct model_result si = given_result(good[i].rule, good[i].si);
        if (!close_to(si.value, us.value) || us.pass != si.pass ||
            (us.limits.has_min && !close_to(si.limits.min, us.limits.min)) ||
            (us.limits.has_max && !close_to(si.limits.max, us.limits.max))) {
            fail_msg("%s: %.17g and %.17g differ", good[i].rule, us.value, si.value);
        }
        assert_int_equal(us.has_pass, si.has_pass);
        assert_string_equal(us.source, si.source);
    }
}

static void torque_answers_in_the_unit_asked(void **state) {
    struct model_result result;
    struct trade_working working;
    struct trade_error error;

    (void)state;
    assert_true(given_calculate("torque", "target_nm=30 wrench_mm=120 adapter_mm=60", &result,
                                &working, &error));
    assert_float_equal(result.value, 20.0, 1e-12);
    assert_int_equal(working.unit, TRADE_NEWTON_METER);
    assert_true(given_calculate("torque", "target_ftlb=30 wrench_mm=120 adapter_in=0", &result,
                                &working, &error));
    assert_float_equal(result.value, 30.0, 0.0);
    assert_int_equal(working.unit, TRADE_FOOT_POUND);
    assert_false(result.has_pass || result.has_margin);
    assert_float_equal(given_result("torque", "target_ftlb=30 wrench_in=12 adapter_mm=152.4").value,
                       20.0, 1e-12);
    // Shortened, the wrench must be set higher; turned back at 180 degrees it is the same.
    assert_float_equal(given_result("torque", "target_ftlb=30 wrench_in=12 adapter_in=-2").value,
                       36.0, 1e-12);
    assert_float_equal(
        given_result("torque", "target_ftlb=30 wrench_in=12 adapter_in=2 angle_deg=180").value,
        36.0, 1e-12);
    assert_float_equal(
        given_result("torque", "target_ftlb=30 wrench_in=12 adapter_in=6 angle_deg=60").value, 24.0,
        1e-12);
}

static void applied_torque_is_in_the_unit_of_its_limits(void **state) {
    static const struct {
        const char *line;
        enum trade_unit unit;
        double value;
    } rows[] = {
        {"reading_ftlb=20 wrench_in=12 adapter_in=6", TRADE_FOOT_POUND, 30},
        {"reading_nm=20 wrench_in=12 adapter_in=6", TRADE_NEWTON_METER, 30},
        {"reading_ftlb=20 wrench_in=12 adapter_in=6 max=31", TRADE_FOOT_POUND, 30},
        {"reading_nm=27.116358966628 wrench_in=12 adapter_in=6 max=31", TRADE_FOOT_POUND, 30},
        {"reading_nm=20 wrench_in=12 adapter_in=6 max=31 unit=N.m", TRADE_NEWTON_METER, 30},
        {"reading_ftlb=20 wrench_in=12 adapter_in=6 max=41 unit=N.m", TRADE_NEWTON_METER,
         40.67453844994},
        {"reading_ftlb=20 wrench_in=12 adapter_in=6 max=31 unit=ft.lbf", TRADE_FOOT_POUND, 30},
    };
    struct model_result result;
    struct trade_working working;
    struct trade_error error;

    (void)state;
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        assert_true(given_calculate("torque-applied", rows[i].line, &result, &working, &error));
        if (working.unit != rows[i].unit || fabs(result.value - rows[i].value) > 1e-9) {
            fail_msg("%s: %.17g %s", rows[i].line, result.value, trade_unit_symbol(working.unit));
        }
    }
    assert_float_equal(trade_torque_applied(34, 12, 3, 0), 42.5, 0);
    assert_float_equal(trade_torque_applied(34, 12, -12, 0), 0, 0);
}

// What is not said of a spill is no word that there was none.
static void a_silence_about_a_spill_is_told(void **state) {
    static const struct {
        const char *line, *said, *unsaid;
    } rows[] = {
        {"quantity_gal=2", "whatever was spilled. Not said: hours. 24 h", "must be reported"},
        {"quantity_gal=2 sheen=false", "Not said: hours.", "must be reported"},
        {"quantity_gal=2 hours=2", "Not said: sheen.", "must be reported"},
        {"quantity_gal=2 sheen=true hours=25", "Not cleaned up in 24 h: it must be", "Not said"},
        {"quantity_gal=2 sheen=true hours=2", "A sheen on water nearby: it must be", "24 h"},
    };
    struct model_result result;
    struct trade_working working;
    struct trade_error error;

    (void)state;
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        assert_true(given_calculate("spill", rows[i].line, &result, &working, &error));
        if (strstr(given_cautions(&result), rows[i].said) == NULL ||
            strstr(given_cautions(&result), rows[i].unsaid) != NULL) {
            fail_msg("%s: %s", rows[i].line, given_cautions(&result));
        }
    }
}

static void one_run_of_a_meter_is_told(void **state) {
    struct model_result result;
    struct trade_working working;
    struct trade_error error;

    (void)state;
    assert_true(given_calculate("meter-draft",
                                "tolerance=acceptance draft_gal=5 error1_in3=-1 error3_in3=1.5",
                                &result, &working, &error));
    assert_false(result.pass);
    assert_true(result.margin > 0 && result.failed_beside);
    assert_non_null(strstr(given_cautions(&result), "differ by 2.5 in3, more than 2.4 in3"));
    const struct model_caution *caution = &result.cautions[0];
    assert_string_equal(caution->say, "runs-differ");
    assert_true(caution->has_value && caution->has_max && !caution->has_min);
    assert_true(caution->value == 2.5 && fabs(caution->max - 2.4) < 1e-12);
    assert_true(given_calculate("meter-draft", "tolerance=acceptance draft_gal=5 error1_in3=-1",
                                &result, &working, &error));
    assert_true(result.pass);
    assert_non_null(strstr(given_cautions(&result), "One run"));
}

static void torque_warns_of_the_wrong_wrench(void **state) {
    static const struct {
        const char *range, *said; // said NULL: no warning
    } rows[] = {
        {"wrench_max_ftlb=100", NULL}, // exactly 20 %
        {"wrench_max_ftlb=20", NULL},  // exactly full scale
        {"wrench_max_ftlb=100.1", "below 20 % of"},
        {"wrench_max_ftlb=19.9", "beyond the wrench"},
        {"wrench_min_ftlb=20 wrench_max_ftlb=80", NULL},
        {"wrench_min_ftlb=20.1 wrench_max_ftlb=80", "least mark"},
        {"wrench_max_nm=27", "beyond the wrench"}, // 20 ft.lbf are 27.1 N.m
        {"wrench_max_nm=27.2", NULL},
    };
    struct model_result result;
    struct trade_working working;
    struct trade_error error;
    char line[160];

    (void)state;
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        snprintf(line, sizeof line, "target_ftlb=30 wrench_in=12 adapter_in=6 %s", rows[i].range);
        assert_true(given_calculate("torque", line, &result, &working, &error));
        if (rows[i].said == NULL) {
            assert_string_equal(given_cautions(&result), "");
        } else if (strstr(given_cautions(&result), rows[i].said) == NULL) {
            fail_msg("%s: \"%s\"", line, given_cautions(&result));
        }
    }
}

static void ratio_cautions(void **state) {
    static const struct {
        const char *line;
        bool out_of_service, flow_not_said;
    } rows[] = {
        {"vapor_final_ft3=0.5 liquid_gal=4.675625 flow_gpm=8", true, false}, // 0.80
        {"vapor_final_ft3=0.501 liquid_gal=4.675625 flow_gpm=8", false, false},
        {"vapor_final_ft3=0.6 liquid_gal=4.675625", false, true},
    };
    char line[160];

    (void)state;
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        snprintf(line, sizeof line, "meter_factor=1 vapor_initial_ft3=0 %s", rows[i].line);
        struct model_result result = given_result("vapor-liquid-ratio", line);
        const char *said = given_cautions(&result);
        assert_int_equal(strstr(said, "out of service") != NULL, rows[i].out_of_service);
        assert_int_equal(strstr(said, "The flow was not said") != NULL, rows[i].flow_not_said);
    }
}

static void whose_window_was_taken_is_said(void **state) {
    static const char line[] = "meter_factor=1 vapor_initial_ft3=0 vapor_final_ft3=0.6 "
                               "liquid_gal=4.7 flow_gpm=8%s";
    static const struct {
        const char *limits;
        bool said;
    } rows[] = {{"", true}, {" min=0.9", true}, {" max=1.2", true}, {" min=0.9 max=1.2", false}};
    char text[160];

    (void)state;
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        snprintf(text, sizeof text, line, rows[i].limits);
        struct model_result result = given_result("vapor-liquid-ratio", text);
        bool said = strstr(given_cautions(&result), "0.95 to 1.15 is the window of one") != NULL;
        assert_int_equal(said, rows[i].said);
    }
}

static void no_back_pressure_at_all_is_suspicious(void **state) {
    struct model_result none = given_result("back-pressure", "flow_cfh=60 pressure_inwc=0");
    struct model_result some = given_result("back-pressure", "flow_cfh=60 pressure_inwc=0.001");

    (void)state;
    assert_true(none.pass);
    assert_int_equal(none.caution_count, 1);
    assert_non_null(strstr(none.cautions[0].text, "exactly 0 is suspicious"));
    assert_int_equal(some.caution_count, 0);
}

#define VALID_RATIO "vapor_initial_ft3=0 vapor_final_ft3=0.65 "
#define VALID_DECAY "system=assist initial_inwc=2 final_inwc=1.9 "

// What the method holds for, on its bounds and a step past them.
static void readings_outside_the_method(void **state) {
    static const struct {
        const char *rule, *line, *reading, *need, *found; // reading NULL: valid
    } rows[] = {
        {"vapor-liquid-ratio", VALID_RATIO "meter_factor=0.9 liquid_gal=4.7", NULL, NULL, NULL},
        {"vapor-liquid-ratio", VALID_RATIO "meter_factor=1.1 liquid_gal=4.7", NULL, NULL, NULL},
        {"vapor-liquid-ratio", VALID_RATIO "meter_factor=0.89 liquid_gal=4.7", "meter_factor",
         "0.9 to 1.1", "0.89"},
        {"vapor-liquid-ratio", VALID_RATIO "meter_factor=1.11 liquid_gal=4.7", "meter_factor",
         "0.9 to 1.1", "1.11"},
        {"vapor-liquid-ratio", VALID_RATIO "meter_factor=1 liquid_gal=4.5", NULL, NULL, NULL},
        {"vapor-liquid-ratio", VALID_RATIO "meter_factor=1 liquid_gal=5", NULL, NULL, NULL},
        {"vapor-liquid-ratio", VALID_RATIO "meter_factor=1 liquid_l=17.034353028", NULL, NULL,
         NULL}, // 4.5 gal
        {"vapor-liquid-ratio", VALID_RATIO "meter_factor=1 liquid_l=18.92705892", NULL, NULL, NULL},
        {"vapor-liquid-ratio", VALID_RATIO "meter_factor=1 liquid_gal=4.499", "liquid_gal",
         "4.5 to 5 gal", "4.499 gal"},
        {"vapor-liquid-ratio", VALID_RATIO "meter_factor=1 liquid_gal=5.001", "liquid_gal",
         "4.5 to 5 gal", "5.001 gal"},
        {"vapor-liquid-ratio", VALID_RATIO "meter_factor=1 liquid_l=17", "liquid_l",
         "17.0344 to 18.9271 L", "17 L"},
        {"vapor-liquid-ratio", VALID_RATIO "meter_factor=1 liquid_gal=4.7 flow_gpm=6", NULL, NULL,
         NULL},
        {"vapor-liquid-ratio", VALID_RATIO "meter_factor=1 liquid_gal=4.7 flow_gpm=10", NULL, NULL,
         NULL},
        {"vapor-liquid-ratio", VALID_RATIO "meter_factor=1 liquid_gal=4.7 flow_gpm=5.9", "flow_gpm",
         "6 to 10 gpm", "5.9 gpm"},
        {"vapor-liquid-ratio", VALID_RATIO "meter_factor=1 liquid_gal=4.7 flow_lpm=38", "flow_lpm",
         "22.7125 to 37.8541 L/min", "38 L/min"},
        {"pressure-decay", VALID_DECAY "nozzles=60 ullage_gal=100", NULL, NULL, NULL},
        {"pressure-decay", VALID_DECAY "nozzles=61 ullage_gal=100", "nozzles", "1 to 60", "61"},
        {"pressure-decay", VALID_DECAY "nozzles=6 ullage_gal=99.9", "ullage_gal",
         "at least 100 gal", "99.9 gal"},
        {"pressure-decay", VALID_DECAY "nozzles=6 ullage_gal=8.5", "ullage_gal", "at least 100 gal",
         "8.5 gal"},
        {"pressure-decay", VALID_DECAY "nozzles=6 ullage_l=378.5411784", NULL, NULL, NULL},
        {"continuity", "criterion=parts ohms=5 pieces=10 hose_ft=18", NULL, NULL, NULL},
        {"continuity", "criterion=parts ohms=5 pieces=11 hose_ft=18", "pieces", "at most 10", "11"},
        {"continuity", "criterion=parts ohms=5 pieces=3 hose_ft=18.1", "hose_ft", "at most 18 ft",
         "18.1 ft"},
        {"continuity", "criterion=parts ohms=5 pieces=3 hose_m=5.4864", NULL, NULL, NULL},
        {"continuity", "criterion=parts ohms=5 pieces=3 hose_m=5.5", "hose_m", "at most 5.4864 m",
         "5.5 m"},
        {"volume-at-15C", "density_kgm3=0.74 temperature_c=25", "density_kgm3",
         "610.5 to 770 kg/m3", "0.74 kg/m3"},
        {"volume-at-15C", "density_kgm3=771 temperature_c=25", "density_kgm3", "610.5 to 770 kg/m3",
         "771 kg/m3"},
        {"flow-rate", "volume_gal=4 seconds=30", NULL, NULL, NULL},
        {"flow-rate", "volume_gal=4 seconds=29.9", "seconds", "at least 30 s", "29.9 s"},
    };

    (void)state;
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct model_result result = given_result(rows[i].rule, rows[i].line);
        const struct model_doubt *doubt = &result.doubts[0];
        assert_int_equal(result.doubt_count, rows[i].reading != NULL);
        assert_int_equal(result.has_pass, rows[i].reading == NULL); // else nothing is judged
        if (rows[i].reading == NULL) {
            continue;
        }
        assert_true(result.has_value && !result.pass && strlen(doubt->source) > 0);
        if (strcmp(doubt->reading, rows[i].reading) != 0 ||
            strcmp(doubt->need, rows[i].need) != 0 || strcmp(doubt->found, rows[i].found) != 0) {
            fail_msg("%s: %s needs %s, found %s", rows[i].line, doubt->reading, doubt->need,
                     doubt->found);
        }
    }
}

static void every_doubt_is_listed(void **state) {
    struct model_result result = given_result("vapor-liquid-ratio", VALID_RATIO
                                              "meter_factor=2 liquid_gal=7.481 flow_gpm=11");

    (void)state;
    assert_int_equal(result.doubt_count, 3);
    assert_string_equal(result.doubts[0].reading, "meter_factor");
    assert_string_equal(result.doubts[1].reading, "liquid_gal");
    assert_string_equal(result.doubts[2].reading, "flow_gpm");
}

// Writes a line without its i-th reading, or with that reading twice; false past the last.
static bool line_change(const char *line, size_t i, bool twice, char *changed, size_t size,
                        char *name, size_t name_size) {
    char copy[256], *rest = copy, *word;
    size_t at = 0;
    bool found = false;

    snprintf(copy, sizeof copy, "%s", line);
    changed[0] = '\0';
    while ((word = strtok_r(rest, " ", &rest)) != NULL) {
        size_t length = strlen(changed);
        if (at++ != i) {
            snprintf(changed + length, size - length, "%s ", word);
            continue;
        }
        found = true;
        snprintf(name, name_size, "%.*s", (int)strcspn(word, "="), word);
        if (twice) {
            snprintf(changed + length, size - length, "%s %s ", word, word);
        }
    }
    return found;
}

static bool optional(const char *rule, const char *name) {
    const struct trade_rule *about = trade_rule_find(rule);

    for (size_t i = 0; i < about->reading_count; i++) {
        const struct trade_reading *reading = &about->readings[i];
        if (strcmp(reading->name, name) == 0 ||
            (reading->twin != NULL && strcmp(reading->twin, name) == 0)) {
            return reading->optional && strcmp(rule, "continuity") != 0 &&
                   strcmp(rule, "pressure-decay") != 0;
        }
    }
    return true; // min and max
}

static void missing_and_doubled_readings(void **state) {
    char changed[512], name[64];

    (void)state;
    for (size_t rule = 0; rule < COUNT_OF(good); rule++) {
        for (size_t i = 0;
             line_change(good[rule].line, i, false, changed, sizeof changed, name, sizeof name);
             i++) {
            if (!optional(good[rule].rule, name)) {
                given_refused(good[rule].rule, changed, name);
            }
            if (strcmp(name, "max") != 0) {
                line_change(good[rule].line, i, true, changed, sizeof changed, name, sizeof name);
                given_refused(good[rule].rule, changed, name);
            }
        }
        snprintf(changed, sizeof changed, "%s humidity=4", good[rule].line);
        given_refused(good[rule].rule, changed, "humidity");
    }
}

// Every number of every rule: what is no number at all, and both spellings at once.
static void no_number_is_refused(void **state) {
    static const char *const wrong[] = {"nan", "inf", "-inf", "true", "six"};
    char changed[512], line[600];

    (void)state;
    for (size_t rule = 0; rule < COUNT_OF(good); rule++) {
        const struct trade_rule *about = trade_rule_find(good[rule].rule);
        for (size_t i = 0; i < about->reading_count; i++) {
            const struct trade_reading *reading = &about->readings[i];
            char name[64];
            size_t at = 0;
            bool there = false;
            while (!there && line_change(good[rule].line, at++, false, changed, sizeof changed,
                                         name, sizeof name)) {
                there = strcmp(name, reading->name) == 0;
            }
            for (size_t w = 0; there && w < COUNT_OF(wrong); w++) {
                if (reading->kind == TRADE_FLAG && strcmp(wrong[w], "true") == 0) {
                    continue;
                }
                snprintf(line, sizeof line, "%s%s=%s", changed, reading->name, wrong[w]);
                given_refused(about->rule, line, reading->name);
            }
            if (there && reading->twin != NULL) {
                snprintf(line, sizeof line, "%s %s=1", good[rule].line, reading->twin);
                given_refused(about->rule, line, reading->twin);
            }
        }
    }
}

#define DECAY(n, v, i, f)                                                                          \
    "system=assist nozzles=" #n " ullage_gal=" #v " initial_inwc=" #i " final_inwc=" #f
#define RATIO(y, a, b, g)                                                                          \
    "meter_factor=" #y " vapor_initial_ft3=" #a " vapor_final_ft3=" #b " liquid_gal=" #g

static void impossible_readings(void **state) {
    static const struct {
        const char *rule, *line, *reading;
    } rows[] = {
        {"pass-fail", "pass=1", "pass"},
        {"pass-fail", "pass=yes", "pass"},
        {"pressure-decay", "basis=state " DECAY(6, 1000, 2, 1.5), "basis"},
        {"pressure-decay", "basis=federal " DECAY(6, 1000, 2, 1.5), "system"},
        {"pressure-decay", "basis=federal nozzles=6 ullage_gal=9 initial_inwc=2 final_inwc=1",
         "nozzles"},
        {"pressure-decay", "basis=tp-201.3 ullage_gal=900 initial_inwc=2 final_inwc=1", "system"},
        {"pressure-decay", DECAY(0, 1000, 2, 1.5), "nozzles"},
        {"pressure-decay", DECAY(-6, 1000, 2, 1.5), "nozzles"},
        {"pressure-decay", DECAY(2.5, 1000, 2, 1.5), "nozzles"},
        {"pressure-decay", DECAY(6, 0, 2, 1.5), "ullage_gal"},
        {"pressure-decay", DECAY(6, -1000, 2, 1.5), "ullage_gal"},
        {"pressure-decay", DECAY(6, 0.01, 2, 0), "ullage_gal"},
        {"pressure-decay", DECAY(6, 1000, 1.989999, 1.5), "initial_inwc"},
        {"pressure-decay", DECAY(6, 1000, 2.010001, 1.5), "initial_inwc"},
        {"pressure-decay", DECAY(6, 1000, -2, 1.5), "initial_inwc"},
        {"pressure-decay", DECAY(6, 1000, 2, -0.01), "final_inwc"},
        {"pressure-decay", DECAY(6, 1000, 2, 2.0101), "final_inwc"},
        {"pressure-decay", "system=vacuum nozzles=6 ullage_gal=9 initial_inwc=2 final_inwc=1",
         "system"},
        {"pressure-decay", "system=assist nozzles=6 ullage_l=-1 initial_pa=498 final_pa=300",
         "ullage_l"},
        {"pressure-decay", "system=assist nozzles=6 ullage_l=4000 initial_pa=495.6 final_pa=300",
         "initial_pa"},
        {"pressure-decay", "system=assist nozzles=6 ullage_l=4000 initial_pa=500.7 final_pa=300",
         "initial_pa"},
        {"vacuum-decay", "start_inwc=7.5 final_inwc=5", "start_inwc"},
        {"vacuum-decay", "start_inwc=9 final_inwc=5", "start_inwc"},
        {"vacuum-decay", "start_inwc=1 final_inwc=0.5", "start_inwc"},
        {"vacuum-decay", "start_inwc=7.9999 final_inwc=5", "start_inwc"},
        {"vacuum-decay", "start_inwc=-8 final_inwc=5", "start_inwc"},
        {"vacuum-decay", "start_pa=1990 final_pa=1500", "start_pa"},
        {"vacuum-decay", "start_pa=1992 final_pa=1500", "start_pa"},
        {"vacuum-decay", "start_inwc=8 final_inwc=-5.5", "final_inwc"},
        {"vacuum-decay", "start_inwc=8 final_inwc=8.01", "final_inwc"},
        {"back-pressure", "flow_cfh=50 pressure_inwc=0.1", "flow_cfh"},
        {"back-pressure", "flow_cfh=0 pressure_inwc=0.1", "flow_cfh"},
        {"back-pressure", "flow_cfh=60 pressure_inwc=-0.1", "pressure_inwc"},
        {"vapor-liquid-ratio", RATIO(0, 1, 2, 5), "meter_factor"},
        {"vapor-liquid-ratio", RATIO(-1, 1, 2, 5), "meter_factor"},
        {"vapor-liquid-ratio", RATIO(1, -1, 2, 5), "vapor_initial_ft3"},
        {"vapor-liquid-ratio", RATIO(1, 2, -1, 5), "vapor_final_ft3"},
        {"vapor-liquid-ratio", RATIO(1, 2, 1.9, 5), "vapor_final_ft3"},
        {"vapor-liquid-ratio", RATIO(1, 1, 2, 0), "liquid_gal"},
        {"vapor-liquid-ratio", RATIO(1, 1, 2, -5), "liquid_gal"},
        {"vapor-liquid-ratio", RATIO(1, 1, 2, 1e-320), "liquid_gal"},
        {"liquid-removal", "initial_ml=-1 final_ml=0 dispensed_gal=1", "initial_ml"},
        {"liquid-removal", "initial_ml=50 final_ml=-1 dispensed_gal=1", "final_ml"},
        {"liquid-removal", "initial_ml=50 final_ml=51 dispensed_gal=1", "final_ml"},
        {"liquid-removal", "initial_ml=50 final_ml=1 dispensed_gal=0", "dispensed_gal"},
        {"liquid-removal", "initial_ml=50 final_ml=1 dispensed_l=-3", "dispensed_l"},
        {"liquid-removal", "initial_ml=50 final_ml=1 dispensed_gal=1e-320", "dispensed_gal"},
        {"flow-rate", "volume_gal=0 seconds=30", "volume_gal"},
        {"flow-rate", "volume_gal=-5 seconds=30", "volume_gal"},
        {"flow-rate", "volume_gal=5 seconds=0", "seconds"},
        {"flow-rate", "volume_gal=5 seconds=-30", "seconds"},
        {"flow-rate", "volume_gal=5 seconds=1e-320", "seconds"},
        {"continuity", "criterion=both ohms=1", "criterion"},
        {"continuity", "criterion=chain ohms=-1", "ohms"},
        {"continuity", "criterion=chain ohms=1 pieces=3", "pieces"},
        {"continuity", "criterion=chain ohms=1 hose_m=3", "hose_m"},
        {"continuity", "criterion=parts ohms=1 pieces=0 hose_ft=3", "pieces"},
        {"continuity", "criterion=parts ohms=1 pieces=1.5 hose_ft=3", "pieces"},
        {"continuity", "criterion=parts ohms=1 pieces=1e305 hose_ft=3", "pieces"},
        {"continuity", "criterion=parts ohms=1 pieces=3 hose_ft=-1", "hose_ft"},
        {"continuity", "criterion=parts ohms=1 pieces=3 hose_ft=1e305", "hose_ft"},
        {"torque", "target_ftlb=0 wrench_in=12 adapter_in=2", "target_ftlb"},
        {"torque", "target_nm=-34 wrench_in=12 adapter_in=2", "target_nm"},
        {"torque", "target_ftlb=34 wrench_in=0 adapter_in=2", "wrench_in"},
        {"torque", "target_ftlb=34 wrench_in=12 adapter_in=-12", "adapter_in"},
        {"torque", "target_ftlb=34 wrench_in=12 adapter_mm=-400", "adapter_mm"},
        {"torque", "target_ftlb=34 wrench_in=12 adapter_in=2 angle_deg=181", "angle_deg"},
        {"torque", "target_ftlb=34 wrench_in=12 adapter_in=2 angle_deg=-1", "angle_deg"},
        {"torque", "target_ftlb=1e308 wrench_in=12 adapter_in=2", "adapter_in"},
        {"torque", "target_ftlb=34 wrench_in=12 adapter_in=2 wrench_min_ftlb=50 wrench_max_ftlb=40",
         "wrench_max_ftlb"},
        {"torque", "target_ftlb=34 wrench_in=12 adapter_in=2 wrench_max_ftlb=0", "wrench_max_ftlb"},
        {"vessel-decay", "initial_inwc=1.98 final_inwc=1.9", "initial_inwc"},
        {"vessel-decay", "initial_inwc=2.02 final_inwc=1.9", "initial_inwc"},
        {"vessel-decay", "initial_inwc=2 final_inwc=2.001", "final_inwc"},
        {"vessel-decay", "initial_inwc=2 final_inwc=-1", "final_inwc"},
        {"hose-length", "length_ft=0", "length_ft"},
        {"hose-length", "length_m=-1", "length_m"},
        {"meter-draft", "tolerance=both draft_gal=5 error1_in3=1", "tolerance"},
        {"meter-draft", "tolerance=acceptance draft_gal=0 error1_in3=1", "draft_gal"},
        {"meter-draft", "tolerance=acceptance draft_gal=5 error2_in3=1", "error1_in3"},
        {"leak-detector", "ml=0 seconds=60 psi=10 tripped=true", "ml"},
        {"leak-detector", "ml=189 seconds=0 psi=10 tripped=true", "seconds"},
        {"leak-detector", "ml=189 seconds=1e-320 psi=10 tripped=true", "seconds"},
        {"leak-detector", "ml=189 seconds=60 psi=0 tripped=true", "psi"},
        {"leak-detector", "ml=189 seconds=60 kpa=-3 tripped=true", "kpa"},
        {"leak-detector", "ml=189 seconds=60 psi=10", "tripped"},
        {"spill", "quantity_gal=0", "quantity_gal"},
        {"spill", "quantity_gal=5 hours=-1", "hours"},
        {"torque-applied", "reading_ftlb=0 wrench_in=12 adapter_in=3", "reading_ftlb"},
        {"torque-applied", "reading_nm=-3 wrench_in=12 adapter_in=3", "reading_nm"},
        {"torque-applied", "reading_nm=30 wrench_in=0 adapter_in=3", "wrench_in"},
        {"torque-applied", "reading_nm=30 wrench_in=12 adapter_in=-12", "adapter_in"},
        {"torque-applied", "reading_nm=30 wrench_in=12 adapter_mm=-400", "adapter_mm"},
        {"torque-applied", "reading_nm=30 wrench_in=12 adapter_in=3 angle_deg=181", "angle_deg"},
        {"torque-applied", "reading_nm=1e308 wrench_in=1 adapter_in=30", "adapter_in"},
        {"inventory", "throughput_gal=-1", "throughput_gal"},
        {"volume-at-15C", "density_kgm3=0 temperature_c=25", "density_kgm3"},
        {"volume-at-15C", "density_kgm3=740 temperature_c=-300", "temperature_c"},
        {"volume-at-15C", "density_kgm3=1e-200 temperature_c=25", "density_kgm3"},
        {"continuity", "criterion= ohms=1", "criterion"},
        {"continuity", "criterion=part ohms=1 pieces=3 hose_ft=1", "criterion"},
        {"no-such-rule", "pass=true", ""},
        {"range", "a=1 b=1 c=1 d=1 e=1 f=1 g=1 h=1 i=1 max=4", ""},
    };

    (void)state;
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        given_refused(rows[i].rule, rows[i].line, rows[i].reading);
    }
}

// The edges of what is possible are possible.
static void edges_are_taken(void **state) {
    static const struct {
        const char *rule, *line;
    } rows[] = {
        {"pressure-decay", DECAY(1, 1000, 1.99, 1.5)},
        {"pressure-decay", DECAY(1, 1000, 2.01, 0)},
        {"pressure-decay", DECAY(1, 1000, 2, 2.01)},
        {"pressure-decay", DECAY(1, 1000, 2.01, 2.02)},
        {"pressure-decay",
         "system=balance nozzles=1 ullage_l=10 initial_pa=495.6869309 final_pa=0"},
        {"pressure-decay",
         "system=balance nozzles=1 ullage_l=100 initial_pa=500.6687091 final_pa=0"},
        {"vacuum-decay", "start_inwc=8 final_inwc=8"},
        {"vacuum-decay", "start_inwc=2 final_inwc=0"},
        {"vacuum-decay", "start_pa=1993 final_pa=1993"},
        {"back-pressure", "flow_cfh=80 pressure_inwc=0"},
        {"vapor-liquid-ratio", RATIO(1, 2, 2, 5)},
        {"vapor-liquid-ratio", RATIO(1, 0, 0, 5)},
        {"vapor-liquid-ratio",
         "meter_factor=1 vapor_initial_ft3=0.1 vapor_final_l=2.8316846592 liquid_gal=5"},
        {"liquid-removal", "initial_ml=0 final_ml=0 dispensed_gal=1"},
        {"continuity", "criterion=chain ohms=0"},
        {"continuity", "criterion=parts ohms=0 pieces=1 hose_ft=0"},
        {"torque", "target_ftlb=34 wrench_in=12 adapter_in=-11.99"},
        {"torque", "target_ftlb=34 wrench_in=12 adapter_in=2 angle_deg=180"},
        {"torque", "target_ftlb=34 wrench_in=12 adapter_in=2 angle_deg=0 wrench_min_ftlb=0"},
        {"torque",
         "target_ftlb=34 wrench_in=12 adapter_in=2 wrench_min_ftlb=30 wrench_max_ftlb=30"},
    };

    (void)state;
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct model_result result = given_result(rows[i].rule, rows[i].line);
        assert_true(result.has_value && isfinite(result.value));
    }
}

static void inputs_come_back_as_given(void **state) {
    struct model_result result = given_result(
        "pressure-decay", "final_pa=300 system=balance nozzles=7 ullage_l=4000 initial_inwc=2");

    (void)state;
    assert_string_equal(result.rule, "pressure-decay");
    assert_int_equal(result.input_count, 5);
    assert_string_equal(result.inputs[0].name, "final_pa");
    assert_float_equal(result.inputs[0].number, 300.0, 0.0);
    assert_string_equal(result.inputs[1].name, "system");
    assert_int_equal(result.inputs[1].kind, MODEL_READING_TEXT);
    assert_string_equal(result.inputs[1].text, "balance");
    assert_string_equal(result.inputs[3].name, "ullage_l");
    assert_float_equal(result.inputs[3].number, 4000.0, 0.0);
    assert_true(given_result("pass-fail", "pass=true").inputs[0].flag);
}

static void torque_is_no_test(void **state) {
    struct model_test test = {.test = "t", .rule = "torque"};
    struct model_reading readings[] = {
        {.name = "target_ftlb", .kind = MODEL_READING_NUMBER, .number = 34},
        {.name = "wrench_in", .kind = MODEL_READING_NUMBER, .number = 12},
        {.name = "adapter_in", .kind = MODEL_READING_NUMBER, .number = 2},
    };
    struct model_test verdict = {.test = "t", .rule = "pass-fail"};
    struct model_reading pass = {.name = "pass", .kind = MODEL_READING_FLAG, .flag = true};
    struct model_result result;
    struct trade_error error;

    (void)state;
    assert_false(trade_evaluate(&test, NULL, readings, 3, &result, &error));
    assert_non_null(strstr(error.what, "torque"));
    assert_true(trade_calculate(&test, NULL, readings, 3, &result, NULL, &error));
    assert_true(trade_evaluate(&verdict, NULL, &pass, 1, &result, &error));
    assert_true(result.pass);
    assert_false(trade_evaluate(&verdict, NULL, NULL, 0, &result, &error));
    assert_string_equal(error.reading, "pass");
}

// The table is complete, and every name in it fits where results and errors keep names.
static void rule_table(void **state) {
    size_t count = 0;

    (void)state;
    for (const struct trade_rule *rule; (rule = trade_rule_at(count)) != NULL; count++) {
        assert_string_equal(rule->rule, good[count].rule);
        assert_ptr_equal(trade_rule_find(rule->rule), rule);
        assert_int_equal(trade_rule_known(rule->rule), rule->calc_only == NULL);
        assert_true(rule->reading_count > 0 && rule->reading_count <= MODEL_READINGS_MAX);
        for (size_t i = 0; i < rule->reading_count; i++) {
            const struct trade_reading *reading = &rule->readings[i];
            assert_true(strlen(reading->name) < sizeof((struct model_reading *)0)->name);
            assert_true(strlen(reading->title) > 0);
            assert_int_equal(reading->twin != NULL, reading->kind == TRADE_NUMBER &&
                                                        reading->unit != TRADE_CFH &&
                                                        trade_unit_si(reading->unit) != NULL);
        }
    }
    assert_int_equal(count, COUNT_OF(good));
    assert_null(trade_rule_find("bag"));
    assert_false(trade_rule_known(""));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(twins_mean_the_same),
        cmocka_unit_test(torque_answers_in_the_unit_asked),
        cmocka_unit_test(applied_torque_is_in_the_unit_of_its_limits),
        cmocka_unit_test(a_silence_about_a_spill_is_told),
        cmocka_unit_test(one_run_of_a_meter_is_told),
        cmocka_unit_test(torque_warns_of_the_wrong_wrench),
        cmocka_unit_test(ratio_cautions),
        cmocka_unit_test(whose_window_was_taken_is_said),
        cmocka_unit_test(no_back_pressure_at_all_is_suspicious),
        cmocka_unit_test(readings_outside_the_method),
        cmocka_unit_test(every_doubt_is_listed),
        cmocka_unit_test(missing_and_doubled_readings),
        cmocka_unit_test(no_number_is_refused),
        cmocka_unit_test(impossible_readings),
        cmocka_unit_test(edges_are_taken),
        cmocka_unit_test(inputs_come_back_as_given),
        cmocka_unit_test(torque_is_no_test),
        cmocka_unit_test(rule_table),
    };

    return cmocka_run_group_tests_name("trade readings", tests, NULL, NULL);
}
