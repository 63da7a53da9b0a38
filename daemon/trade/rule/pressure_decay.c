// Five minutes of waiting: how much pressure must be left.
#include "trade/rule.h"

#include <math.h>
#include <stdio.h>

// K of TP-201.3 by number of nozzles. Of the second for vacuum assist, the scan that was read
// prints 571.614, which breaks the series; 531.614 restores it and is the stricter of the two.
struct band {
    double nozzles; // up to and with
    double k;
    const char *said;
};

enum system_kind { ASSIST, BALANCE };
#define BANDS 5

static const struct band bands[][BANDS] = {
    [ASSIST] =
        {
            {6, 500.887, "as printed in a California executive order, s.9.1 Eq 9-1"},
            {12, 531.614, "by the series, " TRADE_FROM_MEMORY " (the scan is misprinted)"},
            {18, 562.455, "as printed in a California executive order, s.9.1 Eq 9-1"},
            {24, 593.412, "as printed in a California executive order, s.9.1 Eq 9-1"},
            {INFINITY, 624.483, "as printed in a California executive order, s.9.1 Eq 9-1"},
        },
    [BALANCE] =
        {
            {6, 760.490, "for balance systems, " TRADE_FROM_MEMORY},
            {12, 792.196, "for balance systems, " TRADE_FROM_MEMORY},
            {18, 824.023, "for balance systems, " TRADE_FROM_MEMORY},
            {24, 855.974, "for balance systems, " TRADE_FROM_MEMORY},
            {INFINITY, 888.047, "for balance systems, " TRADE_FROM_MEMORY},
        },
};

// Apart from it, the one K of 40 CFR 63 Subpart CCCCCC, for what that rule calls a vapor balance
// system, whatever its nozzles.
static const struct band federal_band = {
    INFINITY, 500.887, "for what that rule calls a vapor balance system, CFR 2015 annual edition"};

// The drift of a gauge in five minutes, in WC, that the exhibit of one pressure-management vessel
// allows (TP-201.3 itself gives none): what a tight system may seem to have gained. More means that
// something feeds the tank and hides a leak.
#define GAUGE_DRIFT 0.01
// The most that the start may read, and so the most that can be left.
#define MOST_AT_START 2.01
#define MOST (MOST_AT_START + GAUGE_DRIFT)

enum { BASIS, SYSTEM, NOZZLES, ULLAGE, INITIAL, FINAL };
enum { METHOD, FEDERAL };

static const struct trade_reading pressure_readings[] = {
    [BASIS] = {.name = "basis",
               .title =
                   "By TP-201.3, which is also meant where nothing is said, or the federal rule",
               .kind = TRADE_WORD,
               .words = "tp-201.3 federal",
               .optional = true},
    [SYSTEM] = {.name = "system",
                .title = "Vapor recovery system (tp-201.3)",
                .kind = TRADE_WORD,
                .words = "assist balance",
                .optional = true},
    [NOZZLES] = {.name = "nozzles",
                 .title = "Nozzles on the tanks tested (tp-201.3)",
                 .kind = TRADE_COUNT,
                 .min = 1,
                 .max = INFINITY,
                 .optional = true,
                 .valid = {true, true, 1, 60},
                 .valid_by = "no site has more nozzles on one set of tanks; common practice, no "
                             "source"},
    [ULLAGE] = {.name = "ullage_gal",
                .twin = "ullage_l",
                .title = "Total ullage",
                .kind = TRADE_NUMBER,
                .unit = TRADE_GALLON,
                .above_min = true,
                .max = INFINITY,
                .valid = {.has_min = true, .min = 100},
                .valid_by = "less is no tank, or a slip of the pen; common practice, no source"},
    [INITIAL] = {.name = "initial_inwc",
                 .twin = "initial_pa",
                 .title = "Pressure at the start",
                 .kind = TRADE_NUMBER,
                 .unit = TRADE_INWC,
                 .min = 1.99,
                 .max = MOST_AT_START},
    [FINAL] = {.name = "final_inwc",
               .twin = "final_pa",
               .title = "Pressure after 5 minutes",
               .kind = TRADE_NUMBER,
               .unit = TRADE_INWC,
               .min = 0,
               .max = INFINITY},
};

// Rule (8, pressure-decay): By the federal rule one K holds, whatever the system and its nozzles.
// [federal-by-nozzles]
static const struct band *band_of(const struct trade_input *inputs) {
    const struct band *band = bands[inputs[SYSTEM].word];

    if (inputs[BASIS].word == FEDERAL) {
        return &federal_band;
    }
    while (inputs[NOZZLES].value > band->nozzles) {
        band++;
    }
    return band;
}

// Readings that belong to the other basis are no more ignored than unknown ones.
// Rule (8, pressure-decay): The federal basis takes neither system nor nozzles.
// [federal-takes-system]
// Rule (8, pressure-decay): TP-201.3 takes system and nozzles. [method-without-system]
static bool basis_given_as_due(const struct trade_input *inputs, struct trade_error *error) {
    bool federal = inputs[BASIS].word == FEDERAL;

    for (size_t i = SYSTEM; i <= NOZZLES; i++) {
        const char *name = pressure_readings[i].name;
        if (!federal && !inputs[i].present) {
            return trade_fail(error, name, "%s is missing: the basis tp-201.3 needs it", name);
        }
        if (federal && inputs[i].present && !inputs[BASIS].of_site) {
            return trade_fail(error, name, "%s is no reading of the basis federal", name);
        }
    }
    return true;
}

// What the site's tanks hold together; 0: not said.
static double tanks_hold(const struct model_vapor *vapor) {
    double gallons = 0;

    for (size_t i = 0; i < vapor->tank_count; i++) {
        gallons += vapor->tanks[i].gallons;
    }
    return gallons;
}

static void pressure_site(const struct model_vapor *vapor, struct trade_input *inputs,
                          struct trade_outcome *outcome) {
    const struct trade_reading *rows = pressure_readings;
    double hold = tanks_hold(vapor);

    trade_site_word(&rows[BASIS], vapor->basis, &inputs[BASIS], outcome);
    if (inputs[BASIS].word != FEDERAL) {
        trade_site_word(&rows[SYSTEM], vapor->system, &inputs[SYSTEM], outcome);
        trade_site_count(&rows[NOZZLES], vapor->nozzles, &inputs[NOZZLES], outcome);
    } else if (inputs[BASIS].of_site) {
        trade_site_none(&rows[SYSTEM], vapor->basis, &inputs[SYSTEM], outcome);
        trade_site_none(&rows[NOZZLES], vapor->basis, &inputs[NOZZLES], outcome);
    }
    if (hold > 0) {
        trade_site_most(&rows[ULLAGE], hold, &inputs[ULLAGE], outcome);
    }
}

static bool pressure_final_possible(const struct trade_input *inputs, struct trade_error *error) {
    const struct trade_input *initial = &inputs[INITIAL], *final = &inputs[FINAL];
    double slack = initial->slack + final->slack + final->value * TRADE_ROUNDING;
    const char *name = trade_given_name(&pressure_readings[FINAL], final);

    if (final->value - initial->value <= GAUGE_DRIFT + slack) {
        return true;
    }
    return trade_fail(error, name, "%s is impossible: the pressure rose from %.10g to %.10g in WC",
                      name, initial->value, final->value);
}

// Rule (8, pressure-decay): A result cites the rule that it applies, and no other.
// [other-basis-cited]
static void pressure_tell(const struct band *band, double ullage, double least,
                          struct trade_outcome *outcome) {
    snprintf(outcome->formula, sizeof outcome->formula,
             "final_inwc >= 2*exp(-K/ullage_gal), K = %.3f", band->k);
    snprintf(outcome->method, sizeof outcome->method,
             band == &federal_band ? "40 CFR 63 Subpart CCCCCC Table 1 item 1(h)"
                                   : "TP-201.3, Table 3-1 or Equation 9.1");
    snprintf(outcome->limit_source, sizeof outcome->limit_source, "K = %.3f %s", band->k,
             band->said);
    trade_say(outcome->working.put, sizeof outcome->working.put,
              "final = %.10g in WC; 2*exp(-%.3f/%.10g) = %.10g in WC", outcome->value, band->k,
              ullage, least);
    trade_say(
        outcome->working.note, sizeof outcome->working.note,
        "Not of this method, but of the exhibit of one pressure-management vessel: a gauge that "
        "drifts no more than 0.01 in WC in 5 minutes, and nitrogen at no more than 4 CFM.");
}

static bool pressure_decay_work(const struct trade_input *inputs, struct trade_outcome *outcome,
                                struct trade_error *error) {
    const struct band *band = band_of(inputs);
    const struct trade_input *ullage = &inputs[ULLAGE];
    const char *name = trade_given_name(&pressure_readings[ULLAGE], ullage);
    double exponent = band->k / ullage->value;
    double least = 2.0 * exp(-exponent);

    if (!basis_given_as_due(inputs, error) || !pressure_final_possible(inputs, error)) {
        return false;
    }
    // An ullage so small that nothing at all would be left to ask for is a slip of the pen.
    if (!(least > 0)) {
        return trade_fail(error, name, "%s is impossible: %.10g is no tank", name, ullage->given);
    }
    outcome->has_value = true;
    outcome->value = inputs[FINAL].value;
    outcome->limits = (struct model_limits){.has_min = true, .min = least};
    outcome->slack = inputs[FINAL].slack + least * exponent * ullage->slack / ullage->value;
    pressure_tell(band, ullage->value, least, outcome);
    return true;
}

const struct trade_row trade_row_pressure_decay = {
    .about = {.rule = "pressure-decay",
              .title = "Pressure left after 5 minutes",
              .formula = "final_inwc >= 2*exp(-K/ullage_gal)",
              .readings = pressure_readings,
              .reading_count = TRADE_COUNT_OF(pressure_readings),
              .unit = TRADE_INWC,
              .limits = TRADE_LIMITS_TIGHTEN,
              .own = {.has_min = true, .min = 0}, // of an ever smaller ullage
              .own_moves = true,
              .possible = {.has_min = true, .has_max = true, .min = 0, .max = MOST}},
    .work = pressure_decay_work,
    .site = pressure_site,
};
