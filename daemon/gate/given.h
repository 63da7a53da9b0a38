// The reading that a sign-check gives, beside its check.
#pragma once

#include "gate/gate.h"

bool gate_is_measured(const struct model_check *check); // it has a unit or limits
// What one of the instrument that was named counts as: of a check whose torque is computed, what
// the wrench applies at the fastener for one that it reads; of every other check 1. NaN: nobody can
// tell, for no such wrench was named.
double gate_given_per_reading(const struct model *model, const struct model_check *check,
                              const struct gate_request *request);
// The reading in the check's unit, times per_reading: one that names no unit is in that. False:
// there is none, or nobody can tell what it is in that unit, or it is beyond every figure. Of two
// that contradict each other the one that is outside.
bool gate_given_value(const struct model_check *check, const struct gate_request *request,
                      double per_reading, double *value);
// What was given, as it was given; of two that contradict each other the one that is outside.
double gate_given_reading(const struct model_check *check, const struct gate_request *request,
                          double per_reading);
// Whether what was given can only be outside the limits, whatever else of it cannot be read.
bool gate_given_outside(const struct model_check *check, const struct gate_request *request,
                        double per_reading);
