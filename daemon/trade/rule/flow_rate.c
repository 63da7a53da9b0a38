// How fast the nozzle dispenses, from a volume and a time.
#include "trade/rule.h"

#include <math.h>
#include <stdio.h>

enum { VOLUME, SECONDS };

// A volume of nothing would be a flow of nothing, which is below every limit: it is no test.
static const struct trade_reading flow_readings[] = {
    [VOLUME] = {.name = "volume_gal",
                .twin = "volume_l",
                .title = "Volume dispensed",
                .kind = TRADE_NUMBER,
                .unit = TRADE_GALLON,
                .above_min = true,
                .max = INFINITY},
    [SECONDS] = {.name = "seconds",
                 .title = "Time taken",
                 .kind = TRADE_NUMBER,
                 .unit = TRADE_SECOND,
                 .above_min = true,
                 .max = INFINITY,
                 .valid = {.has_min = true, .min = 30},
                 .valid_by = "over at least 30 s, read in a public copy"},
};

static bool flow_work(const struct trade_input *inputs, struct trade_outcome *outcome,
                      struct trade_error *error) {
    double volume = inputs[VOLUME].value, seconds = inputs[SECONDS].value;

    outcome->has_value = true;
    outcome->value = volume * 60.0 / seconds;
    outcome->slack = outcome->value * TRADE_ROUNDING;
    snprintf(outcome->method, sizeof outcome->method,
             "40 CFR 80.22(j), CFR 2015 annual edition, now Part 1090 Subpart P");
    snprintf(outcome->limit_source, sizeof outcome->limit_source,
             "at most 10 gpm (37.854118 L/min) as published there, at least 5 gpm or what the "
             "order asks for, the greater, as read in a public copy");
    trade_say(outcome->working.put, sizeof outcome->working.put, "%.10g gal*60/%.10g s = %.10g gpm",
              volume, seconds, outcome->value);
    return trade_figure_usable(outcome->value, flow_readings[SECONDS].name, error);
}

const struct trade_row trade_row_flow_rate = {
    .about = {.rule = "flow-rate",
              .title = "Rate of flow at the nozzle",
              .formula = "volume_gal*60/seconds",
              .readings = flow_readings,
              .reading_count = TRADE_COUNT_OF(flow_readings),
              .unit = TRADE_GPM,
              .limits = TRADE_LIMITS_TIGHTEN,
              .own = {true, true, 5.0, 10.0},
              .possible = {.has_min = true, .min = 0}},
    .work = flow_work,
};
