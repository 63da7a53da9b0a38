// Readings in: matches what was given with what a rule takes, converts SI twins, and refuses all
// that is missing, unknown, given twice, of the wrong kind or impossible. Nothing has a default.
#include "trade/rule.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

bool trade_fail(struct trade_error *error, const char *reading, const char *format, ...) {
    va_list arguments;

    snprintf(error->reading, sizeof error->reading, "%s", reading != NULL ? reading : "");
    va_start(arguments, format);
    vsnprintf(error->what, sizeof error->what, format, arguments);
    va_end(arguments);
    return false;
}

void trade_say(char *text, size_t size, const char *format, ...) {
    size_t length = strlen(text);
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(text + length, size - length, format, arguments);
    va_end(arguments);
}

void trade_warn(struct trade_working *working, const char *format, ...) {
    size_t length = strlen(working->warning);
    va_list arguments;

    if (length > 0 && length + 1 < sizeof working->warning) {
        working->warning[length++] = ' ';
    }
    va_start(arguments, format);
    vsnprintf(working->warning + length, sizeof working->warning - length, format, arguments);
    va_end(arguments);
}

bool trade_figure_usable(double figure, const char *reading, struct trade_error *error) {
    if (isfinite(figure)) {
        return true;
    }
    return trade_fail(error, reading, "%s is impossible: no finite figure comes of it", reading);
}

const char *trade_given_name(const struct trade_reading *reading, const struct trade_input *input) {
    return input->as_twin ? reading->twin : reading->name;
}

// The index of text among words that one space separates; false if it is none of them.
static bool word_index(const char *words, const char *text, unsigned *index) {
    size_t length = strlen(text);

    for (*index = 0; length > 0; (*index)++) {
        size_t word = strcspn(words, " ");
        if (word == length && memcmp(words, text, word) == 0) {
            return true;
        }
        if (words[word] == '\0') {
            return false;
        }
        words += word + 1;
    }
    return false;
}

static bool number_possible(const struct trade_reading *row, const struct trade_input *input,
                            const char *name, struct trade_error *error) {
    double value = input->value, slack = input->slack;

    if (!isfinite(value)) {
        return trade_fail(error, name, "%s must be a finite number", name);
    }
    if (row->kind == TRADE_COUNT && value != floor(value)) {
        return trade_fail(error, name, "%s must be a whole number; found %.10g", name,
                          input->given);
    }
    if (row->above_min && value <= row->min) {
        return trade_fail(error, name, "%s must be more than %g; found %.10g", name, row->min,
                          input->given);
    }
    if (value + slack < row->min || value - slack > row->max) {
        const char *unit = trade_unit_symbol(row->unit);
        const char *space = unit[0] != '\0' ? " " : "";
        if (isinf(row->max)) {
            return trade_fail(error, name, "%s must be at least %g%s%s; found %.10g", name,
                              row->min, space, unit, input->given);
        }
        return trade_fail(error, name, "%s must be between %g and %g%s%s; found %.10g", name,
                          row->min, row->max, space, unit, input->given);
    }
    return true;
}

static bool number_take(const struct trade_reading *row, const struct model_reading *reading,
                        struct trade_input *input, struct trade_error *error) {
    if (reading->kind != MODEL_READING_NUMBER) {
        return trade_fail(error, reading->name, "%s must be a number", reading->name);
    }
    input->given = reading->number;
    input->value = reading->number;
    if (input->as_twin) {
        input->value = reading->number / trade_unit_factor(row->unit);
        input->slack = fabs(input->value) * TRADE_ROUNDING;
    }
    return number_possible(row, input, reading->name, error);
}

static bool input_take(const struct trade_reading *row, const struct model_reading *reading,
                       struct trade_input *input, struct trade_error *error) {
    const char *name = reading->name;

    input->present = true;
    switch (row->kind) {
    case TRADE_FLAG:
        input->flag = reading->flag;
        return reading->kind == MODEL_READING_FLAG ||
               trade_fail(error, name, "%s must be true or false", name);
    case TRADE_WORD:
        return (reading->kind == MODEL_READING_TEXT &&
                word_index(row->words, reading->text, &input->word)) ||
               trade_fail(error, name, "%s must be one of: %s", name, row->words);
    case TRADE_NUMBER:
    case TRADE_COUNT:
        break;
    }
    return number_take(row, reading, input, error);
}

// The row that takes a reading of this name, or reading_count.
static size_t row_of(const struct trade_rule *rule, const char *name, bool *as_twin) {
    size_t i;

    for (i = 0; i < rule->reading_count; i++) {
        const struct trade_reading *row = &rule->readings[i];
        *as_twin = row->twin != NULL && strcmp(row->twin, name) == 0;
        if (*as_twin || strcmp(row->name, name) == 0) {
            break;
        }
    }
    return i;
}

static bool reading_take(const struct trade_rule *rule, const struct model_reading *reading,
                         struct trade_input *inputs, struct trade_error *error) {
    bool as_twin = false;
    size_t i = row_of(rule, reading->name, &as_twin);

    if (i == rule->reading_count) {
        return trade_fail(error, reading->name, "%s is no reading of %s", reading->name,
                          rule->rule);
    }
    if (inputs[i].present) {
        return inputs[i].as_twin == as_twin
                   ? trade_fail(error, reading->name, "%s is given twice", reading->name)
                   : trade_fail(error, reading->name, "give %s or %s, not both",
                                rule->readings[i].name, rule->readings[i].twin);
    }
    inputs[i].as_twin = as_twin;
    return input_take(&rule->readings[i], reading, &inputs[i], error);
}

bool trade_inputs_take(const struct trade_rule *rule, const struct model_reading *readings,
                       size_t count, struct trade_input *inputs, struct trade_error *error) {
    if (count > MODEL_READINGS_MAX) {
        return trade_fail(error, NULL, "%s takes at most %d readings", rule->rule,
                          MODEL_READINGS_MAX);
    }
    memset(inputs, 0, rule->reading_count * sizeof *inputs);
    for (size_t i = 0; i < count; i++) {
        if (!reading_take(rule, &readings[i], inputs, error)) {
            return false;
        }
    }
    for (size_t i = 0; i < rule->reading_count; i++) {
        if (!inputs[i].present && !rule->readings[i].optional) {
            return trade_fail(error, rule->readings[i].name, "%s is missing",
                              rule->readings[i].name);
        }
    }
    return true;
}
