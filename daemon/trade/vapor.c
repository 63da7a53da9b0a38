// The vapor path at the hose: what it holds back, how much vapor it returns for the liquid given,
// and how it clears itself of liquid.
#include "trade/rule.h"

#include <math.h>
#include <stdio.h>

// The most back pressure by flow. It goes as the square of the flow, as for one orifice.
static const struct {
    double flow, most;
    bool from_memory;
} back_pressure_table[] = {{40, 0.16, true}, {60, 0.35, false}, {80, 0.62, false}};

enum { FLOW, PRESSURE };

static const struct trade_reading back_pressure_readings[] = {
    [FLOW] = {.name = "flow_cfh",
              .title = "Nitrogen flow (40, 60 or 80 CFH)",
              .kind = TRADE_NUMBER,
              .unit = TRADE_CFH,
              .above_min = true,
              .max = INFINITY},
    [PRESSURE] = {.name = "pressure_inwc",
                  .twin = "pressure_pa",
                  .title = "Dynamic back pressure",
                  .kind = TRADE_NUMBER,
                  .unit = TRADE_INWC,
                  .min = 0,
                  .max = INFINITY},
};

static void back_pressure_tell(size_t row, struct trade_outcome *outcome) {
    double flow = back_pressure_table[row].flow, most = back_pressure_table[row].most;

    snprintf(outcome->method, sizeof outcome->method, "TP-201.4");
    snprintf(outcome->limit_source, sizeof outcome->limit_source, "%.2f in WC at %.0f CFH %s", most,
             flow,
             back_pressure_table[row].from_memory
                 ? TRADE_FROM_MEMORY
                 : "as quoted in a dispenser maker's installation manual s.2.10.1");
    trade_say(outcome->working.put, sizeof outcome->working.put,
              "pressure = %.10g in WC; at %.0f CFH at most %.2f in WC", outcome->value, flow, most);
}

static bool back_pressure_work(const struct trade_input *inputs, struct trade_outcome *outcome,
                               struct trade_error *error) {
    const char *name = back_pressure_readings[FLOW].name;
    size_t row = 0;

    while (row < TRADE_COUNT_OF(back_pressure_table) &&
           back_pressure_table[row].flow != inputs[FLOW].value) {
        row++;
    }
    if (row == TRADE_COUNT_OF(back_pressure_table)) {
        return trade_fail(error, name, "%s must be 40, 60 or 80; found %.10g", name,
                          inputs[FLOW].given);
    }
    outcome->has_value = true;
    outcome->value = inputs[PRESSURE].value;
    outcome->slack = inputs[PRESSURE].slack;
    outcome->limits = (struct model_limits){.has_max = true, .max = back_pressure_table[row].most};
    outcome->limits_from_memory = back_pressure_table[row].from_memory;
    back_pressure_tell(row, outcome);
    return true;
}

const struct trade_row trade_row_back_pressure = {
    .about = {.rule = "back-pressure",
              .title = "Back pressure of the vapor path",
              .formula = "pressure_inwc <= limit at flow_cfh",
              .readings = back_pressure_readings,
              .reading_count = TRADE_COUNT_OF(back_pressure_readings),
              .unit = TRADE_INWC,
              .limits = TRADE_LIMITS_TIGHTEN},
    .work = back_pressure_work,
};

// As the procedures print it; exactly it is 1728/231 = 7.480 519…
static const double gallons_per_cubic_foot = 7.481;
// At or below this the certification calls the hose defective.
static const double ratio_out_of_service = 0.80;

enum { FACTOR, VAPOR_INITIAL, VAPOR_FINAL, LIQUID };

static const struct trade_reading ratio_readings[] = {
    [FACTOR] = {.name = "meter_factor",
                .title = "Correction factor of the vapor meter",
                .kind = TRADE_NUMBER,
                .above_min = true,
                .max = INFINITY},
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
                .max = INFINITY},
};

static void ratio_tell(const struct trade_input *inputs, struct trade_outcome *outcome) {
    struct trade_working *working = &outcome->working;
    double liquid = inputs[LIQUID].value, slack = inputs[LIQUID].slack;

    snprintf(outcome->method, sizeof outcome->method, "formula TP-201.5, %s", TRADE_FROM_MEMORY);
    snprintf(outcome->limit_source, sizeof outcome->limit_source,
             "0.95 to 1.15 at 6 to 10 gpm as printed in a California executive order");
    trade_say(working->put, sizeof working->put, "%.10g*(%.10g - %.10g)*7.481/%.10g = %.10g",
              inputs[FACTOR].value, inputs[VAPOR_FINAL].value, inputs[VAPOR_INITIAL].value, liquid,
              outcome->value);
    trade_say(working->note, sizeof working->note,
              "The window is the certification's; three runs are averaged where it is close.");
    if (liquid + slack < 4.5 || liquid - slack > 5.0) {
        trade_warn(working, "The method asks for 4.5 to 5.0 gal dispensed; found %.10g.", liquid);
    }
    if (outcome->value <= ratio_out_of_service + outcome->slack) {
        trade_warn(working, "At or below 0.80 the hose is defective and stays out of service.");
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
    outcome->limits =
        (struct model_limits){.has_min = true, .has_max = true, .min = 0.95, .max = 1.15};
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
              .limits = TRADE_LIMITS_REPLACE},
    .work = ratio_work,
};

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
    outcome->limits = (struct model_limits){.has_min = true, .min = 5.0};
    outcome->limits_from_memory = true;
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
              .limits = TRADE_LIMITS_TIGHTEN},
    .work = removal_work,
};
