// The calculator: readings from the command line, the trade's answer in words or as JSON.
#include "tool/calc.h"

#include "fact/fact_parts.h"
#include "trade/trade.h"
#include "json/json.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { CALC_DONE = 0, CALC_NO = 1, CALC_USAGE = 2, CALC_UNWRITTEN = 4 };

// What the command line asks for.
struct calc {
    struct model_test test;
    struct model_reading readings[MODEL_READINGS_MAX];
    size_t count;
};

static int rules_tell(void) {
    fprintf(stderr, "usage: forelock calc RULE name=value... [min=N] [max=N] [--json]\nrules:\n");
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
        fprintf(stderr, "  min, max: %s\n",
                rule->limits == TRADE_LIMITS_NEEDED ? "the procedure's limits, one at least"
                                                    : "the procedure's limits (optional)");
    }
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

static bool arguments_take(int argc, char **argv, struct calc *calc, bool *json) {
    const struct model_limits *limits = &calc->test.limits;

    for (int i = 1; i < argc; i++) {
        if (strcmp(argv[i], "--json") == 0) {
            *json = true;
        } else if (!argument_take(argv[i], calc)) {
            return false;
        }
    }
    if (limits->has_min && limits->has_max && limits->min > limits->max) {
        fprintf(stderr, "forelock calc: min is more than max\n");
        return false;
    }
    return true;
}

static bool json_print(const struct model_result *result) {
    struct json_out out = {0};
    bool done;

    fact_write_result(&out, result);
    done = !out.failed && printf("%s\n", out.data) > 0;
    json_out_free(&out);
    return done;
}

// A figure in the unit that this trade reads, and in its SI twin.
static void figure_print(const char *label, double figure, enum trade_unit unit) {
    printf("  %-8s %.10g", label, figure);
    if (unit != TRADE_NO_UNIT) {
        printf(" %s", trade_unit_symbol(unit));
    }
    if (trade_unit_si(unit) != NULL) {
        printf(" (%.7g %s)", figure * trade_unit_factor(unit), trade_unit_si(unit));
    }
    printf("\n");
}

static void words_print(const struct trade_rule *rule, const struct model_result *result,
                        const struct trade_working *working) {
    const char *verdict = result->pass ? "passes" : "FAILS";

    printf("%s: %s\n", rule->rule, rule->title);
    printf("  formula  %s\n  worked   %s\n", result->formula, working->put);
    if (result->has_value) {
        figure_print(rule->calc_only ? "setting" : "value", result->value, working->unit);
    }
    if (result->limits.has_min) {
        figure_print("at least", result->limits.min, working->unit);
    }
    if (result->limits.has_max) {
        figure_print("at most", result->limits.max, working->unit);
    }
    if (result->has_margin) {
        figure_print("margin", result->margin, working->unit);
    }
    printf("  verdict  %s\n", result->has_pass ? verdict : "none: this is a figure, not a test");
    printf("  source   %s\n", result->source);
    if (working->note[0] != '\0') {
        printf("  note     %s\n", working->note);
    }
    if (working->warning[0] != '\0') {
        printf("  CAUTION  %s\n", working->warning);
    }
    printf("Local codes, the authority's current text and the maker's instructions come first.\n");
}

int calc_command(int argc, char **argv, bool json) {
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
    if (!arguments_take(argc, argv, &calc, &json)) {
        return readings_tell(rule);
    }
    if (!trade_calculate(&calc.test, calc.readings, calc.count, &result, &working, &error)) {
        fprintf(stderr, "forelock calc: %s\n", error.what);
        return readings_tell(rule);
    }
    if (json) {
        written = json_print(&result);
        // The object has no place for it, and it must not be lost.
        if (working.warning[0] != '\0') {
            fprintf(stderr, "forelock calc: CAUTION: %s\n", working.warning);
        }
    } else {
        words_print(rule, &result, &working);
    }
    if (!written || fflush(stdout) != 0 || ferror(stdout)) {
        fprintf(stderr, "forelock calc: cannot write the answer\n");
        return CALC_UNWRITTEN;
    }
    return result.has_pass && !result.pass ? CALC_NO : CALC_DONE;
}
