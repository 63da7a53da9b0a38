// What the vapor path holds back.
#include "trade/rule.h"

#include <math.h>
#include <stdio.h>

#define LOOSEST 0.62

// The most back pressure by flow. It goes as the square of the flow, as for one orifice.
static const struct {
    double flow, most;
    bool from_memory;
} back_pressure_table[] = {{40, 0.16, true}, {60, 0.35, false}, {80, LOOSEST, false}};

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

// Rule (8, back-pressure): A pressure of exactly 0 is said to be suspicious. [zero-in-silence]
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
    back_pressure_tell(row, outcome);
    if (outcome->value == 0) {
        trade_outcome_caution(outcome, TRADE_CAUTION_PRESSURE_ZERO, NULL);
    }
    return true;
}

// Rule (8, test rules): The loosest limit that a row tells is that of the loosest readings.
// [back-pressure-loosest-untrue]
const struct trade_row trade_row_back_pressure = {
    .about = {.rule = "back-pressure",
              .title = "Back pressure of the vapor path",
              .formula = "pressure_inwc <= limit at flow_cfh",
              .readings = back_pressure_readings,
              .reading_count = TRADE_COUNT_OF(back_pressure_readings),
              .unit = TRADE_INWC,
              .limits = TRADE_LIMITS_TIGHTEN,
              .own = {.has_max = true, .max = LOOSEST},
              .own_moves = true,
              .possible = {.has_min = true, .min = 0}},
    .work = back_pressure_work,
};
