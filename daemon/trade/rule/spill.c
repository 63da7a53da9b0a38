// Whether a spill must be reported. It passes where nothing must be.
#include "trade/rule.h"

#include <math.h>
#include <stdio.h>

#define GALLONS 25.0
// Within these it must be cleaned up.
static const double hours_to_clean = 24;

enum { QUANTITY, SHEEN, HOURS };

static const struct trade_reading spill_readings[] = {
    [QUANTITY] = {.name = "quantity_gal",
                  .twin = "quantity_l",
                  .title = "Liquid spilled",
                  .kind = TRADE_NUMBER,
                  .unit = TRADE_GALLON,
                  .above_min = true,
                  .max = INFINITY},
    [SHEEN] = {.name = "sheen",
               .title = "A sheen on water nearby",
               .kind = TRADE_FLAG,
               .optional = true},
    [HOURS] = {.name = "hours",
               .title = "Hours until it was cleaned up, or so far",
               .kind = TRADE_NUMBER,
               .unit = TRADE_HOUR,
               .min = 0,
               .max = INFINITY,
               .optional = true},
};

static void report_due(struct trade_outcome *outcome, enum trade_caution why,
                       const struct model_caution *figures) {
    outcome->failed_beside = true;
    trade_outcome_caution(outcome, why, figures);
}

// Rule (8, spill; 40 CFR 280.53 [V]): A sheen on water nearby is reported, whatever was spilled.
// [sheen-passes]
// Rule (8, spill; 40 CFR 280.53 [V]): What is not cleaned up in 24 h is reported, whatever was
// spilled. [uncleaned-passes]
// Rule (8, spill): What was not said of a spill is told, not taken for none. [spill-silence]
static bool spill_work(const struct trade_input *inputs, struct trade_outcome *outcome,
                       struct trade_error *error) {
    (void)error;
    outcome->has_value = true;
    outcome->value = inputs[QUANTITY].value;
    outcome->slack = inputs[QUANTITY].slack;
    snprintf(outcome->method, sizeof outcome->method, "40 CFR 280.53");
    snprintf(outcome->limit_source, sizeof outcome->limit_source,
             "over 25 gal, a sheen, or not cleaned up in 24 h, as published there");
    trade_say(outcome->working.put, sizeof outcome->working.put,
              "spilled = %.10g gal; over %.10g gal is reported", outcome->value, GALLONS);
    trade_say(outcome->working.note, sizeof outcome->working.note,
              "Local authority may ask for a report of less, and sooner.");
    if (!inputs[SHEEN].present) {
        trade_outcome_caution(outcome, TRADE_CAUTION_SHEEN_UNSAID, NULL);
    }
    if (!inputs[HOURS].present) {
        trade_outcome_caution(outcome, TRADE_CAUTION_HOURS_UNSAID,
                              TRADE_FIGURES(.has_max = true, .max = hours_to_clean));
    }
    if (inputs[SHEEN].flag) {
        report_due(outcome, TRADE_CAUTION_SHEEN, NULL);
    }
    if (inputs[HOURS].value > hours_to_clean) {
        report_due(outcome, TRADE_CAUTION_UNCLEANED,
                   TRADE_FIGURES(.has_max = true, .max = hours_to_clean));
    }
    return true;
}

const struct trade_row trade_row_spill = {
    .about = {.rule = "spill",
              .title = "Whether a spill must be reported",
              .formula = "quantity_gal <= 25, no sheen, hours <= 24",
              .readings = spill_readings,
              .reading_count = TRADE_COUNT_OF(spill_readings),
              .unit = TRADE_GALLON,
              .limits = TRADE_LIMITS_TIGHTEN,
              .own = {.has_max = true, .max = GALLONS},
              .possible = {.has_min = true, .min = 0}},
    .work = spill_work,
};
