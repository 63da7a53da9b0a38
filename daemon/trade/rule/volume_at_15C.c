// What a volume of gasoline would be at 15 degrees Celsius. A figure, not a verdict.
#include "trade/rule.h"

#include <math.h>
#include <stdio.h>

// Of gasoline, for the density at 15 degrees in kg/m3.
static const double k0 = 346.42278, k1 = 0.43884;

enum { DENSITY, TEMPERATURE, VOLUME };

static const struct trade_reading volume_readings[] = {
    [DENSITY] = {.name = "density_kgm3",
                 .title = "Density of the gasoline at 15 deg C",
                 .kind = TRADE_NUMBER,
                 .unit = TRADE_DENSITY,
                 .above_min = true,
                 .max = INFINITY,
                 .valid = {true, true, 610.5, 770},
                 .valid_by = "the range of these constants in public code (secondary)"},
    [TEMPERATURE] = {.name = "temperature_c",
                     .title = "Temperature of the liquid",
                     .kind = TRADE_NUMBER,
                     .unit = TRADE_CELSIUS,
                     .min = -273.15,
                     .max = INFINITY},
    [VOLUME] = {.name = "volume_gal",
                .twin = "volume_l",
                .title = "Volume at that temperature; without it the factor is told",
                .kind = TRADE_NUMBER,
                .unit = TRADE_GALLON,
                .min = 0,
                .max = INFINITY,
                .optional = true},
};

static bool volume_work(const struct trade_input *inputs, struct trade_outcome *outcome,
                        struct trade_error *error) {
    const struct trade_input *volume = &inputs[VOLUME];
    double density = inputs[DENSITY].value, difference = inputs[TEMPERATURE].value - 15.0;
    double alpha = k0 / (density * density) + k1 / density;
    double factor = exp(-alpha * difference * (1 + 0.8 * alpha * difference));

    outcome->has_value = true;
    outcome->value = factor;
    if (volume->present) {
        outcome->unit = volume->as_twin ? TRADE_LITER : TRADE_GALLON;
        outcome->value = factor * volume->given;
    }
    snprintf(outcome->method, sizeof outcome->method,
             "volume correction of gasoline as worked out by public code (secondary)");
    trade_say(outcome->working.put, sizeof outcome->working.put,
              "a = %.10g per deg C; exp(-a*%.10g*(1 + 0.8*a*%.10g)) = %.10g", alpha, difference,
              difference, factor);
    return trade_figure_usable(outcome->value, volume_readings[DENSITY].name, error) &&
           trade_figure_usable(alpha, volume_readings[DENSITY].name, error);
}

const struct trade_row trade_row_volume_at_15C = {
    .about = {.rule = "volume-at-15C",
              .title = "Volume of gasoline at 15 deg C",
              .formula = "exp(-a*dT*(1 + 0.8*a*dT)), a = 346.42278/density^2 + 0.43884/density",
              .readings = volume_readings,
              .reading_count = TRADE_COUNT_OF(volume_readings),
              .limits = TRADE_LIMITS_NONE,
              .calc_only = "At 15 deg C it is"},
    .work = volume_work,
};
