// Every check value of published.json, each with its source beside it, against the rule or the unit
// that it belongs to. A formula that no rule of ours works out stands below with the reason, so
// that nothing is passed over in silence.
#include "given.h"

#include "json/json.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define COUNT_OF(array) (sizeof(array) / sizeof((array)[0]))

enum look { VALUE, MIN, MAX, PASS, UNIT, UNIT_INVERSE, NOT_OURS };

// How a formula is worked out here. In a line, {name} is an input of the check, {name/N} a part of
// it, and {band} the kind of system and number of nozzles that its K stands for.
struct way {
    const char *formula;
    enum look look;
    const char *rule; // or, of NOT_OURS, why it is not
    const char *line;
    enum trade_unit unit; // of UNIT
    double times, less;   // value*times - less is compared; times 0 is 1
};

#define ATMOSPHERE                                                                                 \
    "a gas limit is a check's, with min and max by the procedure; a strict < is not one"
#define CIRCUIT "a discharge time is not measured by a test rule; the voltage left is a check"
#define PLACE "where something stands is looked at and signed, not worked out"
#define NO_UNIT "no reading is taken in this unit"
#define STRICT "a strict inequality; equality passes in every range of ours"

static const struct way ways[] = {
    {"2*exp(-K/V)", MIN, "pressure-decay", "{band} ullage_gal={V} initial_inwc=2 final_inwc=1",
     TRADE_NO_UNIT, 0, 0},
    {"measured >= 2*exp(-K/V)", PASS, "pressure-decay",
     "{band} ullage_gal={V} initial_inwc=2 final_inwc={measured}", TRADE_NO_UNIT, 0, 0},
    {"2.5 <= p <= 6.0", PASS, "range", "value={p} min=2.5 max=6", TRADE_NO_UNIT, 0, 0},
    {"6.0 <= vac <= 10.0", PASS, "range", "value={vac} min=6 max=10", TRADE_NO_UNIT, 0, 0},
    {"q <= 0.17", PASS, "range", "value={q} max=0.17", TRADE_NO_UNIT, 0, 0},
    {"q <= 0.63", PASS, "range", "value={q} max=0.63", TRADE_NO_UNIT, 0, 0},
    {"table[start]", MIN, "vacuum-decay", "start_inwc={start} final_inwc=0.5", TRADE_NO_UNIT, 0, 0},
    {"p <= 0.35", PASS, "back-pressure", "flow_cfh=60 pressure_inwc={p}", TRADE_NO_UNIT, 0, 0},
    {"p60*(80/60)**2", MAX, "back-pressure", "flow_cfh=80 pressure_inwc=0.1", TRADE_NO_UNIT, 0, 0},
    {"p60*(40/60)**2", MAX, "back-pressure", "flow_cfh=40 pressure_inwc=0.1", TRADE_NO_UNIT, 0, 0},
    {"p <= 0.5", PASS, "range", "value={p} max=0.5", TRADE_NO_UNIT, 0, 0},
    {"y*(Vf-Vi)*7.481/(Gf-Gi)", VALUE, "vapor-liquid-ratio",
     "meter_factor={y} vapor_initial_ft3={Vi} vapor_final_ft3={Vf} liquid_gal={Gf}", TRADE_NO_UNIT,
     0, 0},
    {"0.95 <= vl <= 1.15", PASS, "vapor-liquid-ratio",
     "meter_factor=1 vapor_initial_ft3=0 vapor_final_ft3={vl/1.6} liquid_gal=4.675625",
     TRADE_NO_UNIT, 0, 0},
    {"0.95 <= vl <= 1.05", PASS, "vapor-liquid-ratio",
     "meter_factor=1 vapor_initial_ft3=0 vapor_final_ft3={vl/1.6} liquid_gal=4.675625 min=0.95 "
     "max=1.05",
     TRADE_NO_UNIT, 0, 0},
    {"vl <= 0.80", PASS, "range", "value={vl} max=0.8", TRADE_NO_UNIT, 0, 0},
    {"4.5 <= g <= 5.0", PASS, "range", "value={g} min=4.5 max=5", TRADE_NO_UNIT, 0, 0},
    {"(Vi-Vf)/G", VALUE, "liquid-removal", "initial_ml={Vi} final_ml={Vf} dispensed_gal={G}",
     TRADE_NO_UNIT, 0, 0},
    {"r >= 5.0", PASS, "liquid-removal", "initial_ml={r} final_ml=0 dispensed_gal=1", TRADE_NO_UNIT,
     0, 0},
    {"q <= 10.0", PASS, "flow-rate", "volume_gal={q} seconds=60", TRADE_NO_UNIT, 0, 0},
    {"V/t*60", VALUE, "flow-rate", "volume_gal={V} seconds={t}", TRADE_NO_UNIT, 0, 0},
    {"d <= 0.840", PASS, "range", "value={d} max=0.84", TRADE_NO_UNIT, 0, 0},
    {"n*500000 + ft*70000", MAX, "continuity", "criterion=parts ohms=1 pieces={n} hose_ft={ft}",
     TRADE_NO_UNIT, 0, 0},
    {"70000/0.3048", MAX, "continuity", "criterion=parts ohms=1 pieces=1 hose_m=1", TRADE_NO_UNIT,
     1, 500000},
    {"r <= 1e6", PASS, "continuity", "criterion=chain ohms={r}", TRADE_NO_UNIT, 0, 0},
    {"abs(e) <= 1+g", PASS, "meter-draft", "tolerance=maintenance draft_gal={g} error1_in3={e}",
     TRADE_NO_UNIT, 0, 0},
    {"abs(e) <= (1+g)/2", PASS, "meter-draft", "tolerance=acceptance draft_gal={g} error1_in3={e}",
     TRADE_NO_UNIT, 0, 0},
    {"range([-2,-3,-1]) <= 0.4*(1+g)", PASS, "meter-draft",
     "tolerance=acceptance draft_gal={g} error1_in3=-2 error2_in3=-3 error3_in3=-1", TRADE_NO_UNIT,
     0, 0},
    {"ml*3600/(s*3785.411784)", VALUE, "leak-detector", "ml={ml} seconds={s} psi=10 tripped=true",
     TRADE_NO_UNIT, 0, 0},
    {"3*sqrt(p/10)", MAX, "leak-detector", "ml=1 seconds=60 psi={p} tripped=true", TRADE_NO_UNIT, 0,
     0},
    {"r*(L+E)/L", VALUE, "torque-applied", "reading_ftlb={r} wrench_in={L} adapter_in={E}",
     TRADE_NO_UNIT, 0, 0},
    {"p > 1.77", PASS, "vessel-decay", "initial_inwc=2 final_inwc={p}", TRADE_NO_UNIT, 0, 0},
    {"v <= 25", PASS, "spill", "quantity_gal={v} sheen=false hours=1", TRADE_NO_UNIT, 0, 0},
    {"0.01*t+130", VALUE, "inventory", "throughput_gal={t}", TRADE_NO_UNIT, 0, 0},
    {"exp(-a*dT*(1+0.8*a*dT))", VALUE, "volume-at-15C", "density_kgm3={d} temperature_c={t}",
     TRADE_NO_UNIT, 0, 0},
    {"TA*L/(L+E)", VALUE, "torque", "target_ftlb={TA} wrench_in={L} adapter_in={E}", TRADE_NO_UNIT,
     0, 0},
    {"TA*L/(L+E*cos(radians(a)))", VALUE, "torque",
     "target_ftlb={TA} wrench_in={L} adapter_in={E} angle_deg={a}", TRADE_NO_UNIT, 0, 0},
    {"19.5 <= o2 <= 23.5", PASS, "range", "value={o2} min=19.5 max=23.5", TRADE_NO_UNIT, 0, 0},
    {"side >= 0.5", PASS, "range", "value={side} min=0.5", TRADE_NO_UNIT, 0, 0},
    {"slit >= 1.0", PASS, "range", "value={slit} min=1", TRADE_NO_UNIT, 0, 0},
    {"frac >= 0.25", PASS, "range", "value={frac} min=0.25", TRADE_NO_UNIT, 0, 0},
    {"years >= 5", PASS, "range", "value={years} min=5", TRADE_NO_UNIT, 0, 0},
    {"gap <= 3", PASS, "range", "value={gap} max=3", TRADE_NO_UNIT, 0, 0},
    {"gap <= 5", PASS, "range", "value={gap} max=5", TRADE_NO_UNIT, 0, 0},
    {"days <= 366", PASS, "range", "value={days} max=366", TRADE_NO_UNIT, 0, 0},
    {"lbf >= 50", PASS, "range", "value={lbf} min=50", TRADE_NO_UNIT, 0, 0},
    {"ft >= 5", PASS, "range", "value={ft} min=5", TRADE_NO_UNIT, 0, 0},
    {"obs >= 30", PASS, "range", "value={obs} min=30", TRADE_NO_UNIT, 0, 0},
    {"t >= 2", PASS, "range", "value={t} min=2", TRADE_NO_UNIT, 0, 0},
    {"q*3.785411784", UNIT, NULL, "q", TRADE_GPM, 1, 0},
    {"g*3.785411784", UNIT, NULL, "g", TRADE_GALLON, 1, 0},
    {"x*3.785411784", UNIT, NULL, "x", TRADE_GALLON, 1, 0},
    {"d*2.54", UNIT, NULL, "d", TRADE_INCH, 0.1, 0}, // ours is the millimeter
    {"x*25.4", UNIT, NULL, "x", TRADE_INCH, 1, 0},
    {"x*0.3048", UNIT, NULL, "x", TRADE_FOOT, 1, 0},
    {"x*4.4482216152605*0.3048", UNIT, NULL, "x", TRADE_FOOT_POUND, 1, 0},
    {"x*25.4*9.80665", UNIT, NULL, "x", TRADE_INWC, 1, 0},
    {"x*249.08891", UNIT, NULL, "x", TRADE_INWC, 1, 0},
    {"x*28.316846592/60", UNIT, NULL, "x", TRADE_CFH, 1.0 / 60, 0}, // ours is liters an hour
    {"x/3.785411784", UNIT, NULL, "x", TRADE_ML_PER_GALLON, 1, 0},
    {"1728/231", UNIT_INVERSE, NULL, NULL, TRADE_CUBIC_FOOT, 1, 0},
    {"b-a", NOT_OURS, "the differences between two K, held by the K themselves", NULL,
     TRADE_NO_UNIT, 0, 0},
    {"2*exp(-K/V2) > 2*exp(-K/V1)", NOT_OURS, "a property, held by the property tests", NULL,
     TRADE_NO_UNIT, 0, 0},
    {"r < 10", NOT_OURS, STRICT, NULL, TRADE_NO_UNIT, 0, 0},
    {"r < 25", NOT_OURS, STRICT, NULL, TRADE_NO_UNIT, 0, 0},
    {"frac > 0.25", NOT_OURS, STRICT, NULL, TRADE_NO_UNIT, 0, 0},
    {"v < 50", NOT_OURS, STRICT, NULL, TRADE_NO_UNIT, 0, 0},
    {"v > 600", NOT_OURS, STRICT, NULL, TRADE_NO_UNIT, 0, 0},
    {"20 < d < 100", NOT_OURS, PLACE, NULL, TRADE_NO_UNIT, 0, 0},
    {"h <= 18 and r <= 20", NOT_OURS, PLACE, NULL, TRADE_NO_UNIT, 0, 0},
    {"0.10*lel*10000", NOT_OURS, ATMOSPHERE, NULL, TRADE_NO_UNIT, 0, 0},
    {"pct > 10", NOT_OURS, ATMOSPHERE, NULL, TRADE_NO_UNIT, 0, 0},
    {"0.10*lel", NOT_OURS, ATMOSPHERE, NULL, TRADE_NO_UNIT, 0, 0},
    {"0.5*0.10*lel", NOT_OURS, ATMOSPHERE, NULL, TRADE_NO_UNIT, 0, 0},
    {"lel_pct < 100", NOT_OURS, ATMOSPHERE, NULL, TRADE_NO_UNIT, 0, 0},
    {"R*C*ln(V0/50)", NOT_OURS, CIRCUIT, NULL, TRADE_NO_UNIT, 0, 0},
    {"R*C*ln(V0/50) <= 60", NOT_OURS, CIRCUIT, NULL, TRADE_NO_UNIT, 0, 0},
    {"60/(C*ln(V0/50))", NOT_OURS, CIRCUIT, NULL, TRADE_NO_UNIT, 0, 0},
    {"R*C*ln(V0/60) <= 5", NOT_OURS, CIRCUIT, NULL, TRADE_NO_UNIT, 0, 0},
    {"C*V <= 60e-6", NOT_OURS, CIRCUIT, NULL, TRADE_NO_UNIT, 0, 0},
    {"V*(1+0.00095*dT)", NOT_OURS, "warming is no test; a shut line is measured", NULL,
     TRADE_NO_UNIT, 0, 0},
    {"x*4.4482216152605*0.0254", NOT_OURS, NO_UNIT, NULL, TRADE_NO_UNIT, 0, 0},
    {"x*4.4482216152605/0.00064516", NOT_OURS, NO_UNIT, NULL, TRADE_NO_UNIT, 0, 0},
    {"x*4.4482216152605", NOT_OURS, NO_UNIT, NULL, TRADE_NO_UNIT, 0, 0},
};

static struct json_tape tape;

static const char *text_of(const struct json_node *check, const char *name, char *buffer,
                           size_t size) {
    assert_true(json_copy(&tape, json_present(&tape, check, name), buffer, size));
    return buffer;
}

// The system and number of nozzles of a K.
static const char *band_of(double k) {
    static const struct {
        double k;
        const char *band;
    } bands[] = {
        {500.887, "system=assist nozzles=6"},   {531.614, "system=assist nozzles=7"},
        {562.455, "system=assist nozzles=18"},  {593.412, "system=assist nozzles=19"},
        {624.483, "system=assist nozzles=25"},  {760.490, "system=balance nozzles=1"},
        {792.196, "system=balance nozzles=12"}, {824.023, "system=balance nozzles=13"},
        {855.974, "system=balance nozzles=24"}, {888.047, "system=balance nozzles=99"},
    };
    for (size_t i = 0; i < COUNT_OF(bands); i++) {
        if (bands[i].k == k) {
            return bands[i].band;
        }
    }
    fail_msg("no band has K = %g", k);
    return "";
}

static double input_of(const struct json_node *inputs, const char *name) {
    const struct json_node *node = json_present(&tape, inputs, name);
    double number = NAN;
    char text[32];
    if (node != NULL && node->kind == JSON_STRING) {
        assert_true(json_copy(&tape, node, text, sizeof text));
        return strtod(text, NULL);
    }
    assert_true(json_double(&tape, node, &number));
    return number;
}

// Puts the inputs into a line.
static void line_make(const char *from, const struct json_node *inputs, char *line, size_t size) {
    size_t used = 0;
    line[0] = '\0';
    while (*from != '\0') {
        char name[16], put[64];
        size_t length = strcspn(from, "{");
        used += (size_t)snprintf(line + used, size - used, "%.*s", (int)length, from);
        from += length;
        if (*from == '\0') {
            break;
        }
        length = strcspn(from, "}");
        snprintf(name, sizeof name, "%.*s", (int)length - 1, from + 1);
        if (strcmp(name, "band") == 0) {
            snprintf(put, sizeof put, "%s", band_of(input_of(inputs, "K")));
        } else {
            char *over = strchr(name, '/');
            double by = over != NULL ? strtod(over + 1, NULL) : 1;
            name[strcspn(name, "/")] = '\0';
            snprintf(put, sizeof put, "%.17g", input_of(inputs, name) / by);
        }
        used += (size_t)snprintf(line + used, size - used, "%s", put);
        from += length + 1;
    }
    assert_true(used < size);
}

static double found_by_rule(const struct way *way, const struct json_node *inputs) {
    char line[256];
    line_make(way->line, inputs, line, sizeof line);
    struct model_result result = given_result(way->rule, line);
    switch (way->look) {
    case VALUE:
        return result.has_value ? result.value : NAN;
    case MIN:
        return result.limits.has_min ? result.limits.min : NAN;
    case MAX:
        return result.limits.has_max ? result.limits.max : NAN;
    default:
        return result.has_pass ? (double)result.pass : NAN;
    }
}

static double found(const struct way *way, const struct json_node *inputs) {
    double factor = way->times != 0 ? way->times : 1;
    if (way->look == UNIT) {
        return input_of(inputs, way->line) * trade_unit_factor(way->unit) * factor;
    }
    if (way->look == UNIT_INVERSE) {
        return trade_unit_factor(way->unit) / trade_unit_factor(TRADE_GALLON);
    }
    return found_by_rule(way, inputs) * factor - way->less;
}

static const struct way *way_of(const char *formula) {
    for (size_t i = 0; i < COUNT_OF(ways); i++) {
        if (strcmp(ways[i].formula, formula) == 0) {
            return &ways[i];
        }
    }
    return NULL;
}

// What is expected as a number: a verdict is 1 or 0.
static double expected_of(const struct json_node *check, double *tolerance) {
    const struct json_node *node = json_present(&tape, check, "expected");
    double number = NAN;
    assert_non_null(node);
    assert_true(json_double(&tape, json_present(&tape, check, "tolerance"), tolerance));
    if (node->kind == JSON_TRUE || node->kind == JSON_FALSE) {
        return node->kind == JSON_TRUE;
    }
    assert_true(json_double(&tape, node, &number));
    // A figure that is exact by definition may differ by the last bits of the way to it.
    *tolerance += fabs(number) * 4.5e-16;
    return number;
}

static bool check_one(const struct json_node *check) {
    char id[80], formula[80], source[256];
    double tolerance = 0;
    text_of(check, "id", id, sizeof id);
    text_of(check, "source", source, sizeof source);
    assert_true(source[0] != '\0');
    const struct way *way = way_of(text_of(check, "formula", formula, sizeof formula));
    if (way == NULL) {
        fail_msg("%s: nothing here works \"%s\" out, and nothing says why", id, formula);
        return false;
    }
    if (way->look == NOT_OURS) {
        return false;
    }
    double expected = expected_of(check, &tolerance);
    double value = found(way, json_present(&tape, check, "inputs"));
    if (!(fabs(value - expected) <= tolerance)) {
        fail_msg("%s: %.17g, and %.17g by %s", id, value, expected, source);
    }
    return true;
}

static char *file_read(const char *path, size_t *length) {
    FILE *file = fopen(path, "re");
    assert_non_null(file);
    char *text = calloc(1, 1 << 18);
    assert_non_null(text);
    *length = fread(text, 1, (1 << 18) - 1, file);
    fclose(file);
    return text;
}

static void every_check_value_holds(void **state) {
    static const struct json_limits limits = {1 << 18, 8, false};
    struct json_error error;
    size_t length = 0, held = 0, rest = 0;
    char *text = file_read(FORELOCK_PUBLISHED, &length);
    (void)state;
    if (!json_scan(&tape, text, length, &limits, &error)) {
        fail_msg("published.json: %s", error.what);
    }
    const struct json_node *all = json_root(&tape);
    for (const struct json_node *node = json_first(&tape, all); node != NULL;
         node = json_next(&tape, all, node)) {
        *(check_one(node) ? &held : &rest) += 1;
    }
    print_message("%zu check values hold, %zu are no rule's\n", held, rest);
    assert_int_equal(held, 103);
    assert_int_equal(rest, 25);
    json_tape_free(&tape);
    free(text);
}

static void every_reason_is_of_use(void **state) {
    size_t length = 0;
    char *text = file_read(FORELOCK_PUBLISHED, &length), quoted[100];
    (void)state;
    for (size_t i = 0; i < COUNT_OF(ways); i++) {
        snprintf(quoted, sizeof quoted, "\"formula\": \"%s\"", ways[i].formula);
        if (strstr(text, quoted) == NULL) {
            fail_msg("no check value has the formula %s", ways[i].formula);
        }
    }
    free(text);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_check_value_holds),
        cmocka_unit_test(every_reason_is_of_use),
    };
    return cmocka_run_group_tests_name("published check values", tests, NULL, NULL);
}
