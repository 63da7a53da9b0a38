// What somebody at a site should see to before it stops a repair: papers that end, calibrations,
// hardware that is silent. Pure.
#pragma once

#include "gate/gate.h"
#include "json/json.h"

// From how long before its end something is worth a notice, and for how long a point is silent.
#define REPORT_NOTICE_AHEAD_MS (30 * 24 * 3600 * 1000LL)
#define REPORT_NOTICE_SILENT_MS (5 * 60 * 1000LL)

// Adds [{"notice","subject","kind"?,"until"?,"say"}], the most urgent first: controllers that are
// offline, feeds that bring nothing, points never heard or not for a while, what has ended (the
// longest first), what will end (the soonest first). feed_heard is as in struct http_state. False:
// no memory.
bool report_notices_write(struct json_out *out, const struct gate *gate, uint32_t site,
                          const int64_t *feed_heard, struct gate_time now);
