// Five minutes of waiting under vacuum: how much a pressure-management vessel must hold. Its twin
// under pressure is vessel_decay.c.
#include "trade/rule.h"

#include <math.h>
#include <stdio.h>

#define LOOSEST 0.8
#define DEEPEST 8

// The table of one vessel, as printed in its exhibit: a vacuum at the start, and the least that
// must be left, in WC.
static const struct {
    double start, least;
} vacuum_table[] = {{DEEPEST, 5.5}, {7, 4.7}, {6, 3.8}, {5, 3.0}, {4, 2.2}, {3, 1.5}, {2, LOOSEST}};

enum { VACUUM_START, VACUUM_FINAL };

static const struct trade_reading vacuum_readings[] = {
    [VACUUM_START] = {.name = "start_inwc",
                      .twin = "start_pa",
                      .title = "Vacuum at the start (8, 7, 6, 5, 4, 3 or 2 in WC)",
                      .kind = TRADE_NUMBER,
                      .unit = TRADE_INWC,
                      .above_min = true,
                      .max = INFINITY},
    [VACUUM_FINAL] = {.name = "final_inwc",
                      .twin = "final_pa",
                      .title = "Vacuum after 5 minutes",
                      .kind = TRADE_NUMBER,
                      .unit = TRADE_INWC,
                      .min = 0,
                      .max = INFINITY},
};

// The table has whole inches only. A gauge in pascals cannot show them exactly, so its nearest
// whole pascal counts as the row.
static bool vacuum_row(const struct trade_input *start, size_t *row) {
    double near = start->as_twin ? 0.5 / trade_unit_factor(TRADE_INWC) : 0.0;

    for (*row = 0; *row < TRADE_COUNT_OF(vacuum_table); (*row)++) {
        if (fabs(start->value - vacuum_table[*row].start) <= near) {
            return true;
        }
    }
    return false;
}

static bool vacuum_decay_work(const struct trade_input *inputs, struct trade_outcome *outcome,
                              struct trade_error *error) {
    const struct trade_input *start = &inputs[VACUUM_START], *final = &inputs[VACUUM_FINAL];
    const char *name = trade_given_name(&vacuum_readings[VACUUM_START], start);
    size_t row;

    if (!vacuum_row(start, &row)) {
        return trade_fail(error, name,
                          "%s must be a row of the table (8, 7, 6, 5, 4, 3 or 2 in WC); "
                          "found %.10g",
                          name, start->given);
    }
    if (final->value - final->slack > start->value + start->slack) {
        name = trade_given_name(&vacuum_readings[VACUUM_FINAL], final);
        return trade_fail(error, name,
                          "%s is impossible: the vacuum grew from %.10g to %.10g in WC", name,
                          start->value, final->value);
    }
    outcome->has_value = true;
    outcome->value = final->value;
    outcome->slack = final->slack;
    outcome->limits = (struct model_limits){.has_min = true, .min = vacuum_table[row].least};
    snprintf(
        outcome->method, sizeof outcome->method,
        "table of one pressure-management vessel in a California executive order exhibit, Table 1");
    trade_say(outcome->working.put, sizeof outcome->working.put,
              "from %.10g in WC at least %.10g in WC must be left; final = %.10g in WC",
              vacuum_table[row].start, vacuum_table[row].least, final->value);
    trade_say(outcome->working.note, sizeof outcome->working.note,
              "The table is for that vessel alone; other equipment has figures of its own.");
    return true;
}

// Rule (8, test rules): The loosest limit that a row tells is that of the loosest readings.
// [vacuum-loosest-untrue]
const struct trade_row trade_row_vacuum_decay = {
    .about = {.rule = "vacuum-decay",
              .title = "Vacuum left in a pressure-management vessel after 5 minutes",
              .formula = "final_inwc >= table[start_inwc]",
              .readings = vacuum_readings,
              .reading_count = TRADE_COUNT_OF(vacuum_readings),
              .unit = TRADE_INWC,
              .limits = TRADE_LIMITS_TIGHTEN,
              .own = {.has_min = true, .min = LOOSEST},
              .own_moves = true,
              .possible = {.has_min = true, .has_max = true, .min = 0, .max = DEEPEST}},
    .work = vacuum_decay_work,
};
