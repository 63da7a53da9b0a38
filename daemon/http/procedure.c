// What a job requires: the stricter of its opening and today, with the readings that each test
// takes, so that a page can draw its forms.
#include "http/internal.h"

#include "model/unit.h"
#include "trade/trade.h"
#include "wire/tell_member.h"

#include <stdlib.h>
#include <string.h>

static void write_credentials(struct json_out *out, const struct model_requirements *needs) {
    wire_list(out, "credentials");
    for (size_t i = 0; i < needs->credential_count; i++) {
        json_out_array(out);
        for (size_t k = 0; k < needs->credentials[i].count; k++) {
            json_out_string(out, needs->credentials[i].any[k]);
        }
        json_out_array_end(out);
    }
    json_out_array_end(out);
}

static void write_check(struct json_out *out, const struct model_check *check) {
    json_out_object(out);
    wire_text(out, "check", check->check);
    wire_text(out, "group", model_group_name(check->group));
    wire_text(out, "ask", check->ask);
    wire_texts(out, "asks", check->asks);
    wire_text(out, "unit", check->unit);
    wire_text(out, "twin_unit", check->twin ? model_unit_twin(check->unit) : NULL);
    wire_limits(out, &check->limits);
    wire_text(out, "instrument", check->instrument);
    wire_text(out, "by", model_role_name(check->by));
    wire_number(out, "valid_s", check->valid_ms > 0, (double)check->valid_ms / 1000);
    wire_text(out, "measure", check->measure);
    wire_flag(out, "note", check->note);
    wire_text(out, "equals", check->equals_family ? "nozzle_family" : NULL);
    wire_text(out, "rule", check->torque_applied ? "torque-applied" : NULL);
    json_out_object_end(out);
}

static const char *kind_name(enum trade_kind kind) {
    return kind == TRADE_FLAG ? "flag" : kind == TRADE_WORD ? "text" : "number";
}

static void write_choices(struct json_out *out, const char *words) {
    wire_list(out, "choices");
    while (words != NULL && *words != '\0') {
        size_t length = strcspn(words, " ");
        json_out_string_n(out, words, length);
        words += length;
        words += *words == ' ';
    }
    json_out_array_end(out);
}

static void write_reading(struct json_out *out, const struct model_test *test,
                          const struct trade_reading *reading) {
    const char *unit = trade_unit_symbol(reading->unit);
    bool procedures = test->unit != NULL && reading->unit == TRADE_NO_UNIT;
    json_out_object(out);
    wire_text(out, "name", reading->name);
    wire_text(out, "title", reading->title);
    wire_text(out, "kind", kind_name(reading->kind));
    wire_text(out, "unit", procedures ? test->unit : unit);
    write_choices(out, reading->kind == TRADE_WORD ? reading->words : NULL);
    wire_flag(out, "whole", reading->kind == TRADE_COUNT);
    wire_flag(out, "optional", reading->optional);
    wire_flag(out, "negative", reading->kind == TRADE_NUMBER && reading->min < 0);
    wire_text(out, "twin", reading->twin);
    wire_text(out, "twin_unit", reading->twin != NULL ? trade_unit_si(reading->unit) : NULL);
    json_out_object_end(out);
}

// What the test is called: where the configuration says it, "titles" says so in every language;
// else it is called as its rule.
static void write_test_title(struct json_out *out, const struct model_test *test,
                             const struct trade_rule *rule, const char *language) {
    const char *of_rule = rule != NULL ? rule->title : NULL;
    wire_text(out, "title", test->title != NULL ? test->title : of_rule);
    if (test->title != NULL && test->titles == NULL) {
        json_out_key(out, "titles");
        json_out_object(out);
        wire_text(out, language, test->title);
        json_out_object_end(out);
    }
    wire_texts(out, "titles", test->titles);
}

// The limits that hold whatever is read: the procedure's, and the rule's own where the readings do
// not move them.
static struct model_limits limits_of(const struct model_test *test, const struct trade_rule *rule) {
    struct model_limits limits = model_test_limits(test);
    bool tightens = rule != NULL && rule->limits == TRADE_LIMITS_TIGHTEN && !rule->own_moves;
    return tightens ? model_limits_both(limits, rule->own) : limits;
}

static void write_test(struct json_out *out, const struct model_test *test, const char *language) {
    const struct trade_rule *rule = trade_rule_find(test->rule);
    struct model_limits limits = limits_of(test, rule);
    json_out_object(out);
    wire_text(out, "test", test->test);
    wire_text(out, "rule", test->rule);
    write_test_title(out, test, rule, language);
    wire_text(out, "ask", test->ask);
    wire_texts(out, "asks", test->asks);
    wire_text(out, "method", test->method);
    wire_text(out, "edition", test->edition);
    wire_text(out, "unit", trade_value_unit(test->rule, test->unit));
    wire_limits(out, &limits);
    wire_flag(out, "exceeds", rule != NULL && rule->exceeds);
    wire_flag(out, "limits_move", rule != NULL && rule->own_moves);
    wire_text(out, "formula", rule != NULL ? rule->formula : NULL);
    wire_text(out, "instrument", test->instrument);
    wire_flag(out, "powered", test->powered);
    wire_number(out, "valid_s", test->valid_ms > 0, (double)test->valid_ms / 1000);
    wire_number(out, "runs", true, test->runs > 1 ? test->runs : 1);
    wire_number(out, "borderline", test->runs > 1, test->borderline);
    wire_text(out, "each", test->each_product ? "product" : NULL);
    wire_text(out, "fails", test->fails_dispenser ? "dispenser" : NULL);
    wire_text(out, "notice", test->notice_ms > 0 ? test->notice : NULL);
    wire_number(out, "notice_h", test->notice_ms > 0, (double)test->notice_ms / 3600000);
    wire_list(out, "readings");
    for (size_t i = 0; rule != NULL && i < rule->reading_count; i++) {
        write_reading(out, test, &rule->readings[i]);
    }
    json_out_array_end(out);
    json_out_object_end(out);
}

static void write_head(struct json_out *out, const struct gate_job *job) {
    const struct model_requirements *needs = job->needs;
    wire_text(out, "job", job->job);
    wire_text(out, "procedure", needs->procedure);
    wire_text(out, "title", needs->title);
    wire_texts(out, "titles", needs->titles);
    wire_text(out, "kind", needs->inspection ? "inspection" : NULL);
    wire_text(out, "district", needs->district);
    wire_text(out, "effective", needs->effective);
    write_credentials(out, needs);
    wire_list(out, "isolate");
    for (size_t i = 0; i < needs->isolate_count; i++) {
        json_out_string(out, needs->isolate[i]);
    }
    json_out_array_end(out);
    wire_text(out, "match", needs->match ? "nozzle_family" : NULL);
    wire_text(out, "takes", model_takes_name(needs));
    wire_number(out, "check_in_s", needs->check_in_ms > 0, (double)needs->check_in_ms / 1000);
}

static bool write_procedure(struct json_out *out, const struct gate_site *at,
                            const struct gate_job *job) {
    struct model_requirements *tests = gate_tests_of(at, job);
    if (tests == NULL) {
        return false;
    }
    json_out_object(out);
    write_head(out, job);
    wire_list(out, "points");
    for (size_t i = 0; i < job->required_count; i++) {
        json_out_string(out, at->model->points[job->required[i]].point);
    }
    json_out_array_end(out);
    wire_list(out, "checks");
    for (size_t i = 0; i < job->needs->check_count; i++) {
        write_check(out, &job->needs->checks[i]);
    }
    json_out_array_end(out);
    const char *language = at->model->languages[0];
    wire_list(out, "tests");
    for (size_t i = 0; i < tests->test_count; i++) {
        write_test(out, &tests->tests[i], language);
    }
    json_out_array_end(out);
    json_out_object_end(out);
    free(tests);
    return true;
}

void http_serve_procedure(struct http_call *call) {
    struct http_state state = http_state_now(call->http);
    const struct gate_job *job = http_job_of(call, &state);
    struct json_out *out = &call->http->out;
    if (job != NULL) {
        json_out_reset(out);
        out->failed |= !write_procedure(out, &state.gate->sites[call->site->index], job);
        http_reply_out(call->http, call->request);
    }
}
