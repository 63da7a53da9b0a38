// The rule table, and the judging that all rules share: whose limits hold, how far the value is
// from them, and what the result says of its sources.
#include "trade/trade.h"

#include "trade/rule.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define RULE_ROW(name) &trade_row_##name,
static const struct trade_row *const rows[] = {TRADE_RULES(RULE_ROW)};

const struct trade_rule *trade_rule_at(size_t index) {
    return index < TRADE_COUNT_OF(rows) ? &rows[index]->about : NULL;
}

static const struct trade_row *row_find(const char *rule) {
    for (size_t i = 0; i < TRADE_COUNT_OF(rows); i++) {
        if (strcmp(rows[i]->about.rule, rule) == 0) {
            return rows[i];
        }
    }
    return NULL;
}

const struct trade_rule *trade_rule_find(const char *rule) {
    const struct trade_row *row = row_find(rule);

    return row != NULL ? &row->about : NULL;
}

bool trade_rule_known(const char *rule) {
    const struct trade_row *row = row_find(rule);

    return row != NULL && row->about.calc_only == NULL;
}

const char *trade_value_unit(const char *rule, const char *named) {
    const struct trade_row *row = rule != NULL ? row_find(rule) : NULL;
    const char *symbol = row != NULL ? trade_unit_symbol(row->about.unit) : "";

    return named != NULL ? named : symbol[0] != '\0' ? symbol : NULL;
}

const char *trade_limits_words(enum trade_limits_use use) {
    switch (use) {
    case TRADE_LIMITS_NEEDED:
        return "The procedure's min, max or both are the limits; in V, A, psi, kPa, Pa, bar, mbar "
               "and "
               "inH2O a max alone is -max to max.";
    case TRADE_LIMITS_GIVEN:
        return "The procedure's min, max or both are the limits; the calculator may leave them "
               "out.";
    case TRADE_LIMITS_REPLACE:
        return "The procedure's min and max each take the place of the rule's own.";
    case TRADE_LIMITS_TIGHTEN:
        return "A procedure may tighten the rule's own limit, never loosen it: the stricter holds.";
    case TRADE_LIMITS_NONE:
        break;
    }
    return "It takes no limits.";
}

// Rule (8, test rules): Only a limit that a procedure replaces stands in for the procedure's
// silence. [published-as-default]
struct model_limits trade_limits_replaced(const char *rule) {
    const struct trade_row *row = row_find(rule);
    bool replaced = row != NULL && row->about.limits == TRADE_LIMITS_REPLACE;

    return replaced ? row->about.own : (struct model_limits){0};
}

// The limits that hold, and which of them are the procedure's.
struct held {
    struct model_limits limits;
    bool own;       // one of the rule's own holds
    bool procedure; // one of the procedure's holds
};

// One end of the interval: the procedure's where it replaces the rule's or is stricter.
// Rule (8, test rules): A limit that tightens the rule's holds. [procedure-limit-forgotten]
// Rule (8, test rules): A result says that the limit came from the configuration.
// [limit-source-silent]
// Rule (8, test rules): A result names the source of the rule's own limit where that holds.
// [own-source-silent]
static void end_hold(bool has_own, double own, bool has_given, double given, bool given_wins,
                     bool *has, double *end, struct held *held) {
    *has = has_own || has_given;
    if (has_given && (!has_own || given_wins)) {
        *end = given;
        held->procedure = true;
    } else if (has_own) {
        *end = own;
        held->own = true;
    }
}

// Rule (8, test rules): A procedure's limit takes the place of the rule's own only where that is
// one certification's or from memory. [limit-replaces-published]
// Rule (8, test rules): Of a procedure's least value and the rule's the greater holds.
// [least-limit-turned]
// Rule (8, test rules): Of a procedure's greatest value and the rule's the smaller holds.
// [greatest-limit-turned]
static struct held limits_hold(const struct trade_rule *rule, const struct model_limits *own,
                               const struct model_limits *given) {
    bool replace = rule->limits == TRADE_LIMITS_REPLACE;
    struct held held = {0};

    end_hold(own->has_min, own->min, given->has_min, given->min, replace || given->min > own->min,
             &held.limits.has_min, &held.limits.min, &held);
    end_hold(own->has_max, own->max, given->has_max, given->max, replace || given->max < own->max,
             &held.limits.has_max, &held.limits.max, &held);
    return held;
}

// Rule (8, test rules): A procedure gives the limits of a rule that has none of its own.
// [procedure-without-limits]
// Rule (8, vapor-liquid-ratio): A procedure gives both ends of a window that is a certification's.
// [window-half-given]
bool trade_limits_complete(const struct trade_rule *rule, const struct model_limits *given,
                           struct trade_error *error) {
    bool asks = rule->limits == TRADE_LIMITS_NEEDED || rule->limits == TRADE_LIMITS_GIVEN;

    if (rule->certified && !(given->has_min && given->has_max)) {
        return trade_fail(error, given->has_min ? "max" : "min",
                          "a test by the rule \"%s\" needs \"min\" and \"max\" of the site's own "
                          "certification",
                          rule->rule);
    }
    if (asks && !given->has_min && !given->has_max) {
        return trade_fail(error, "min", "a test by the rule \"%s\" needs \"min\", \"max\" or both",
                          rule->rule);
    }
    return true;
}

// Limits that the rule can take at all.
// Rule (8, test rules): A rule without limits takes none. [limits-of-a-verdict]
// Rule (8, test rules): A reading without a rule's limits needs the procedure's.
// [range-without-limits]
static bool limits_fit(const struct trade_rule *rule, const struct model_limits *given,
                       struct trade_error *error) {
    if (rule->limits == TRADE_LIMITS_NONE && (given->has_min || given->has_max)) {
        const char *end = given->has_min ? "min" : "max";
        return trade_fail(error, end, "the rule \"%s\" takes no %s; leave it out", rule->rule, end);
    }
    if (rule->limits == TRADE_LIMITS_NEEDED && !trade_limits_complete(rule, given, error)) {
        return false;
    }
    return (!given->has_min || trade_figure_usable(given->min, "min", error)) &&
           (!given->has_max || trade_figure_usable(given->max, "max", error));
}

enum trade_unit trade_rule_unit(const struct trade_rule *rule, const char *named) {
    enum trade_unit unit = trade_unit_named(named);

    if (named == NULL) {
        return rule->unit;
    }
    return unit == rule->unit || unit == rule->other_unit ? unit : TRADE_NO_UNIT;
}

static bool loosens(const struct trade_rule *rule, const char *end, double own,
                    struct trade_error *error) {
    const char *unit = trade_unit_symbol(rule->unit);

    return trade_fail(error, end,
                      "loosens the limit that the rule \"%s\" publishes, %s%.10g%s%s; a procedure "
                      "may only tighten it",
                      rule->rule, rule->own_moves ? "which is never looser than " : "", own,
                      unit[0] != '\0' ? " " : "", unit);
}

// Rule (8, test rules): A procedure may not loosen a least value that a rule publishes.
// [looser-least-allowed]
// Rule (8, test rules): A procedure may not loosen a greatest value that a rule publishes.
// [looser-greatest-allowed]
// Rule (8, test rules): A procedure may repeat the limit that a rule publishes.
// [equal-limit-refused]
// Rule (8, test rules): Where a procedure's limit takes the place of the rule's own, none is too
// loose. [replaced-limit-refused]
// Rule (8, test rules): Limits between which there is nothing are refused. [empty-limits-allowed]
// Rule (8, test rules): A least value that no reading can reach is refused.
// [unreachable-least-allowed]
// Rule (8, test rules): A greatest value below every reading is refused.
// [unreachable-greatest-allowed]
bool trade_limits_allowed(const struct trade_rule *rule, const struct model_limits *given,
                          struct trade_error *error) {
    const struct model_limits *own = &rule->own, *possible = &rule->possible;
    struct model_limits held = limits_hold(rule, own, given).limits;
    bool tightens = rule->limits == TRADE_LIMITS_TIGHTEN;

    if (!limits_fit(rule, given, error)) {
        return false;
    }
    if (tightens && given->has_min && own->has_min && given->min < own->min) {
        return loosens(rule, "min", own->min, error);
    }
    if (tightens && given->has_max && own->has_max && given->max > own->max) {
        return loosens(rule, "max", own->max, error);
    }
    if (held.has_min && held.has_max && held.min > held.max) {
        return trade_fail(
            error, given->has_min ? "min" : "max",
            "the least allowed value, %.15g, is over the greatest, %.15g: nothing would pass",
            held.min, held.max);
    }
    if (given->has_min && possible->has_max && given->min > possible->max) {
        return trade_fail(error, "min", "no reading can reach %.15g: nothing would pass",
                          given->min);
    }
    if (given->has_max && possible->has_min && given->max < possible->min) {
        return trade_fail(error, "max", "no reading can be as low as %.15g: nothing would pass",
                          given->max);
    }
    return true;
}

// A limit that was asked for and does not hold is not passed over in silence.
// Rule (8, test rules): A looser limit that was asked for and does not hold is told.
// [looser-limit-in-silence]
static void looser_tell(const struct model_limits *given, const struct held *held,
                        struct trade_outcome *outcome) {
    if (given->has_min && given->min < held->limits.min) {
        trade_outcome_caution(outcome, TRADE_CAUTION_LOOSER_MIN,
                              TRADE_FIGURES(.has_min = true, .min = given->min));
    }
    if (given->has_max && given->max > held->limits.max) {
        trade_outcome_caution(outcome, TRADE_CAUTION_LOOSER_MAX,
                              TRADE_FIGURES(.has_max = true, .max = given->max));
    }
}

// Rule (8, vapor-liquid-ratio): Whose window was taken is said. [certification-in-silence]
static void certified_tell(const struct trade_rule *rule, const struct held *held,
                           struct trade_outcome *outcome) {
    if (rule->certified && held->own) {
        trade_outcome_caution(outcome, TRADE_CAUTION_ONE_CERTIFICATION,
                              TRADE_FIGURES(.has_min = true, .min = rule->own.min, .has_max = true,
                                            .max = rule->own.max));
    }
}

// The distance to the nearest limit; a difference that is only the arithmetic's is none.
static double margin_of(double value, const struct model_limits *limits, double slack) {
    double low = limits->has_min ? value - limits->min : INFINITY;
    double high = limits->has_max ? limits->max - value : INFINITY;
    double margin = low < high ? low : high;

    return fabs(margin) <= slack ? 0.0 : margin;
}

static void source_write(char *source, size_t size, const struct trade_outcome *outcome,
                         const struct held *held) {
    const char *between = "";

    source[0] = '\0';
    if (outcome->method[0] != '\0') {
        trade_say(source, size, "%s", outcome->method);
        between = "; ";
    }
    if (held->own && outcome->limit_source[0] != '\0') {
        trade_say(source, size, "%s%s", between, outcome->limit_source);
        between = "; ";
    }
    if (held->procedure) {
        trade_say(source, size, "%slimit from configuration", between);
    }
}

// Rule (8, test rules): Outside what the method holds for there is no verdict. [doubt-with-verdict]
// Rule (8, test rules): What needs a person's eye stands in the result. [caution-left-out]
static void result_write(const struct trade_rule *rule, const struct trade_outcome *outcome,
                         const struct held *held, struct model_result *result) {
    result->has_value = outcome->has_value;
    result->value = outcome->value;
    result->per_reading = outcome->per_reading != 0 ? outcome->per_reading : 1;
    result->limits = held->limits;
    result->limit_is_interval = held->limits.has_min && held->limits.has_max;
    result->has_pass = outcome->has_pass;
    result->pass = outcome->pass;
    if (held->limits.has_min || held->limits.has_max) {
        result->has_margin = true;
        result->margin = margin_of(outcome->value, &held->limits, outcome->slack);
        result->has_pass = true;
        result->equality_fails = rule->exceeds && held->own;
        result->failed_beside = outcome->failed_beside;
        result->pass = model_result_meets(result);
    }
    if (outcome->doubt_count > 0) {
        result->has_pass = result->pass = false;
    }
    memcpy(result->doubts, outcome->doubts, outcome->doubt_count * sizeof *outcome->doubts);
    result->doubt_count = outcome->doubt_count;
    memcpy(result->cautions, outcome->cautions, outcome->caution_count * sizeof *outcome->cautions);
    result->caution_count = outcome->caution_count;
    snprintf(result->rule, sizeof result->rule, "%s", rule->rule);
    snprintf(result->formula, sizeof result->formula, "%s",
             outcome->formula[0] != '\0' ? outcome->formula : rule->formula);
    source_write(result->source, sizeof result->source, outcome, held);
}

// Where the procedure gives the unit, and a figure of it cannot be below zero.
// Rule (8, range): A negative resistance is impossible. [range-negative-resistance]
static bool unit_possible(const struct model_test *test, const struct trade_outcome *outcome,
                          struct trade_error *error) {
    static const char *const units[] = {"ohm", "kohm", "Mohm"};
    for (size_t i = 0; test->unit != NULL && i < sizeof units / sizeof units[0]; i++) {
        if (strcmp(test->unit, units[i]) == 0 && outcome->has_value && outcome->value < 0) {
            return trade_fail(error, "value", "value must be at least 0 %s; found %.10g",
                              test->unit, outcome->value);
        }
    }
    return true;
}

// The readings as given, and behind them what the site's file said of the others.
static void inputs_write(const struct trade_rule *rule, const struct model_reading *readings,
                         size_t count, const struct trade_input *inputs,
                         struct model_result *result) {
    memcpy(result->inputs, readings, count * sizeof *readings);
    result->input_count = count;
    for (size_t i = 0; i < rule->reading_count && result->input_count < MODEL_READINGS_MAX; i++) {
        if (inputs[i].of_site) {
            struct model_reading *made = &result->inputs[result->input_count++];
            snprintf(made->name, sizeof made->name, "%s", rule->readings[i].name);
            made->kind = MODEL_READING_NUMBER;
            made->number = inputs[i].value;
            if (rule->readings[i].kind == TRADE_WORD) {
                made->kind = MODEL_READING_TEXT;
                trade_word_at(rule->readings[i].words, inputs[i].word, made->text,
                              sizeof made->text);
            }
        }
    }
}

bool trade_calculate(const struct model_test *test, const struct model_vapor *vapor,
                     const struct model_reading *readings, size_t count,
                     struct model_result *result, struct trade_working *working,
                     struct trade_error *error) {
    const struct trade_row *row = row_find(test->rule);
    struct trade_input inputs[MODEL_READINGS_MAX];
    struct trade_outcome outcome = {0};
    struct held held;

    if (row == NULL) {
        return trade_fail(error, NULL, "there is no rule %.64s", test->rule);
    }
    if (!limits_fit(&row->about, &test->limits, error) ||
        !trade_inputs_take(&row->about, readings, count, inputs, error)) {
        return false;
    }
    outcome.unit = trade_rule_unit(&row->about, test->unit);
    outcome.as_read = test->unit == NULL && !test->limits.has_min && !test->limits.has_max;
    outcome.limits = row->about.own;
    if (vapor != NULL && row->site != NULL) {
        row->site(vapor, inputs, &outcome);
    }
    if (!row->work(inputs, &outcome, error) || !unit_possible(test, &outcome, error)) {
        return false;
    }
    held = limits_hold(&row->about, &outcome.limits, &test->limits);
    looser_tell(&test->limits, &held, &outcome);
    certified_tell(&row->about, &held, &outcome);
    trade_inputs_doubt(&row->about, inputs, &outcome);
    memset(result, 0, sizeof *result);
    result_write(&row->about, &outcome, &held, result);
    inputs_write(&row->about, readings, count, inputs, result);
    if (working != NULL) {
        *working = outcome.working;
        working->unit = outcome.unit;
    }
    return true;
}

bool trade_evaluate(const struct model_test *test, const struct model_vapor *vapor,
                    const struct model_reading *readings, size_t count, struct model_result *result,
                    struct trade_error *error) {
    if (!trade_rule_known(test->rule)) {
        return trade_fail(error, NULL, "there is no test rule %.64s", test->rule);
    }
    return trade_calculate(test, vapor, readings, count, result, NULL, error);
}

// Rule (8, decision): An uncertainty in a unit of another kind decides nothing.
// [decision-in-any-unit]
// Rule (8, decision; torque-applied): An adapter makes the error of the wrench larger too.
// [decision-of-the-wrench]
bool trade_decide(double uncertainty, const char *of, const char *unit,
                  struct model_result *result) {
    double own;

    if (!result->has_margin || of == NULL || unit == NULL ||
        !trade_unit_convert(uncertainty, of, unit, &own)) {
        return false;
    }
    result->uncertainty = own * result->per_reading;
    model_result_decide(result);
    if (result->decision != MODEL_DECISION_NONE) {
        trade_say(result->source, sizeof result->source, "; decision by ILAC-G8:09/2019 4.2.3");
    }
    return true;
}
