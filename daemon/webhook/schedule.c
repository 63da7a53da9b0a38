// The ladders. The refusals' is the one that the Standard Webhooks specification proposes.
#include "webhook/schedule.h"

#define SECOND 1000LL
#define MINUTE (60 * SECOND)
#define HOUR (60 * MINUTE)

static const int64_t unreached[] = {5 * SECOND,  30 * SECOND, 2 * MINUTE, 5 * MINUTE,
                                    15 * MINUTE, 30 * MINUTE, HOUR};
static const int64_t refused[] = {5 * SECOND, 5 * MINUTE, 30 * MINUTE, 2 * HOUR, 5 * HOUR,
                                  10 * HOUR,  14 * HOUR,  20 * HOUR,   24 * HOUR};

// splitmix64: neighboring seeds give unlike numbers.
static uint64_t mix(uint64_t value) {
    value += 0x9E3779B97F4A7C15u;
    value = (value ^ (value >> 30)) * 0xBF58476D1CE4E5B9u;
    value = (value ^ (value >> 27)) * 0x94D049BB133111EBu;
    return value ^ (value >> 31);
}

int64_t webhook_delay_ms(enum webhook_ladder ladder, uint32_t attempts, uint64_t seed) {
    const int64_t *steps = ladder == WEBHOOK_UNREACHED ? unreached : refused;
    uint32_t count = ladder == WEBHOOK_UNREACHED ? sizeof unreached / sizeof *unreached
                                                 : sizeof refused / sizeof *refused;
    uint32_t step = attempts == 0 ? 0 : attempts - 1;
    int64_t base = steps[step < count ? step : count - 1];
    int64_t spread = base / 5;
    return base - spread + (int64_t)(mix(seed + step) % (uint64_t)(2 * spread + 1));
}
