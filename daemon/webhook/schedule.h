// When a delivery is tried again. Pure: the jitter comes from a seed.
//
// Two ladders. An endpoint that does not answer (no connection, no answer in time, 429, 502, 503,
// 504) is tried soon and then once an hour without end, with one delivery, so that an outage ends
// soon after it ends. A delivery that is refused (any other answer) waits longer each time, up to a
// day: 5 s, 5 min, 30 min, 2 h, 5 h, 10 h, 14 h, 20 h, then every 24 h. Both without end: nothing
// is ever given up.
#pragma once

#include <stdint.h>

enum webhook_ladder { WEBHOOK_UNREACHED, WEBHOOK_REFUSED };

// The longest that any delay may be, jitter included.
#define WEBHOOK_DELAY_MAX_MS (30LL * 3600 * 1000)

// Milliseconds to wait after the attempts-th failure in a row (from 1): the ladder's step, less or
// more by up to a fifth.
int64_t webhook_delay_ms(enum webhook_ladder ladder, uint32_t attempts, uint64_t seed);
