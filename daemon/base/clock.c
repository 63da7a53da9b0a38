// The machine's clocks; see clock.h.
#include "base/clock.h"

#include <time.h>

static int64_t read_ms(clockid_t clock) {
    struct timespec now;
    clock_gettime(clock, &now); // fails only for a clock that the kernel does not have
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

int64_t base_clock_wall_ms(void) {
    return read_ms(CLOCK_REALTIME);
}

int64_t base_clock_mono_ms(void) {
    return read_ms(CLOCK_BOOTTIME);
}

struct base_time base_clock_now(void) {
    const int64_t mono_ms = base_clock_mono_ms();
    return (struct base_time){.wall_ms = base_clock_wall_ms(), .mono_ms = mono_ms};
}
