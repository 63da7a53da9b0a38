// Sensors and readers out of order: which count for nothing, and since when. Nothing here changes
// anything.
#pragma once

#include "gate/state.h"

// For how long a supervisor may say so at most, how many witnesses speak for a point that is left
// without a sensor, and how long their words stand (contract, section 3).
#define GATE_DISTRUST_HOURS 12
#define GATE_DISTRUST_WITNESSES 2
#define GATE_DISTRUST_WORD_MS (14400 * 1000LL)

// Whether a sensor of the point (an index; MODEL_NONE: its reader) is out of order.
bool gate_is_distrusted(const struct gate_site *site, uint32_t point, uint32_t sensor);
// Whether somebody is one of those who say it of a sensor of the point.
bool gate_distrusts(const struct gate_site *site, uint32_t point, const char *person);
// Whether the point has sensors of which none counts.
bool gate_left_without_sensor(const struct gate_site *site, uint32_t point);
// Whether a sensor of the point is out of order, so that what it is rests on that.
bool gate_rests_on_distrust(const struct gate_site *site, uint32_t point);
// The mono ms at which the first of its sensors is trusted again; INT64_MAX: all are.
int64_t gate_distrust_ends(const struct gate_site *site, uint32_t point);
// Whether a sensor says live now, by its own word or by what the broker kept.
bool gate_says_live(const struct gate_site *site, uint32_t sensor, struct gate_time now);
