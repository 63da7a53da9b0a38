// The only place that reads the machine's clocks. Whoever decides anything is handed a time and
// reads none; a turn of the loop reads them once (loop/loop.h).
//
// Two clocks, and one name for each everywhere:
//   wall  since 1970 UTC, for people, records and messages; it may be set, and may step back;
//   mono  since the machine started, never back, and it counts on while the machine sleeps; for
//         ages, periods and deadlines.
// A name of ours that holds one ends so: wall_ms, mono_ms; in other units alike (mono_us).
#pragma once

#include <stdint.h>

// One instant by both clocks, in milliseconds.
struct base_time {
    int64_t wall_ms;
    int64_t mono_ms;
};

// CLOCK_REALTIME in milliseconds since 1970.
int64_t base_clock_wall_ms(void);

// CLOCK_BOOTTIME in milliseconds.
int64_t base_clock_mono_ms(void);

// Both, one right after the other.
struct base_time base_clock_now(void);
