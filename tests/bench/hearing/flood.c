// Publishes unchanged signals, round by round over the points of a generated configuration, at QoS
// 1 and as fast as the broker takes them or at a given rate. Ends when every one is confirmed.
#include <stdio.h>
#include <stdlib.h>

#include "client.h"

#define POINTS_OF_A_SITE 64

// Messages that the broker has not confirmed yet; more only fills the library's queue.
#define UNCONFIRMED 1000

static void on_message(void *user, const struct mosquitto_message *message) {
    (void)user;
    (void)message;
}

// As configure.sh names them: each dispenser has a breaker and a valve.
static void publish_one(struct bench_client *client, const char *root, long point, long seq) {
    char topic[128], payload[64];
    long in_site = point % POINTS_OF_A_SITE;
    snprintf(topic, sizeof(topic), "%s/site-%ld/signal/d%ld-%s", root, point / POINTS_OF_A_SITE,
             in_site / 2, in_site % 2 == 0 ? "power" : "line");
    snprintf(payload, sizeof(payload), "{\"state\":\"isolated\",\"seq\":%ld}", seq);
    bench_publish(client, topic, payload);
}

static void keep_pace(struct bench_client *client, long sent, long rate, int64_t begin) {
    size_t unconfirmed = (size_t)sent - client->confirmed;
    if (unconfirmed >= UNCONFIRMED) {
        bench_wait(client, &client->confirmed, (size_t)sent - UNCONFIRMED / 2, 60000);
    }
    while (rate > 0 && (bench_clock_ns() - begin) / 1e9 * (double)rate < (double)sent) {
        bench_turn(client, 1);
    }
}

int main(int argc, char **argv) {
    if (argc != 8) {
        fprintf(stderr, "usage: %s HOST PORT ROOT POINTS ROUNDS RATE FIRST_SEQ\n", argv[0]);
        return 2;
    }
    long points = bench_number(argv[4]), rounds = bench_number(argv[5]);
    long rate = bench_number(argv[6]), first = bench_number(argv[7]), sent = 0;
    struct bench_client client = {.on_message = on_message};
    bench_connect(&client, argv[1], argv[2], "bench-flood");
    int64_t begin = bench_clock_ns();
    for (long round = 0; round < rounds; round++) {
        for (long point = 0; point < points; point++) {
            publish_one(&client, argv[3], point, first + round);
            keep_pace(&client, ++sent, rate, begin);
        }
    }
    bool all = bench_wait(&client, &client.confirmed, (size_t)sent, 120000);
    double seconds = (double)(bench_clock_ns() - begin) / 1e9;
    printf("{\"messages\":%ld,\"confirmed\":%zu,\"seconds\":%.3f,\"per_second\":%.0f}\n", sent,
           client.confirmed, seconds, (double)sent / seconds);
    bench_disconnect(&client);
    return all ? 0 : 1;
}
