// What limits mean: in a unit whose figures have two signs, and what no requirements may lean on,
// whenever they were written.
#include "model/result.h"

#include <math.h>
#include <string.h>

// Units in which a figure is as dangerous below zero as above it.
static bool has_two_signs(const char *unit) {
    static const char *const units[] = {"V", "A", "psi", "kPa", "Pa", "bar", "mbar", "inH2O"};
    for (size_t i = 0; unit != NULL && i < sizeof units / sizeof units[0]; i++) {
        if (strcmp(unit, units[i]) == 0) {
            return true;
        }
    }
    return false;
}

// Rule (2, limits; R4): In V, A, psi, kPa, Pa, bar, mbar and inH2O a limit with only a max M is -M
// to M. [limit-one-sided]
// Rule (2, limits; R4): A limit with a min of its own stays as it is. [limit-min-replaced]
// Rule (2, limits; R4): In other units a limit with only a max is open below. [limit-every-unit]
struct model_limits model_limits_in(struct model_limits limits, const char *unit) {
    if (limits.has_max && !limits.has_min && has_two_signs(unit)) {
        limits.has_min = true;
        limits.min = -limits.max;
    }
    return limits;
}

bool model_is_voltage(const char *unit) {
    return unit != NULL &&
           (strcmp(unit, "V") == 0 || strcmp(unit, "mV") == 0 || strcmp(unit, "kV") == 0);
}

// Rule (2, verify; R15): No measure answers a check in V. [measure-of-voltage]
// Rule (2, verify; R15): A check that a measure answers is no person's. [measured-is-a-persons]
bool model_check_is_a_persons(const struct model_check *check) {
    return check->measure == NULL || model_is_voltage(check->unit);
}

// Rule (8, test rules): Equality passes. [equality-fails]
// Rule (8, vessel-decay [V]): Where more than the limit is asked for, equality fails.
// [strict-equality-passes]
// Rule (8, test rules): What fails beside the value fails it, whatever the margin.
// [failed-beside-passes]
bool model_result_meets(const struct model_result *result) {
    bool met = result->equality_fails ? result->margin > 0 : result->margin >= 0;
    return met && !result->failed_beside;
}

static const char *const decision_names[MODEL_DECISION_COUNT] = {
    [MODEL_DECISION_PASS] = "pass",
    [MODEL_DECISION_CONDITIONAL_PASS] = "conditional pass",
    [MODEL_DECISION_CONDITIONAL_FAIL] = "conditional fail",
    [MODEL_DECISION_FAIL] = "fail",
};

const char *model_decision_name(enum model_decision decision) {
    return decision_names[decision];
}

enum model_decision model_decision_of(const char *name) {
    for (int i = MODEL_DECISION_NONE + 1; i < MODEL_DECISION_COUNT; i++) {
        if (strcmp(decision_names[i], name) == 0) {
            return (enum model_decision)i;
        }
    }
    return MODEL_DECISION_NONE;
}

// Rule (8, decision; ILAC-G8:09/2019 4.2.3 [V]): A pass nearer to its limit than the instrument can
// tell is conditional. [decision-pass-unguarded]
// Rule (8, decision; ILAC-G8:09/2019 4.2.3 [V]): A fail nearer to its limit than the instrument can
// tell is conditional. [decision-fail-unguarded]
// Rule (8, decision): What fails beside its value fails, whatever the instrument. [decision-beside]
void model_result_decide(struct model_result *result) {
    bool decides = result->uncertainty > 0 && result->has_pass && result->has_margin;
    bool far = fabs(result->margin) > result->uncertainty;
    result->decision = MODEL_DECISION_NONE;
    if (decides && result->pass) {
        result->decision = far ? MODEL_DECISION_PASS : MODEL_DECISION_CONDITIONAL_PASS;
    } else if (decides) {
        result->decision =
            far || result->failed_beside ? MODEL_DECISION_FAIL : MODEL_DECISION_CONDITIONAL_FAIL;
    }
}

static bool verified_by_a_person(const struct model_requirements *all) {
    for (size_t i = 0; i < all->check_count; i++) {
        if (all->checks[i].group == MODEL_GROUP_VERIFY &&
            model_check_is_a_persons(&all->checks[i])) {
            return true;
        }
    }
    return false;
}

// Rule (2, limits; R4): Limits of a standing job mean what they mean today. [standing-one-sided]
// Rule (2, limits; R4): Limits of a standing job's tests mean what they mean today.
// [standing-test-one-sided]
// Rule (2, verify; R15): Of a standing job no measure answers a check in V. [standing-measured]
// Rule (2, verify; R15): Of a standing job whose verify checks are all a measure's, people answer
// them. [standing-verified-by-nobody]
void model_requirements_renew(struct model_requirements *all) {
    bool person = verified_by_a_person(all);
    for (size_t i = 0; i < all->check_count; i++) {
        struct model_check *check = &all->checks[i];
        check->limits = model_limits_in(check->limits, check->unit);
        if (model_check_is_a_persons(check) || (!person && check->group == MODEL_GROUP_VERIFY)) {
            check->measure = NULL;
        }
    }
    for (size_t i = 0; i < all->test_count; i++) {
        all->tests[i].limits = model_limits_in(all->tests[i].limits, all->tests[i].unit);
    }
}
