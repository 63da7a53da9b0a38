// The bare client: see client.h.
#include "client.h"

#include <errno.h>
#include <event2/event.h>
#include <mosquitto.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>

static void fail(const char *what, int code) {
    fprintf(stderr, "bench: %s: %s\n", what, mosquitto_strerror(code));
    exit(1);
}

static void watch(struct bench_client *client) {
    int fd = mosquitto_socket(client->mosquitto);
    short interest = (short)(EV_READ | (mosquitto_want_write(client->mosquitto) ? EV_WRITE : 0));
    if (fd < 0) {
        fail("the broker closed the connection", MOSQ_ERR_CONN_LOST);
    }
    if (fd == client->fd && interest == client->interest) {
        return;
    }
    if (client->fd >= 0) {
        event_del(client->event);
    }
    client->fd = fd;
    client->interest = interest;
    event_assign(client->event, client->base, fd, (short)(interest | EV_PERSIST),
                 event_get_callback(client->event), client);
    event_add(client->event, NULL);
}

static void on_io(evutil_socket_t fd, short what, void *argument) {
    struct bench_client *client = argument;
    (void)fd;
    if ((what & EV_WRITE) != 0) {
        mosquitto_loop_write(client->mosquitto, 1);
    }
    int code = MOSQ_ERR_SUCCESS;
    errno = 0;
    while ((what & EV_READ) != 0 && code == MOSQ_ERR_SUCCESS && errno != EAGAIN) {
        errno = 0;
        code = mosquitto_loop_read(client->mosquitto, 1);
    }
    // What a callback has published was only queued.
    if (mosquitto_want_write(client->mosquitto)) {
        mosquitto_loop_write(client->mosquitto, 1);
    }
    watch(client);
}

static void on_tick(evutil_socket_t fd, short what, void *argument) {
    struct bench_client *client = argument;
    (void)fd;
    (void)what;
    mosquitto_loop_misc(client->mosquitto);
    watch(client);
}

static void on_connect(struct mosquitto *mosquitto, void *user, int reason) {
    (void)mosquitto;
    if (reason != 0) {
        fail("refused by the broker", MOSQ_ERR_CONN_REFUSED);
    }
    ((struct bench_client *)user)->connected = true;
}

static void on_message(struct mosquitto *mosquitto, void *user,
                       const struct mosquitto_message *message) {
    struct bench_client *client = user;
    (void)mosquitto;
    client->on_message(client->user, message);
    errno = 0; // not what the callback left behind
}

static void on_subscribe(struct mosquitto *mosquitto, void *user, int mid, int count,
                         const int *granted) {
    (void)mosquitto;
    (void)mid;
    (void)count;
    (void)granted;
    ((struct bench_client *)user)->subscribed++;
}

static void on_publish(struct mosquitto *mosquitto, void *user, int mid) {
    (void)mosquitto;
    (void)mid;
    ((struct bench_client *)user)->confirmed++;
}

static void set_up(struct bench_client *client, const char *client_id) {
    const struct timeval second = {.tv_sec = 1};
    mosquitto_lib_init();
    client->fd = -1;
    client->mosquitto = mosquitto_new(client_id, true, client);
    client->base = event_base_new();
    if (client->mosquitto == NULL || client->base == NULL) {
        fail("set up", MOSQ_ERR_NOMEM);
    }
    client->event = event_new(client->base, -1, 0, on_io, client);
    client->tick = event_new(client->base, -1, EV_PERSIST, on_tick, client);
    event_add(client->tick, &second);
    mosquitto_int_option(client->mosquitto, MOSQ_OPT_PROTOCOL_VERSION, MQTT_PROTOCOL_V5);
    mosquitto_int_option(client->mosquitto, MOSQ_OPT_TCP_NODELAY, 1);
    mosquitto_int_option(client->mosquitto, MOSQ_OPT_RECEIVE_MAXIMUM, 200);
    mosquitto_int_option(client->mosquitto, MOSQ_OPT_SEND_MAXIMUM, 65535);
    mosquitto_connect_callback_set(client->mosquitto, on_connect);
    mosquitto_message_callback_set(client->mosquitto, on_message);
    mosquitto_subscribe_callback_set(client->mosquitto, on_subscribe);
    mosquitto_publish_callback_set(client->mosquitto, on_publish);
}

void bench_connect(struct bench_client *client, const char *host, const char *port,
                   const char *client_id) {
    set_up(client, client_id);
    int code = mosquitto_connect(client->mosquitto, host, (int)bench_number(port), 60);
    if (code != MOSQ_ERR_SUCCESS) {
        fail("cannot connect", code);
    }
    watch(client);
    for (int i = 0; i < 50 && !client->connected; i++) {
        bench_turn(client, 100);
    }
    if (!client->connected) {
        fail("no CONNACK", MOSQ_ERR_CONN_PENDING);
    }
}

void bench_subscribe(struct bench_client *client, const char *filter) {
    size_t before = client->subscribed;
    int code = mosquitto_subscribe(client->mosquitto, NULL, filter, 1);
    if (code != MOSQ_ERR_SUCCESS) {
        fail("cannot subscribe", code);
    }
    watch(client);
    if (!bench_wait(client, &client->subscribed, before + 1, 5000)) {
        fail("no SUBACK", MOSQ_ERR_CONN_PENDING);
    }
}

void bench_publish(struct bench_client *client, const char *topic, const char *payload) {
    int code =
        mosquitto_publish(client->mosquitto, NULL, topic, (int)strlen(payload), payload, 1, false);
    if (code != MOSQ_ERR_SUCCESS) {
        fail("cannot publish", code);
    }
    watch(client);
}

static void on_timeout(evutil_socket_t fd, short what, void *argument) {
    (void)fd;
    (void)what;
    (void)argument;
}

void bench_request(struct bench_client *client, const char *person, const char *verb,
                   const char *body) {
    char topic[128], asked[32], dated[512];
    time_t now = time(NULL);
    strftime(asked, sizeof asked, "%Y-%m-%dT%H:%M:%SZ", gmtime(&now));
    snprintf(topic, sizeof topic, "forelock/site-0/request/%s/%s", person, verb);
    snprintf(dated, sizeof dated, "{\"asked\":\"%s\",%s", asked, body + 1);
    bench_publish(client, topic, dated);
}

void bench_turn(struct bench_client *client, int ms) {
    const struct timeval delay = {.tv_sec = ms / 1000, .tv_usec = (ms % 1000) * 1000};
    struct event *wake = evtimer_new(client->base, on_timeout, NULL);
    event_add(wake, &delay);
    event_base_loop(client->base, EVLOOP_ONCE);
    event_free(wake);
}

bool bench_wait(struct bench_client *client, const size_t *count, size_t target, int64_t ms) {
    int64_t end = bench_clock_ns() + ms * 1000000;
    while (*count < target && bench_clock_ns() < end) {
        bench_turn(client, 100);
    }
    return *count >= target;
}

void bench_disconnect(struct bench_client *client) {
    mosquitto_disconnect(client->mosquitto);
    event_free(client->event);
    event_free(client->tick);
    event_base_free(client->base);
    mosquitto_destroy(client->mosquitto);
    mosquitto_lib_cleanup();
}

int64_t bench_clock_ns(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000000000 + now.tv_nsec;
}

double bench_cpu_s(void) {
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    return (double)(usage.ru_utime.tv_sec + usage.ru_stime.tv_sec) +
           (double)(usage.ru_utime.tv_usec + usage.ru_stime.tv_usec) / 1e6;
}

long bench_number(const char *text) {
    char *end = NULL;
    errno = 0;
    long number = strtol(text, &end, 10);
    if (errno != 0 || end == text || *end != '\0' || number < 0) {
        fprintf(stderr, "bench: not a number: %s\n", text);
        exit(2);
    }
    return number;
}
