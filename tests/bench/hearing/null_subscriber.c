// Subscribes and does nothing with what it hears: the least that a program on libmosquitto and
// libevent can cost. Ends after COUNT messages, or on SIGTERM, and prints what it used.
#include <event2/event.h>
#include <signal.h>
#include <stdio.h>

#include "client.h"

static volatile sig_atomic_t ended;

static void on_signal(int number) {
    (void)number;
    ended = 1;
}

static void on_message(void *user, const struct mosquitto_message *message) {
    (void)message;
    (*(size_t *)user)++;
}

int main(int argc, char **argv) {
    if (argc < 5) {
        fprintf(stderr, "usage: %s HOST PORT COUNT FILTER...\n", argv[0]);
        return 2;
    }
    size_t heard = 0, count = (size_t)bench_number(argv[3]);
    struct bench_client client = {.on_message = on_message, .user = &heard};
    signal(SIGTERM, on_signal);
    bench_connect(&client, argv[1], argv[2], "bench-null-subscriber");
    for (int i = 4; i < argc; i++) {
        bench_subscribe(&client, argv[i]);
    }
    double before = bench_cpu_s();
    while (heard < count && !ended) {
        event_base_loop(client.base, EVLOOP_ONCE);
    }
    double used = bench_cpu_s() - before;
    printf("{\"messages\":%zu,\"cpu_s\":%.6f,\"us_per_message\":%.3f}\n", heard, used,
           heard > 0 ? used * 1e6 / (double)heard : 0);
    bench_disconnect(&client);
    return 0;
}
