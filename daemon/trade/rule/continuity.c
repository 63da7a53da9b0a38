// Whether static electricity finds its way to ground: resistance by the parts of the hanging
// hardware, or of the whole chain. The two criteria differ, so a result says which it used.
#include "trade/rule.h"

#include <math.h>
#include <stdio.h>

static const double ohms_per_piece = 500e3;
static const double ohms_per_foot = 70e3;
static const double ohms_of_chain = 1e6;

enum { CRITERION, OHMS, PIECES, HOSE };
enum { PARTS, CHAIN };

static const struct trade_reading continuity_readings[] = {
    [CRITERION] = {.name = "criterion",
                   .title = "By parts, or the whole chain",
                   .kind = TRADE_WORD,
                   .words = "parts chain"},
    [OHMS] = {.name = "ohms",
              .title = "Resistance from spout to ground",
              .kind = TRADE_NUMBER,
              .unit = TRADE_OHM,
              .min = 0,
              .max = INFINITY},
    [PIECES] = {.name = "pieces",
                .title = "Nozzle, swivels and breakaways (parts)",
                .kind = TRADE_COUNT,
                .min = 1,
                .max = INFINITY,
                .optional = true,
                .valid = {.has_max = true, .max = 10},
                .valid_by = "more is no hanging hardware; common practice, no source"},
    [HOSE] = {.name = "hose_ft",
              .twin = "hose_m",
              .title = "Length of all hose (parts)",
              .kind = TRADE_NUMBER,
              .unit = TRADE_FOOT,
              .min = 0,
              .max = INFINITY,
              .optional = true,
              .valid = {.has_max = true, .max = 18},
              .valid_by = "18 ft of hose at most, read in a public copy"},
};

// Readings that belong to the other criterion are no more ignored than unknown ones.
static bool parts_given_as_due(const struct trade_input *inputs, struct trade_error *error) {
    bool due = inputs[CRITERION].word == PARTS;

    for (size_t i = PIECES; i <= HOSE; i++) {
        const char *name = trade_given_name(&continuity_readings[i], &inputs[i]);
        if (due && !inputs[i].present) {
            return trade_fail(error, name, "%s is missing: the criterion parts needs it", name);
        }
        if (!due && inputs[i].present) {
            return trade_fail(error, name, "%s is no reading of the criterion chain", name);
        }
    }
    return true;
}

static void chain_tell(struct trade_outcome *outcome) {
    outcome->limits = (struct model_limits){.has_max = true, .max = ohms_of_chain};
    snprintf(outcome->formula, sizeof outcome->formula, "ohms <= 1000000 (criterion chain)");
    snprintf(outcome->method, sizeof outcome->method, "criterion chain");
    snprintf(outcome->limit_source, sizeof outcome->limit_source, "1 megohm, NFPA 77 as quoted");
    trade_say(outcome->working.put, sizeof outcome->working.put,
              "whole chain = %.10g ohm; at most 1000000 ohm", outcome->value);
}

static void parts_tell(double pieces, const struct trade_input *hose,
                       struct trade_outcome *outcome) {
    double most = pieces * ohms_per_piece + hose->value * ohms_per_foot;

    outcome->limits = (struct model_limits){.has_max = true, .max = most};
    outcome->slack = most * TRADE_ROUNDING;
    snprintf(outcome->formula, sizeof outcome->formula,
             "ohms <= pieces*500000 + hose_ft*70000 (criterion parts)");
    snprintf(outcome->method, sizeof outcome->method, "criterion parts, 500 V dc");
    snprintf(outcome->limit_source, sizeof outcome->limit_source,
             "500 kilohm a piece and 70 kilohm/ft as quoted in a nozzle maker's technical bulletin "
             "on conductivity testing");
    trade_say(outcome->working.put, sizeof outcome->working.put,
              "chain = %.10g ohm; at most %.10g*500000 + %.10g*70000 = %.10g ohm", outcome->value,
              pieces, hose->value, most);
    trade_say(outcome->working.note, sizeof outcome->working.note,
              "These limits are for 500 V dc; a 9 V meter does not make this test.");
}

static bool continuity_work(const struct trade_input *inputs, struct trade_outcome *outcome,
                            struct trade_error *error) {
    if (!parts_given_as_due(inputs, error)) {
        return false;
    }
    outcome->has_value = true;
    outcome->value = inputs[OHMS].value;
    if (inputs[CRITERION].word == CHAIN) {
        chain_tell(outcome);
        return true;
    }
    parts_tell(inputs[PIECES].value, &inputs[HOSE], outcome);
    return trade_figure_usable(inputs[PIECES].value * ohms_per_piece,
                               continuity_readings[PIECES].name, error) &&
           trade_figure_usable(outcome->limits.max,
                               trade_given_name(&continuity_readings[HOSE], &inputs[HOSE]), error);
}

const struct trade_row trade_row_continuity = {
    .about = {.rule = "continuity",
              .title = "Resistance of the hanging hardware to ground",
              .formula = "ohms <= pieces*500000 + hose_ft*70000, or ohms <= 1000000",
              .readings = continuity_readings,
              .reading_count = TRADE_COUNT_OF(continuity_readings),
              .unit = TRADE_OHM,
              .limits = TRADE_LIMITS_TIGHTEN,
              .own_moves = true, // and grows with every piece and foot
              .possible = {.has_min = true, .min = 0}},
    .work = continuity_work,
};
