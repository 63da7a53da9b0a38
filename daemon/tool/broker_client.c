// A short-lived client of the broker, on libmosquitto in the caller's thread.
#include "tool/broker_client.h"

#include "base/clock.h"
#include "base/hex.h"

#include <mosquitto.h>
#include <mqtt_protocol.h>
#include <netdb.h>
#include <openssl/rand.h>
#include <poll.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>

#define KEEPALIVE_S 10
#define STEP_MS 50

struct broker_client {
    struct broker_client_options options;
    struct mosquitto *mosquitto;
    struct tool_broker_terms terms;
    bool connected, refused;
    int waiting; // for the answer to this message id; 0: none
    int reason;  // of the answer
};

bool tool_broker_random_name(char name[BROKER_NAME_SIZE]) {
    unsigned char random[8];
    if (RAND_bytes(random, sizeof random) != 1) {
        return false;
    }
    char spelled[BASE_HEX_SIZE(sizeof random)];
    base_hex_encode(random, sizeof random, spelled);
    snprintf(name, BROKER_NAME_SIZE, "forelock-tool-%s", spelled);
    return true;
}

static bool fail(struct broker_client *client, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

static bool fail(struct broker_client *client, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    if (client->options.error[0] == '\0') {
        vsnprintf(client->options.error, client->options.size, format, arguments);
    }
    va_end(arguments);
    return false;
}

static void on_connect(struct mosquitto *mosquitto, void *user, int reason, int flags,
                       const mosquitto_property *properties) {
    struct broker_client *client = user;
    (void)mosquitto;
    client->connected = reason == MQTT_RC_SUCCESS;
    client->refused = !client->connected;
    if (client->refused) {
        fail(client, "the broker refuses: %s", mosquitto_reason_string(reason));
    }
    uint8_t retains = 1, qos = 2;
    mosquitto_property_read_byte(properties, MQTT_PROP_RETAIN_AVAILABLE, &retains, false);
    mosquitto_property_read_byte(properties, MQTT_PROP_MAXIMUM_QOS, &qos, false);
    mosquitto_property_read_int32(properties, MQTT_PROP_MAXIMUM_PACKET_SIZE,
                                  &client->terms.maximum_packet, false);
    client->terms.retains = retains != 0;
    client->terms.maximum_qos = qos;
    client->terms.session_present = (flags & 1) != 0;
}

static void answered(struct broker_client *client, int mid, int reason) {
    if (mid == client->waiting) {
        client->waiting = 0;
        client->reason = reason;
    }
}

static void on_subscribed(struct mosquitto *mosquitto, void *user, int mid, int count,
                          const int *granted, const mosquitto_property *properties) {
    (void)mosquitto;
    (void)properties;
    answered(user, mid, count == 1 ? granted[0] : MQTT_RC_UNSPECIFIED);
}

static void on_published(struct mosquitto *mosquitto, void *user, int mid, int reason,
                         const mosquitto_property *properties) {
    (void)mosquitto;
    (void)properties;
    answered(user, mid, reason);
}

static void on_message(struct mosquitto *mosquitto, void *user,
                       const struct mosquitto_message *message,
                       const mosquitto_property *properties) {
    struct broker_client *client = user;
    (void)mosquitto;
    (void)properties;
    const struct broker_message told = {
        .topic = message->topic,
        .payload = message->payload,
        .length = message->payloadlen > 0 ? (size_t)message->payloadlen : 0,
        .retained = message->retain};
    if (client->options.on_message != NULL) {
        client->options.on_message(client->options.user, &told);
    }
}

// The look-up of a name has no deadline of its own in the library: it is tried here first, in a
// thread that may be left behind.
static bool resolves(struct broker_client *client) {
    static struct gaicb request; // outlives this call when the time is up
    struct gaicb *list[] = {&request};
    const struct gaicb *waited[] = {&request};
    const char *host = client->options.broker->host;
    request.ar_name = host;
    int64_t left = client->options.deadline - base_clock_mono_ms();
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
    return code == 0 || fail(client, "cannot look %s up: %s", host, gai_strerror(code));
}

// CONNECT's properties can be given to the blocking call alone. At an address that fails at once it
// keeps them for the call that does connect.
static int keep_session(struct broker_client *client) {
    mosquitto_property *properties = NULL;
    int code = mosquitto_property_add_int32(&properties, MQTT_PROP_SESSION_EXPIRY_INTERVAL,
                                            client->options.session_s);
    if (code == MOSQ_ERR_SUCCESS) {
        mosquitto_connect_bind_v5(client->mosquitto, "/nonexistent", 1, KEEPALIVE_S, NULL,
                                  properties);
    }
    mosquitto_property_free_all(&properties);
    return code;
}

static int identify(struct broker_client *client) {
    const struct broker_client_options *options = &client->options;
    const struct model_broker *broker = options->broker;
    int code = MOSQ_ERR_SUCCESS;
    if (broker->username != NULL && !options->anonymous) {
        code = mosquitto_username_pw_set(client->mosquitto, broker->username, broker->password);
    }
    if (code == MOSQ_ERR_SUCCESS && broker->ca_file != NULL) {
        bool certificate = !options->anonymous;
        code = mosquitto_tls_set(client->mosquitto, broker->ca_file, NULL,
                                 certificate ? broker->cert_file : NULL,
                                 certificate ? broker->key_file : NULL, NULL);
    }
    return code;
}

static bool begin(struct broker_client *client) {
    const struct broker_client_options *options = &client->options;
    struct mosquitto *mosquitto = client->mosquitto;
    mosquitto_connect_v5_callback_set(mosquitto, on_connect);
    mosquitto_subscribe_v5_callback_set(mosquitto, on_subscribed);
    mosquitto_publish_v5_callback_set(mosquitto, on_published);
    mosquitto_message_v5_callback_set(mosquitto, on_message);
    int code = mosquitto_int_option(mosquitto, MOSQ_OPT_PROTOCOL_VERSION, MQTT_PROTOCOL_V5);
    if (code == MOSQ_ERR_SUCCESS) {
        code = identify(client);
    }
    if (code == MOSQ_ERR_SUCCESS && options->will != NULL) {
        code = mosquitto_will_set_v5(mosquitto, options->will, 4, "will", 1, false, NULL);
    }
    if (code == MOSQ_ERR_SUCCESS && options->session_s > 0) {
        code = keep_session(client);
    }
    if (code == MOSQ_ERR_SUCCESS) {
        code = mosquitto_connect_async(mosquitto, options->broker->host, options->broker->port,
                                       KEEPALIVE_S);
    }
    return code == MOSQ_ERR_SUCCESS || fail(client, "%s", mosquitto_strerror(code));
}

// Under TLS the library swallows the refusal of a connection and goes on trying on a dead socket.
static bool is_dead(const struct broker_client *client) {
    struct pollfd socket = {.fd = mosquitto_socket(client->mosquitto), .events = POLLOUT};
    struct sockaddr_storage peer;
    socklen_t size = sizeof peer;
    return !client->connected && socket.fd >= 0 && poll(&socket, 1, 0) > 0 &&
           (socket.revents & POLLHUP) != 0 &&
           getpeername(socket.fd, (struct sockaddr *)&peer, &size) != 0;
}

bool tool_broker_work(struct broker_client *client) {
    if (is_dead(client)) {
        return fail(client, "the connection is refused");
    }
    if (base_clock_mono_ms() >= client->options.deadline) {
        return fail(client, "the broker gave no answer in time");
    }
    int code = mosquitto_loop(client->mosquitto, STEP_MS, 1);
    if (client->refused) {
        return false;
    }
    return code == MOSQ_ERR_SUCCESS || fail(client, "%s", mosquitto_strerror(code));
}

struct broker_client *tool_broker_open(const struct broker_client_options *options, bool *refused) {
    char random[BROKER_NAME_SIZE];
    struct broker_client *client = calloc(1, sizeof *client);
    options->error[0] = '\0';
    if (refused != NULL) {
        *refused = false;
    }
    if (client == NULL) {
        snprintf(options->error, options->size, "out of memory");
        return NULL;
    }
    client->options = *options;
    signal(SIGPIPE, SIG_IGN); // the library writes to a socket that the broker may have closed
    mosquitto_lib_init();
    bool good = options->name != NULL || tool_broker_random_name(random) ||
                fail(client, "the system gives no random numbers");
    if (good) {
        client->mosquitto = mosquitto_new(options->name != NULL ? options->name : random,
                                          options->session_s == 0, client);
        good = client->mosquitto != NULL || fail(client, "out of memory");
    }
    good = good && resolves(client) && begin(client);
    while (good && !client->connected) {
        good = tool_broker_work(client);
    }
    if (!good) {
        if (refused != NULL) {
            *refused = client->refused;
        }
        tool_broker_close(client);
        return NULL;
    }
    return client;
}

struct tool_broker_terms tool_broker_terms(const struct broker_client *client) {
    return client->terms;
}

// Waits for the answer to what was sent. Its reason, or -1.
static int wait_for_answer(struct broker_client *client, int code) {
    if (code != MOSQ_ERR_SUCCESS) {
        client->waiting = 0;
        fail(client, "%s", mosquitto_strerror(code));
        return -1;
    }
    while (client->waiting != 0) {
        if (!tool_broker_work(client)) {
            return -1;
        }
    }
    return client->reason;
}

bool tool_broker_subscribe(struct broker_client *client, const char *filter) {
    int code = mosquitto_subscribe_v5(client->mosquitto, &client->waiting, filter, 1, 0, NULL);
    int reason = wait_for_answer(client, code);
    if (reason >= MQTT_RC_UNSPECIFIED) {
        fail(client, "the broker does not let this login read %s: %s", filter,
             mosquitto_reason_string(reason));
    }
    return reason >= 0 && reason < MQTT_RC_UNSPECIFIED;
}

void tool_broker_extend(struct broker_client *client, int64_t deadline) {
    client->options.deadline = deadline;
}

int tool_broker_publish(struct broker_client *client, const char *topic, const char *payload,
                        bool retain) {
    int code = mosquitto_publish_v5(client->mosquitto, &client->waiting, topic,
                                    (int)strlen(payload), payload, 1, retain, NULL);
    int reason = wait_for_answer(client, code);
    return reason == MQTT_RC_NO_MATCHING_SUBSCRIBERS ? MQTT_RC_SUCCESS : reason;
}

static void end(struct broker_client *client) {
    mosquitto_destroy(client->mosquitto);
    mosquitto_lib_cleanup();
    free(client);
}

void tool_broker_close(struct broker_client *client) {
    if (client == NULL) {
        return;
    }
    if (client->mosquitto != NULL) {
        mosquitto_disconnect(client->mosquitto);
    }
    end(client);
}

void tool_broker_cut(struct broker_client *client) {
    shutdown(mosquitto_socket(client->mosquitto), SHUT_RDWR);
    end(client);
}
