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

void trade_outcome_caution(struct trade_outcome *outcome, enum trade_caution caution,
                           const struct model_caution *figures) {
    if (outcome->caution_count < MODEL_CAUTIONS_MAX) { // no rule has more
        outcome->cautions[outcome->caution_count++] = trade_caution_make(caution, figures);
    }
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

bool trade_word_index(const char *words, const char *text, unsigned *index) {
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

void trade_word_at(const char *words, unsigned index, char *word, size_t size) {
    for (; index > 0; index--) {
        words += strcspn(words, " ") + 1;
    }
    snprintf(word, size, "%.*s", (int)strcspn(words, " "), words);
}

bool trade_word_known(const struct trade_reading *reading, const char *text) {
    unsigned index;

    return reading->kind == TRADE_WORD && trade_word_index(reading->words, text, &index);
}

const struct trade_reading *trade_reading_find(const struct trade_rule *rule, const char *name) {
    for (size_t i = 0; i < rule->reading_count; i++) {
        if (strcmp(rule->readings[i].name, name) == 0) {
            return &rule->readings[i];
        }
    }
    return NULL;
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

const struct trade_reading *trade_reading_given(const struct trade_rule *rule, const char *name,
                                                const char **unit) {
    bool as_twin = false;
    size_t i = row_of(rule, name, &as_twin);
    *unit = NULL;
    if (i == rule->reading_count) {
        return NULL;
    }
    const struct trade_reading *row = &rule->readings[i];
    const char *symbol = as_twin ? trade_unit_si(row->unit) : trade_unit_symbol(row->unit);
    *unit = symbol != NULL && symbol[0] != '\0' ? symbol : NULL;
    return row;
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
    if (reading->kind == MODEL_READING_TEXT && strchr(reading->text, ',') != NULL) {
        return trade_fail(error, reading->name,
                          "%s must be a number, with no mark between thousands and a point before "
                          "decimals; found \"%s\"",
                          reading->name, reading->text);
    }
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
                trade_word_index(row->words, reading->text, &input->word)) ||
               trade_fail(error, name, "%s must be one of: %s", name, row->words);
    case TRADE_NUMBER:
    case TRADE_COUNT:
        break;
    }
    return number_take(row, reading, input, error);
}

// What the method holds for, in words: "at least 100 gal".
static void bounds_say(const struct model_limits *valid, const char *unit, char *text,
                       size_t size) {
    const char *space = unit[0] != '\0' ? " " : "";

    if (valid->has_min && valid->has_max) {
        snprintf(text, size, "%.6g to %.6g%s%s", valid->min, valid->max, space, unit);
    } else {
        snprintf(text, size, "at %s %.6g%s%s", valid->has_min ? "least" : "most",
                 valid->has_min ? valid->min : valid->max, space, unit);
    }
}

// Rule (8, test rules): A reading is outside what the method holds for past its bound, not on it.
// [valid-edge-doubted]
// Rule (8, test rules): A reading below what the method holds for is not judged.
// [valid-least-ignored]
// Rule (8, test rules): A reading above what the method holds for is not judged.
// [valid-most-ignored]
static bool input_valid(const struct model_limits *valid, const struct trade_input *input) {
    return !(valid->has_min && input->value + input->slack < valid->min) &&
           !(valid->has_max && input->value - input->slack > valid->max);
}

// The bounds in the unit in which it was read.
static void doubt_write(const struct trade_reading *row, const struct trade_input *input,
                        struct model_doubt *doubt) {
    double factor = input->as_twin ? trade_unit_factor(row->unit) : 1;
    const char *space;

    memset(doubt, 0, sizeof *doubt);
    snprintf(doubt->reading, sizeof doubt->reading, "%s", trade_given_name(row, input));
    doubt->has_value = true;
    doubt->value = input->given;
    doubt->limits = row->valid;
    doubt->limits.min *= factor;
    doubt->limits.max *= factor;
    doubt->unit = input->as_twin ? trade_unit_si(row->unit) : trade_unit_symbol(row->unit);
    doubt->source = row->valid_by;
    space = doubt->unit[0] != '\0' ? " " : "";
    bounds_say(&doubt->limits, doubt->unit, doubt->need, sizeof doubt->need);
    snprintf(doubt->found, sizeof doubt->found, "%.10g%s%s", input->given, space, doubt->unit);
}

// Rule (8, test rules): Every reading outside what the method holds for is listed, not the first.
// [first-doubt-only]
void trade_inputs_doubt(const struct trade_rule *rule, const struct trade_input *inputs,
                        struct trade_outcome *outcome) {
    for (size_t i = 0; i < rule->reading_count; i++) {
        const struct trade_reading *row = &rule->readings[i];
        if (inputs[i].present && !input_valid(&row->valid, &inputs[i]) &&
            outcome->doubt_count < MODEL_DOUBTS_MAX) {
            doubt_write(row, &inputs[i], &outcome->doubts[outcome->doubt_count++]);
        }
    }
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
