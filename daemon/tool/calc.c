// The calculator: readings from the command line, the trade's answer in words or as JSON.
#include "tool/calc.h"

#include "tool/print.h"
#include "trade/trade.h"
#include "wire/fact_parts.h"
#include "json/json.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { CALC_DONE = 0, CALC_NO = 1, CALC_USAGE = 2, CALC_UNWRITTEN = 4 };

// What the command line asks for.
struct calc {
    struct model_test test;
    struct model_reading readings[MODEL_READINGS_MAX];
    size_t count;
    const char *instrument, *calibrated; // as given, or NULL
    bool has_uncertainty;                // as given
    double uncertainty;                  // of what was read; 0: nothing is known
    const char *uncertainty_unit;        // NULL: that of the value
    char until[11];                      // the last day of its calibration; "": nothing is known
    struct model_caution cautions[2];    // about what it was read with
    size_t caution_count;
};

static void caution_add(struct calc *calc, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
static void caution_add(struct calc *calc, const char *format, ...) {
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(calc->cautions[calc->caution_count++].text, MODEL_CAUTION_SIZE, format, arguments);
    va_end(arguments);
}

static int rules_tell(void) {
    fprintf(stderr, "usage: forelock calc RULE name=value... [min=N] [max=N] [unit=UNIT]\n"
                    "           [calibrated_until=DATE | instrument=ID -c FILE] [uncertainty=N] "
                    "[--json]\nrules:\n");
    for (size_t i = 0; trade_rule_at(i) != NULL; i++) {
        fprintf(stderr, "  %-20s %s\n", trade_rule_at(i)->rule, trade_rule_at(i)->title);
    }
    return CALC_USAGE;
}

static int readings_tell(const struct trade_rule *rule) {
    fprintf(stderr, "%s takes:\n", rule->rule);
    for (size_t i = 0; i < rule->reading_count; i++) {
        const struct trade_reading *reading = &rule->readings[i];
        fprintf(stderr, "  %s", reading->name);
        if (reading->twin != NULL) {
            fprintf(stderr, " or %s", reading->twin);
        }
        if (reading->words != NULL) {
            fprintf(stderr, " (one of: %s)", reading->words);
        }
        fprintf(stderr, ": %s%s\n", reading->title, reading->optional ? " (optional)" : "");
    }
    if (rule->limits != TRADE_LIMITS_NONE) {
        fprintf(stderr, "  min, max%s: %s\n",
                rule->limits == TRADE_LIMITS_NEEDED ? "" : " (optional)",
                trade_limits_words(rule->limits));
    }
    if (rule->other_unit != TRADE_NO_UNIT) {
        fprintf(stderr, "  unit (optional): of the limits, %s or %s\n",
                trade_unit_symbol(rule->unit), trade_unit_symbol(rule->other_unit));
    }
    if (rule->limits == TRADE_LIMITS_NEEDED) {
        fprintf(stderr,
                "  unit (optional): of the reading; in V, A, psi, kPa, Pa, bar, mbar and inH2O "
                "a max alone is -max to max\n");
    }
    fprintf(stderr, "  uncertainty (optional): expanded, in the unit of the value\n");
    fprintf(stderr, "  calibrated_until, or instrument with -c FILE: what it was read with "
                    "(optional)\n");
    return CALC_USAGE;
}

static const char *digits_skip(const char *text) {
    return text + strspn(text, "0123456789");
}

// Decimal numbers only: strtod alone would take hexadecimal, "inf" and "nan" as well.
static bool number_read(const char *text, double *number) {
    const char *at = text + (*text == '-' || *text == '+');
    const char *end = digits_skip(at);
    size_t digits = (size_t)(end - at);

    if (*end == '.') {
        at = end + 1;
        end = digits_skip(at);
        digits += (size_t)(end - at);
    }
    if (digits > 0 && (*end == 'e' || *end == 'E')) {
        at = end + 1;
        at += *at == '-' || *at == '+';
        end = digits_skip(at);
        digits = (size_t)(end - at);
    }
    *number = strtod(text, NULL);
    return digits > 0 && *end == '\0' && isfinite(*number);
}

static void value_read(const char *text, struct model_reading *reading) {
    if (number_read(text, &reading->number)) {
        reading->kind = MODEL_READING_NUMBER;
    } else if (strcmp(text, "true") == 0 || strcmp(text, "false") == 0) {
        reading->kind = MODEL_READING_FLAG;
        reading->flag = text[0] == 't';
    } else {
        // A word cut short is longer than any that a rule knows.
        reading->kind = MODEL_READING_TEXT;
        snprintf(reading->text, sizeof reading->text, "%s", text);
    }
}

static bool limit_take(const char *name, const char *text, bool *has, double *end) {
    if (*has) {
        fprintf(stderr, "forelock calc: %s is given twice\n", name);
        return false;
    }
    if (!number_read(text, end)) {
        fprintf(stderr, "forelock calc: %s must be a number; found \"%s\"\n", name, text);
        return false;
    }
    *has = true;
    return true;
}

static bool word_take(const char *name, const char *text, const char **word) {
    if (*word != NULL) {
        fprintf(stderr, "forelock calc: %s is given twice\n", name);
        return false;
    }
    *word = text;
    return true;
}

// A day of the calendar, "YYYY-MM-DD", whose text sorts by time.
static bool day_read(const char *text) {
    struct tm day = {0}, again;
    char back[11];
    const char *end = strptime(text, "%Y-%m-%d", &day);

    day.tm_hour = 12; // no zone's change of clocks is at noon
    day.tm_isdst = -1;
    again = day;
    return end != NULL && *end == '\0' && mktime(&again) != -1 && again.tm_mday == day.tm_mday &&
           strftime(back, sizeof back, "%Y-%m-%d", &again) == 10 && strcmp(back, text) == 0;
}

// The configured instrument. A figure is set with its own kind, whatever else is in date.
static bool instrument_take(const struct model *model, struct calc *calc) {
    const char *kind = trade_rule_find(calc->test.rule)->set_with;
    const struct model_instrument *found =
        model != NULL ? model_instrument_find(model, calc->instrument) : NULL;

    if (found == NULL) {
        fprintf(stderr, "forelock calc: %s\n",
                model == NULL ? "instrument needs -c FILE, where its calibration stands"
                              : "the configuration has no instrument of this id");
        return false;
    }
    if (calc->has_uncertainty && found->uncertainty > 0) {
        fprintf(stderr,
                "forelock calc: the instrument has an uncertainty; leave uncertainty out\n");
        return false;
    }
    if (found->uncertainty > 0) {
        calc->uncertainty = found->uncertainty;
        calc->uncertainty_unit = found->uncertainty_unit;
    }
    snprintf(calc->until, sizeof calc->until, "%.10s", found->calibrated_until.day);
    if (kind != NULL && strcmp(found->kind, kind) != 0) {
        caution_add(calc, "%.64s is of the kind %.64s, and no %s.", found->instrument, found->kind,
                    kind);
    }
    return true;
}

// What the readings were taken with, and whether its calibration is in date.
static bool calibration_take(const struct model *model, struct calc *calc) {
    time_t now = time(NULL);
    struct tm today;
    char day[11] = "";

    if (calc->instrument != NULL && calc->calibrated != NULL) {
        fprintf(stderr, "forelock calc: give instrument or calibrated_until, not both\n");
        return false;
    }
    if (calc->calibrated != NULL && !day_read(calc->calibrated)) {
        fprintf(stderr, "forelock calc: calibrated_until must be a day, YYYY-MM-DD; found \"%s\"\n",
                calc->calibrated);
        return false;
    }
    if (calc->calibrated != NULL) {
        snprintf(calc->until, sizeof calc->until, "%s", calc->calibrated);
    } else if (calc->instrument != NULL && !instrument_take(model, calc)) {
        return false;
    }
    if (localtime_r(&now, &today) == NULL || strftime(day, sizeof day, "%Y-%m-%d", &today) == 0 ||
        (calc->until[0] != '\0' && strcmp(day, calc->until) > 0)) {
        caution_add(calc,
                    "The calibration ended on %s: what was read or set with it counts for nothing.",
                    calc->until[0] != '\0' ? calc->until : "a day that cannot be told");
    }
    return true;
}

// One name=value.
static bool argument_take(const char *argument, struct calc *calc) {
    struct model_limits *limits = &calc->test.limits;
    struct model_reading *reading = &calc->readings[calc->count];
    const char *equals = strchr(argument, '=');
    size_t length = equals != NULL ? (size_t)(equals - argument) : 0;

    if (length == 0) {
        fprintf(stderr, "forelock calc: \"%s\" is not name=value\n", argument);
        return false;
    }
    if (length == 3 && memcmp(argument, "min", 3) == 0) {
        return limit_take("min", equals + 1, &limits->has_min, &limits->min);
    }
    if (length == 3 && memcmp(argument, "max", 3) == 0) {
        return limit_take("max", equals + 1, &limits->has_max, &limits->max);
    }
    if (length == 11 && memcmp(argument, "uncertainty", 11) == 0) {
        return limit_take("uncertainty", equals + 1, &calc->has_uncertainty, &calc->uncertainty);
    }
    if (length == 4 && memcmp(argument, "unit", 4) == 0) {
        return word_take("unit", equals + 1, &calc->test.unit);
    }
    if (length == 16 && memcmp(argument, "calibrated_until", 16) == 0) {
        return word_take("calibrated_until", equals + 1, &calc->calibrated);
    }
    if (length == 10 && memcmp(argument, "instrument", 10) == 0) {
        return word_take("instrument", equals + 1, &calc->instrument);
    }
    if (length >= sizeof reading->name || calc->count == MODEL_READINGS_MAX) {
        fprintf(stderr, "forelock calc: %.*s is no reading of %s, or one too many\n", (int)length,
                argument, calc->test.rule);
        return false;
    }
    snprintf(reading->name, sizeof reading->name, "%.*s", (int)length, argument);
    value_read(equals + 1, reading);
    calc->count++;
    return true;
}

// Rule (8, calc; R4): A max alone is held to both sides of zero in a unit with two signs.
// [calc-one-sided]
// Rule (8, calc; R4): A unit goes with limits that are the caller's alone. [calc-unit-of-another]
static bool limits_settle(const struct trade_rule *rule, struct model_test *test) {
    struct model_limits *limits = &test->limits;

    bool named =
        rule->limits == TRADE_LIMITS_NEEDED ||
        (rule->other_unit != TRADE_NO_UNIT && trade_rule_unit(rule, test->unit) != TRADE_NO_UNIT);

    if (test->unit != NULL && !named) {
        fprintf(stderr, "forelock calc: the rule %s has its own unit; leave unit out\n",
                rule->rule);
        return false;
    }
    *limits = model_limits_in(*limits, test->unit);
    if (limits->has_min && limits->has_max && limits->min > limits->max) {
        fprintf(stderr, "forelock calc: min is more than max: nothing would pass\n");
        return false;
    }
    return true;
}

static bool arguments_take(int argc, char **argv, struct calc *calc, bool *json) {
    for (int i = 1; i < argc; i++) {
        if (strcmp(argv[i], "--json") == 0) {
            *json = true;
        } else if (!argument_take(argv[i], calc)) {
            return false;
        }
    }
    return limits_settle(trade_rule_find(calc->test.rule), &calc->test);
}

// What it was read with needs the eye as what was read does.
static void cautions_join(const struct calc *calc, struct model_result *result) {
    for (size_t i = 0; i < calc->caution_count && result->caution_count < MODEL_CAUTIONS_MAX; i++) {
        result->cautions[result->caution_count++] = calc->cautions[i];
    }
}

static bool json_print(const struct model_result *result) {
    struct json_out out = {0};
    wire_fact_write_result(&out, result);
    return tool_print_json(&out);
}

// The unit of a result: the rule's own, or the one given; "" for none.
static const char *unit_of(const struct calc *calc, enum trade_unit unit) {
    return unit != TRADE_NO_UNIT     ? trade_unit_symbol(unit)
           : calc->test.unit != NULL ? calc->test.unit
                                     : "";
}

// A figure in the unit that this trade reads, and in its SI twin.
static void figure_print(const char *label, double figure, const struct calc *calc,
                         enum trade_unit unit) {
    const char *symbol = unit_of(calc, unit);

    printf("  %-8s %.10g%s%s", label, figure, symbol[0] != '\0' ? " " : "", symbol);
    if (trade_unit_si(unit) != NULL) {
        printf(" (%.7g %s)", figure * trade_unit_factor(unit), trade_unit_si(unit));
    }
    printf("\n");
}

// The result as one would say it to somebody who does not see the formula.
static void sentence_print(const struct trade_rule *rule, const struct model_result *result,
                           const struct trade_working *working, const struct calc *calc) {
    const char *unit = unit_of(calc, working->unit);
    const char *space = unit[0] != '\0' ? " " : "";

    if (rule->calc_only != NULL) {
        printf("  in words %s %.4g%s%s.\n", rule->calc_only, result->value, space, unit);
        return;
    }
    if (result->has_value && !result->has_pass) {
        printf("  in words It is %.10g%s%s; no limit was given.\n", result->value, space, unit);
        return;
    }
    if (!result->has_value) {
        printf("  in words The test was seen to %s.\n", result->pass ? "pass" : "FAIL");
        return;
    }
    printf("  in words %.10g%s%s was found where ", result->value, space, unit);
    if (result->limits.has_min) {
        printf("%s %.10g%s%s", result->equality_fails ? "more than" : "at least",
               result->limits.min, space, unit);
    }
    if (result->limits.has_max) {
        printf("%sat most %.10g%s%s", result->limits.has_min ? " and " : "", result->limits.max,
               space, unit);
    }
    if (!result->pass && result->margin >= 0) {
        printf(" is asked for: it FAILS%s.\n",
               result->failed_beside ? ", beside its value" : ", for it only meets the limit");
        return;
    }
    printf(" is asked for: it %s%.4g%s%s %s.\n", result->pass ? "passes, " : "FAILS, by ",
           fabs(result->margin), space, unit, result->pass ? "from the limit" : "past the limit");
}

// Why nothing is judged: one line a reading.
static void doubts_print(const struct model_result *result) {
    for (size_t i = 0; i < result->doubt_count; i++) {
        const struct model_doubt *doubt = &result->doubts[i];
        printf("  reason   %s is %s, and the method holds for %s (%s)\n", doubt->reading,
               doubt->found, doubt->need, doubt->source);
    }
}

static void words_print(const struct trade_rule *rule, const struct model_result *result,
                        const struct trade_working *working, const struct calc *calc) {
    const char *verdict = result->doubt_count > 0 ? "NOT VALID" : result->pass ? "passes" : "FAILS";
    bool judged = result->has_pass || result->doubt_count > 0;

    printf("%s: %s\n", rule->rule, rule->title);
    printf("  formula  %s\n  worked   %s\n", result->formula, working->put);
    if (result->has_value) {
        figure_print(rule->set_with != NULL ? "setting" : "value", result->value, calc,
                     working->unit);
    }
    if (result->limits.has_min) {
        figure_print(result->equality_fails ? "over" : "at least", result->limits.min, calc,
                     working->unit);
    }
    if (result->limits.has_max) {
        figure_print("at most", result->limits.max, calc, working->unit);
    }
    if (result->has_margin) {
        figure_print("margin", result->margin, calc, working->unit);
    }
    printf("  verdict  %s\n", judged ? verdict : "none: this is a figure, not a test");
    doubts_print(result);
    if (result->doubt_count == 0) {
        sentence_print(rule, result, working, calc);
    }
    if (result->decision != MODEL_DECISION_NONE) {
        printf("  decision %s\n", model_decision_name(result->decision));
        figure_print("+/-", result->uncertainty, calc, working->unit);
    }
    printf("  source   %s\n", result->source);
    if (working->note[0] != '\0') {
        printf("  note     %s\n", working->note);
    }
    for (size_t k = 0; k < result->caution_count; k++) {
        printf("  CAUTION  %s\n", result->cautions[k].text);
    }
    if (calc->until[0] != '\0') {
        printf("  until    %s, the last day of the calibration\n", calc->until);
    }
    printf("Local codes, the authority's current text and the maker's instructions come first.\n");
}

// What the uncertainty makes of the verdict. An instrument's own may be of another reading.
// Rule (8, calc): An uncertainty that can decide nothing is refused. [calc-uncertainty-in-silence]
static bool decision_settle(const struct calc *calc, const struct trade_working *working,
                            struct model_result *result) {
    const char *unit = unit_of(calc, working->unit);
    const char *of = calc->uncertainty_unit != NULL ? calc->uncertainty_unit : unit;

    if (calc->has_uncertainty && (calc->uncertainty <= 0 || !result->has_margin)) {
        fprintf(stderr, "forelock calc: uncertainty must be over 0, of a value that has a limit\n");
        return false;
    }
    if (calc->uncertainty > 0) {
        trade_decide(calc->uncertainty, of, unit, result);
    }
    return true;
}

int tool_calc(int argc, char **argv, bool json, const struct model *model) {
    const struct trade_rule *rule = argc > 0 ? trade_rule_find(argv[0]) : NULL;
    struct calc calc = {0};
    struct model_result result;
    struct trade_working working;
    struct trade_error error;
    bool written = true;

    if (rule == NULL) {
        if (argc > 0) {
            fprintf(stderr, "forelock calc: there is no rule \"%s\"\n", argv[0]);
        }
        return rules_tell();
    }
    calc.test.rule = rule->rule;
    if (!arguments_take(argc, argv, &calc, &json) || !calibration_take(model, &calc)) {
        return readings_tell(rule);
    }
    if (!trade_calculate(&calc.test, NULL, calc.readings, calc.count, &result, &working, &error)) {
        fprintf(stderr, "forelock calc: %s\n", error.what);
        return readings_tell(rule);
    }
    if (!decision_settle(&calc, &working, &result)) {
        return readings_tell(rule);
    }
    cautions_join(&calc, &result);
    if (json) {
        written = json_print(&result);
        for (size_t i = 0; i < result.caution_count; i++) { // a person may not read the object
            fprintf(stderr, "forelock calc: CAUTION: %s\n", result.cautions[i].text);
        }
    } else {
        words_print(rule, &result, &working, &calc);
    }
    if (!written || fflush(stdout) != 0 || ferror(stdout)) {
        fprintf(stderr, "forelock calc: cannot write the answer\n");
        return CALC_UNWRITTEN;
    }
    return result.doubt_count > 0 || (result.has_pass && !result.pass) ? CALC_NO : CALC_DONE;
}
