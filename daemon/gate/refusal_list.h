// Adding to a list of requirements.
#pragma once

#include "gate/gate.h"

// The next requirement, made of a sentence and its arguments (gate_refusal_make); NULL: met and not
// wanted, or no memory. What comes back may be given an age, or a code where the sentence serves
// several.
struct gate_refusal *gate_list_put(struct gate_list *list, bool met, enum gate_say sentence,
                                   const char *subject, const struct gate_args *args);
