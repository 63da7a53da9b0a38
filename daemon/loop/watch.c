// Watched descriptors: one persistent event each, set anew when what it watches changes.
#include "loop/loop.h"

#include <event2/event.h>
#include <stdlib.h>

struct loop_watch {
    struct event_base *base;
    struct event *event;
    int descriptor; // -1: nothing is watched
    unsigned what;
    void (*hook)(void *user, unsigned what);
    void *user;
};

static void on_ready(evutil_socket_t descriptor, short what, void *argument) {
    const struct loop_watch *watch = argument;
    (void)descriptor;
    watch->hook(watch->user, ((what & EV_READ) != 0 ? LOOP_READ : 0U) |
                                 ((what & EV_WRITE) != 0 ? LOOP_WRITE : 0U)); // may free it
}

struct loop_watch *loop_watch_new(struct loop *loop, void (*hook)(void *user, unsigned what),
                                  void *user) {
    struct loop_watch *watch = calloc(1, sizeof *watch);
    if (watch == NULL) {
        return NULL;
    }
    *watch =
        (struct loop_watch){.base = loop_base(loop), .descriptor = -1, .hook = hook, .user = user};
    watch->event = event_new(watch->base, -1, 0, on_ready, watch);
    if (watch->event == NULL) {
        free(watch);
        return NULL;
    }
    return watch;
}

bool loop_watch_set(struct loop_watch *watch, int descriptor, unsigned what) {
    descriptor = what != 0 ? descriptor : -1;
    what = descriptor >= 0 ? what : 0;
    if (descriptor == watch->descriptor && what == watch->what) {
        return true;
    }
    event_del(watch->event);
    watch->descriptor = -1;
    watch->what = 0;
    if (descriptor < 0) {
        return true;
    }
    short events = EV_PERSIST;
    events |= (what & LOOP_READ) != 0 ? EV_READ : 0;
    events |= (what & LOOP_WRITE) != 0 ? EV_WRITE : 0;
    if (event_assign(watch->event, watch->base, descriptor, events, on_ready, watch) != 0 ||
        event_add(watch->event, NULL) != 0) {
        return false;
    }
    watch->descriptor = descriptor;
    watch->what = what;
    return true;
}

void loop_watch_soon(struct loop_watch *watch) {
    event_active(watch->event, EV_READ, 0);
}

void loop_watch_free(struct loop_watch *watch) {
    if (watch != NULL) {
        event_free(watch->event);
        free(watch);
    }
}
