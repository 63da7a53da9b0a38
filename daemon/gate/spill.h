// Spills: recorded, judged by the trade's rule, and reported where they must be.
#pragma once

#include "gate/state.h"

// Within so long a spill over the limit is reported, and one below it is cleaned up (40 CFR
// 280.53).
#define GATE_SPILL_MS (24 * 3600 * 1000LL)
// A spill that needs no report is forgotten after so long, with the next that is recorded.
#define GATE_SPILL_KEEP_MS (7 * 24 * 3600 * 1000LL)

struct gate_spill *gate_spill_find(const struct gate_site *site, const char *spill);
// Whether it is to be reported, as it is now.
bool gate_spill_over(const struct gate_spill *spill, struct gate_time now);
// Wall ms by which it is to be reported, where it is.
int64_t gate_spill_due(const struct gate_spill *spill);
// What was spilled, in US gallons.
double gate_spill_gallons(double quantity, bool liters);
