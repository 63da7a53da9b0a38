// The simulator as a program: against a real broker, what arrives at a subscriber and what it
// answers.
//
// Usage: test_simulator_broker BROKER SIMULATOR
#include <arpa/inet.h>
#include <fcntl.h>
#include <poll.h>
#include <setjmp.h>
#include <signal.h>
#include <spawn.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>
#include <mosquitto.h>

#include "simulator/link.h"

#include "base/clock.h"

#define PATIENCE_MS 10000
#define ARGUMENTS_MAX 16

extern char **environ;

static char *broker_program;
static char *simulator_program;

static struct {
    int port_number;
    char port[8];
    pid_t broker;
    struct mosquitto *listener;
    bool subscribed;
    char heard[8192]; // "topic payload\n", in the order of arrival
} site;

static int free_port(void) {
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    socklen_t size = sizeof address;
    int fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    assert_int_equal(bind(fd, (struct sockaddr *)&address, size), 0);
    assert_int_equal(getsockname(fd, (struct sockaddr *)&address, &size), 0);
    close(fd);
    return ntohs(address.sin_port);
}

static void on_message(struct mosquitto *m, void *context,
                       const struct mosquitto_message *message) {
    (void)m;
    (void)context;
    size_t used = strlen(site.heard);
    snprintf(site.heard + used, sizeof site.heard - used, "%s %.*s\n", message->topic,
             message->payloadlen, (const char *)message->payload);
}

static void on_subscribe(struct mosquitto *m, void *context, int id, int count,
                         const int *granted) {
    (void)m;
    (void)context;
    (void)id;
    (void)count;
    (void)granted;
    site.subscribed = true;
}

static void on_connect(struct mosquitto *m, void *context, int reason) {
    (void)context;
    assert_int_equal(reason, 0);
    mosquitto_subscribe(m, NULL, "forelock/#", 1);
}

static int start_site(void **state) {
    (void)state;
    site.port_number = free_port();
    snprintf(site.port, sizeof site.port, "%d", site.port_number);
    char flag[] = "-p";
    char *const arguments[] = {broker_program, flag, site.port, NULL};
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, STDERR_FILENO, "/dev/null", O_WRONLY, 0);
    int spawned = posix_spawn(&site.broker, broker_program, &actions, NULL, arguments, environ);
    posix_spawn_file_actions_destroy(&actions);
    assert_int_equal(spawned, 0);
    mosquitto_lib_init();
    site.listener = mosquitto_new(NULL, true, NULL);
    assert_non_null(site.listener);
    mosquitto_connect_callback_set(site.listener, on_connect);
    mosquitto_subscribe_callback_set(site.listener, on_subscribe);
    mosquitto_message_callback_set(site.listener, on_message);
    int64_t deadline = base_clock_mono_ms() + PATIENCE_MS;
    while (mosquitto_connect(site.listener, "127.0.0.1", site.port_number, 30) != 0) {
        assert_true(base_clock_mono_ms() < deadline);
        poll(NULL, 0, 20);
    }
    while (!site.subscribed) {
        assert_true(base_clock_mono_ms() < deadline);
        mosquitto_loop(site.listener, 20, 1);
    }
    return 0;
}

static int stop_site(void **state) {
    (void)state;
    mosquitto_destroy(site.listener);
    mosquitto_lib_cleanup();
    kill(site.broker, SIGTERM);
    return waitpid(site.broker, NULL, 0) == site.broker ? 0 : -1;
}

static void await_heard(const char *text) {
    int64_t deadline = base_clock_mono_ms() + PATIENCE_MS;
    while (strstr(site.heard, text) == NULL) {
        if (base_clock_mono_ms() > deadline) {
            fail_msg("not heard: %s\nheard:\n%s", text, site.heard);
        }
        mosquitto_loop(site.listener, 20, 1);
    }
}

// Runs the simulator with this standard input to its end; its answers come back in `output`.
// Returns its exit status. The input fits into a pipe.
static int simulate(const char *const arguments[], const char *input, char *output, size_t size) {
    char words[ARGUMENTS_MAX][64] = {""};
    char *copies[ARGUMENTS_MAX + 2] = {simulator_program};
    for (size_t i = 0; arguments[i] != NULL; i++) {
        assert_true(i < ARGUMENTS_MAX);
        snprintf(words[i], sizeof words[i], "%s", arguments[i]);
        copies[i + 1] = words[i];
    }
    int in[2];
    int out[2];
    pid_t child;
    assert_int_equal(pipe2(in, O_CLOEXEC), 0);
    assert_int_equal(pipe2(out, O_CLOEXEC), 0);
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_adddup2(&actions, in[0], STDIN_FILENO);
    posix_spawn_file_actions_adddup2(&actions, out[1], STDOUT_FILENO);
    posix_spawn_file_actions_adddup2(&actions, out[1], STDERR_FILENO);
    assert_int_equal(posix_spawn(&child, simulator_program, &actions, NULL, copies, environ), 0);
    posix_spawn_file_actions_destroy(&actions);
    close(in[0]);
    close(out[1]);
    assert_int_equal(write(in[1], input, strlen(input)), strlen(input));
    close(in[1]);
    size_t used = 0;
    ssize_t got;
    while ((got = read(out[0], output + used, size - 1 - used)) > 0) {
        used += (size_t)got;
    }
    output[used] = '\0';
    close(out[0]);
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status));
    return WEXITSTATUS(status);
}

static void publishes_what_it_is_told(void **state) {
    (void)state;
    const char *const arguments[] = {"--site",     "juniper", "--port", site.port,
                                     "--max-time", "20s",     NULL};
    char output[4096];
    site.heard[0] = '\0';
    int status = simulate(arguments,
                          "controller panel-1 starts online\n"
                          "breaker 3-power starts live with seq on panel-1\n"
                          "reader 3-power\n"
                          "\n"
                          "set 3-power isolated\n"
                          "hang 3-power t-104\n"
                          "after 50ms set 3-power live\n"
                          "wait 200ms\n"
                          "set 3-pwer live\n"
                          "end\n"
                          "set 3-power isolated\n",
                          output, sizeof output);
    assert_int_equal(status, 1);
    assert_string_equal(output, "ok start: every device has spoken\n"
                                "ok 1: controller panel-1 is there\n"
                                "ok 2: breaker 3-power is there\n"
                                "ok 3: reader 3-power is there\n"
                                "ok 5: set 3-power isolated\n"
                                "ok 6: hang 3-power t-104\n"
                                "ok 7: after 50ms set 3-power live\n"
                                "ok 8: wait 200ms\n"
                                "later ok 7: set 3-power live\n"
                                "error 9: no sensor \"3-pwer\" is declared\n"
                                "ok 10: end\n");
    await_heard("\"seq\":3");
    assert_string_equal(site.heard,
                        "forelock/juniper/controller/panel-1 online\n"
                        "forelock/juniper/signal/3-power {\"state\":\"live\",\"seq\":1}\n"
                        "forelock/juniper/signal/3-power {\"state\":\"isolated\",\"seq\":2}\n"
                        "forelock/juniper/tagging/3-power {\"state\":\"hung\","
                        "\"person\":\"t-104\"}\n"
                        "forelock/juniper/signal/3-power {\"state\":\"live\",\"seq\":3}\n");
}

// A file with this text; removed by the caller.
static void write_scenario(char path[32], const char *text) {
    snprintf(path, 32, "/tmp/scenario.XXXXXX");
    int fd = mkstemp(path);
    assert_true(fd >= 0);
    assert_int_equal(write(fd, text, strlen(text)), strlen(text));
    close(fd);
}

static void runs_a_scenario_to_its_end(void **state) {
    (void)state;
    char path[32];
    char output[4096];
    write_scenario(path, "valve v starts isolated every 20ms\n# a comment\nwait 100ms\n");
    const char *const arguments[] = {"--site",  "fern",       "--root", "forelock", "--port",
                                     site.port, "--scenario", path,     NULL};
    site.heard[0] = '\0';
    int status = simulate(arguments, "set v live\n", output, sizeof output);
    unlink(path);
    assert_int_equal(status, 0);
    assert_non_null(strstr(output, ":3: wait 100ms\n"));
    assert_null(strstr(output, "set v live")); // standard input was not asked for
    await_heard("forelock/fern/signal/v {\"state\":\"isolated\"}\n"
                "forelock/fern/signal/v {\"state\":\"isolated\"}\n"
                "forelock/fern/signal/v {\"state\":\"isolated\"}\n");
}

static void reports_every_error_of_a_scenario(void **state) {
    (void)state;
    char path[32];
    char output[4096];
    char expected[256];
    write_scenario(path, "valve v starts ajar\nbreaker b starts live\nset v live\n");
    const char *const arguments[] = {"--site", "fern", "--scenario", path, NULL};
    int status = simulate(arguments, "", output, sizeof output);
    unlink(path);
    snprintf(expected, sizeof expected,
             "%s:1: \"ajar\" is neither isolated nor live\n%s:3: no sensor \"v\" is declared\n",
             path, path);
    assert_int_equal(status, 3);
    assert_string_equal(output, expected);
}

static void ends_when_its_time_is_over(void **state) {
    (void)state;
    char output[1024];
    const char *const arguments[] = {"--site",     "fern",  "--port", site.port,
                                     "--max-time", "200ms", NULL};
    assert_int_equal(simulate(arguments, "wait 1h\n", output, sizeof output), 1);
    assert_non_null(strstr(output, "the maximum time"));
}

static void needs_a_site(void **state) {
    (void)state;
    char output[1024];
    const char *const arguments[] = {"--port", site.port, NULL};
    assert_int_equal(simulate(arguments, "", output, sizeof output), 2);
    assert_non_null(strstr(output, "--site"));
}

int main(int argc, char **argv) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(publishes_what_it_is_told),
        cmocka_unit_test(runs_a_scenario_to_its_end),
        cmocka_unit_test(reports_every_error_of_a_scenario),
        cmocka_unit_test(ends_when_its_time_is_over),
        cmocka_unit_test(needs_a_site),
    };
    if (argc != 3) {
        fputs("usage: test_simulator_broker BROKER SIMULATOR\n", stderr);
        return 2;
    }
    broker_program = argv[1];
    simulator_program = argv[2];
    signal(SIGPIPE, SIG_IGN);
    return cmocka_run_group_tests(tests, start_site, stop_site);
}
