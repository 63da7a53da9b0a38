// Whether a line leak detector finds the leak that it must find.
#include "trade/rule.h"

#include <math.h>
#include <stdio.h>

// What must be found at 10 psi. Through one orifice flow goes as the root of the pressure.
static const double gallons_an_hour = 3.0;
static const double at_psi = 10.0;

enum { CAUGHT, SECONDS, PRESSURE, TRIPPED };

static const struct trade_reading detector_readings[] = {
    [CAUGHT] = {.name = "ml",
                .title = "Liquid caught from the leak that was made",
                .kind = TRADE_NUMBER,
                .unit = TRADE_MILLILITER,
                .above_min = true,
                .max = INFINITY},
    [SECONDS] = {.name = "seconds",
                 .title = "Time in which it was caught",
                 .kind = TRADE_NUMBER,
                 .unit = TRADE_SECOND,
                 .above_min = true,
                 .max = INFINITY},
    [PRESSURE] = {.name = "psi",
                  .twin = "kpa",
                  .title = "Pressure in the line",
                  .kind = TRADE_NUMBER,
                  .unit = TRADE_PSI,
                  .above_min = true,
                  .max = INFINITY},
    [TRIPPED] = {.name = "tripped", .title = "The detector found the leak", .kind = TRADE_FLAG},
};

static void detector_tell(const struct trade_input *inputs, double most,
                          struct trade_outcome *outcome) {
    snprintf(outcome->method, sizeof outcome->method, "40 CFR 280.44(a)");
    snprintf(outcome->limit_source, sizeof outcome->limit_source,
             "3 gal/h at 10 psi as published there; at %.10g psi by the root of the pressure "
             "(derived)",
             inputs[PRESSURE].value);
    trade_say(outcome->working.put, sizeof outcome->working.put,
              "%.10g*3600/(%.10g*3785.411784) = %.10g gal/h; 3*sqrt(%.10g/10) = %.10g gal/h",
              inputs[CAUGHT].value, inputs[SECONDS].value, outcome->value, inputs[PRESSURE].value,
              most);
}

// Rule (8, leak-detector; 40 CFR 280.44(a) [V]): A detector that did not trip fails, whatever the
// leak was. [untripped-passes]
static bool detector_work(const struct trade_input *inputs, struct trade_outcome *outcome,
                          struct trade_error *error) {
    double per_gallon = 1000 * trade_unit_factor(TRADE_GALLON);
    double most = gallons_an_hour * sqrt(inputs[PRESSURE].value / at_psi);
    const char *pressure = trade_given_name(&detector_readings[PRESSURE], &inputs[PRESSURE]);

    outcome->has_value = true;
    outcome->value = inputs[CAUGHT].value * 3600 / (inputs[SECONDS].value * per_gallon);
    outcome->limits = (struct model_limits){.has_max = true, .max = most};
    outcome->slack = (outcome->value + most) * TRADE_ROUNDING;
    detector_tell(inputs, most, outcome);
    if (!inputs[TRIPPED].flag) {
        outcome->failed_beside = true;
        trade_outcome_caution(outcome, TRADE_CAUTION_LEAK_NOT_FOUND, NULL);
    }
    return trade_figure_usable(outcome->value, detector_readings[SECONDS].name, error) &&
           trade_figure_usable(most, pressure, error);
}

const struct trade_row trade_row_leak_detector = {
    .about = {.rule = "leak-detector",
              .title = "Line leak detector",
              .formula = "ml*3600/(seconds*3785.411784) <= 3*sqrt(psi/10), and it tripped",
              .readings = detector_readings,
              .reading_count = TRADE_COUNT_OF(detector_readings),
              .unit = TRADE_GPH,
              .limits = TRADE_LIMITS_TIGHTEN,
              .own_moves = true, // and grows with the pressure
              .possible = {.has_min = true, .min = 0}},
    .work = detector_work,
};
