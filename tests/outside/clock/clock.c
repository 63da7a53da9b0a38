// A library that is loaded before a program and moves its clocks, for tests that need another time.
//
// FORELOCK_CLOCK_FILE=PATH   a file of two 64-bit words that is mapped: milliseconds by which the
//                            wall clock is ahead (negative: behind), and milliseconds for which the
//                            machine slept, which both clocks count. They may be written at any
//                            time from outside, and hold from the next look on.
#include <dlfcn.h>
#include <fcntl.h>
#include <stdatomic.h>
#include <stdint.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <sys/time.h>
#include <time.h>
#include <unistd.h>

enum word { WORD_AHEAD_MS, WORD_SLEPT_MS, WORDS };

typedef int clock_call(clockid_t clock, struct timespec *now);

static _Atomic int64_t own_words[WORDS];
static _Atomic int64_t *words = own_words;

__attribute__((constructor)) static void map_words(void) {
    const char *path = getenv("FORELOCK_CLOCK_FILE");
    int file = path != NULL ? open(path, O_RDWR | O_CLOEXEC) : -1;
    if (file < 0) {
        return;
    }
    void *mapped = mmap(NULL, sizeof own_words, PROT_READ | PROT_WRITE, MAP_SHARED, file, 0);
    if (mapped != MAP_FAILED) {
        words = mapped;
    }
    close(file);
}

static void move(struct timespec *now, int64_t by_ms) {
    int64_t ns = now->tv_nsec + by_ms % 1000 * 1000000;
    now->tv_sec += by_ms / 1000 + (ns >= 1000000000) - (ns < 0);
    now->tv_nsec = (ns + 1000000000) % 1000000000;
}

int clock_gettime(clockid_t clock, struct timespec *now) {
    static clock_call *real;
    if (real == NULL) {
        real = (clock_call *)dlsym(RTLD_NEXT, "clock_gettime");
    }
    int result = real(clock, now);
    int64_t slept = atomic_load(&words[WORD_SLEPT_MS]);
    if (result == 0 && (clock == CLOCK_REALTIME || clock == CLOCK_REALTIME_COARSE)) {
        move(now, atomic_load(&words[WORD_AHEAD_MS]) + slept);
    } else if (result == 0 && clock == CLOCK_BOOTTIME) {
        move(now, slept);
    }
    return result;
}

int gettimeofday(struct timeval *restrict now, void *restrict zone) {
    struct timespec wall;
    (void)zone;
    int result = clock_gettime(CLOCK_REALTIME, &wall);
    *now = (struct timeval){.tv_sec = wall.tv_sec, .tv_usec = wall.tv_nsec / 1000};
    return result;
}

time_t time(time_t *now) {
    struct timespec wall;
    clock_gettime(CLOCK_REALTIME, &wall);
    if (now != NULL) {
        *now = wall.tv_sec;
    }
    return wall.tv_sec;
}
