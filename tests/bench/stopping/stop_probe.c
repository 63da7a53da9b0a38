// Measures how long it takes from a `live` signal published to the retained alarm received, and, in
// turns with it, how long an echo through the same broker takes. Prints the percentiles of both.
//
// With a file, a line of it for each sample says when (CLOCK_MONOTONIC, ns) the signal was
// published and the alarm received.
//
// The lockout is made anew for each sample: both points of a position isolated, a tag hung on one;
// then that point reads live, which raises an alarm, or raises it again; and it is acknowledged.
// The positions take turns.
#include <mosquitto.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "client.h"

#define POSITIONS 32
#define PATIENCE_MS 10000
#define REST_NS 30000000

struct probe {
    struct bench_client client;
    size_t answers, echoes, alarms, acknowledged;
    bool accepted;
    char refusal[400];
    char alarm[80];
    int64_t at_ns; // of the newest echo or alarm
    long seq;
    FILE *samples; // or NULL
};

static void copy(char *to, size_t size, const struct mosquitto_message *message) {
    snprintf(to, size, "%.*s", message->payloadlen,
             message->payload != NULL ? (const char *)message->payload : "");
}

// Whether the text has "name": value, with any spaces after the colon.
static bool says(const char *text, const char *name, const char *value) {
    const char *at = strstr(text, name);
    if (at == NULL) {
        return false;
    }
    at += strlen(name);
    at += strspn(at, ": ");
    return strncmp(at, value, strlen(value)) == 0;
}

static void on_alarm(struct probe *probe, const char *topic, const char *text) {
    if (text[0] == '\0' || says(text, "\"state\"", "\"acknowledged\"")) {
        probe->acknowledged++;
    } else if (says(text, "\"kind\"", "\"lockout-broken\"") &&
               says(text, "\"state\"", "\"unacknowledged\"")) {
        probe->at_ns = bench_clock_ns();
        probe->alarms++;
        snprintf(probe->alarm, sizeof(probe->alarm), "%s", strrchr(topic, '/') + 1);
    }
}

static void on_message(void *user, const struct mosquitto_message *message) {
    struct probe *probe = user;
    char text[4096];
    copy(text, sizeof(text), message);
    if (strcmp(message->topic, "bench/echo/back") == 0) {
        probe->at_ns = bench_clock_ns();
        probe->echoes++;
    } else if (strstr(message->topic, "/alarm/") != NULL) {
        on_alarm(probe, message->topic, text);
    } else {
        probe->accepted = says(text, "\"accepted\"", "true");
        snprintf(probe->refusal, sizeof(probe->refusal), "%.399s", text);
        probe->answers++;
    }
}

static void wait_or_fail(struct probe *probe, const size_t *count, size_t target,
                         const char *what) {
    if (!bench_wait(&probe->client, count, target, PATIENCE_MS)) {
        fprintf(stderr, "bench: no %s; the last answer was %s\n", what, probe->refusal);
        exit(1);
    }
}

static bool ask(struct probe *probe, const char *person, const char *verb, const char *body) {
    size_t before = probe->answers;
    bench_request(&probe->client, person, verb, body);
    wait_or_fail(probe, &probe->answers, before + 1, verb);
    return probe->accepted;
}

static void signal_point(struct probe *probe, int position, const char *device, const char *state) {
    char topic[128], payload[128];
    snprintf(topic, sizeof(topic), "forelock/site-0/signal/d%d-%s", position, device);
    snprintf(payload, sizeof(payload), "{\"state\":\"%s\",\"seq\":%ld}", state, ++probe->seq);
    bench_publish(&probe->client, topic, payload);
}

static void isolate(struct probe *probe, int position) {
    signal_point(probe, position, "power", "isolated");
    signal_point(probe, position, "line", "isolated");
}

static void open_job(struct probe *probe, int position) {
    char body[256];
    snprintf(body, sizeof(body),
             "{\"job\":\"job-%d\",\"position\":\"d%d\",\"procedure\":\"swap-hose\","
             "\"technician\":\"t-1\"}",
             position, position);
    if (!ask(probe, "j-1", "open-job", body)) {
        fprintf(stderr, "bench: open-job was refused: %s\n", probe->refusal);
        exit(1);
    }
}

// The tag counts once the point's isolated has settled; until then it is refused.
static void hang_tag(struct probe *probe, int position) {
    char body[128];
    snprintf(body, sizeof(body), "{\"job\":\"job-%d\",\"point\":\"d%d-power\"}", position,
             position);
    for (int i = 0; i < 100; i++) {
        if (ask(probe, "t-1", "hang-tag", body)) {
            return;
        }
        bench_turn(&probe->client, 50);
    }
    fprintf(stderr, "bench: hang-tag was refused: %s\n", probe->refusal);
    exit(1);
}

// Both are measured from rest: what the daemon still does for the tag would count against it alone.
static void rest(struct probe *probe) {
    int64_t end = bench_clock_ns() + REST_NS;
    while (bench_clock_ns() < end) {
        bench_turn(&probe->client, 5);
    }
}

static double measure_echo(struct probe *probe) {
    size_t before = probe->echoes;
    int64_t begin = bench_clock_ns();
    bench_publish(&probe->client, "bench/echo/there", "{\"state\":\"live\",\"seq\":1}");
    wait_or_fail(probe, &probe->echoes, before + 1, "echo");
    return (double)(probe->at_ns - begin) / 1e3;
}

static double measure_stop(struct probe *probe, int position) {
    char body[128];
    size_t before = probe->alarms, acknowledged = probe->acknowledged;
    int64_t begin = bench_clock_ns();
    signal_point(probe, position, "power", "live");
    wait_or_fail(probe, &probe->alarms, before + 1, "alarm");
    double us = (double)(probe->at_ns - begin) / 1e3;
    if (probe->samples != NULL) {
        fprintf(probe->samples, "%lld %lld\n", (long long)begin, (long long)probe->at_ns);
        fflush(probe->samples);
    }
    isolate(probe, position);
    snprintf(body, sizeof(body), "{\"alarm\":\"%s\"}", probe->alarm);
    if (!ask(probe, "t-1", "acknowledge-alarm", body)) {
        fprintf(stderr, "bench: acknowledge-alarm was refused: %s\n", probe->refusal);
        exit(1);
    }
    wait_or_fail(probe, &probe->acknowledged, acknowledged + 1, "acknowledged alarm");
    return us;
}

static int compare(const void *a, const void *b) {
    double left = *(const double *)a, right = *(const double *)b;
    return (left > right) - (left < right);
}

static double percentile(double *sorted, size_t count, double part) {
    size_t at = (size_t)(part * (double)count);
    return sorted[at < count ? at : count - 1];
}

static int report(double *echoes, double *stops, size_t count) {
    qsort(echoes, count, sizeof(*echoes), compare);
    qsort(stops, count, sizeof(*stops), compare);
    double echo_p99 = percentile(echoes, count, 0.99), stop_p99 = percentile(stops, count, 0.99);
    printf("samples %zu  echo p50 %.0f us p99 %.0f us  stop p50 %.0f us p99 %.0f us  "
           "ratio of p99 %.2f (at most 1.50)\n",
           count, percentile(echoes, count, 0.5), echo_p99, percentile(stops, count, 0.5), stop_p99,
           stop_p99 / echo_p99);
    return stop_p99 <= 1.5 * echo_p99 ? 0 : 1;
}

static void prepare(struct probe *probe) {
    for (int position = 0; position < POSITIONS; position++) {
        isolate(probe, position);
        open_job(probe, position);
    }
}

int main(int argc, char **argv) {
    if (argc != 4 && argc != 5) {
        fprintf(stderr, "usage: %s HOST PORT SAMPLES [FILE]\n", argv[0]);
        return 2;
    }
    struct probe probe = {.client = {.on_message = on_message}};
    size_t count = (size_t)bench_number(argv[3]);
    double *echoes = calloc(count + 1, sizeof(double)), *stops = calloc(count + 1, sizeof(double));
    if (echoes == NULL || stops == NULL || count == 0) {
        free(echoes);
        free(stops);
        return 1;
    }
    probe.client.user = &probe;
    probe.samples = argc == 5 ? fopen(argv[4], "w") : NULL;
    bench_connect(&probe.client, argv[1], argv[2], "bench-stop-probe");
    bench_subscribe(&probe.client, "forelock/site-0/reply/#");
    bench_subscribe(&probe.client, "forelock/site-0/alarm/+");
    bench_subscribe(&probe.client, "bench/echo/back");
    prepare(&probe);
    for (size_t i = 0; i < count; i++) {
        int position = (int)(i % POSITIONS);
        hang_tag(&probe, position);
        rest(&probe);
        echoes[i] = measure_echo(&probe);
        rest(&probe);
        stops[i] = measure_stop(&probe, position);
    }
    int code = report(echoes, stops, count);
    free(echoes);
    free(stops);
    if (probe.samples != NULL) {
        fclose(probe.samples);
    }
    bench_disconnect(&probe.client);
    return code;
}
