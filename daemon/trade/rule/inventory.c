// How far a month's inventory may differ from its books. A figure, not a verdict.
#include "trade/rule.h"

#include <math.h>
#include <stdio.h>

static const double share_of_throughput = 0.01;
static const double gallons_always = 130;

static const struct trade_reading inventory_readings[] = {
    {.name = "throughput_gal",
     .twin = "throughput_l",
     .title = "Liquid that went through the tank in the month",
     .kind = TRADE_NUMBER,
     .unit = TRADE_GALLON,
     .min = 0,
     .max = INFINITY},
};

static bool inventory_work(const struct trade_input *inputs, struct trade_outcome *outcome,
                           struct trade_error *error) {
    double most = share_of_throughput * inputs[0].value + gallons_always;

    outcome->has_value = true;
    outcome->value = most;
    if (inputs[0].as_twin) {
        outcome->unit = TRADE_LITER;
        outcome->value = most * trade_unit_factor(TRADE_GALLON);
    }
    snprintf(outcome->method, sizeof outcome->method, "40 CFR 280.43(a)");
    trade_say(outcome->working.put, sizeof outcome->working.put,
              "0.01*%.10g gal + 130 gal = %.10g gal", inputs[0].value, most);
    return trade_figure_usable(outcome->value, trade_given_name(&inventory_readings[0], &inputs[0]),
                               error);
}

const struct trade_row trade_row_inventory = {
    .about = {.rule = "inventory",
              .title = "What a month's inventory may differ by",
              .formula = "0.01*throughput_gal + 130",
              .readings = inventory_readings,
              .reading_count = TRADE_COUNT_OF(inventory_readings),
              .unit = TRADE_GALLON,
              .limits = TRADE_LIMITS_NONE,
              .calc_only = "The month's inventory may differ from its books by at most"},
    .work = inventory_work,
};
