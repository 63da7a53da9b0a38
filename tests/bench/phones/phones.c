// Many open pages: event streams of one site, each read as it comes. Says on standard error when
// all are open; then, for each alarm, prints when (CLOCK_MONOTONIC, ns) the first and the last of
// the streams saw it. Runs until it is killed.
#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/epoll.h>
#include <sys/socket.h>
#include <unistd.h>

#include "client.h"

// Alarms that may be under way at once.
#define ROUNDS 64

struct phone {
    int fd;
    size_t alarms;  // seen so far
    size_t matched; // bytes of MARK just read
    bool open;      // its answer has begun
};

struct round {
    size_t seen;
    int64_t first_ns, last_ns;
};

struct phones {
    struct phone *items;
    size_t count, open;
    struct round rounds[ROUNDS];
    int poll;
};

static const char mark[] = "event: alarm\n";

static void fail(const char *what) {
    fprintf(stderr, "bench: %s: %s\n", what, strerror(errno));
    exit(1);
}

static void open_one(struct phones *phones, size_t index, const char *port, const char *token) {
    struct sockaddr_in to = {.sin_family = AF_INET,
                             .sin_port = htons((uint16_t)bench_number(port)),
                             .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    struct epoll_event event = {.events = EPOLLIN, .data.u64 = index};
    struct phone *phone = &phones->items[index];
    char request[400];
    int length = snprintf(request, sizeof(request),
                          "GET /api/site-0/stream HTTP/1.1\r\nHost: bench\r\n"
                          "Authorization: Bearer %s\r\n\r\n",
                          token);
    phone->fd = socket(AF_INET, SOCK_STREAM, 0);
    if (phone->fd < 0 || connect(phone->fd, (struct sockaddr *)&to, sizeof(to)) != 0 ||
        write(phone->fd, request, (size_t)length) != length ||
        fcntl(phone->fd, F_SETFL, O_NONBLOCK) != 0 ||
        epoll_ctl(phones->poll, EPOLL_CTL_ADD, phone->fd, &event) != 0) {
        fail("a stream cannot be opened");
    }
}

static void see_alarm(struct phones *phones, struct phone *phone) {
    struct round *round = &phones->rounds[phone->alarms++ % ROUNDS];
    round->last_ns = bench_clock_ns();
    if (round->seen++ == 0) {
        round->first_ns = round->last_ns;
    }
    if (round->seen == phones->count) {
        printf("%lld %lld\n", (long long)round->first_ns, (long long)round->last_ns);
        fflush(stdout);
        round->seen = 0;
    }
}

static void take(struct phones *phones, struct phone *phone, const char *text, size_t length) {
    for (size_t i = 0; i < length; i++) {
        if (text[i] != mark[phone->matched]) {
            phone->matched = 0;
        }
        phone->matched += text[i] == mark[phone->matched];
        if (phone->matched == sizeof(mark) - 1) {
            phone->matched = 0;
            see_alarm(phones, phone);
        }
    }
}

static void read_one(struct phones *phones, struct phone *phone) {
    char text[16384];
    ssize_t length = read(phone->fd, text, sizeof(text));
    if (length < 0 && errno == EAGAIN) {
        return;
    }
    if (length <= 0 || (!phone->open && strncmp(text, "HTTP/1.1 200", 12) != 0)) {
        fail("a stream has ended");
    }
    if (!phone->open) {
        phone->open = true;
        if (++phones->open == phones->count) {
            fputs("all are open\n", stderr);
        }
    }
    take(phones, phone, text, (size_t)length);
}

int main(int argc, char **argv) {
    if (argc != 4) {
        fprintf(stderr, "usage: %s HTTP_PORT TOKEN STREAMS\n", argv[0]);
        return 2;
    }
    struct phones phones = {.count = (size_t)bench_number(argv[3]), .poll = epoll_create1(0)};
    struct epoll_event events[256];
    phones.items = calloc(phones.count + 1, sizeof(*phones.items));
    if (phones.items == NULL || phones.poll < 0) {
        fail("no memory or no descriptor");
    }
    for (size_t i = 0; i < phones.count; i++) {
        open_one(&phones, i, argv[1], argv[2]);
    }
    for (;;) {
        int count = epoll_wait(phones.poll, events, 256, -1);
        for (int i = 0; i < count; i++) {
            read_one(&phones, &phones.items[events[i].data.u64]);
        }
    }
}
