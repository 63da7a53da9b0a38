// A short-lived client of the broker. It publishes nothing and has no will and no session.
#include "tool/broker.h"

#include <mosquitto.h>
#include <mqtt_protocol.h>
#include <netdb.h>
#include <openssl/rand.h>
#include <poll.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <sys/socket.h>
#include <time.h>

#define KEEPALIVE_S 10
// Retained messages may follow the SUBACK: how long a silence ends them, and how long if something
// is still missing.
#define QUIET_MS 150
#define QUIET_MISSING_MS 1000
#define STEP_MS 50

struct visit {
    const struct broker_look *look;
    struct mosquitto *client;
    bool connected, refused;
    int waiting;        // for the SUBACK of this message id; 0: none
    int64_t quiet_from; // of the last message or answer
    char *error;
    size_t size;
};

int64_t broker_now_ms(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static bool fail(struct visit *visit, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

static bool fail(struct visit *visit, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    if (visit->error[0] == '\0') {
        vsnprintf(visit->error, visit->size, format, arguments);
    }
    va_end(arguments);
    visit->refused = true;
    return false;
}

static void on_connect(struct mosquitto *client, void *user, int reason, int flags,
                       const mosquitto_property *properties) {
    struct visit *visit = user;
    (void)client;
    (void)flags;
    (void)properties;
    if (reason != MQTT_RC_SUCCESS) {
        fail(visit, "the broker refuses: %s", mosquitto_reason_string(reason));
    }
    visit->connected = reason == MQTT_RC_SUCCESS;
}

static void on_subscribed(struct mosquitto *client, void *user, int mid, int count,
                          const int *granted, const mosquitto_property *properties) {
    struct visit *visit = user;
    (void)client;
    (void)properties;
    for (int i = 0; i < count; i++) {
        if (granted[i] >= MQTT_RC_UNSPECIFIED) {
            fail(visit, "the broker does not let this login read the daemon's documents: %s",
                 mosquitto_reason_string(granted[i]));
        }
    }
    if (mid == visit->waiting) {
        visit->waiting = 0;
        visit->quiet_from = broker_now_ms();
    }
}

static void on_message(struct mosquitto *client, void *user,
                       const struct mosquitto_message *message,
                       const mosquitto_property *properties) {
    struct visit *visit = user;
    (void)client;
    (void)properties;
    visit->quiet_from = broker_now_ms();
    visit->look->on_message(visit->look->user, message->topic, message->payload,
                            message->payloadlen > 0 ? (size_t)message->payloadlen : 0);
}

// The look-up of a name has no deadline of its own in the library: it is tried here first, in a
// thread that may be left behind.
static bool resolves(struct visit *visit) {
    static struct gaicb request; // outlives this call when the time is up
    struct gaicb *list[] = {&request};
    const struct gaicb *waited[] = {&request};
    request.ar_name = visit->look->broker->host;
    int64_t left = visit->look->deadline - broker_now_ms();
    const struct timespec time = {.tv_sec = left / 1000, .tv_nsec = left % 1000 * 1000000};
    int code = left > 0 ? getaddrinfo_a(GAI_NOWAIT, list, 1, NULL) : EAI_AGAIN;
    while (code == 0 && (code = gai_error(&request)) == EAI_INPROGRESS) {
        int waiting = gai_suspend(waited, 1, &time);
        code = waiting == 0 || waiting == EAI_INTR || waiting == EAI_ALLDONE ? 0 : waiting;
    }
    if (request.ar_result != NULL) {
        freeaddrinfo(request.ar_result);
        request.ar_result = NULL;
    }
    return code == 0 ||
           fail(visit, "cannot look %s up: %s", visit->look->broker->host, gai_strerror(code));
}

static bool set_up(struct visit *visit) {
    const struct model_broker *broker = visit->look->broker;
    struct mosquitto *client = visit->client;
    mosquitto_connect_v5_callback_set(client, on_connect);
    mosquitto_subscribe_v5_callback_set(client, on_subscribed);
    mosquitto_message_v5_callback_set(client, on_message);
    int code = mosquitto_int_option(client, MOSQ_OPT_PROTOCOL_VERSION, MQTT_PROTOCOL_V5);
    if (code == MOSQ_ERR_SUCCESS && broker->username != NULL) {
        code = mosquitto_username_pw_set(client, broker->username, broker->password);
    }
    if (code == MOSQ_ERR_SUCCESS && broker->ca_file != NULL) {
        code = mosquitto_tls_set(client, broker->ca_file, NULL, broker->cert_file, broker->key_file,
                                 NULL);
    }
    if (code == MOSQ_ERR_SUCCESS) {
        code = mosquitto_connect_async(client, broker->host, broker->port, KEEPALIVE_S);
    }
    return code == MOSQ_ERR_SUCCESS || fail(visit, "%s", mosquitto_strerror(code));
}

// Under TLS the library swallows the refusal of a connection and goes on trying on a dead socket.
static bool is_dead(const struct visit *visit) {
    struct pollfd socket = {.fd = mosquitto_socket(visit->client), .events = POLLOUT};
    struct sockaddr_storage peer;
    socklen_t size = sizeof peer;
    return !visit->connected && socket.fd >= 0 && poll(&socket, 1, 0) > 0 &&
           (socket.revents & POLLHUP) != 0 &&
           getpeername(socket.fd, (struct sockaddr *)&peer, &size) != 0;
}

// Lets the client work for a moment. False: the link is lost, or the time is up.
static bool work(struct visit *visit) {
    if (is_dead(visit)) {
        return fail(visit, "the connection is refused");
    }
    if (broker_now_ms() >= visit->look->deadline) {
        return fail(visit, "no answer within %d s", BROKER_LOOK_MS / 1000);
    }
    int code = mosquitto_loop(visit->client, STEP_MS, 1);
    if (visit->refused) {
        return false;
    }
    return code == MOSQ_ERR_SUCCESS || fail(visit, "%s", mosquitto_strerror(code));
}

static bool subscribe(struct visit *visit, const char *filter) {
    int code = mosquitto_subscribe(visit->client, &visit->waiting, filter, 0);
    if (code != MOSQ_ERR_SUCCESS) {
        return fail(visit, "cannot subscribe to %s: %s", filter, mosquitto_strerror(code));
    }
    while (visit->waiting != 0) {
        if (!work(visit)) {
            return false;
        }
    }
    return true;
}

// Whether what was subscribed to has come, as far as that can be told.
static bool is_quiet(const struct visit *visit) {
    int64_t quiet = broker_now_ms() - visit->quiet_from;
    bool all = visit->look->has_all(visit->look->user);
    return quiet >= (all ? QUIET_MS : QUIET_MISSING_MS);
}

static bool read_all(struct visit *visit) {
    const char *filter;
    while (!visit->connected) {
        if (!work(visit)) {
            return false;
        }
    }
    while ((filter = visit->look->next_filter(visit->look->user)) != NULL) {
        if (!subscribe(visit, filter)) {
            return false;
        }
        while (!is_quiet(visit) && broker_now_ms() < visit->look->deadline) {
            if (!work(visit)) {
                return false;
            }
        }
    }
    return true;
}

bool broker_look(const struct broker_look *look, char *error, size_t size) {
    struct visit visit = {.look = look, .error = error, .size = size};
    unsigned char random[8];
    char name[sizeof "forelock-tool-" + 2 * sizeof random] = "forelock-tool-";
    error[0] = '\0';
    signal(SIGPIPE, SIG_IGN); // the library writes to a socket that the broker may have closed
    if (RAND_bytes(random, sizeof random) != 1) {
        return fail(&visit, "the system gives no random numbers");
    }
    for (size_t i = 0; i < sizeof random; i++) {
        snprintf(name + strlen(name), 3, "%02x", random[i]);
    }
    mosquitto_lib_init();
    visit.client = mosquitto_new(name, true, &visit);
    bool done = visit.client != NULL && resolves(&visit) && set_up(&visit) && read_all(&visit);
    if (visit.client == NULL) {
        fail(&visit, "out of memory");
    } else {
        mosquitto_disconnect(visit.client);
    }
    mosquitto_destroy(visit.client);
    mosquitto_lib_cleanup();
    return done;
}
