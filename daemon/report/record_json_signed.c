// What was signed and tested, as JSON: each requirement of the opening with all that was said of
// it.
#include "report/builder.h"
#include "report/record_json.h"

#include "trade/trade.h"
#include "wire/fact_parts.h"

static void signature(struct json_out *out, const struct report_record *record,
                      const struct report_signature *of) {
    const struct gate_fact *fact = of->entry.fact;
    report_json_entry(out, &of->entry);
    report_json_person(out, record, "by", "title", fact->person);
    wire_number(out, "value", fact->has_value, fact->value);
    wire_text(out, "unit", fact->unit);
    wire_reading(out, fact->has_reading, fact->reading, fact->reading_unit);
    report_json_instrument(out, record, fact->instrument);
    wire_flag(out, "pass", fact->has_pass && fact->pass);
    wire_time(out, "valid_until",
              of->check != NULL && of->check->valid_ms > 0 ? fact->at.wall + of->check->valid_ms
                                                           : 0);
    wire_text(out, "note", fact->note);
    wire_flag(out, "replaced", of->replaced);
    report_json_voided(out, &of->void_);
    json_out_object_end(out);
}

static void signatures_of(struct json_out *out, const struct report_record *record,
                          const char *check) {
    wire_list(out, "signatures");
    for (size_t i = 0; i < record->signature_count; i++) {
        if (report_is(record->signatures[i].entry.fact->check, check)) {
            signature(out, record, &record->signatures[i]);
        }
    }
    json_out_array_end(out);
}

// Signed, but not among the requirements of the opening: a later configuration asked for it.
static void added_checks(struct json_out *out, const struct report_record *record) {
    for (size_t i = 0; i < record->signature_count; i++) {
        const struct report_signature *of = &record->signatures[i];
        if (of->check == NULL && !of->replaced) {
            json_out_object(out);
            wire_text(out, "check", of->entry.fact->check);
            wire_text(out, "group", NULL);
            signatures_of(out, record, of->entry.fact->check);
            json_out_object_end(out);
        }
    }
}

void report_json_checks(struct json_out *out, const struct report_record *record) {
    const struct model_requirements *needs = record->opened->requirements;
    wire_list(out, "checks");
    for (size_t i = 0; needs != NULL && i < needs->check_count; i++) {
        const struct model_check *check = &needs->checks[i];
        json_out_object(out);
        wire_text(out, "check", check->check);
        wire_text(out, "group", model_group_name(check->group));
        wire_text(out, "ask", check->ask);
        wire_texts(out, "asks", check->asks);
        wire_text(out, "rule", check->torque_applied ? "torque-applied" : NULL);
        wire_text(out, "unit", check->unit);
        wire_limits(out, &check->limits);
        wire_text(out, "instrument_kind", check->instrument);
        wire_text(out, "by", check->by != 0 ? model_role_name(check->by) : NULL);
        signatures_of(out, record, check->check);
        json_out_object_end(out);
    }
    added_checks(out, record);
    json_out_array_end(out);
}

// The limits that a value was held against, each at its end, and their unit: the result has the
// one or the two as figures alone.
static void limits_of(struct json_out *out, const struct model_result *result,
                      const struct model_test *test) {
    const struct model_limits none = {0};
    bool has = result != NULL && result->has_value;
    const char *named = test != NULL ? test->unit : NULL;
    wire_text(out, "unit", has ? trade_value_unit(result->rule, named) : NULL);
    wire_limits(out, has ? &result->limits : &none);
    const struct trade_rule *rule = has ? trade_rule_find(result->rule) : NULL;
    wire_flag(out, "exceeds", rule != NULL && rule->exceeds);
}

// What was read, as people call it: "reading" is the rule's own name of it, whichever was given.
static void readings_of(struct json_out *out, const struct model_result *result,
                        const struct model_test *test) {
    const struct trade_rule *rule = result != NULL ? trade_rule_find(result->rule) : NULL;
    wire_list(out, "readings");
    for (size_t i = 0; rule != NULL && i < result->input_count; i++) {
        const char *unit;
        const struct trade_reading *row = trade_reading_given(rule, result->inputs[i].name, &unit);
        if (row == NULL) {
            continue; // of another edition of the rule: its inputs have it
        }
        bool procedures = row->kind == TRADE_NUMBER && row->unit == TRADE_NO_UNIT && test != NULL;
        json_out_object(out);
        wire_text(out, "reading", row->name);
        wire_text(out, "title", row->title);
        wire_text(out, "unit", procedures ? test->unit : unit);
        json_out_key(out, "value");
        wire_fact_write_input(out, &result->inputs[i]);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void test_record(struct json_out *out, const struct report_record *record,
                        const struct report_test *of) {
    const struct gate_fact *fact = of->entry.fact;
    report_json_entry(out, &of->entry);
    report_json_person(out, record, "by", "title", fact->person);
    report_json_instrument(out, record, fact->instrument);
    json_out_key(out, "result");
    if (fact->result != NULL) {
        wire_fact_write_result(out, fact->result);
    } else {
        json_out_null(out);
    }
    readings_of(out, fact->result, of->test);
    limits_of(out, fact->result, of->test);
    wire_flag(out, "pass", fact->has_pass && fact->pass);
    wire_time(out, "valid_until",
              of->test != NULL && of->test->valid_ms > 0 ? fact->at.wall + of->test->valid_ms : 0);
    wire_text(out, "note", fact->note);
    wire_flag(out, "replaced", of->replaced);
    report_json_voided(out, &of->void_);
    json_out_object_end(out);
}

static void test_records_of(struct json_out *out, const struct report_record *record,
                            const char *test) {
    wire_list(out, "records");
    for (size_t i = 0; i < record->test_count; i++) {
        if (report_is(record->tests[i].entry.fact->test, test)) {
            test_record(out, record, &record->tests[i]);
        }
    }
    json_out_array_end(out);
}

// A test that another job left to do here, one of each product, or one that was added later.
static void added_tests(struct json_out *out, const struct report_record *record) {
    for (size_t i = 0; i < record->test_count; i++) {
        const struct report_test *of = &record->tests[i];
        if (of->test == NULL && !of->replaced) {
            json_out_object(out);
            wire_text(out, "test", of->entry.fact->test);
            wire_text(out, "rule",
                      of->entry.fact->result != NULL ? of->entry.fact->result->rule : NULL);
            test_records_of(out, record, of->entry.fact->test);
            json_out_object_end(out);
        }
    }
}

void report_json_tests(struct json_out *out, const struct report_record *record) {
    const struct model_requirements *needs = record->opened->requirements;
    wire_list(out, "tests");
    for (size_t i = 0; needs != NULL && i < needs->test_count; i++) {
        const struct model_test *test = &needs->tests[i];
        if (test->each_product && report_test_of(record, test->test) == NULL) {
            continue; // it stands below under the name of each product
        }
        json_out_object(out);
        wire_text(out, "test", test->test);
        wire_text(out, "rule", test->rule);
        wire_text(out, "title", test->title);
        wire_texts(out, "titles", test->titles);
        wire_text(out, "method", test->method);
        wire_text(out, "edition", test->edition);
        wire_text(out, "unit", test->unit);
        wire_limits(out, &test->limits);
        wire_text(out, "instrument_kind", test->instrument);
        wire_flag(out, "powered", test->powered);
        test_records_of(out, record, test->test);
        json_out_object_end(out);
    }
    added_tests(out, record);
    json_out_array_end(out);
}
