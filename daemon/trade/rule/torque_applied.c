// What a torque wrench with an adapter applies at the fastener, from what the wrench reads.
#include "trade/rule.h"

#include <math.h>
#include <stdio.h>

enum { READING, WRENCH, ADAPTER, ANGLE };

static const struct trade_reading applied_readings[] = {
    [READING] = {.name = "reading_ftlb",
                 .twin = "reading_nm",
                 .title = "Reading of the wrench",
                 .kind = TRADE_NUMBER,
                 .unit = TRADE_FOOT_POUND,
                 .above_min = true,
                 .max = INFINITY},
    [WRENCH] = {.name = "wrench_in",
                .twin = "wrench_mm",
                .title = "Length of the wrench, from its drive to the center of the grip",
                .kind = TRADE_NUMBER,
                .unit = TRADE_INCH,
                .above_min = true,
                .max = INFINITY},
    [ADAPTER] = {.name = "adapter_in",
                 .twin = "adapter_mm",
                 .title = "Length of the adapter; negative where it shortens",
                 .kind = TRADE_NUMBER,
                 .unit = TRADE_INCH,
                 .min = -INFINITY,
                 .max = INFINITY},
    [ANGLE] = {.name = "angle_deg",
               .title = "Angle between adapter and wrench; 0 if not given",
               .kind = TRADE_NUMBER,
               .unit = TRADE_DEGREE,
               .min = 0,
               .max = 180,
               .optional = true},
};

double trade_torque_applied(double reading, double wrench, double adapter, double degrees) {
    return reading * trade_torque_reach(wrench, adapter, degrees) / wrench;
}

// In the unit of the limits; without any, in the one that was read.
// Rule (8, torque-applied): What is held to the limits is applied at the fastener, in their unit.
// [torque-of-the-wrench]
static double reading_in(const struct trade_input *reading, struct trade_outcome *outcome) {
    double factor = trade_unit_factor(TRADE_FOOT_POUND);

    outcome->slack = reading->slack;
    if (outcome->unit == TRADE_NEWTON_METER) {
        return reading->as_twin ? reading->given : reading->value * factor;
    }
    if (reading->as_twin && outcome->as_read) {
        outcome->unit = TRADE_NEWTON_METER;
        return reading->given;
    }
    return reading->value;
}

static bool applied_work(const struct trade_input *inputs, struct trade_outcome *outcome,
                         struct trade_error *error) {
    const char *adapter = trade_given_name(&applied_readings[ADAPTER], &inputs[ADAPTER]);
    double reading = reading_in(&inputs[READING], outcome);
    double length = inputs[WRENCH].value, extra = inputs[ADAPTER].value;

    outcome->has_value = true;
    outcome->value = trade_torque_applied(reading, length, extra, inputs[ANGLE].value);
    outcome->slack = fabs(outcome->value) * TRADE_ROUNDING;
    outcome->per_reading = trade_torque_applied(1, length, extra, inputs[ANGLE].value);
    if (!(outcome->value > 0)) {
        return trade_fail(error, adapter, "%s is impossible: it takes away the whole wrench",
                          adapter);
    }
    snprintf(
        outcome->method, sizeof outcome->method,
        "US Army TM 1-1500-204-23-9 Fig 8-16; FAA AC 43.13-1B 7-40(h) requires the correction");
    trade_say(outcome->working.put, sizeof outcome->working.put,
              "%.10g*(%.10g + %.10g*cos %.10g)/%.10g = %.10g %s", reading, length, extra,
              inputs[ANGLE].value, length, outcome->value, trade_unit_symbol(outcome->unit));
    trade_say(outcome->working.note, sizeof outcome->working.note,
              "The component's own instructions give the torque; the wrench must be in calibration "
              "and held at the center of its grip.");
    return trade_figure_usable(outcome->value, adapter, error);
}

const struct trade_row trade_row_torque_applied = {
    .about = {.rule = "torque-applied",
              .title = "Torque at the fastener under a wrench with an adapter",
              .formula = "reading*(wrench + adapter*cos(angle))/wrench",
              .readings = applied_readings,
              .reading_count = TRADE_COUNT_OF(applied_readings),
              .unit = TRADE_FOOT_POUND,
              .other_unit = TRADE_NEWTON_METER,
              .limits = TRADE_LIMITS_GIVEN,
              .possible = {.has_min = true, .min = 0}},
    .work = applied_work,
};
