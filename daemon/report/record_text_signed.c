// What was signed and tested, on the printed form.
#include "report/builder.h"
#include "report/record_text.h"
#include "trade/trade.h"

static const char *calibration(const struct report_record *record, const char *id) {
    const struct model_instrument *found =
        id != NULL ? model_instrument_find(record->model, id) : NULL;
    return found != NULL ? found->calibrated_until.day : "";
}

static void put_with(FILE *out, const struct report_record *record, const struct gate_fact *fact) {
    if (fact->instrument != NULL) {
        report_put(
            out, 6, "with %s%s%s", fact->instrument,
            REPORT_LABELED(", calibration valid until ", calibration(record, fact->instrument)));
    }
    if (fact->note != NULL) {
        report_put(out, 6, "note: %s", fact->note);
    }
}

static void put_void(FILE *out, const struct report_void *one) {
    char at[REPORT_WHEN_SIZE];
    if (one->seq != 0) {
        report_put(out, 6, "void since %s: %s", report_when(one->at, at), one->why);
    }
}

// What was read, where the value was computed from it.
static void put_reading(FILE *out, const struct gate_fact *fact, const struct model_check *check) {
    char figure[REPORT_FIGURE_SIZE];
    bool wrench = check != NULL && check->torque_applied;
    if (fact->has_reading) {
        report_put(out, 6, "from %s %.32s%s", report_figure(fact->reading, figure),
                   fact->reading_unit != NULL ? fact->reading_unit : "",
                   wrench ? " on the wrench; the value is at the nut" : "");
    }
}

static void put_signature(FILE *out, const struct report_record *record,
                          const struct report_signature *of) {
    const struct gate_fact *fact = of->entry.fact;
    char at[REPORT_WHEN_SIZE], figure[REPORT_FIGURE_SIZE], value[80] = "";
    if (fact->has_value) {
        snprintf(value, sizeof value, ": %s %.32s", report_figure(fact->value, figure),
                 fact->unit != NULL ? fact->unit : "");
    }
    report_put(out, 4, "%s  %s%s, by %s %s", report_when(fact->at.wall, at),
               fact->has_pass && fact->pass ? "good" : "FAILED", value,
               report_or_dash(fact->person), report_title_of(record, fact->person));
    put_reading(out, fact, of->check);
    put_with(out, record, fact);
    put_void(out, &of->void_);
}

static void put_check(FILE *out, const struct report_record *record, const char *id,
                      const struct model_check *check) {
    char limit[REPORT_LIMITS_SIZE] = "";
    if (check != NULL) {
        report_put(out, 2, "%s %s: %s%s", model_group_name(check->group), id, check->ask,
                   report_limits_text(&check->limits, check->unit, limit));
    } else {
        report_put(out, 2, "%s (not among the requirements of the opening)", id);
    }
    bool any = false;
    for (size_t i = 0; i < record->signature_count; i++) {
        if (report_is(record->signatures[i].entry.fact->check, id)) {
            put_signature(out, record, &record->signatures[i]);
            any = true;
        }
    }
    if (!any) {
        report_put(out, 4, "not signed");
    }
}

void report_put_checks(FILE *out, const struct report_record *record) {
    const struct model_requirements *needs = record->opened->requirements;
    report_heading(out, "CHECKS");
    for (size_t i = 0; needs != NULL && i < needs->check_count; i++) {
        put_check(out, record, needs->checks[i].check, &needs->checks[i]);
    }
    for (size_t i = 0; i < record->signature_count; i++) {
        const struct report_signature *of = &record->signatures[i];
        if (of->check == NULL && !of->replaced) {
            put_check(out, record, of->entry.fact->check, NULL);
        }
    }
}

static void put_inputs(FILE *out, const struct model_result *result) {
    for (size_t i = 0; i < result->input_count; i++) {
        const struct model_reading *input = &result->inputs[i];
        if (input->kind == MODEL_READING_NUMBER) {
            report_put(out, 8, "%s = %.15g", input->name, input->number);
        } else {
            report_put(out, 8, "%s = %s", input->name,
                       input->kind == MODEL_READING_TEXT ? input->text
                       : input->flag                     ? "true"
                                                         : "false");
        }
    }
}

// The limits of a result; of a rule whose limit must be exceeded, in such words.
static const char *limit_of(const struct model_result *result, const char *unit,
                            char text[REPORT_LIMITS_SIZE]) {
    const struct trade_rule *rule = trade_rule_find(result->rule);
    char least[REPORT_FIGURE_SIZE];
    if (rule == NULL || !rule->exceeds || !result->limits.has_min || result->limits.has_max) {
        return report_limits_text(&result->limits, unit, text);
    }
    snprintf(text, REPORT_LIMITS_SIZE, " [limit: more than %s%s%.32s]",
             report_figure(result->limits.min, least), REPORT_LABELED(" ", unit));
    return text;
}

static void put_result(FILE *out, const struct model_result *result, const char *named) {
    char limit[REPORT_LIMITS_SIZE], value[REPORT_FIGURE_SIZE], margin[REPORT_FIGURE_SIZE];
    const char *unit = result->has_value ? trade_value_unit(result->rule, named) : NULL;
    report_put(out, 6, "rule %s, formula %s", result->rule, result->formula);
    put_inputs(out, result);
    report_put(out, 6, "value %s%s%s%s, margin %s",
               result->has_value ? report_figure(result->value, value) : "-",
               REPORT_LABELED(" ", unit), limit_of(result, unit, limit),
               result->has_margin ? report_margin(result->margin, margin) : "-");
    report_put(out, 6, "source: %s", result->source);
    if (result->decision != MODEL_DECISION_NONE) {
        report_put(out, 6, "decision: %s, uncertainty %s%s%s",
                   model_decision_name(result->decision), report_figure(result->uncertainty, value),
                   REPORT_LABELED(" ", unit));
    }
    for (size_t i = 0; i < result->caution_count; i++) {
        report_put(out, 6, "CAUTION: %s", result->cautions[i].text);
    }
}

static void put_test(FILE *out, const struct report_record *record, const struct report_test *of) {
    const struct gate_fact *fact = of->entry.fact;
    char at[REPORT_WHEN_SIZE];
    report_put(out, 4, "%s  %s, by %s %s", report_when(fact->at.wall, at),
               fact->has_pass && fact->pass ? "passed" : "FAILED", report_or_dash(fact->person),
               report_title_of(record, fact->person));
    if (fact->result != NULL) {
        put_result(out, fact->result, of->test != NULL ? of->test->unit : NULL);
    }
    put_with(out, record, fact);
    put_void(out, &of->void_);
}

// By whose text a test is made.
static void put_method(FILE *out, const struct model_test *test) {
    if (test->method != NULL) {
        report_put(out, 4, "method %s%s%s", test->method,
                   REPORT_LABELED(", edition ", test->edition));
    }
}

// test: NULL where the job's requirements say nothing of it.
static void put_tests_named(FILE *out, const struct report_record *record, const char *id,
                            const struct model_test *test) {
    report_put(out, 2, "%s%s%s%s%s", id, REPORT_LABELED(", ", test != NULL ? test->title : NULL),
               REPORT_LABELED(", rule ", test != NULL ? test->rule : NULL));
    if (test != NULL) {
        put_method(out, test);
    }
    for (size_t i = 0; i < record->test_count; i++) {
        if (report_is(record->tests[i].entry.fact->test, id)) {
            put_test(out, record, &record->tests[i]);
        }
    }
    if (report_test_of(record, id) == NULL) {
        report_put(out, 4, "not recorded");
    }
}

void report_put_tests(FILE *out, const struct report_record *record) {
    const struct model_requirements *needs = record->opened->requirements;
    report_heading(out, "TESTS");
    for (size_t i = 0; needs != NULL && i < needs->test_count; i++) {
        const struct model_test *test = &needs->tests[i];
        if (!test->each_product || report_test_of(record, test->test) != NULL) {
            put_tests_named(out, record, test->test, test);
        }
    }
    for (size_t i = 0; i < record->test_count; i++) {
        const struct report_test *of = &record->tests[i];
        if (of->test == NULL && !of->replaced) {
            put_tests_named(out, record, of->entry.fact->test, NULL);
        }
    }
}
