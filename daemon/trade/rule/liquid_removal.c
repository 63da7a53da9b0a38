// How the vapor path clears itself of liquid.
#include "trade/rule.h"

#include <math.h>
#include <stdio.h>

enum { REMOVAL_INITIAL, REMOVAL_FINAL, DISPENSED };

static const struct trade_reading removal_readings[] = {
    [REMOVAL_INITIAL] = {.name = "initial_ml",
                         .title = "Liquid poured into the vapor path",
                         .kind = TRADE_NUMBER,
                         .unit = TRADE_MILLILITER,
                         .min = 0,
                         .max = INFINITY},
    [REMOVAL_FINAL] = {.name = "final_ml",
                       .title = "Liquid left in the vapor path",
                       .kind = TRADE_NUMBER,
                       .unit = TRADE_MILLILITER,
                       .min = 0,
                       .max = INFINITY},
    [DISPENSED] = {.name = "dispensed_gal",
                   .twin = "dispensed_l",
                   .title = "Liquid dispensed",
                   .kind = TRADE_NUMBER,
                   .unit = TRADE_GALLON,
                   .above_min = true,
                   .max = INFINITY},
};

static bool removal_work(const struct trade_input *inputs, struct trade_outcome *outcome,
                         struct trade_error *error) {
    double before = inputs[REMOVAL_INITIAL].value, after = inputs[REMOVAL_FINAL].value;
    double dispensed = inputs[DISPENSED].value;
    const char *name = removal_readings[REMOVAL_FINAL].name;

    if (after > before) {
        return trade_fail(error, name, "%s is impossible: more is left than was poured in", name);
    }
    outcome->has_value = true;
    outcome->value = (before - after) / dispensed;
    outcome->slack = DBL_EPSILON * (before + after) / dispensed + outcome->value * TRADE_ROUNDING;
    snprintf(outcome->method, sizeof outcome->method, "TP-201.6, %s", TRADE_FROM_MEMORY);
    snprintf(outcome->limit_source, sizeof outcome->limit_source, "5 ml/gal %s", TRADE_FROM_MEMORY);
    trade_say(outcome->working.put, sizeof outcome->working.put,
              "(%.10g - %.10g)/%.10g = %.10g ml/gal", before, after, dispensed, outcome->value);
    return trade_figure_usable(outcome->value + outcome->slack,
                               trade_given_name(&removal_readings[DISPENSED], &inputs[DISPENSED]),
                               error);
}

const struct trade_row trade_row_liquid_removal = {
    .about = {.rule = "liquid-removal",
              .title = "Liquid cleared from the vapor path",
              .formula = "(initial_ml - final_ml)/dispensed_gal",
              .readings = removal_readings,
              .reading_count = TRADE_COUNT_OF(removal_readings),
              .unit = TRADE_ML_PER_GALLON,
              .limits = TRADE_LIMITS_REPLACE, // from memory
              .own = {.has_min = true, .min = 5.0},
              .possible = {.has_min = true, .min = 0}},
    .work = removal_work,
};
