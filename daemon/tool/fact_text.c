// Facts as text: the sentence of each, and what it stood on.
#include "tool/fact_text.h"

#include "gate/fact/sentence.h"
#include "tool/row.h"

#include <stdlib.h>

void tool_fact_headline(struct tool_text *text, const struct gate_fact *fact) {
    char few[1024];
    size_t length = gate_fact_sentence(fact, few, sizeof few);
    if (length < sizeof few) {
        tool_text_add_n(text, few, length);
        return;
    }
    char *all = malloc(length + 1);
    if (all == NULL) {
        text->failed = true;
        return;
    }
    gate_fact_sentence(fact, all, length + 1);
    tool_text_add_n(text, all, length);
    free(all);
}

void tool_fact_evidence(struct tool_text *text, const struct gate_fact *fact) {
    for (size_t i = 0; i < fact->evidence_count; i++) {
        const struct gate_evidence *evidence = &fact->evidence[i];
        char age[TOOL_AGE_SIZE];
        tool_age(fact->at.wall - evidence->heard, age);
        tool_text_add(text, "%s%s %s, %s, ", i > 0 ? "; " : "", evidence->point,
                      model_point_state_name(evidence->state), model_trust_name(evidence->trust));
        if (evidence->heard != 0) {
            tool_text_add(text, "heard %s before", age);
        } else {
            tool_text_add(text, "never heard");
        }
        if (evidence->distrusted) {
            tool_text_add(text, ", a sensor out of order");
        }
    }
}

void tool_fact_refusal(struct tool_text *text, const struct gate_refusal *refusal) {
    char age[TOOL_AGE_SIZE];
    tool_text_add(text, "%s (%s%s%s", refusal->say, model_code_name(refusal->code),
                  refusal->subject[0] != '\0' ? " " : "", refusal->subject);
    if (refusal->need[0] != '\0') {
        tool_text_add(text, "; need: %s", refusal->need);
    }
    if (refusal->found[0] != '\0') {
        tool_text_add(text, "; found: %s", refusal->found);
    }
    if (refusal->age_ms >= 0) {
        tool_age(refusal->age_ms, age);
        tool_text_add(text, "; %s old", age);
    }
    tool_text_add(text, ")");
}

static void add_inputs(struct tool_text *text, const struct model_result *result) {
    for (size_t i = 0; i < result->input_count; i++) {
        const struct model_reading *input = &result->inputs[i];
        tool_text_add(text, "%s%s=", i > 0 ? ", " : "", input->name);
        if (input->kind == MODEL_READING_NUMBER) {
            tool_text_add(text, "%.15g", input->number);
        } else {
            tool_text_add(text, "%s",
                          input->kind == MODEL_READING_TEXT ? input->text
                          : input->flag                     ? "true"
                                                            : "false");
        }
    }
}

// A limit that is one number does not say which end it was.
static void add_limit(struct tool_text *text, const struct model_result *result) {
    const struct model_limits *limits = &result->limits;
    if (!result->limit_is_interval && (limits->has_min || limits->has_max)) {
        tool_text_add(text, ", limit %.15g", limits->has_max ? limits->max : limits->min);
        return;
    }
    if (limits->has_min) {
        tool_text_add(text, ", at least %.15g", limits->min);
    }
    if (limits->has_max) {
        tool_text_add(text, ", at most %.15g", limits->max);
    }
}

void tool_fact_result(struct tool_text *text, const struct model_result *result) {
    tool_text_add(text, "%s, %s: ", result->rule, result->formula);
    add_inputs(text, result);
    if (result->has_value) {
        tool_text_add(text, "; value %.15g", result->value);
    }
    add_limit(text, result);
    if (result->has_margin) {
        tool_text_add(text, ", margin %.15g", result->margin);
    }
    tool_text_add(text, "; source: %s", result->source);
    if (result->decision != MODEL_DECISION_NONE) {
        tool_text_add(text, "; decision: %s, uncertainty %.15g",
                      model_decision_name(result->decision), result->uncertainty);
    }
    for (size_t i = 0; i < result->caution_count; i++) {
        tool_text_add(text, "; CAUTION: %s", result->cautions[i].text);
    }
}

bool tool_fact_names_job(const struct gate_fact *fact, const char *job) {
    for (size_t i = 0; i < fact->job_count; i++) {
        if (tool_same(fact->jobs[i], job)) {
            return true;
        }
    }
    return tool_same(fact->job, job);
}
