// Evidence and results: one writer and one reader each, side by side.
#include "wire/fact_parts.h"

#include "wire/fact_caution.h"

#include "base/time_text.h"
#include "trade/trade.h"
#include "wire/fact_words.h"

#include <math.h>
#include <string.h>

// Above this, seconds as a double no longer hold every millisecond.
#define SECONDS_MAX 1e12
// More runs of one test than anybody does.
#define RUNS_MAX 1000

// --- Writing ---

void wire_fact_write_time(struct json_out *out, int64_t unix_ms) {
    char text[BASE_TIME_SIZE];
    if (unix_ms == 0) {
        json_out_null(out);
        return;
    }
    base_time_format(unix_ms, text);
    json_out_string_n(out, text, BASE_TIME_SIZE - 1);
}

void wire_fact_write_text(struct json_out *out, const char *text) {
    json_out_string(out, text != NULL && text[0] != '\0' ? text : NULL);
}

void wire_fact_write_number(struct json_out *out, bool present, double value) {
    if (present) {
        json_out_double(out, value);
    } else {
        json_out_null(out);
    }
}

void wire_fact_write_evidence(struct json_out *out, const struct gate_evidence *evidence,
                              size_t count) {
    json_out_array(out);
    for (size_t i = 0; i < count; i++) {
        json_out_object(out);
        json_out_key(out, "point");
        json_out_string(out, evidence[i].point);
        json_out_key(out, "state");
        json_out_string(out, model_point_state_name(evidence[i].state));
        json_out_key(out, "trust");
        json_out_string(out, model_trust_name(evidence[i].trust));
        json_out_key(out, "heard");
        wire_fact_write_time(out, evidence[i].heard);
        if (evidence[i].distrusted) {
            json_out_key(out, "distrusted");
            json_out_bool(out, true);
        }
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

void wire_fact_write_input(struct json_out *out, const struct model_reading *input) {
    switch (input->kind) {
    case MODEL_READING_NUMBER:
        json_out_double(out, input->number);
        break;
    case MODEL_READING_FLAG:
        json_out_bool(out, input->flag);
        break;
    case MODEL_READING_TEXT:
        json_out_string(out, input->text);
        break;
    }
}

static void write_inputs(struct json_out *out, const struct model_result *result) {
    json_out_object(out);
    for (size_t i = 0; i < result->input_count; i++) {
        json_out_key(out, result->inputs[i].name);
        wire_fact_write_input(out, &result->inputs[i]);
    }
    json_out_object_end(out);
}

static void write_limit(struct json_out *out, const struct model_result *result) {
    const struct model_limits *limits = &result->limits;
    if (!result->limit_is_interval) {
        wire_fact_write_number(out, limits->has_min || limits->has_max,
                               limits->has_min ? limits->min : limits->max);
        return;
    }
    json_out_object(out);
    json_out_key(out, "min");
    wire_fact_write_number(out, limits->has_min, limits->min);
    json_out_key(out, "max");
    wire_fact_write_number(out, limits->has_max, limits->max);
    json_out_object_end(out);
}

// Which run of how many that are averaged, and what it read; of a single run nothing is said.
static void write_runs(struct json_out *out, const struct model_result *result) {
    if (result->runs == 0) {
        return;
    }
    json_out_key(out, "runs");
    json_out_object(out);
    json_out_key(out, "run");
    json_out_int(out, result->run);
    json_out_key(out, "of");
    json_out_int(out, result->runs);
    json_out_key(out, "reading");
    json_out_double(out, result->reading);
    json_out_key(out, "mean");
    json_out_double(out, result->value);
    json_out_object_end(out);
}

// What the instrument makes of the verdict, where that is known.
static void write_decision(struct json_out *out, const struct model_result *result) {
    if (result->decision != MODEL_DECISION_NONE) {
        json_out_key(out, "decision");
        json_out_string(out, model_decision_name(result->decision));
        json_out_key(out, "uncertainty");
        json_out_double(out, result->uncertainty);
    }
}

// That the method does not hold for the readings, and why; of readings for which it does nothing.
static void write_doubts(struct json_out *out, const struct model_result *result) {
    if (result->doubt_count == 0) {
        return;
    }
    json_out_key(out, "valid");
    json_out_bool(out, false);
    json_out_key(out, "reasons");
    json_out_array(out);
    for (size_t i = 0; i < result->doubt_count; i++) {
        const struct model_doubt *doubt = &result->doubts[i];
        json_out_object(out);
        json_out_key(out, "reading");
        json_out_string(out, doubt->reading);
        json_out_key(out, "need");
        json_out_string(out, doubt->need);
        json_out_key(out, "found");
        json_out_string(out, doubt->found);
        json_out_key(out, "source");
        wire_fact_write_text(out, doubt->source);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

void wire_fact_write_result(struct json_out *out, const struct model_result *result) {
    json_out_object(out);
    json_out_key(out, "rule");
    json_out_string(out, result->rule);
    json_out_key(out, "inputs");
    write_inputs(out, result);
    json_out_key(out, "value");
    wire_fact_write_number(out, result->has_value, result->value);
    json_out_key(out, "limit");
    write_limit(out, result);
    json_out_key(out, "margin");
    wire_fact_write_number(out, result->has_margin, result->margin);
    json_out_key(out, "pass");
    if (result->has_pass) {
        json_out_bool(out, result->pass);
    } else {
        json_out_null(out);
    }
    json_out_key(out, "formula");
    json_out_string(out, result->formula);
    json_out_key(out, "source");
    json_out_string(out, result->source);
    write_decision(out, result);
    wire_fact_write_cautions(out, result);
    write_doubts(out, result);
    write_runs(out, result);
    json_out_object_end(out);
}

// --- Reading ---

bool wire_fact_read_text(const struct wire_fact_reader *reader, const struct json_node *node,
                         const char **text) {
    if (node == NULL || node->kind != JSON_STRING) {
        return false;
    }
    // Unescaping never makes a text longer.
    char *copy = wire_fact_arena_alloc(reader->arena, (size_t)node->length + 1);
    if (copy == NULL) {
        return false;
    }
    *text = copy;
    if (node->escaped) {
        return json_copy(reader->tape, node, copy, (size_t)node->length + 1);
    }
    memcpy(copy, reader->tape->text + node->start, node->length);
    copy[node->length] = '\0';
    return true;
}

bool wire_fact_read_time(const struct wire_fact_reader *reader, const struct json_node *node,
                         int64_t *unix_ms) {
    if (node != NULL && node->kind == JSON_NULL) {
        *unix_ms = 0;
        return true;
    }
    return node != NULL && node->kind == JSON_STRING &&
           base_time_parse(reader->tape->text + node->start, node->length, unix_ms);
}

bool wire_fact_open_array(const struct wire_fact_reader *reader, const struct json_node *node,
                          size_t size, void **items, size_t *count) {
    *items = NULL;
    *count = 0;
    if (node == NULL || node->kind == JSON_NULL) {
        return true;
    }
    if (node->kind != JSON_ARRAY) {
        return false;
    }
    *count = node->count;
    *items = *count > 0 ? wire_fact_arena_array(reader->arena, *count, size) : NULL;
    return *count == 0 || *items != NULL;
}

bool wire_fact_read_texts(const struct wire_fact_reader *reader, const struct json_node *node,
                          const char ***texts, size_t *count) {
    void *items;
    if (!wire_fact_open_array(reader, node, sizeof **texts, &items, count)) {
        return false;
    }
    *texts = items;
    const struct json_node *item = *count > 0 ? json_first(reader->tape, node) : NULL;
    for (size_t i = 0; i < *count; i++, item = json_next(reader->tape, node, item)) {
        if (!wire_fact_read_text(reader, item, &(*texts)[i])) {
            return false;
        }
    }
    return true;
}

static bool read_evidence(const struct wire_fact_reader *reader, const struct json_node *node,
                          struct gate_evidence *evidence) {
    const struct json_tape *tape = reader->tape;
    int state =
        wire_fact_word_read(&gate_spelling_point_states, tape, json_member(tape, node, "state"));
    int trust = wire_fact_word_read(&gate_spelling_trusts, tape, json_member(tape, node, "trust"));
    if (state < 0 || trust < 0) {
        return false;
    }
    const struct json_node *distrusted = json_member(tape, node, "distrusted");
    evidence->state = (enum model_point_state)state;
    evidence->trust = (enum model_trust)trust;
    evidence->distrusted = distrusted != NULL && distrusted->kind == JSON_TRUE;
    return wire_fact_read_text(reader, json_member(tape, node, "point"), &evidence->point) &&
           wire_fact_read_time(reader, json_member(tape, node, "heard"), &evidence->heard);
}

bool wire_fact_read_evidence(const struct wire_fact_reader *reader, const struct json_node *node,
                             const struct gate_evidence **evidence, size_t *count) {
    void *items;
    if (!wire_fact_open_array(reader, node, sizeof **evidence, &items, count)) {
        return false;
    }
    struct gate_evidence *all = items;
    const struct json_node *item = *count > 0 ? json_first(reader->tape, node) : NULL;
    for (size_t i = 0; i < *count; i++, item = json_next(reader->tape, node, item)) {
        if (!read_evidence(reader, item, &all[i])) {
            return false;
        }
    }
    *evidence = all;
    return true;
}

bool wire_fact_read_into(const struct wire_fact_reader *reader, const struct json_node *object,
                         const char *name, char *buffer, size_t size) {
    const struct json_node *node = json_present(reader->tape, object, name);
    buffer[0] = '\0';
    return node == NULL || json_copy(reader->tape, node, buffer, size);
}

// A member that is a number, or null or absent.
static bool read_number(const struct wire_fact_reader *reader, const struct json_node *object,
                        const char *name, bool *has, double *value) {
    const struct json_node *node = json_present(reader->tape, object, name);
    *has = node != NULL;
    return node == NULL || json_double(reader->tape, node, value);
}

static bool read_input(const struct wire_fact_reader *reader, const struct json_node *key,
                       const struct json_node *value, struct model_reading *input) {
    if (!json_copy(reader->tape, key, input->name, sizeof input->name)) {
        return false;
    }
    switch (value->kind) {
    case JSON_NUMBER:
        input->kind = MODEL_READING_NUMBER;
        return json_double(reader->tape, value, &input->number);
    case JSON_TRUE:
    case JSON_FALSE:
        input->kind = MODEL_READING_FLAG;
        input->flag = value->kind == JSON_TRUE;
        return true;
    case JSON_STRING:
        input->kind = MODEL_READING_TEXT;
        return json_copy(reader->tape, value, input->text, sizeof input->text);
    default:
        return false;
    }
}

static bool read_inputs(const struct wire_fact_reader *reader, const struct json_node *node,
                        struct model_result *result) {
    if (node == NULL || node->kind != JSON_OBJECT || node->count > MODEL_READINGS_MAX) {
        return false;
    }
    const struct json_node *key = json_first(reader->tape, node);
    for (size_t i = 0; i < node->count; i++) {
        const struct json_node *value = json_next(reader->tape, node, key);
        if (!read_input(reader, key, value, &result->inputs[i])) {
            return false;
        }
        key = json_next(reader->tape, node, value);
    }
    result->input_count = node->count;
    return true;
}

static bool read_limit(const struct wire_fact_reader *reader, const struct json_node *result_node,
                       struct model_result *result) {
    struct model_limits *limits = &result->limits;
    const struct json_node *node = json_present(reader->tape, result_node, "limit");
    result->limit_is_interval = node != NULL && node->kind == JSON_OBJECT;
    if (result->limit_is_interval) {
        return read_number(reader, node, "min", &limits->has_min, &limits->min) &&
               read_number(reader, node, "max", &limits->has_max, &limits->max);
    }
    return read_number(reader, result_node, "limit", &limits->has_max, &limits->max);
}

// Which end one number is a limit at: the margin of a value over a least one is value - limit, that
// of a value under a greatest one limit - value. Of a value that meets its limit the rule tells.
static void limit_turn(struct model_result *result) {
    struct model_limits *limits = &result->limits;
    const struct trade_rule *rule = trade_rule_find(result->rule);
    if (result->limit_is_interval || !limits->has_max || !result->has_value ||
        !result->has_margin) {
        return;
    }
    double over = result->value - limits->max;
    bool least = result->margin != 0 ? fabs(over - result->margin) < fabs(over + result->margin)
                                     : rule != NULL && rule->own.has_min && !rule->own.has_max;
    if (least) {
        *limits = (struct model_limits){.has_min = true, .min = limits->max};
    }
}

static bool read_pass(const struct wire_fact_reader *reader, const struct json_node *object,
                      struct model_result *result) {
    const struct json_node *node = json_present(reader->tape, object, "pass");
    result->has_pass = node != NULL;
    result->pass = node != NULL && node->kind == JSON_TRUE;
    return node == NULL || node->kind == JSON_TRUE || node->kind == JSON_FALSE;
}

// A number of runs: whole, and few.
static bool read_count(const struct wire_fact_reader *reader, const struct json_node *object,
                       const char *name, unsigned *count) {
    bool has;
    double number = 0;
    if (!read_number(reader, object, name, &has, &number) || !has || number < 1 ||
        number > RUNS_MAX) {
        return false;
    }
    *count = (unsigned)number;
    return (double)*count == number;
}

static bool read_runs(const struct wire_fact_reader *reader, const struct json_node *object,
                      struct model_result *result) {
    bool has;
    const struct json_node *node = json_present(reader->tape, object, "runs");
    if (node == NULL) {
        return true; // as every journal from before there were runs
    }
    return node->kind == JSON_OBJECT && read_count(reader, node, "run", &result->run) &&
           read_count(reader, node, "of", &result->runs) &&
           read_number(reader, node, "reading", &has, &result->reading) && has;
}

static bool read_decision(const struct wire_fact_reader *reader, const struct json_node *object,
                          struct model_result *result) {
    char name[32];
    bool has;
    if (!wire_fact_read_into(reader, object, "decision", name, sizeof name) ||
        !read_number(reader, object, "uncertainty", &has, &result->uncertainty)) {
        return false;
    }
    result->decision = model_decision_of(name);
    return name[0] == '\0' || result->decision != MODEL_DECISION_NONE;
}

bool wire_fact_read_result(const struct wire_fact_reader *reader, const struct json_node *node,
                           const struct model_result **result) {
    struct model_result *made = wire_fact_arena_array(reader->arena, 1, sizeof *made);
    if (made == NULL || node == NULL || node->kind != JSON_OBJECT) {
        return false;
    }
    *result = made;
    bool good = wire_fact_read_into(reader, node, "rule", made->rule, sizeof made->rule) &&
                wire_fact_read_into(reader, node, "formula", made->formula, sizeof made->formula) &&
                wire_fact_read_into(reader, node, "source", made->source, sizeof made->source) &&
                read_decision(reader, node, made) && wire_fact_read_cautions(reader, node, made) &&
                read_inputs(reader, json_member(reader->tape, node, "inputs"), made) &&
                read_number(reader, node, "value", &made->has_value, &made->value) &&
                read_number(reader, node, "margin", &made->has_margin, &made->margin) &&
                read_limit(reader, node, made) && read_pass(reader, node, made) &&
                read_runs(reader, node, made);
    limit_turn(made);
    return good;
}
