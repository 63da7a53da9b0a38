// The thread against a receiver on this machine: a long backlog arrives whole, each event once and
// each job in order; what was noted is not sent again after a restart.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "webhook/feed.h"
#include "webhook/post.h"
#include "webhook/sender.h"

#include <arpa/inet.h>
#include <poll.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#define FACTS 3000
#define JOBS 40
#define CONNECTIONS 16
#define PATIENCE_S 60

// --- The receiver: one thread, a few connections, an answer of 204 to everything ---

struct connection {
    int descriptor;
    char text[16384];
    size_t length;
};
static struct {
    int listener;
    pthread_t thread;
    atomic_bool ending;
    struct connection list[CONNECTIONS];
    atomic_int requests;
    atomic_int seen[FACTS + 1]; // deliveries by number of the fact
    int64_t last[JOBS];         // of each job
    atomic_bool disorder;
} receiver;

static void take_request(const char *head) {
    const char *id = strcasestr(head, "webhook-id: edge-1:juniper:");
    int64_t seq = id != NULL ? strtoll(id + strlen("webhook-id: edge-1:juniper:"), NULL, 10) : 0;
    if (seq < 1 || seq > FACTS || seq <= receiver.last[seq % JOBS]) {
        receiver.disorder = true;
        return;
    }
    receiver.last[seq % JOBS] = seq;
    receiver.seen[seq]++;
    receiver.requests++;
}

// Answers every whole request in the buffer.
static void serve(struct connection *connection) {
    static const char answer[] = "HTTP/1.1 204 No Content\r\n\r\n";
    for (;;) {
        connection->text[connection->length] = '\0';
        char *end = strstr(connection->text, "\r\n\r\n");
        const char *field = strcasestr(connection->text, "content-length: ");
        if (end == NULL || field == NULL) {
            return;
        }
        size_t whole = (size_t)(end + 4 - connection->text) + strtoul(field + 16, NULL, 10);
        if (connection->length < whole) {
            return;
        }
        take_request(connection->text);
        if (write(connection->descriptor, answer, sizeof answer - 1) < 0) {
            return;
        }
        connection->length -= whole;
        memmove(connection->text, connection->text + whole, connection->length);
    }
}

static void read_more(struct connection *connection) {
    size_t room = sizeof connection->text - 1 - connection->length;
    ssize_t got = read(connection->descriptor, connection->text + connection->length, room);
    if (got <= 0) {
        close(connection->descriptor);
        connection->descriptor = -1;
        return;
    }
    connection->length += (size_t)got;
    serve(connection);
}

static void accept_one(void) {
    int descriptor = accept(receiver.listener, NULL, NULL);
    for (size_t i = 0; i < CONNECTIONS; i++) {
        if (receiver.list[i].descriptor < 0 && descriptor >= 0) {
            receiver.list[i].descriptor = descriptor;
            receiver.list[i].length = 0;
            return;
        }
    }
    receiver.disorder = true; // more connections than deliveries at once
}

static void *receive(void *unused) {
    (void)unused;
    while (!receiver.ending) {
        struct pollfd list[CONNECTIONS + 1];
        for (size_t i = 0; i < CONNECTIONS; i++) {
            list[i] = (struct pollfd){.fd = receiver.list[i].descriptor, .events = POLLIN};
        }
        list[CONNECTIONS] = (struct pollfd){.fd = receiver.listener, .events = POLLIN};
        poll(list, CONNECTIONS + 1, 50);
        for (size_t i = 0; i < CONNECTIONS; i++) {
            if (list[i].revents != 0) {
                read_more(&receiver.list[i]);
            }
        }
        if (list[CONNECTIONS].revents != 0) {
            accept_one();
        }
    }
    return NULL;
}

static unsigned receiver_start(void) {
    struct sockaddr_in address = {.sin_family = AF_INET};
    socklen_t size = sizeof address;
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    for (size_t i = 0; i < CONNECTIONS; i++) {
        receiver.list[i].descriptor = -1;
    }
    receiver.listener = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    assert_int_equal(bind(receiver.listener, (struct sockaddr *)&address, size), 0);
    assert_int_equal(listen(receiver.listener, 16), 0);
    assert_int_equal(getsockname(receiver.listener, (struct sockaddr *)&address, &size), 0);
    assert_int_equal(pthread_create(&receiver.thread, NULL, receive, NULL), 0);
    return ntohs(address.sin_port);
}

static void receiver_end(void) {
    receiver.ending = true;
    pthread_join(receiver.thread, NULL);
    for (size_t i = 0; i < CONNECTIONS; i++) {
        if (receiver.list[i].descriptor >= 0) {
            close(receiver.list[i].descriptor);
        }
    }
    close(receiver.listener);
}

// --- The journal ---

static struct journal *open_journal(const char *path) {
    const struct journal_options options = {.path = path,
                                            .instance = "edge-1",
                                            .mode = JOURNAL_READ_WRITE_CREATE,
                                            .check = JOURNAL_CHECK_TAIL,
                                            .created_ms = 1};
    struct journal_error error;
    struct journal *journal = journal_open(&options, &error);
    if (journal == NULL) {
        fail_msg("%s", error.say);
    }
    return journal;
}

static void write_facts(struct journal *journal) {
    char data[64];
    assert_int_equal(journal_begin(journal), JOURNAL_OK);
    for (int i = 1; i <= FACTS; i++) {
        snprintf(data, sizeof data, "{\"job\":\"J-%d\"}", i % JOBS);
        const struct journal_fact fact = {
            .at_ms = i, .site = "juniper", .type = "tag.hung", .data = data};
        assert_int_equal(journal_append(journal, &fact, NULL), JOURNAL_OK);
    }
    assert_int_equal(journal_commit(journal), JOURNAL_OK);
}

static void note(struct journal *journal, const struct webhook_delivery *delivery) {
    assert_int_equal(journal_begin(journal), JOURNAL_OK);
    assert_int_equal(webhook_delivery_keep(journal, "tracker", delivery), JOURNAL_OK);
    assert_int_equal(journal_commit(journal), JOURNAL_OK);
}

static void wait_for(struct webhook_sender *sender, int count) {
    const struct timespec moment = {0, 10000000};
    struct webhook_status status;
    for (int i = 0; i < PATIENCE_S * 100; i++) {
        webhook_sender_status(sender, 0, &status);
        if (receiver.requests >= count && status.delivery.held == 0 &&
            status.delivery.cursor == FACTS) {
            return;
        }
        nanosleep(&moment, NULL);
    }
    fail_msg("%d of %d came; cursor %lld, %zu queues, %s", receiver.requests, count,
             (long long)status.delivery.cursor, status.delivery.held, status.delivery.failure);
}

static struct webhook_sender *start(const struct model *model, struct journal *journal) {
    char error[256];
    struct webhook_sender *sender = webhook_sender_new(model, journal, error, sizeof error);
    if (sender == NULL) {
        fail_msg("%s", error);
    }
    assert_true(webhook_sender_start(sender));
    return sender;
}

static void a_long_backlog(void **state) {
    char folder[] = P_tmpdir "/sender-XXXXXX", path[64], url[64];
    (void)state;
    assert_non_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/edge.db", folder);
    snprintf(url, sizeof url, "http://127.0.0.1:%u/hook", receiver_start());
    struct model_webhook hook = {.webhook = "tracker", .url = url, .secret = "open sesame"};
    const struct model model = {
        .instance = "edge-1", .journal = path, .webhooks = &hook, .webhook_count = 1};
    struct journal *journal = open_journal(path);
    write_facts(journal);
    struct webhook_delivery delivery = {0}; // nothing was ever taken
    note(journal, &delivery);

    struct webhook_sender *sender = start(&model, journal);
    wait_for(sender, FACTS);
    webhook_sender_stop(sender);
    assert_true(webhook_sender_take(sender, 0, &delivery));
    assert_false(webhook_sender_take(sender, 0, &delivery));
    webhook_sender_untake(sender);
    assert_true(webhook_sender_take(sender, 0, &delivery));
    webhook_sender_free(sender);
    assert_false(receiver.disorder);
    for (int i = 1; i <= FACTS; i++) {
        assert_int_equal(receiver.seen[i], 1);
    }
    assert_int_equal(delivery.cursor, FACTS);
    note(journal, &delivery);

    sender = start(&model, journal);
    webhook_sender_news(sender, FACTS);
    wait_for(sender, FACTS);
    webhook_sender_free(sender);
    assert_int_equal(receiver.requests, FACTS);

    journal_close(journal);
    receiver_end();
    static const char *const names[] = {"edge.db", "edge.db.lock", "edge.db.reserve"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        unlink(path);
    }
    assert_int_equal(rmdir(folder), 0);
}

// A webhook that the journal does not know begins with the next fact.
static void a_new_one_begins_now(void **state) {
    char folder[] = P_tmpdir "/sender-XXXXXX", path[64], error[256];
    struct webhook_delivery delivery;
    (void)state;
    assert_non_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/edge.db", folder);
    struct model_webhook hook = {
        .webhook = "tracker", .url = "http://127.0.0.1:1/", .secret = "open sesame"};
    const struct model model = {
        .instance = "edge-1", .journal = path, .webhooks = &hook, .webhook_count = 1};
    struct journal *journal = open_journal(path);
    write_facts(journal);
    struct webhook_sender *sender = webhook_sender_new(&model, journal, error, sizeof error);
    assert_non_null(sender);
    assert_true(webhook_sender_dirty(sender));
    assert_true(webhook_sender_take(sender, 0, &delivery));
    assert_int_equal(delivery.cursor, FACTS);
    assert_int_equal(delivery.held, 0);
    webhook_sender_free(sender);
    hook.secret = "\n";
    hook.secret_file = "tracker.secret";
    assert_null(webhook_sender_new(&model, journal, error, sizeof error));
    assert_string_equal(error, "tracker.secret holds no secret");
    journal_close(journal);
    static const char *const names[] = {"edge.db", "edge.db.lock", "edge.db.reserve"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        unlink(path);
    }
    assert_int_equal(rmdir(folder), 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_long_backlog),
        cmocka_unit_test(a_new_one_begins_now),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
