// Five minutes of waiting under pressure: how much a pressure-management vessel must hold.
#include "trade/rule.h"

#include <math.h>
#include <stdio.h>

// As the exhibit of the vessel prints them, in WC: from the first, more than the second.
#define LEAST 1.77
#define MOST_AT_START 2.01

enum { VESSEL_INITIAL, VESSEL_FINAL };

static const struct trade_reading vessel_readings[] = {
    [VESSEL_INITIAL] = {.name = "initial_inwc",
                        .twin = "initial_pa",
                        .title = "Pressure at the start",
                        .kind = TRADE_NUMBER,
                        .unit = TRADE_INWC,
                        .min = 1.99,
                        .max = MOST_AT_START},
    [VESSEL_FINAL] = {.name = "final_inwc",
                      .twin = "final_pa",
                      .title = "Pressure after 5 minutes",
                      .kind = TRADE_NUMBER,
                      .unit = TRADE_INWC,
                      .min = 0,
                      .max = INFINITY},
};

static bool vessel_work(const struct trade_input *inputs, struct trade_outcome *outcome,
                        struct trade_error *error) {
    const struct trade_input *initial = &inputs[VESSEL_INITIAL], *final = &inputs[VESSEL_FINAL];
    const char *name = trade_given_name(&vessel_readings[VESSEL_FINAL], final);

    if (final->value - final->slack > initial->value + initial->slack) {
        return trade_fail(error, name,
                          "%s is impossible: the pressure rose from %.10g to %.10g in WC", name,
                          initial->value, final->value);
    }
    outcome->has_value = true;
    outcome->value = final->value;
    outcome->slack = final->slack;
    snprintf(outcome->method, sizeof outcome->method,
             "exhibit of one pressure-management vessel in a California executive order");
    snprintf(outcome->limit_source, sizeof outcome->limit_source,
             "from 2.00 to more than 1.77 in WC in 5 min as printed there");
    trade_say(outcome->working.put, sizeof outcome->working.put,
              "from %.10g in WC more than 1.77 in WC must be left; final = %.10g in WC",
              initial->value, final->value);
    trade_say(outcome->working.note, sizeof outcome->working.note,
              "It is for that vessel alone; other equipment has figures of its own.");
    return true;
}

const struct trade_row trade_row_vessel_decay = {
    .about = {.rule = "vessel-decay",
              .title = "Pressure left in a pressure-management vessel after 5 minutes",
              .formula = "final_inwc > 1.77",
              .readings = vessel_readings,
              .reading_count = TRADE_COUNT_OF(vessel_readings),
              .unit = TRADE_INWC,
              .limits = TRADE_LIMITS_TIGHTEN,
              .exceeds = true,
              .own = {.has_min = true, .min = LEAST},
              .possible = {.has_min = true, .has_max = true, .min = 0, .max = MOST_AT_START}},
    .work = vessel_work,
};
