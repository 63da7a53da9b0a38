// `forelock calc` as its user meets it: exit status, the object, the words, the complaints.
#include "tool/calc.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#define COUNT_OF(array) (sizeof(array) / sizeof((array)[0]))
#define ARGUMENTS_MAX 16

// What one run left behind.
struct run {
    int status;
    char out[4096];
    char err[4096];
};

// Turns a stream's descriptor to a fresh temporary file; returns the old one.
static int stream_catch(FILE *stream, FILE *file) {
    int kept;

    fflush(stream);
    kept = dup(fileno(stream));
    assert_true(kept >= 0 && dup2(fileno(file), fileno(stream)) >= 0);
    return kept;
}

static void stream_release(FILE *stream, FILE *file, int kept, char *text, size_t size) {
    size_t length;

    fflush(stream);
    assert_true(dup2(kept, fileno(stream)) >= 0);
    close(kept);
    rewind(file);
    length = fread(text, 1, size - 1, file);
    text[length] = '\0';
    fclose(file);
}

static const struct model *configured; // what -c names, or NULL

// Runs the command on words that one space separates.
static struct run run_line(const char *line, bool json) {
    struct run run = {0};
    char copy[512], *rest = copy, *arguments[ARGUMENTS_MAX], *word;
    FILE *out = tmpfile(), *err = tmpfile();
    int argc = 0, kept_out, kept_err;

    assert_non_null(out);
    assert_non_null(err);
    snprintf(copy, sizeof copy, "%s", line);
    while ((word = strtok_r(rest, " ", &rest)) != NULL) {
        assert_true(argc < ARGUMENTS_MAX);
        arguments[argc++] = word;
    }
    kept_out = stream_catch(stdout, out);
    kept_err = stream_catch(stderr, err);
    run.status = tool_calc(argc, arguments, json, configured);
    stream_release(stdout, out, kept_out, run.out, sizeof run.out);
    stream_release(stderr, err, kept_err, run.err, sizeof run.err);
    return run;
}

static void the_object_is_exact(void **state) {
    static const struct {
        const char *line, *object;
        int status;
    } rows[] = {
        {"flow-rate volume_gal=5 seconds=32",
         "{\"rule\":\"flow-rate\",\"inputs\":{\"volume_gal\":5,\"seconds\":32},\"value\":9.375,"
         "\"limit\":{\"min\":5,\"max\":10},\"margin\":0.625,\"pass\":true,\"formula\":\"volume_gal*"
         "60/seconds\","
         "\"source\":\"40 CFR 80.22(j), CFR 2015 annual edition, now Part 1090 Subpart P; at most "
         "10 gpm (37.854118 L/min) as published there, at least 5 gpm or what the order asks for, "
         "the greater, as read in a public copy\"}\n",
         0},
        {"range value=9 min=1 max=8",
         "{\"rule\":\"range\",\"inputs\":{\"value\":9},\"value\":9,\"limit\":{\"min\":1,\"max\":8},"
         "\"margin\":-1,\"pass\":false,\"formula\":\"min <= value <= max\","
         "\"source\":\"limit from configuration\"}\n",
         1},
        {"pass-fail pass=true",
         "{\"rule\":\"pass-fail\",\"inputs\":{\"pass\":true},\"value\":null,\"limit\":null,"
         "\"margin\":null,\"pass\":true,\"formula\":\"pass\","
         "\"source\":\"observed by a person; no figure\"}\n",
         0},
        {"torque target_ftlb=30 wrench_in=12 adapter_in=6",
         "{\"rule\":\"torque\",\"inputs\":{\"target_ftlb\":30,\"wrench_in\":12,\"adapter_in\":6},"
         "\"value\":20,\"limit\":null,\"margin\":null,\"pass\":null,"
         "\"formula\":\"target*wrench/(wrench + adapter*cos(angle))\",\"source\":\"US Army TM "
         "1-1500-204-23-9 Fig 8-16; FAA AC 43.13-1B 7-40(h) requires the correction\"}\n",
         0},
        {"continuity criterion=chain ohms=2e6",
         "{\"rule\":\"continuity\",\"inputs\":{\"criterion\":\"chain\",\"ohms\":2000000},"
         "\"value\":2000000,\"limit\":1000000,\"margin\":-1000000,\"pass\":false,"
         "\"formula\":\"ohms <= 1000000 (criterion chain)\",\"source\":\"criterion chain; 1 "
         "megohm, "
         "NFPA 77 as quoted\"}\n",
         1},
    };
    char line[160];

    (void)state;
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct run run = run_line(rows[i].line, true);
        assert_string_equal(run.out, rows[i].object);
        assert_string_equal(run.err, "");
        assert_int_equal(run.status, rows[i].status);
        snprintf(line, sizeof line, "%s --json", rows[i].line);
        run = run_line(line, false);
        assert_string_equal(run.out, rows[i].object);
    }
}

static void a_unit_of_two_signs_bounds_both_sides(void **state) {
    struct run run = run_line("range value=-240 max=1 unit=V", true);

    (void)state;
    assert_int_equal(run.status, 1);
    assert_non_null(strstr(run.out, "\"limit\":{\"min\":-1,\"max\":1},\"margin\":-239,"));
    run = run_line("range value=-240 max=1 unit=V", false);
    assert_non_null(strstr(run.out, "-240 V was found where at least -1 V and at most 1 V"));
    run = run_line("range value=-240 max=1 unit=L", true);
    assert_int_equal(run.status, 0);
    run = run_line("range value=-240 min=-300 max=1 unit=V", true);
    assert_int_equal(run.status, 0);
    run = run_line("range value=-240 max=1", true);
    assert_int_equal(run.status, 0);
}

static void the_words_show_the_work(void **state) {
    static const char *const said[] = {
        "pressure-decay: Pressure left after 5 minutes",
        "2*exp(-500.887/1000) = 1.211985811 in WC",
        "value    1.2 in WC (298.9067 Pa)",
        "at least 1.211985811 in WC",
        "margin   -0.01198",
        "verdict  FAILS",
        ("in words 1.2 in WC was found where at least 1.211985811 in WC is asked for: it FAILS, by "
         "0.01199 in WC past the limit."),
        "source   TP-201.3, Table 3-1 or Equation 9.1; K = 500.887 as printed in a California",
        "note     Not of this method, but of the exhibit of one pressure-management vessel",
        "Local codes, the authority's current text and the maker's instructions come first.",
    };
    struct run run = run_line(
        "pressure-decay system=assist nozzles=6 ullage_gal=1000 initial_inwc=2.0 final_inwc=1.20",
        false);

    (void)state;
    assert_int_equal(run.status, 1);
    for (size_t i = 0; i < COUNT_OF(said); i++) {
        if (strstr(run.out, said[i]) == NULL) {
            fail_msg("\"%s\" is not in:\n%s", said[i], run.out);
        }
    }
    run = run_line("torque target_nm=30 wrench_mm=300 adapter_mm=150 wrench_max_nm=150", false);
    assert_int_equal(run.status, 0);
    assert_non_null(strstr(run.out, "setting  20 N.m\n"));
    assert_non_null(strstr(run.out, "verdict  none"));
    assert_non_null(strstr(run.out, "in words Set the wrench to 20 N.m."));
    assert_non_null(strstr(run.out, "CAUTION  The setting is below 20 %"));
    run = run_line("flow-rate volume_gal=5 seconds=32", false);
    assert_non_null(strstr(run.out, "verdict  passes"));
    assert_non_null(strstr(run.out,
                           "9.375 gpm was found where at least 5 gpm and at most 10 gpm is "
                           "asked for: it passes, 0.625 gpm from the limit."));
    assert_null(strstr(run.out, "CAUTION"));
    assert_null(strstr(run.out, "note"));
}

static void a_caution_is_not_lost_in_json(void **state) {
    struct run run =
        run_line("torque target_nm=30 wrench_mm=300 adapter_mm=0 wrench_max_nm=20", true);

    (void)state;
    assert_int_equal(run.status, 0);
    assert_non_null(strstr(run.err, "CAUTION: The setting is beyond the wrench."));
    assert_non_null(strstr(run.out, "\"cautions\":[\"The setting is beyond the wrench.\"],"
                                    "\"caution_args\":[{\"say\":\"wrench-beyond\"}]}"));
}

static void readings_outside_the_method_are_not_judged(void **state) {
    static const char line[] = "vapor-liquid-ratio meter_factor=1.5 vapor_initial_ft3=0 "
                               "vapor_final_ft3=0.5 liquid_gal=4 flow_gpm=7";
    struct run run = run_line(line, true);

    (void)state;
    assert_int_equal(run.status, 1);
    assert_non_null(strstr(run.out, "\"pass\":null,"));
    assert_non_null(strstr(run.out, "\"valid\":false,\"reasons\":[{\"reading\":\"meter_factor\","
                                    "\"need\":\"0.9 to 1.1\",\"found\":\"1.5\",\"source\":\""));
    assert_non_null(strstr(run.out, "{\"reading\":\"liquid_gal\",\"need\":\"4.5 to 5 gal\","
                                    "\"found\":\"4 gal\",\"source\":\"TP-201.5"));
    run = run_line(line, false);
    assert_int_equal(run.status, 1);
    assert_non_null(strstr(run.out, "verdict  NOT VALID"));
    assert_non_null(strstr(run.out, "reason   meter_factor is 1.5, and the method holds for 0.9 to "
                                    "1.1 ("));
    assert_non_null(strstr(run.out, "reason   liquid_gal is 4 gal, and"));
    assert_null(strstr(run.out, "in words"));
}

static void a_verdict_beside_the_margin_is_said(void **state) {
    struct run run = run_line("vessel-decay initial_inwc=2 final_inwc=1.77", false);

    (void)state;
    assert_int_equal(run.status, 1);
    assert_non_null(strstr(run.out,
                           "where more than 1.77 in WC is asked for: it FAILS, for it only "
                           "meets the limit."));
    run = run_line("leak-detector ml=100 seconds=60 psi=10 tripped=false", false);
    assert_int_equal(run.status, 1);
    assert_non_null(strstr(run.out, "it FAILS, beside its value."));
    assert_non_null(strstr(run.out, "CAUTION  The detector did not find the leak"));
    run = run_line("torque-applied reading_ftlb=34 wrench_in=12 adapter_in=3", false);
    assert_int_equal(run.status, 0);
    assert_non_null(strstr(run.out, "in words It is 42.5 ft.lbf; no limit was given."));
    run = run_line("torque-applied reading_nm=40 wrench_in=12 adapter_in=3 max=48 unit=N.m", false);
    assert_int_equal(run.status, 1);
    assert_non_null(strstr(run.out, "50 N.m was found where at most 48 N.m is asked for"));
    run = run_line("inventory throughput_gal=10000", false);
    assert_int_equal(run.status, 0);
    assert_non_null(strstr(run.out, "value    230 gal"));
}

static void an_uncertainty_is_told_beside_the_verdict(void **state) {
    static const char decay[] =
        "pressure-decay basis=federal ullage_gal=1000 initial_inwc=2 final_inwc=1.24 ";
    struct model_instrument instruments[] = {{.instrument = "inwc-1",
                                              .kind = "low-gauge",
                                              .calibrated_until = {true, "2099-01-31", NULL},
                                              .uncertainty = 0.05,
                                              .uncertainty_unit = "inH2O"}};
    struct model model = {.instruments = instruments, .instrument_count = COUNT_OF(instruments)};
    char line[200];

    (void)state;
    snprintf(line, sizeof line, "%suncertainty=0.05", decay);
    struct run run = run_line(line, true);
    assert_int_equal(run.status, 0);
    assert_non_null(strstr(run.out, "\"pass\":true,"));
    assert_non_null(strstr(run.out, "\"decision\":\"conditional pass\",\"uncertainty\":0.05}"));
    assert_non_null(strstr(run.out, "ILAC-G8:09/2019 4.2.3"));
    run = run_line(line, false);
    assert_non_null(strstr(run.out, "decision conditional pass"));
    configured = &model;
    snprintf(line, sizeof line, "%sinstrument=inwc-1", decay);
    run = run_line(line, true);
    assert_non_null(strstr(run.out, "\"decision\":\"conditional pass\""));
    snprintf(line, sizeof line, "%sinstrument=inwc-1 uncertainty=0.1", decay);
    run = run_line(line, true);
    configured = NULL;
    assert_int_equal(run.status, 2);
    assert_non_null(strstr(run.err, "leave uncertainty out"));
}

static void an_overdue_instrument_is_cautioned_against(void **state) {
    static const char wrench[] = "torque target_ftlb=30 wrench_in=12 adapter_in=6 ";
    struct model_instrument instruments[] = {
        {.instrument = "meter-1",
         .kind = "ohmmeter",
         .calibrated_until = {true, "2099-01-31", NULL}},
        {.instrument = "tw-1",
         .kind = "torque-wrench",
         .calibrated_until = {true, "2020-01-31", NULL}},
        {.instrument = "tw-2",
         .kind = "torque-wrench",
         .calibrated_until = {true, "2099-01-31", NULL}},
    };
    struct model model = {.instruments = instruments, .instrument_count = COUNT_OF(instruments)};
    static const struct {
        const char *with, *said, *unsaid;
        int status;
    } rows[] = {
        {"calibrated_until=2020-01-31", "CAUTION  The calibration ended on 2020-01-31", "", 0},
        {"calibrated_until=2099-01-31", "2099-01-31, the last day", "CAUTION", 0},
        {"instrument=tw-1", "CAUTION  The calibration ended on 2020-01-31", "", 0},
        {"instrument=tw-2", "2099-01-31, the last day", "CAUTION", 0},
        {"instrument=meter-1", "CAUTION  meter-1 is of the kind ohmmeter, and no torque-wrench",
         "ended on", 0},
        {"instrument=tw-9", "has no instrument of this id", "", 2},
        {"instrument=tw-1 calibrated_until=2099-01-31", "not both", "", 2},
        {"instrument=tw-1 instrument=tw-2", "given twice", "", 2},
        {"calibrated_until=2027-02-29", "must be a day", "", 2},
        {"calibrated_until=2027-2-3", "must be a day", "", 2},
        {"calibrated_until=", "must be a day", "", 2},
    };
    char line[160];

    (void)state;
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        snprintf(line, sizeof line, "%s%s", wrench, rows[i].with);
        configured = &model;
        struct run run = run_line(line, false);
        configured = NULL;
        const char *text = run.status == 2 ? run.err : run.out;
        if (run.status != rows[i].status || strstr(text, rows[i].said) == NULL ||
            (rows[i].unsaid[0] != '\0' && strstr(text, rows[i].unsaid) != NULL)) {
            fail_msg("%s: exit %d, %s", line, run.status, text);
        }
    }
    snprintf(line, sizeof line, "%sinstrument=tw-1", wrench);
    struct run run = run_line(line, false);
    assert_int_equal(run.status, 2);
    assert_non_null(strstr(run.err, "instrument needs -c FILE"));
    snprintf(line, sizeof line, "%scalibrated_until=2020-01-31", wrench);
    run = run_line(line, true);
    assert_int_equal(run.status, 0);
    assert_non_null(strstr(run.err, "CAUTION: The calibration ended on 2020-01-31"));
    assert_non_null(strstr(run.out, "\"cautions\":[\"The calibration ended on 2020-01-31: "));
}

static void complaints_name_the_place(void **state) {
    static const struct {
        const char *line, *said;
    } rows[] = {
        {"", "usage: forelock calc RULE"},
        {"no-such-rule pass=true", "there is no rule \"no-such-rule\""},
        {"flow-rate seconds=32", "volume_gal is missing"},
        {"flow-rate volume_gal=5 seconds=0", "seconds must be more than 0; found 0"},
        {"flow-rate volume_gal=5 volume_l=5 seconds=9", "give volume_gal or volume_l, not both"},
        {"flow-rate volume_gal=5 seconds=9 seconds=9", "seconds is given twice"},
        {"flow-rate volume_gal=5 seconds=9 wind=4", "wind is no reading of flow-rate"},
        {"flow-rate volume_gal=nan seconds=9", "volume_gal must be a number"},
        {"flow-rate volume_gal=inf seconds=9", "volume_gal must be a number"},
        {"flow-rate volume_gal=0x5 seconds=9", "volume_gal must be a number"},
        {"flow-rate volume_gal=5gal seconds=9", "volume_gal must be a number"},
        {"flow-rate volume_gal=5,0 seconds=9", "volume_gal must be a number"},
        {"flow-rate volume_gal=8,500 seconds=9",
         "volume_gal must be a number, with no mark between thousands and a point before decimals; "
         "found \"8,500\""},
        {"flow-rate volume_gal=5e seconds=9", "volume_gal must be a number"},
        {"flow-rate volume_gal=. seconds=9", "volume_gal must be a number"},
        {"flow-rate volume_gal=-. seconds=9", "volume_gal must be a number"},
        {"flow-rate volume_gal= seconds=9", "volume_gal must be a number"},
        {"flow-rate volume_gal=1e999 seconds=9", "volume_gal must be a number"},
        {"flow-rate volume_gal seconds=9", "\"volume_gal\" is not name=value"},
        {"flow-rate =5 seconds=9", "\"=5\" is not name=value"},
        {"flow-rate volume_gal=5 seconds=9 max=ten", "max must be a number; found \"ten\""},
        {"flow-rate volume_gal=5 seconds=9 max=9 max=8", "max is given twice"},
        {"range value=3 min=4 max=2", "min is more than max"},
        {"range value=-3 max=-2 unit=V", "min is more than max"},
        {"range value=3 max=4 unit=V unit=A", "unit is given twice"},
        {"flow-rate volume_gal=5 seconds=9 unit=V", "the rule flow-rate has its own unit"},
        {"torque-applied reading_nm=5 wrench_in=9 adapter_in=1 unit=V", "has its own unit"},
        {"range value=-5 max=100 unit=ohm", "value must be at least 0 ohm; found -5"},
        {"range value=3", "a test by the rule \"range\" needs \"min\""},
        {"range a_name_that_is_longer_than_any_reading_has=3 max=4", "is no reading of range"},
        {"range a=1 b=1 c=1 d=1 e=1 f=1 g=1 h=1 i=1 max=4", "i is no reading of range"},
        {"flow-rate volume_gal=5 seconds=40 uncertainty=0", "uncertainty must be over 0"},
        {"flow-rate volume_gal=5 seconds=40 uncertainty=x", "uncertainty must be a number"},
        {"pass-fail pass=true uncertainty=0.1", "of a value that has a limit"},
        {"pass-fail pass=maybe", "pass must be true or false"},
        {"continuity criterion=partsandmorethanthirtyonecharacters ohms=1",
         "criterion must be one of: parts chain"},
    };

    (void)state;
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct run run = run_line(rows[i].line, i % 2 == 1);
        if (run.status != 2 || strstr(run.err, rows[i].said) == NULL) {
            fail_msg("%s: exit %d, %s", rows[i].line, run.status, run.err);
        }
        assert_string_equal(run.out, "");
    }
}

static void numbers_in_every_decimal_spelling(void **state) {
    static const char *const spellings[] = {"5",  "+5",    "5.",    "5.0",
                                            "05", "0.5e1", "50E-1", ".5e+1"};
    char line[80];

    (void)state;
    for (size_t i = 0; i < COUNT_OF(spellings); i++) {
        snprintf(line, sizeof line, "flow-rate volume_gal=%s seconds=32", spellings[i]);
        struct run run = run_line(line, true);
        assert_int_equal(run.status, 0);
        assert_non_null(strstr(run.out, "\"volume_gal\":5,"));
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_object_is_exact),
        cmocka_unit_test(a_unit_of_two_signs_bounds_both_sides),
        cmocka_unit_test(the_words_show_the_work),
        cmocka_unit_test(a_caution_is_not_lost_in_json),
        cmocka_unit_test(readings_outside_the_method_are_not_judged),
        cmocka_unit_test(a_verdict_beside_the_margin_is_said),
        cmocka_unit_test(an_uncertainty_is_told_beside_the_verdict),
        cmocka_unit_test(an_overdue_instrument_is_cautioned_against),
        cmocka_unit_test(complaints_name_the_place),
        cmocka_unit_test(numbers_in_every_decimal_spelling),
    };

    return cmocka_run_group_tests_name("forelock calc", tests, NULL, NULL);
}
