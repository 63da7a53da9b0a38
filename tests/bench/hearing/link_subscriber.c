// The daemon's own broker link with nothing behind it: what it adds to the null subscriber, before
// anything is decided. Ends after COUNT messages and prints what it used.
#include <signal.h>
#include <stdio.h>

#include "client.h"
#include "loop/loop.h"
#include "mqtt/mqtt.h"

struct heard {
    struct loop *loop;
    size_t count, wanted;
};

static void on_message(void *user, const struct mqtt_message *message) {
    struct heard *heard = user;
    (void)message;
    if (++heard->count == heard->wanted) {
        loop_stop(heard->loop);
    }
}

static void on_signal(void *user, int number) {
    (void)number;
    loop_stop(user);
}

int main(int argc, char **argv) {
    if (argc != 5) {
        fprintf(stderr, "usage: %s HOST PORT COUNT ROOT\n", argv[0]);
        return 2;
    }
    struct heard heard = {.loop = loop_new(), .wanted = (size_t)bench_number(argv[3])};
    const struct mqtt_options options = {
        .host = argv[1], .port = (int)bench_number(argv[2]), .instance = "bench", .root = argv[4]};
    const struct mqtt_callbacks callbacks = {.on_message = on_message};
    char error[200] = "no loop";
    struct mqtt *mqtt = heard.loop != NULL ? mqtt_new(heard.loop, &options, &callbacks, &heard,
                                                      error, sizeof(error))
                                           : NULL;
    if (mqtt == NULL || !loop_on_signal(heard.loop, SIGTERM, on_signal, heard.loop)) {
        fprintf(stderr, "bench: %s\n", error);
        return 1;
    }
    double before = bench_cpu_s();
    mqtt_start(mqtt);
    loop_run(heard.loop);
    double used = bench_cpu_s() - before;
    printf("{\"messages\":%zu,\"cpu_s\":%.6f,\"us_per_message\":%.3f}\n", heard.count, used,
           heard.count > 0 ? used * 1e6 / (double)heard.count : 0);
    mqtt_free(mqtt);
    loop_free(heard.loop);
    return 0;
}
