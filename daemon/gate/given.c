// The reading that a sign-check gives, as far as it can be read.
//
// What is given in the check's own unit is its reading. In another one, or in two minds, it can be
// no pass: the person is asked again, and nothing is opened by it. But where it can only be a
// failure it is one, for a hazard that was measured is not unmeasured by a wrong unit. What cannot
// be read at all (no number, no unit of this kind and no sign that tells) is neither: it is refused
// as malformed and not recorded as failed, since that would void locks and end what others rest on
// by a slip of the hand; whoever sees a hazard says "pass": false or calls a stop, which nothing
// refuses.
#include "gate/given.h"

#include "gate/measure.h"
#include "model/unit.h"

#include "trade/trade.h"

#include <math.h>
#include <stddef.h>

// What stands for a number that no double holds is not to be told as a figure.
#define BEYOND_ALL 1e300

bool gate_is_measured(const struct model_check *check) {
    return check->unit != NULL || check->limits.has_min || check->limits.has_max;
}

// Rule (4, sign-check; 8, torque-applied): Where an adapter is on the wrench, what it applies at
// the fastener is held to the limits, not what it reads. [torque-as-read]
double gate_given_per_reading(const struct model *model, const struct model_check *check,
                              const struct gate_request *request) {
    if (!check->torque_applied) {
        return 1;
    }
    const struct model_instrument *wrench =
        request->instrument != NULL ? model_instrument_find(model, request->instrument) : NULL;
    return wrench == NULL || wrench->wrench_in <= 0
               ? (double)NAN
               : trade_torque_applied(1, wrench->wrench_in, wrench->adapter_in, wrench->angle_deg);
}

// Rule (4, a stop; R12): A reading outside the limits fails though it names no unit.
// [failed-without-unit]
static bool in_unit(const struct model_check *check, const char *unit, double given,
                    double per_reading, double *value) {
    *value = given;
    bool known = unit == NULL || model_unit_convert(given, unit, check->unit, value);
    *value *= per_reading;
    return known;
}

// In a unit that nobody knows a figure keeps its sign, and nothing stays nothing.
// Rule (4, a stop; R12): A reading in an unknown unit fails where its sign alone is outside.
// [failed-sign-unheard]
static bool sign_is_outside(const struct model_limits *limits, double given) {
    bool below = limits->has_min && (given < 0 ? limits->min >= 0 : given == 0 && limits->min > 0);
    bool above = limits->has_max && (given > 0 ? limits->max <= 0 : given == 0 && limits->max < 0);
    return below || above;
}

// What was computed may miss its limit by what the arithmetic errs.
// Rule (8, first paragraph): A value that was computed meets the limit that it equals.
// [computed-misses-its-limit]
static double slack_of(double given, double value) {
    return value != given && isfinite(value) ? fabs(value) * TRADE_ROUNDING : 0;
}

// Rule (4, a stop; R12): A reading in another known unit fails where it is outside, converted.
// [failed-in-another-unit]
static bool is_outside(const struct model_check *check, const char *unit, double given,
                       double per_reading) {
    double value;
    return in_unit(check, unit, given, per_reading, &value)
               ? gate_margin(&check->limits, value) < -slack_of(given, value)
               : sign_is_outside(&check->limits, given);
}

// Rule (4, a stop; R12): Of two readings one that is outside is a failure. [failed-beside-another]
bool gate_given_outside(const struct model_check *check, const struct gate_request *request,
                        double per_reading) {
    return gate_is_measured(check) && request->has_value &&
           (is_outside(check, request->unit, request->value, per_reading) ||
            (request->has_other && is_outside(check, request->unit, request->other, per_reading)));
}

// Rule (4, a stop; R12): Of two readings the one that is outside is told. [inside-told]
double gate_given_reading(const struct model_check *check, const struct gate_request *request,
                          double per_reading) {
    bool first =
        !request->has_other || is_outside(check, request->unit, request->value, per_reading);
    return first ? request->value : request->other;
}

// Rule (4, sign-check): A number beyond every figure is told as none. [beyond-told]
bool gate_given_value(const struct model_check *check, const struct gate_request *request,
                      double per_reading, double *value) {
    double given = gate_given_reading(check, request, per_reading);
    return gate_is_measured(check) && request->has_value &&
           in_unit(check, request->unit, given, per_reading, value) && fabs(*value) < BEYOND_ALL;
}
