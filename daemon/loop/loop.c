// The event loop on libevent; see loop.h. Turns are run one by one, so that the end of each is
// ours.
#include "loop/loop.h"

#include <event2/event.h>
#include <signal.h>
#include <stdlib.h>

#define SIGNALS 8

struct watched_signal {
    struct event *event;
    void (*hook)(void *user, int number);
    void *user;
};

struct loop {
    struct event_base *base;
    struct event *wake; // bounds the wait of loop_turn
    bool stopping;
    bool has_now;
    struct base_time now;
    void (*turn_end)(void *user);
    void *turn_end_user;
    struct watched_signal signals[SIGNALS];
    int signal_count;
};

struct loop_timer {
    struct loop *loop;
    struct event *event;
    void (*hook)(void *user);
    void *user;
};

static void on_wake(evutil_socket_t fd, short what, void *argument) {
    (void)fd;
    (void)what;
    (void)argument;
}

struct loop *loop_new(void) {
    struct loop *loop = calloc(1, sizeof(*loop));
    if (loop == NULL) {
        return NULL;
    }
    signal(SIGPIPE, SIG_IGN); // a closed peer is an error of write, not an end
    signal(SIGXFSZ, SIG_IGN); // and so is a limit of the size of files
    loop->base = event_base_new();
    loop->wake = loop->base != NULL ? evtimer_new(loop->base, on_wake, NULL) : NULL;
    if (loop->wake == NULL) {
        loop_free(loop);
        return NULL;
    }
    return loop;
}

void loop_free(struct loop *loop) {
    if (loop == NULL) {
        return;
    }
    for (int i = 0; i < loop->signal_count; i++) {
        event_free(loop->signals[i].event);
    }
    if (loop->wake != NULL) {
        event_free(loop->wake);
    }
    if (loop->base != NULL) {
        event_base_free(loop->base);
    }
    free(loop);
}

struct event_base *loop_base(struct loop *loop) {
    return loop->base;
}

// The hook may ask for the time as well, so the turn's time ends after it; the wait that follows
// must not be part of the next turn's time.
static bool run_turn(struct loop *loop) {
    loop->has_now = false;
    bool sound = event_base_loop(loop->base, EVLOOP_ONCE | EVLOOP_NO_EXIT_ON_EMPTY) == 0;
    if (loop->turn_end != NULL) {
        loop->turn_end(loop->turn_end_user);
    }
    loop->has_now = false;
    return sound;
}

bool loop_run(struct loop *loop) {
    bool sound = true;
    loop->stopping = false;
    while (sound && !loop->stopping) {
        sound = run_turn(loop);
    }
    return sound;
}

void loop_stop(struct loop *loop) {
    loop->stopping = true;
}

static struct timeval to_timeval(int64_t ms) {
    return (struct timeval){.tv_sec = ms / 1000, .tv_usec = (ms % 1000) * 1000};
}

bool loop_turn(struct loop *loop, int timeout_ms) {
    const struct timeval delay = to_timeval(timeout_ms);
    if (evtimer_add(loop->wake, &delay) != 0) {
        return false;
    }
    bool sound = run_turn(loop);
    evtimer_del(loop->wake);
    return sound;
}

void loop_on_turn_end(struct loop *loop, void (*hook)(void *user), void *user) {
    loop->turn_end = hook;
    loop->turn_end_user = user;
}

struct base_time loop_now(struct loop *loop) {
    if (!loop->has_now) {
        loop->now = base_clock_now();
        loop->has_now = true;
    }
    return loop->now;
}

void loop_now_again(struct loop *loop) {
    loop->has_now = false;
}

static void on_signal(evutil_socket_t number, short what, void *argument) {
    const struct watched_signal *watched = argument;
    (void)what;
    watched->hook(watched->user, (int)number);
}

bool loop_on_signal(struct loop *loop, int number, void (*hook)(void *user, int number),
                    void *user) {
    if (loop->signal_count == SIGNALS) {
        return false;
    }
    struct watched_signal *watched = &loop->signals[loop->signal_count];
    watched->hook = hook;
    watched->user = user;
    watched->event = evsignal_new(loop->base, number, on_signal, watched);
    if (watched->event == NULL || evsignal_add(watched->event, NULL) != 0) {
        if (watched->event != NULL) {
            event_free(watched->event);
        }
        return false;
    }
    loop->signal_count++;
    return true;
}

static void on_timer(evutil_socket_t fd, short what, void *argument) {
    const struct loop_timer *timer = argument;
    (void)fd;
    (void)what;
    timer->hook(timer->user); // may free the timer
}

struct loop_timer *loop_timer_new(struct loop *loop, void (*hook)(void *user), void *user) {
    struct loop_timer *timer = calloc(1, sizeof(*timer));
    if (timer == NULL) {
        return NULL;
    }
    timer->loop = loop;
    timer->hook = hook;
    timer->user = user;
    timer->event = event_new(loop->base, -1, 0, on_timer, timer);
    if (timer->event == NULL) {
        free(timer);
        return NULL;
    }
    return timer;
}

static bool set_timer(struct loop_timer *timer, short flags, int64_t ms) {
    const struct timeval delay = to_timeval(ms);
    if (event_get_events(timer->event) != flags) {
        event_del(timer->event);
        event_assign(timer->event, timer->loop->base, -1, flags, on_timer, timer);
    }
    return event_add(timer->event, &delay) == 0;
}

bool loop_timer_once(struct loop_timer *timer, int64_t delay_ms) {
    return set_timer(timer, 0, delay_ms);
}

bool loop_timer_every(struct loop_timer *timer, int64_t period_ms) {
    return set_timer(timer, EV_PERSIST, period_ms);
}

void loop_timer_soon(struct loop_timer *timer) {
    event_active(timer->event, EV_TIMEOUT, 0);
}

void loop_timer_stop(struct loop_timer *timer) {
    event_del(timer->event);
}

void loop_timer_free(struct loop_timer *timer) {
    if (timer != NULL) {
        event_free(timer->event);
        free(timer);
    }
}
