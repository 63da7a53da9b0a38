// The world of a rig.
#pragma once

#include "turn/turn.h"

extern const struct turn_operations rig_operations; // their user is the rig
