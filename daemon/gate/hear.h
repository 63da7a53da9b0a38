// What the files that hear share among themselves.
#pragma once

#include "gate/state.h"

// The controller of measures came online: each must be heard anew.
void gate_measures_anew(struct gate_site *site, uint32_t controller);
