// Makes each sync of a program that this is preloaded into take SLOW_SYNC_MS more.
#include <dlfcn.h>
#include <stdlib.h>
#include <time.h>
#include <unistd.h>

typedef int sync_function(int fd);

static int slowly(const char *name, int fd) {
    const char *text = getenv("SLOW_SYNC_MS");
    long ms = text != NULL ? strtol(text, NULL, 10) : 0;
    const struct timespec pause = {.tv_sec = ms / 1000, .tv_nsec = ms % 1000 * 1000000};
    union {
        void *object;
        sync_function *function;
    } real = {.object = dlsym(RTLD_NEXT, name)};
    nanosleep(&pause, NULL);
    return real.function(fd);
}

int fsync(int fd) {
    return slowly("fsync", fd);
}

int fdatasync(int fd) {
    return slowly("fdatasync", fd);
}
