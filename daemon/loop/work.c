// The worker thread: a condition to wake it, an eventfd to tell the loop.
#include "loop/work.h"

#include <pthread.h>
#include <stdint.h>
#include <stdlib.h>
#include <sys/eventfd.h>
#include <unistd.h>

#include "loop/loop.h"

struct loop_work {
    pthread_t thread;
    pthread_mutex_t lock;
    pthread_cond_t changed;
    struct loop_watch *watch;
    int descriptor;
    void (*done)(void *user);
    void *user;
    void (*run)(void *user); // waiting to be run
    bool running, finished;  // of the piece under way
    bool ending;
    bool busy; // the loop's view
};

static void tell_loop(struct loop_work *work) {
    uint64_t one = 1;
    while (write(work->descriptor, &one, sizeof(one)) < 0) {
        // only EINTR can be: an eventfd that counts to one is never full
    }
}

static void *thread_main(void *argument) {
    struct loop_work *work = argument;
    pthread_mutex_lock(&work->lock);
    while (!work->ending) {
        if (work->run == NULL) {
            pthread_cond_wait(&work->changed, &work->lock);
            continue;
        }
        void (*run)(void *) = work->run;
        work->run = NULL;
        pthread_mutex_unlock(&work->lock);
        run(work->user);
        pthread_mutex_lock(&work->lock);
        work->finished = true;
        pthread_cond_broadcast(&work->changed);
        tell_loop(work);
    }
    pthread_mutex_unlock(&work->lock);
    return NULL;
}

// Takes the end of the piece, once.
static bool take_end(struct loop_work *work) {
    uint64_t count;
    pthread_mutex_lock(&work->lock);
    bool ended = work->finished;
    work->finished = false;
    pthread_mutex_unlock(&work->lock);
    if (read(work->descriptor, &count, sizeof(count)) < 0) {
        count = 0; // told already, by loop_work_wait
    }
    return ended;
}

static void finish(struct loop_work *work) {
    if (take_end(work)) {
        work->busy = false;
        work->done(work->user);
    }
}

static void on_told(void *user, unsigned what) {
    (void)what;
    finish(user);
}

struct loop_work *loop_work_new(struct loop *loop, void (*done)(void *user), void *user) {
    struct loop_work *work = calloc(1, sizeof(*work));
    if (work == NULL) {
        return NULL;
    }
    work->done = done;
    work->user = user;
    pthread_mutex_init(&work->lock, NULL);
    pthread_cond_init(&work->changed, NULL);
    work->descriptor = eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
    if (work->descriptor >= 0) {
        work->watch = loop_watch_new(loop, on_told, work);
    }
    if (work->watch == NULL || !loop_watch_set(work->watch, work->descriptor, LOOP_READ) ||
        pthread_create(&work->thread, NULL, thread_main, work) != 0) {
        loop_watch_free(work->watch);
        if (work->descriptor >= 0) {
            close(work->descriptor);
        }
        free(work);
        return NULL;
    }
    return work;
}

bool loop_work_begin(struct loop_work *work, void (*run)(void *user)) {
    if (work->busy) {
        return false;
    }
    work->busy = true;
    pthread_mutex_lock(&work->lock);
    work->run = run;
    pthread_cond_broadcast(&work->changed);
    pthread_mutex_unlock(&work->lock);
    return true;
}

void loop_work_wait(struct loop_work *work) {
    if (!work->busy) {
        return;
    }
    pthread_mutex_lock(&work->lock);
    while (!work->finished) {
        pthread_cond_wait(&work->changed, &work->lock);
    }
    pthread_mutex_unlock(&work->lock);
    finish(work);
}

void loop_work_free(struct loop_work *work) {
    if (work == NULL) {
        return;
    }
    pthread_mutex_lock(&work->lock);
    work->ending = true;
    pthread_cond_broadcast(&work->changed);
    pthread_mutex_unlock(&work->lock);
    pthread_join(work->thread, NULL);
    loop_watch_free(work->watch);
    close(work->descriptor);
    pthread_cond_destroy(&work->changed);
    pthread_mutex_destroy(&work->lock);
    free(work);
}
