// A reading held against the procedure's limits.
#include "trade/rule.h"

#include <float.h>

static const struct trade_reading range_readings[] = {
    {.name = "value",
     .title = "Reading, in the procedure's unit",
     .kind = TRADE_NUMBER,
     .min = -DBL_MAX,
     .max = DBL_MAX},
};

static bool range_work(const struct trade_input *inputs, struct trade_outcome *outcome,
                       struct trade_error *error) {
    (void)error;
    outcome->has_value = true;
    outcome->value = inputs[0].value;
    trade_say(outcome->working.put, sizeof outcome->working.put, "value = %.10g", outcome->value);
    return true;
}

const struct trade_row trade_row_range = {
    .about = {.rule = "range",
              .title = "A reading within the procedure's limits",
              .formula = "min <= value <= max",
              .readings = range_readings,
              .reading_count = TRADE_COUNT_OF(range_readings),
              .limits = TRADE_LIMITS_NEEDED},
    .work = range_work,
};
