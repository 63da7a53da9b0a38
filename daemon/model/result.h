// The result of a post-repair test: computed by trade, recorded by gate, told by everybody.
#pragma once

#include "model/model.h"

#define MODEL_READINGS_MAX 8

// One reading as it was given. Exactly one of number, flag and text is meant, by kind.
struct model_reading {
    char name[32];
    enum { MODEL_READING_NUMBER, MODEL_READING_FLAG, MODEL_READING_TEXT } kind;
    double number;
    bool flag;
    char text[32];
};

// What needs a person's eye, though it is judged: a sentence, and what it is made of, so that a
// page can say it in another language.
#define MODEL_CAUTIONS_MAX 6
#define MODEL_CAUTION_SIZE 160
struct model_caution {
    char text[MODEL_CAUTION_SIZE];
    // The sentence's name (trade/caution.h); "": of the calculator alone, or from a journal of
    // before there were names.
    char say[32];
    bool has_value, has_min, has_max;
    double value, min, max; // as they stand in the text
};

// Why nothing is judged: a reading outside what the rule's method holds for, or one that the site's
// file contradicts.
#define MODEL_DOUBTS_MAX 8
struct model_doubt {
    char reading[32];
    bool of_site;   // the site's file says otherwise
    bool has_value; // a number: as it was read, and what the method holds for, in unit
    double value;
    struct model_limits limits; // none where a word was read
    const char *unit;           // static
    char need[96];              // in words
    char found[48];
    const char *source; // of the bounds; static
};

// What the uncertainty of an instrument makes of a verdict (ILAC-G8:09/2019 4.2.3, the guard band
// as wide as the expanded uncertainty). The verdict itself stays by the published limit.
enum model_decision {
    MODEL_DECISION_NONE, // no uncertainty is known, or there is no verdict
    MODEL_DECISION_PASS,
    MODEL_DECISION_CONDITIONAL_PASS,
    MODEL_DECISION_CONDITIONAL_FAIL,
    MODEL_DECISION_FAIL,
    MODEL_DECISION_COUNT,
};

struct model_result {
    char rule[32];
    struct model_reading inputs[MODEL_READINGS_MAX];
    size_t input_count;
    bool has_value;
    double value;               // in the unit of the rule, unrounded; of averaged runs their mean
    struct model_limits limits; // what value was held against
    bool limit_is_interval;     // printed as {"min","max"} and not as one number
    bool has_margin;
    double margin; // distance to the nearest limit, negative where it fails
    bool has_pass; // false: the rule gives a figure, not a verdict
    bool pass;
    // Why a margin alone does not tell the verdict. Not kept: a verdict is.
    bool equality_fails; // its limit must be exceeded
    bool failed_beside;  // something beside the value fails it, whatever its margin
    char formula[128];
    char source[320];
    double uncertainty; // of value, in its unit; 0: not known
    enum model_decision decision;
    double per_reading; // how many times the error of what was read is in value. Not kept
    struct model_caution cautions[MODEL_CAUTIONS_MAX];
    size_t caution_count;
    // Not valid where there is any: it has no verdict then. Never recorded, so not kept.
    struct model_doubt doubts[MODEL_DOUBTS_MAX];
    size_t doubt_count;
    unsigned run,
        runs;       // the how manieth of how many runs that are averaged; runs 0: it stands alone
    double reading; // this run's own value, where there are runs
};

// Whether a margin, with what stands beside it, passes.
bool model_result_meets(const struct model_result *result);

// Decides by the uncertainty that the result has; none without one, or without a verdict.
void model_result_decide(struct model_result *result);
// "conditional pass"; NULL for none.
const char *model_decision_name(enum model_decision decision);
enum model_decision model_decision_of(const char *name); // MODEL_DECISION_NONE: no such
