// Host names, resolved in a helper thread: neither libmosquitto nor getaddrinfo does it without
// blocking. The thread shares no memory with the loop: it sends its result through a pipe and ends,
// so a look-up that takes minutes can simply be abandoned.
#include "mqtt/resolve.h"

#include "loop/loop.h"

#include <assert.h>
#include <fcntl.h>
#include <limits.h>
#include <netdb.h>
#include <pthread.h>
#include <signal.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

struct resolve {
    struct loop_watch *watch;
    int fd;
    void (*done)(void *user, const struct resolve_result *result);
    void *user;
};

// What the thread owns.
struct errand {
    int fd;
    char host[];
};

static_assert(sizeof(struct resolve_result) <= PIPE_BUF, "a result is written in one piece");

static void collect(struct resolve_result *result, const struct addrinfo *list) {
    for (; list != NULL && result->count < RESOLVE_ADDRESSES; list = list->ai_next) {
        if (getnameinfo(list->ai_addr, list->ai_addrlen, result->addresses[result->count],
                        RESOLVE_LENGTH, NULL, 0, NI_NUMERICHOST) == 0) {
            result->count++;
        }
    }
}

static void *run_errand(void *argument) {
    struct errand *errand = argument;
    const struct addrinfo hints = {.ai_socktype = SOCK_STREAM, .ai_flags = AI_ADDRCONFIG};
    struct addrinfo *list = NULL;
    struct resolve_result result = {0};
    result.error = getaddrinfo(errand->host, NULL, &hints, &list);
    if (result.error == 0) {
        collect(&result, list);
        freeaddrinfo(list);
    }
    // Nobody reads any more if the look-up was abandoned; there is nobody to tell then.
    ssize_t written = write(errand->fd, &result, sizeof(result));
    (void)written;
    close(errand->fd);
    free(errand);
    return NULL;
}

// Signals stay with the loop's thread: the new one inherits a mask that blocks them all, SIGPIPE
// included.
static bool start_thread(struct errand *errand) {
    sigset_t all, before;
    pthread_attr_t attributes;
    pthread_t thread;
    if (pthread_attr_init(&attributes) != 0) {
        return false;
    }
    pthread_attr_setdetachstate(&attributes, PTHREAD_CREATE_DETACHED);
    sigfillset(&all);
    pthread_sigmask(SIG_SETMASK, &all, &before);
    bool started = pthread_create(&thread, &attributes, run_errand, errand) == 0;
    pthread_sigmask(SIG_SETMASK, &before, NULL);
    pthread_attr_destroy(&attributes);
    return started;
}

static struct errand *errand_new(const char *host, int fd) {
    size_t length = strlen(host) + 1;
    struct errand *errand = malloc(sizeof(*errand) + length);
    if (errand != NULL) {
        errand->fd = fd;
        memcpy(errand->host, host, length);
    }
    return errand;
}

static void on_result(void *user, unsigned what) {
    struct resolve *resolve = user;
    struct resolve_result result;
    (void)what;
    if (read(resolve->fd, &result, sizeof(result)) != (ssize_t)sizeof(result)) {
        result = (struct resolve_result){.error = EAI_SYSTEM};
    }
    loop_watch_set(resolve->watch, -1, 0);
    resolve->done(resolve->user, &result); // may free `resolve`
}

static bool launch(struct resolve *resolve, struct loop *loop, const char *host) {
    int ends[2];
    if (pipe2(ends, O_CLOEXEC) != 0) {
        return false;
    }
    resolve->fd = ends[0];
    struct errand *errand = errand_new(host, ends[1]);
    resolve->watch = loop_watch_new(loop, on_result, resolve);
    if (errand == NULL || resolve->watch == NULL ||
        !loop_watch_set(resolve->watch, ends[0], LOOP_READ) || !start_thread(errand)) {
        free(errand);
        close(ends[1]);
        return false;
    }
    return true;
}

struct resolve *mqtt_resolve_start(struct loop *loop, const char *host,
                                   void (*done)(void *user, const struct resolve_result *result),
                                   void *user) {
    struct resolve *resolve = calloc(1, sizeof(*resolve));
    if (resolve == NULL) {
        return NULL;
    }
    resolve->fd = -1;
    resolve->done = done;
    resolve->user = user;
    if (!launch(resolve, loop, host)) {
        mqtt_resolve_free(resolve);
        return NULL;
    }
    return resolve;
}

void mqtt_resolve_free(struct resolve *resolve) {
    if (resolve == NULL) {
        return;
    }
    loop_watch_free(resolve->watch);
    if (resolve->fd >= 0) {
        close(resolve->fd);
    }
    free(resolve);
}
