// What to set a torque wrench to when an adapter changes its length. A figure, not a verdict.
#include "trade/rule.h"

#include <math.h>
#include <stdio.h>

enum { TARGET, WRENCH, ADAPTER, ANGLE, WRENCH_MIN, WRENCH_MAX };

static const struct trade_reading torque_readings[] = {
    [TARGET] = {.name = "target_ftlb",
                .twin = "target_nm",
                .title = "Torque wanted at the fastener",
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
    [WRENCH_MIN] = {.name = "wrench_min_ftlb",
                    .twin = "wrench_min_nm",
                    .title = "Least mark of the wrench",
                    .kind = TRADE_NUMBER,
                    .unit = TRADE_FOOT_POUND,
                    .min = 0,
                    .max = INFINITY,
                    .optional = true},
    [WRENCH_MAX] = {.name = "wrench_max_ftlb",
                    .twin = "wrench_max_nm",
                    .title = "Full scale of the wrench",
                    .kind = TRADE_NUMBER,
                    .unit = TRADE_FOOT_POUND,
                    .above_min = true,
                    .max = INFINITY,
                    .optional = true},
};

// cos of an angle in degrees; exactly 0 at a right angle, where an adapter changes nothing.
static double cosine(double degrees) {
    return degrees == 90.0 ? 0.0 : cos(degrees * (M_PI / 180.0));
}

double trade_torque_reach(double wrench, double adapter, double degrees) {
    return wrench + adapter * cosine(degrees);
}

// A wrench is trusted from this part of its full scale on.
static const double least_part = 0.2;

// Warns where the setting (in ft.lbf) is out of the wrench's trustworthy part, 20 to 100 %.
static void wrench_warn(const struct trade_input *inputs, double setting,
                        struct trade_outcome *outcome) {
    const struct trade_input *least = &inputs[WRENCH_MIN], *full = &inputs[WRENCH_MAX];
    double slack = setting * TRADE_ROUNDING;

    if (least->present && setting + slack < least->value) {
        trade_outcome_caution(outcome, TRADE_CAUTION_WRENCH_BELOW, NULL);
    }
    if (full->present && setting - slack > full->value) {
        trade_outcome_caution(outcome, TRADE_CAUTION_WRENCH_BEYOND, NULL);
    } else if (full->present && setting + slack < least_part * full->value) {
        trade_outcome_caution(outcome, TRADE_CAUTION_WRENCH_LARGE,
                              TRADE_FIGURES(.has_max = true, .max = 100 * least_part));
    }
}

static void torque_tell(const struct trade_input *inputs, double target, double bend,
                        struct trade_outcome *outcome) {
    struct trade_working *working = &outcome->working;

    snprintf(
        outcome->method, sizeof outcome->method,
        "US Army TM 1-1500-204-23-9 Fig 8-16; FAA AC 43.13-1B 7-40(h) requires the correction");
    trade_say(working->put, sizeof working->put, "%.10g*%.10g/(%.10g + %.10g*%.10g) = %.10g %s",
              target, inputs[WRENCH].value, inputs[WRENCH].value, inputs[ADAPTER].value, bend,
              outcome->value, trade_unit_symbol(outcome->unit));
    trade_say(working->note, sizeof working->note,
              "The wrench must be in calibration and held at the center of its grip.");
}

static bool wrench_range_possible(const struct trade_input *inputs, struct trade_error *error) {
    const struct trade_input *least = &inputs[WRENCH_MIN], *full = &inputs[WRENCH_MAX];
    const char *name = trade_given_name(&torque_readings[WRENCH_MAX], full);

    if (least->present && full->present && full->value < least->value) {
        return trade_fail(error, name, "%s is impossible: it is below the least mark", name);
    }
    return true;
}

static bool torque_work(const struct trade_input *inputs, struct trade_outcome *outcome,
                        struct trade_error *error) {
    const char *adapter = trade_given_name(&torque_readings[ADAPTER], &inputs[ADAPTER]);
    double bend = cosine(inputs[ANGLE].value); // 0 where it was left out
    double length = inputs[WRENCH].value;
    double reach = trade_torque_reach(length, inputs[ADAPTER].value, inputs[ANGLE].value);
    double target = inputs[TARGET].given;

    if (!(reach > 0)) {
        return trade_fail(error, adapter, "%s is impossible: it takes away the whole wrench",
                          adapter);
    }
    if (!wrench_range_possible(inputs, error)) {
        return false;
    }
    outcome->unit = inputs[TARGET].as_twin ? TRADE_NEWTON_METER : TRADE_FOOT_POUND;
    outcome->has_value = true;
    outcome->value = target * length / reach;
    torque_tell(inputs, target, bend, outcome);
    wrench_warn(inputs, inputs[TARGET].value * length / reach, outcome);
    return trade_figure_usable(outcome->value, adapter, error);
}

const struct trade_row trade_row_torque = {
    .about = {.rule = "torque",
              .title = "Setting of a torque wrench with an adapter",
              .formula = "target*wrench/(wrench + adapter*cos(angle))",
              .readings = torque_readings,
              .reading_count = TRADE_COUNT_OF(torque_readings),
              .unit = TRADE_FOOT_POUND,
              .limits = TRADE_LIMITS_NONE,
              .calc_only = "Set the wrench to",
              .set_with = "torque-wrench"},
    .work = torque_work,
};
