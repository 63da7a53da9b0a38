// How far the hose lets the nozzle go from its dispenser.
#include "trade/rule.h"

#include <math.h>
#include <stdio.h>

static const struct trade_reading length_readings[] = {
    {.name = "length_ft",
     .twin = "length_m",
     .title = "Hose from the base of the nozzle to the dispenser",
     .kind = TRADE_NUMBER,
     .unit = TRADE_FOOT,
     .above_min = true,
     .max = INFINITY},
};

static bool length_work(const struct trade_input *inputs, struct trade_outcome *outcome,
                        struct trade_error *error) {
    (void)error;
    outcome->has_value = true;
    outcome->value = inputs[0].value;
    outcome->slack = inputs[0].slack;
    snprintf(outcome->method, sizeof outcome->method,
             "measured from the base of the nozzle to the dispenser");
    snprintf(outcome->limit_source, sizeof outcome->limit_source,
             "18 ft as read in a public copy of the code for dispensing");
    trade_say(outcome->working.put, sizeof outcome->working.put, "length = %.10g ft; at most 18 ft",
              outcome->value);
    return true;
}

const struct trade_row trade_row_hose_length = {
    .about = {.rule = "hose-length",
              .title = "Length of the hose",
              .formula = "length_ft <= 18",
              .readings = length_readings,
              .reading_count = TRADE_COUNT_OF(length_readings),
              .unit = TRADE_FOOT,
              .limits = TRADE_LIMITS_TIGHTEN,
              .own = {.has_max = true, .max = 18.0},
              .possible = {.has_min = true, .min = 0}},
    .work = length_work,
};
