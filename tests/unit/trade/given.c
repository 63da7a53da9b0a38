// Parses the readings that tests give as text. It is no model for the product: it trusts its input.
#include "given.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

const struct model_vapor *given_vapor;

static void value_take(const char *text, struct model_reading *reading) {
    char *end = NULL;

    reading->number = strtod(text, &end);
    reading->kind = MODEL_READING_NUMBER;
    if (end == text || *end != '\0') {
        reading->kind = MODEL_READING_TEXT;
        snprintf(reading->text, sizeof reading->text, "%s", text);
    }
    if (strcmp(text, "true") == 0 || strcmp(text, "false") == 0) {
        reading->kind = MODEL_READING_FLAG;
        reading->flag = text[0] == 't';
    }
}

// One name=value of a line that strtok_r cut; true if it was a limit.
static bool limit_take(const char *name, const char *text, struct model_limits *limits) {
    if (strcmp(name, "min") == 0) {
        limits->has_min = true;
        limits->min = strtod(text, NULL);
        return true;
    }
    if (strcmp(name, "max") == 0) {
        limits->has_max = true;
        limits->max = strtod(text, NULL);
        return true;
    }
    return false;
}

bool given_calculate(const char *rule, const char *line, struct model_result *result,
                     struct trade_working *working, struct trade_error *error) {
    struct model_test test = {.test = "t", .rule = rule};
    struct model_reading readings[MODEL_READINGS_MAX + 1] = {0};
    char copy[512], *rest = copy, *word;
    size_t count = 0;

    assert_true(strlen(line) < sizeof copy);
    snprintf(copy, sizeof copy, "%s", line);
    while ((word = strtok_r(rest, " ", &rest)) != NULL) {
        char *equals = strchr(word, '=');
        assert_non_null(equals);
        *equals = '\0';
        if (limit_take(word, equals + 1, &test.limits)) {
            continue;
        }
        if (strcmp(word, "unit") == 0) {
            test.unit = equals + 1;
            continue;
        }
        assert_true(count < MODEL_READINGS_MAX + 1);
        snprintf(readings[count].name, sizeof readings[count].name, "%s", word);
        value_take(equals + 1, &readings[count]);
        count++;
    }
    return trade_calculate(&test, given_vapor, readings, count, result, working, error);
}

struct model_result given_result(const char *rule, const char *line) {
    struct model_result result;
    struct trade_error error;

    if (!given_calculate(rule, line, &result, NULL, &error)) {
        fail_msg("%s %s: %s", rule, line, error.what);
    }
    return result;
}

const char *given_cautions(const struct model_result *result) {
    static char said[sizeof result->cautions];
    size_t used = 0;

    said[0] = '\0';
    for (size_t i = 0; i < result->caution_count; i++) {
        used += (size_t)snprintf(said + used, sizeof said - used, "%s%s", i > 0 ? " " : "",
                                 result->cautions[i].text);
    }
    return said;
}

void given_refused(const char *rule, const char *line, const char *reading) {
    struct model_result result, untouched;
    struct trade_working working, still;
    struct trade_error error = {0};

    memset(&result, 0x5a, sizeof result);
    memset(&working, 0x5a, sizeof working);
    untouched = result;
    still = working;
    if (given_calculate(rule, line, &result, &working, &error)) {
        fail_msg("%s %s: taken, and should not be", rule, line);
    }
    if (strcmp(error.reading, reading) != 0) {
        fail_msg("%s %s: blames \"%s\" (%s)", rule, line, error.reading, error.what);
    }
    assert_true(strlen(error.what) > 0);
    if (reading[0] != '\0' && strstr(error.what, reading) == NULL) {
        fail_msg("%s %s: does not name the reading: %s", rule, line, error.what);
    }
    assert_memory_equal(&result, &untouched, sizeof result);
    assert_memory_equal(&working, &still, sizeof working);
}
