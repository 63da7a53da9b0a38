// Measures how long it takes from a request published to its durable answer, in turns with an echo
// through the same broker and a sync of the daemon's file system; then how many accepted requests
// are answered per second while four persons keep many in flight. Prints both with a verdict.
//
// A request is a tag hung or lifted, in turns, on an isolated point, each with an id of its own.
#include <dirent.h>
#include <fcntl.h>
#include <mosquitto.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "client.h"

#define PERSONS 4
#define POSITIONS 32
#define WINDOW 200
#define PATIENCE_MS 10000
#define REST_NS 10000000
#define SYNC_BYTES 8192

struct probe {
    struct bench_client client;
    size_t answers, accepted, echoes;
    int64_t at_ns; // of the newest echo or answer
    char answer[400];
};

static void on_message(void *user, const struct mosquitto_message *message) {
    struct probe *probe = user;
    probe->at_ns = bench_clock_ns();
    if (strcmp(message->topic, "bench/echo/back") == 0) {
        probe->echoes++;
        return;
    }
    snprintf(probe->answer, sizeof(probe->answer), "%.*s", message->payloadlen,
             message->payload != NULL ? (const char *)message->payload : "");
    const char *at = strstr(probe->answer, "\"accepted\"");
    probe->answers++;
    probe->accepted += at != NULL && strncmp(at + 10 + strspn(at + 10, ": "), "true", 4) == 0;
}

static void fail(struct probe *probe, const char *what) {
    fprintf(stderr, "bench: %s failed; the last answer was %s\n", what, probe->answer);
    exit(1);
}

static void wait_or_fail(struct probe *probe, const size_t *count, size_t target,
                         const char *what) {
    if (!bench_wait(&probe->client, count, target, PATIENCE_MS)) {
        fail(probe, what);
    }
}

static void connect_probe(struct probe *probe, char **argv, const char *client_id) {
    probe->client.on_message = on_message;
    probe->client.user = probe;
    bench_connect(&probe->client, argv[1], argv[2], client_id);
}

static void request(struct probe *probe, const char *person, const char *verb, const char *body) {
    bench_request(&probe->client, person, verb, body);
}

// The nth request of a person: over their positions a tag hung on each, then lifted from each.
static void request_tag(struct probe *probe, int person, size_t n, const char *series) {
    const size_t own = POSITIONS / PERSONS;
    char name[16], body[192];
    size_t position = (size_t)person * own + n % own;
    snprintf(name, sizeof(name), "t-%d", person + 1);
    snprintf(body, sizeof(body),
             "{\"id\":\"%s-%d-%zu\",\"job\":\"job-%zu\",\"point\":\"d%zu-power\"}", series, person,
             n, position, position);
    request(probe, name, n / own % 2 == 0 ? "hang-tag" : "lift-tag", body);
}

// All points isolated, a job on each position, and the isolation settled.
static void prepare(struct probe *probe) {
    for (int i = 0; i < POSITIONS; i++) {
        char topic[128], body[256];
        snprintf(topic, sizeof(topic), "forelock/site-0/signal/d%d-power", i);
        bench_publish(&probe->client, topic, "{\"state\":\"isolated\",\"seq\":1}");
        snprintf(body, sizeof(body),
                 "{\"job\":\"job-%d\",\"position\":\"d%d\",\"procedure\":\"swap-hose\","
                 "\"technician\":\"t-%d\"}",
                 i, i, i / (POSITIONS / PERSONS) + 1);
        size_t accepted = probe->accepted;
        request(probe, "j-1", "open-job", body);
        wait_or_fail(probe, &probe->accepted, accepted + 1, "open-job");
    }
    int64_t end = bench_clock_ns() + 1000000000;
    while (bench_clock_ns() < end) {
        bench_turn(&probe->client, 50);
    }
}

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

static double measure_sync(int file) {
    static const char page[SYNC_BYTES];
    int64_t begin = bench_clock_ns();
    if (write(file, page, sizeof(page)) != (ssize_t)sizeof(page) || fdatasync(file) != 0) {
        perror("bench: sync");
        exit(1);
    }
    return (double)(bench_clock_ns() - begin) / 1e3;
}

static double measure_request(struct probe *probe, size_t n) {
    size_t before = probe->accepted;
    int64_t begin = bench_clock_ns();
    request_tag(probe, 0, n, "one");
    wait_or_fail(probe, &probe->accepted, before + 1, "request");
    return (double)(probe->at_ns - begin) / 1e3;
}

static int compare(const void *a, const void *b) {
    double left = *(const double *)a, right = *(const double *)b;
    return (left > right) - (left < right);
}

static double median(double *values, size_t count) {
    qsort(values, count, sizeof(*values), compare);
    return values[count / 2];
}

static int measure_latency(struct probe *probe, size_t count, const char *path) {
    double *values = calloc(3 * count, sizeof(double));
    int file = open(path, O_CREAT | O_WRONLY | O_TRUNC, 0600);
    if (values == NULL || file < 0) {
        perror("bench");
        exit(1);
    }
    for (size_t i = 0; i < count; i++) {
        rest(probe);
        values[i] = measure_echo(probe);
        rest(probe);
        values[count + i] = measure_sync(file);
        rest(probe);
        values[2 * count + i] = measure_request(probe, i);
    }
    double echo = median(values, count), sync = median(values + count, count);
    double answer = median(values + 2 * count, count), limit = echo + 1.5 * sync;
    printf("samples %zu  echo p50 %.0f us  sync p50 %.0f us  request p50 %.0f us (at most %.0f): "
           "%s\n",
           count, echo, sync, answer, limit, answer <= limit ? "met" : "MISSED");
    fflush(stdout);
    close(file);
    free(values);
    return answer <= limit ? 0 : 1;
}

// CPU seconds of all threads of a process.
static double cpu_of(const char *pid) {
    char path[300];
    double sum = 0;
    snprintf(path, sizeof(path), "/proc/%s/task", pid);
    DIR *tasks = opendir(path);
    for (struct dirent *task; tasks != NULL && (task = readdir(tasks)) != NULL;) {
        unsigned long long ns = 0;
        snprintf(path, sizeof(path), "/proc/%s/task/%.20s/schedstat", pid, task->d_name);
        FILE *file = task->d_name[0] != '.' ? fopen(path, "r") : NULL;
        if (file != NULL) {
            sum += fscanf(file, "%llu", &ns) == 1 ? (double)ns / 1e9 : 0;
            fclose(file);
        }
    }
    if (tasks != NULL) {
        closedir(tasks);
    }
    return sum;
}

// One person's load, in a process of its own; ends with 1 unless every request was accepted.
static int load(char **argv, int person, size_t count) {
    struct probe probe = {0};
    char name[64];
    snprintf(name, sizeof(name), "bench-permit-%d", person);
    connect_probe(&probe, argv, name);
    snprintf(name, sizeof(name), "forelock/site-0/reply/t-%d", person + 1);
    bench_subscribe(&probe.client, name);
    for (size_t sent = 0; probe.answers < count;) {
        for (; sent < count && sent < probe.answers + WINDOW; sent++) {
            request_tag(&probe, person, sent, "many");
        }
        wait_or_fail(&probe, &probe.answers, probe.answers + 1, "load");
    }
    bench_disconnect(&probe.client);
    return probe.accepted == count ? 0 : 1;
}

static int measure_load(char **argv, size_t count) {
    int code = 0, status = 0;
    int64_t begin = bench_clock_ns();
    double cpu = cpu_of(argv[5]);
    for (int person = 0; person < PERSONS; person++) {
        pid_t child = fork();
        if (child == 0) {
            _exit(load(argv, person, count / PERSONS));
        }
        code |= child < 0;
    }
    while (wait(&status) > 0) {
        code |= status != 0;
    }
    double wall = (double)(bench_clock_ns() - begin) / 1e9;
    cpu = cpu_of(argv[5]) - cpu;
    if (code != 0) {
        fprintf(stderr, "bench: not every request of the load was accepted\n");
        return 1;
    }
    double rate = (double)(count / PERSONS * PERSONS) / cpu;
    printf("load %zu requests, %d persons, %d in flight each  %.0f /s of wall time  %.0f /s of the "
           "daemon's CPU time (at least 20000): %s\n",
           count / PERSONS * PERSONS, PERSONS, WINDOW, (double)count / wall, rate,
           rate >= 20000 ? "met" : "MISSED");
    return rate >= 20000 ? 0 : 1;
}

int main(int argc, char **argv) {
    if (argc != 7) {
        fprintf(stderr, "usage: %s HOST PORT SAMPLES SYNC_FILE DAEMON_PID REQUESTS\n", argv[0]);
        return 2;
    }
    struct probe probe = {0};
    size_t samples = (size_t)bench_number(argv[3]), requests = (size_t)bench_number(argv[6]);
    if (samples == 0 || requests < PERSONS) {
        return 2;
    }
    connect_probe(&probe, argv, "bench-permit-probe");
    bench_subscribe(&probe.client, "forelock/site-0/reply/+");
    bench_subscribe(&probe.client, "bench/echo/back");
    prepare(&probe);
    int code = measure_latency(&probe, samples, argv[4]);
    bench_disconnect(&probe.client);
    return measure_load(argv, requests) | code;
}
