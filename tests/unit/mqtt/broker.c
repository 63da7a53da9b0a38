// Starts and stops the broker of a test.
#include "broker.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

// cmocka wants these before it.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static struct sockaddr_in local(int port) {
    return (struct sockaddr_in){.sin_family = AF_INET,
                                .sin_port = htons((uint16_t)port),
                                .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
}

int broker_free_port(void) {
    struct sockaddr_in address = local(0);
    socklen_t size = sizeof(address);
    int fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    assert_true(fd >= 0);
    assert_int_equal(bind(fd, (struct sockaddr *)&address, size), 0);
    assert_int_equal(getsockname(fd, (struct sockaddr *)&address, &size), 0);
    close(fd);
    return ntohs(address.sin_port);
}

static bool listens(int port) {
    struct sockaddr_in address = local(port);
    int fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    bool connected = connect(fd, (struct sockaddr *)&address, sizeof(address)) == 0;
    close(fd);
    return connected;
}

const char *broker_path(const struct broker *broker, const char *name) {
    static char paths[4][128];
    static unsigned next;
    char *path = paths[next++ % 4];
    snprintf(path, sizeof(paths[0]), "%s/%s", broker->directory, name);
    return path;
}

void broker_write(const struct broker *broker, const char *name, const char *text) {
    FILE *file = fopen(broker_path(broker, name), "we");
    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
}

void broker_prepare(struct broker *broker) {
    *broker = (struct broker){.port = broker_free_port()};
    snprintf(broker->directory, sizeof(broker->directory), "/tmp/forelock-broker-XXXXXX");
    assert_non_null(mkdtemp(broker->directory));
}

static void run(const struct broker *broker) {
    prctl(PR_SET_PDEATHSIG, SIGKILL);
    int log =
        open(broker_path(broker, "broker.log"), O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0644);
    dup2(log, STDOUT_FILENO);
    dup2(log, STDERR_FILENO);
    const char *path = getenv("MOSQUITTO_BROKER");
    execlp(path != NULL ? path : "mosquitto", "mosquitto", "-c", broker_path(broker, "broker.conf"),
           (char *)NULL);
    _exit(127);
}

void broker_start(struct broker *broker, const char *listener) {
    char text[2048];
    snprintf(text, sizeof(text),
             // A change of user would undo PR_SET_PDEATHSIG; this option is ignored unless root.
             "user root\nmax_queued_messages 0\nset_tcp_nodelay true\nlog_type error\n"
             "listener %d 127.0.0.1\nallow_anonymous true\n%s\n",
             broker->port, listener);
    broker_write(broker, "broker.conf", text);
    broker->pid = fork();
    assert_true(broker->pid >= 0);
    if (broker->pid == 0) {
        run(broker);
    }
    for (int i = 0; i < 500 && !listens(broker->port); i++) {
        const struct timespec pause = {.tv_nsec = 10000000};
        nanosleep(&pause, NULL);
    }
    assert_true(listens(broker->port));
}

void broker_freeze(const struct broker *broker, bool frozen) {
    assert_int_equal(kill(broker->pid, frozen ? SIGSTOP : SIGCONT), 0);
}

void broker_kill(struct broker *broker) {
    if (broker->pid > 0) {
        kill(broker->pid, SIGKILL);
        waitpid(broker->pid, NULL, 0);
    }
    broker->pid = 0;
}

void broker_remove(struct broker *broker) {
    char command[128];
    broker_kill(broker);
    snprintf(command, sizeof(command), "rm -rf %s", broker->directory);
    assert_int_equal(system(command), 0);
}
