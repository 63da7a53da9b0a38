// A bare echo client: each message on one topic is answered on another. It shows what the broker
// and the machine take for a way there and back, before anything is decided.
#include <stdio.h>

#include <mosquitto.h>

#include "client.h"

struct echo {
    struct bench_client client;
    const char *to;
};

static void on_message(void *user, const struct mosquitto_message *message) {
    struct echo *echo = user;
    mosquitto_publish(echo->client.mosquitto, NULL, echo->to, message->payloadlen, message->payload,
                      1, false);
}

int main(int argc, char **argv) {
    if (argc != 5) {
        fprintf(stderr, "usage: %s HOST PORT FROM TO\n", argv[0]);
        return 2;
    }
    struct echo echo = {.client = {.on_message = on_message}, .to = argv[4]};
    echo.client.user = &echo;
    bench_connect(&echo.client, argv[1], argv[2], "bench-echo");
    bench_subscribe(&echo.client, argv[3]);
    fprintf(stderr, "subscribed\n");
    for (;;) {
        bench_turn(&echo.client, 1000);
    }
}
