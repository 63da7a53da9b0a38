// Whether a dispenser gives what it says: runs into a prover.
#include "trade/fuel.h"
#include "trade/rule.h"

#include <math.h>
#include <stdio.h>

// The runs may differ by this part of the maintenance tolerance.
static const double part_of_tolerance = 0.4;
static const double cubic_inches_per_gallon = 231;
// An acceptance tolerance is never less, in3.
static const double least_acceptance = 1.0;

enum { TOLERANCE, PROVER, RUN_FIRST, RUN_SECOND, RUN_THIRD };
enum { MAINTENANCE, ACCEPTANCE };

#define RUN(name_, twin_, title_, optional_)                                                       \
    {                                                                                              \
        .name = name_, .twin = twin_, .title = title_, .kind = TRADE_NUMBER,                       \
        .unit = TRADE_CUBIC_INCH, .min = -INFINITY, .max = INFINITY, .optional = optional_         \
    }

static const struct trade_reading draft_readings[] = {
    [TOLERANCE] = {.name = "tolerance",
                   .title = "Tolerance; acceptance for a new or newly set meter",
                   .kind = TRADE_WORD,
                   .words = "maintenance acceptance"},
    [PROVER] = {.name = "draft_gal",
                .twin = "draft_l",
                .title = "Volume of each run",
                .kind = TRADE_NUMBER,
                .unit = TRADE_GALLON,
                .above_min = true,
                .max = INFINITY},
    [RUN_FIRST] = RUN("error1_in3", "error1_ml",
                      "Error of the first run; negative where less was given than shown", false),
    [RUN_SECOND] = RUN("error2_in3", "error2_ml", "Error of the second run", true),
    [RUN_THIRD] = RUN("error3_in3", "error3_ml", "Error of the third run", true),
};

// The runs that were made, of which the one farthest from zero is judged.
struct runs {
    unsigned count;
    double least, most, worst, slack;
};

static struct runs runs_of(const struct trade_input *inputs) {
    struct runs runs = {0, INFINITY, -INFINITY, 0, 0};

    for (size_t i = RUN_FIRST; i <= RUN_THIRD; i++) {
        const struct trade_input *run = &inputs[i];
        if (run->present) {
            runs.count++;
            runs.least = fmin(runs.least, run->value);
            runs.most = fmax(runs.most, run->value);
            runs.slack = fmax(runs.slack, run->slack);
            runs.worst = fabs(run->value) > fabs(runs.worst) ? run->value : runs.worst;
        }
    }
    return runs;
}

// Rule (8, meter-draft; NIST Handbook 44 section 3.30 T.3 [M]): Runs that differ by more than 40 %
// of the maintenance tolerance fail. [draft-range-ignored]
// Rule (8, meter-draft; NIST Handbook 44 section 3.30 T.3 [M]): Runs may differ as much by an
// acceptance test as by a maintenance test. [draft-range-of-acceptance]
static void range_judge(const struct runs *runs, double maintenance,
                        struct trade_outcome *outcome) {
    double range = runs->most - runs->least, most = part_of_tolerance * maintenance;

    if (runs->count < 2) {
        trade_outcome_caution(outcome, TRADE_CAUTION_ONE_RUN, NULL);
    } else if (range > most + 2 * runs->slack + most * TRADE_ROUNDING) {
        outcome->failed_beside = true;
        trade_outcome_caution(
            outcome, TRADE_CAUTION_RUNS_DIFFER,
            TRADE_FIGURES(.has_value = true, .value = range, .has_max = true, .max = most));
    }
}

static void draft_tell(const struct trade_input *inputs, const struct runs *runs, double most,
                       struct trade_outcome *outcome) {
    bool acceptance = inputs[TOLERANCE].word == ACCEPTANCE;

    snprintf(outcome->method, sizeof outcome->method,
             "NIST Handbook 44 section 3.30 T.2, T.3, " TRADE_FROM_MEMORY);
    snprintf(outcome->limit_source, sizeof outcome->limit_source,
             "%s tolerance; +/- 6 in3 at 5 gal, half of it when new, as quoted",
             acceptance ? "acceptance" : "maintenance");
    trade_say(outcome->working.put, sizeof outcome->working.put,
              "worst of %u = %.10g in3; tolerance %.10g in3; range %.10g in3", runs->count,
              runs->worst, most, runs->most - runs->least);
    trade_say(outcome->working.note, sizeof outcome->working.note,
              "The totalizer and the price are not judged.");
}

static bool draft_work(const struct trade_input *inputs, struct trade_outcome *outcome,
                       struct trade_error *error) {
    const char *prover = trade_given_name(&draft_readings[PROVER], &inputs[PROVER]);
    double maintenance = trade_meter_tolerance(inputs[PROVER].value) * cubic_inches_per_gallon;
    struct runs runs = runs_of(inputs);
    double most = inputs[TOLERANCE].word == ACCEPTANCE ? fmax(maintenance / 2, least_acceptance)
                                                       : maintenance;

    outcome->has_value = true;
    outcome->value = runs.worst;
    outcome->limits = (struct model_limits){true, true, -most, most};
    outcome->slack = runs.slack + most * TRADE_ROUNDING;
    draft_tell(inputs, &runs, most, outcome);
    range_judge(&runs, maintenance, outcome);
    return trade_figure_usable(most, prover, error);
}

const struct trade_row trade_row_meter_draft = {
    .about = {.rule = "meter-draft",
              .title = "Error of the meter",
              .formula =
                  "|error| <= 1 + draft_gal (acceptance: half), range <= 0.4*(1 + draft_gal)",
              .readings = draft_readings,
              .reading_count = TRADE_COUNT_OF(draft_readings),
              .unit = TRADE_CUBIC_INCH,
              .limits = TRADE_LIMITS_TIGHTEN,
              .own_moves = true}, // and grows with the draft
    .work = draft_work,
};
