// A point as it may be relied on.
#pragma once

#include "gate/state.h"

struct gate_view {
    enum model_point_state state;
    enum model_trust trust;
    int64_t heard; // wall ms, 0: never
    unsigned witnesses, witnesses_needed;
};
