// The bare client of the benches: libmosquitto in a libevent loop, as lean as those two allow. It
// is what the daemon is measured against, so it does nothing that it does not have to.
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct mosquitto;
struct mosquitto_message;

struct bench_client {
    struct mosquitto *mosquitto;
    struct event_base *base;
    struct event *event;
    struct event *tick;
    int fd;
    short interest;
    bool connected;
    size_t subscribed; // SUBACKs
    size_t confirmed;  // PUBACKs
    void (*on_message)(void *user, const struct mosquitto_message *message);
    void *user;
};

// Connects to a broker and waits for its CONNACK; exits with a message if that fails.
void bench_connect(struct bench_client *client, const char *host, const char *port,
                   const char *client_id);

// Subscribes at QoS 1 and waits for the SUBACK.
void bench_subscribe(struct bench_client *client, const char *filter);

// Publishes at QoS 1; exits with a message if the library refuses.
void bench_publish(struct bench_client *client, const char *topic, const char *payload);

// The same of a request of site-0 to a daemon, asked now. The body is an object with members.
void bench_request(struct bench_client *client, const char *person, const char *verb,
                   const char *body);

// Runs the loop until something happened, for at most `ms`.
void bench_turn(struct bench_client *client, int ms);

// Runs the loop until `*count` is at least `target`; false after `ms`.
bool bench_wait(struct bench_client *client, const size_t *count, size_t target, int64_t ms);

void bench_disconnect(struct bench_client *client);

// CLOCK_MONOTONIC in nanoseconds.
int64_t bench_clock_ns(void);

// CPU seconds that this process has used.
double bench_cpu_s(void);

// A number from the command line; exits with a message if it is none.
long bench_number(const char *text);
