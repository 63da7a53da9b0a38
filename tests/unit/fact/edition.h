// The journal of the first edition that is kept here, line by line.
#pragma once

#include <stddef.h>

#include "gate/gate.h"

#define EDITION_FACTS 247

// Adds its first facts to the world's journal (world_journal.h); last is the time of the last one.
void edition_journal(size_t count, struct gate_time *last);
