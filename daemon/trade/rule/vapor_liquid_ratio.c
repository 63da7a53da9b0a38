// How much vapor the hose returns for the liquid given.
#include "trade/rule.h"

#include <math.h>
#include <stdio.h>

// As the procedures print it; exactly it is 1728/231 = 7.480 519…
static const double gallons_per_cubic_foot = 7.481;
// At or below this the certification calls the hose defective.
static const double ratio_out_of_service = 0.80;

enum { FACTOR, VAPOR_INITIAL, VAPOR_FINAL, LIQUID, FLOW };

#define ADVISORY "TP-201.5 as ARB Enforcement Advisory 194 has it"

static const struct trade_reading ratio_readings[] = {
    [FACTOR] =
        {.name = "meter_factor",
         .title = "Correction factor of the vapor meter",
         .kind = TRADE_NUMBER,
         .above_min = true,
         .max = INFINITY,
         .valid = {true, true, 0.9, 1.1},
         .valid_by =
             "a meter that is farther off is not corrected but repaired; " TRADE_FROM_MEMORY},
    [VAPOR_INITIAL] = {.name = "vapor_initial_ft3",
                       .twin = "vapor_initial_l",
                       .title = "Vapor meter before",
                       .kind = TRADE_NUMBER,
                       .unit = TRADE_CUBIC_FOOT,
                       .min = 0,
                       .max = INFINITY},
    [VAPOR_FINAL] = {.name = "vapor_final_ft3",
                     .twin = "vapor_final_l",
                     .title = "Vapor meter after",
                     .kind = TRADE_NUMBER,
                     .unit = TRADE_CUBIC_FOOT,
                     .min = 0,
                     .max = INFINITY},
    [LIQUID] = {.name = "liquid_gal",
                .twin = "liquid_l",
                .title = "Liquid dispensed",
                .kind = TRADE_NUMBER,
                .unit = TRADE_GALLON,
                .above_min = true,
                .max = INFINITY,
                .valid = {true, true, 4.5, 5.0},
                .valid_by = ADVISORY},
    [FLOW] = {.name = "flow_gpm",
              .twin = "flow_lpm",
              .title = "Flow of the liquid",
              .kind = TRADE_NUMBER,
              .unit = TRADE_GPM,
              .above_min = true,
              .max = INFINITY,
              .optional = true,
              .valid = {true, true, 6.0, 10.0},
              .valid_by = "a California executive order, 6.0 to 10.0 gpm"},
};

static void ratio_tell(const struct trade_input *inputs, struct trade_outcome *outcome) {
    struct trade_working *working = &outcome->working;
    double liquid = inputs[LIQUID].value;

    snprintf(outcome->method, sizeof outcome->method, "formula TP-201.5, %s", TRADE_FROM_MEMORY);
    snprintf(outcome->limit_source, sizeof outcome->limit_source,
             "0.95 to 1.15 at 6 to 10 gpm as printed in a California executive order");
    trade_say(working->put, sizeof working->put, "%.10g*(%.10g - %.10g)*7.481/%.10g = %.10g",
              inputs[FACTOR].value, inputs[VAPOR_FINAL].value, inputs[VAPOR_INITIAL].value, liquid,
              outcome->value);
    trade_say(
        working->note, sizeof working->note,
        "The window is the certification's; where the first run fails closely, three are averaged "
        "(ARB Enforcement Advisory 194).");
    if (!inputs[FLOW].present) {
        trade_outcome_caution(outcome, TRADE_CAUTION_FLOW_UNSAID, NULL);
    }
    if (outcome->value <= ratio_out_of_service + outcome->slack) {
        trade_outcome_caution(outcome, TRADE_CAUTION_HOSE_DEFECTIVE,
                              TRADE_FIGURES(.has_max = true, .max = ratio_out_of_service));
    }
}

static bool ratio_work(const struct trade_input *inputs, struct trade_outcome *outcome,
                       struct trade_error *error) {
    const struct trade_input *before = &inputs[VAPOR_INITIAL], *after = &inputs[VAPOR_FINAL];
    const char *name = trade_given_name(&ratio_readings[VAPOR_FINAL], after);
    double liquid = inputs[LIQUID].value;
    double scale = inputs[FACTOR].value * gallons_per_cubic_foot / liquid;
    double vapor = after->value - before->value;
    double moved = before->slack + after->slack + DBL_EPSILON * (before->value + after->value);

    if (vapor < -moved) {
        return trade_fail(error, name, "%s is impossible: the vapor meter ran backward", name);
    }
    outcome->has_value = true;
    outcome->value = scale * vapor;
    outcome->slack = scale * moved + fabs(outcome->value) * TRADE_ROUNDING;
    ratio_tell(inputs, outcome);
    return trade_figure_usable(outcome->value + outcome->slack,
                               trade_given_name(&ratio_readings[LIQUID], &inputs[LIQUID]), error);
}

const struct trade_row trade_row_vapor_liquid_ratio = {
    .about = {.rule = "vapor-liquid-ratio",
              .title = "Vapor returned for the liquid dispensed",
              .formula = "meter_factor*(vapor_final_ft3 - vapor_initial_ft3)*7.481/liquid_gal",
              .readings = ratio_readings,
              .reading_count = TRADE_COUNT_OF(ratio_readings),
              .limits = TRADE_LIMITS_REPLACE, // the window is the certification's
              .certified = true,
              .own = {.has_min = true, .has_max = true, .min = 0.95, .max = 1.15},
              .possible = {.has_min = true, .min = 0}},
    .work = ratio_work,
};
