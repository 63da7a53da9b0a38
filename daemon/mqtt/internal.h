// What the files of this folder share. Nothing outside includes it.
#pragma once

#include <mosquitto.h>
#include <openssl/ssl.h>
#include <stdarg.h>

#include "loop/loop.h"
#include "mqtt/mqtt.h"
#include "mqtt/resolve.h"

// Filters in one SUBSCRIBE packet, and in one step of a survey, which fetches what is kept under
// them in one go.
#define MQTT_CHUNK 64
#define MQTT_SURVEY_CHUNK 16
#define MQTT_SURVEY_IDENTIFIER 1

#define MQTT_CONNECT_DEADLINE_MS 5000
#define MQTT_SUBSCRIBE_DEADLINE_MS 10000
#define MQTT_RESOLVE_DEADLINE_MS 30000
#define MQTT_STABLE_MS 30000
#define MQTT_TICK_MS 1000 // while up: the library's pings

enum link_state {
    LINK_IDLE,        // not started, or stopped
    LINK_WAITING,     // for the back-off
    LINK_RESOLVING,   // the host's name
    LINK_CONNECTING,  // until the CONNACK
    LINK_SUBSCRIBING, // until the last SUBACK
    LINK_UP,
};

// A message between the library's callback and ours; offsets into the inbox's bytes.
struct inbox_item {
    size_t topic, payload, length;
    size_t response_topic; // SIZE_MAX: none
    size_t correlation;    // SIZE_MAX: none
    size_t correlation_length;
    int qos;
    bool retained, surveyed, expires;
    uint32_t expiry_s;
};

// Messages are copied here in the library's callback and delivered after it, so that the caller may
// publish, write or cut the link from on_message: inside a callback the library's locks forbid it.
struct inbox {
    char *bytes;
    size_t used, size;
    struct inbox_item *items;
    size_t count, capacity;
};

// What the library's callbacks saw during one call into it.
struct answers {
    bool any; // something was handled, so the socket was not dry
    bool connected;
    bool session_present;
    bool subscribed; // SUBACK or UNSUBACK: only one is ever awaited
    int subscribe_mid;
    int granted_count;
    int granted[MQTT_CHUNK];
};

struct link {
    struct mqtt *mqtt;
    enum mqtt_connection which;
    enum link_state state;
    struct mosquitto *client; // NULL unless connecting or connected
    struct loop_watch *io;
    struct loop_timer *timer, *settle;
    int fd; // that `io` watches; -1: none
    struct resolve *resolve;
    unsigned stalled;  // events while connecting, to notice a handshake that spins
    unsigned attempt;  // since the last stable link: the back-off's exponent
    unsigned rotation; // over the addresses of the host
    int64_t up_since;  // [ms]
    int64_t dry_at;    // mono ms at which there was nothing to be read
    bool resumed;
    size_t held; // delivered at QoS 1 and not acknowledged; nothing may be written meanwhile
    // The link is to go down; set where that cannot be done at once. The first reason counts.
    bool broken;
    enum mqtt_trouble why;
    char text[160];
    const char *const *filters;
    size_t filter_count, subscribed, asked; // of `filters`: answered; in the packet under way
    int subscribe_mid;
    struct inbox inbox;
    struct answers answers;
};

// A message on its way out. The strings and the payload follow it in the same allocation.
struct outgoing {
    struct outgoing *next;
    size_t bytes; // of the whole allocation
    int mid;      // 0: not yet given to the library
    int reason;   // of the PUBACK, or the library's code negated
    int qos;
    bool retain;
    uint64_t number; // 0: none
    size_t length, correlation_length;
    const char *topic, *payload, *content_type, *correlation;
};

struct outgoing_list {
    struct outgoing *first, **end;
    size_t count;
};

struct send_queue {
    struct outgoing_list queued;   // not yet given to the library
    struct outgoing_list inflight; // given, awaiting their PUBACK
    struct outgoing_list refused;  // PUBACK with an error, to be reported
    size_t window;                 // messages that the broker takes unacknowledged
    bool was_full;                 // on_room is owed
};

struct survey {
    bool active;
    bool complete;
    char **filters;
    size_t count, done, asked;
    bool unsubscribing;
    int mid; // of the SUBSCRIBE or UNSUBSCRIBE under way
    struct loop_timer *timer;
    void (*on_retained)(void *user, const struct mqtt_message *message);
    void (*on_end)(void *user, bool complete);
    void *user;
};

struct mqtt {
    struct loop *loop;
    struct mqtt_options options; // its strings are owned by `strings`
    struct mqtt_callbacks callbacks;
    void *user;
    SSL_CTX *tls;
    int tls_error; // X509_V_ code of the last certificate that was refused
    char **filters[MQTT_CONNECTION_COUNT];
    size_t filter_count[MQTT_CONNECTION_COUNT];
    char *client_id[MQTT_CONNECTION_COUNT];
    char *own_topic; // <root>/daemon/<instance>
    bool stopping;   // no callbacks any more
    struct link links[MQTT_CONNECTION_COUNT];
    struct send_queue queue;
    struct survey survey;
    struct mqtt_counters counters;
};

// options.c: checks and copies the options, and derives ids and filters from them.
bool mqtt_options_take(struct mqtt *mqtt, const struct mqtt_options *options, char *error,
                       size_t size);
void mqtt_options_free(struct mqtt *mqtt);

// tls.c: a context that verifies the broker by the configured host, and leaves in `tls_error` why
// it did not; NULL with a message.
SSL_CTX *mqtt_tls_new(struct mqtt *mqtt, char *error, size_t size);

// client.c: a library client that is ready to connect; NULL if memory is short.
struct mosquitto *mqtt_client_new(struct link *link);
// Begins to connect to a numeric address; returns a MOSQ_ERR_ code.
int mqtt_client_connect(struct link *link, const char *address);

// link.c
bool mqtt_link_open(struct link *link, struct mqtt *mqtt, enum mqtt_connection which);
void mqtt_link_close(struct link *link);
void mqtt_link_start(struct link *link);
// Cuts the connection and does not come back.
void mqtt_link_stop(struct link *link);

// link_io.c
// Says that the link is to go down, which happens from the loop. Does nothing if it is down.
void mqtt_link_break(struct link *link, enum mqtt_trouble why, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
// Makes the descriptor and the events watched agree with the library's state; after every call
// into it.
void mqtt_link_refresh(struct link *link);
// Writes what the library holds, unless acknowledgements are held back.
void mqtt_link_write(struct link *link);
// Tells the owner of a trouble, unless the link is stopping.
void mqtt_link_trouble(struct link *link, enum mqtt_trouble trouble, const char *about,
                       const char *text);

// hear.c: reading. mqtt_link_read reads until dry or the bound of a turn, and delivers.
void mqtt_link_read(struct link *link);
// The same until everything that had arrived before the call is read.
void mqtt_link_drain(struct link *link);
void mqtt_inbox_clear(struct inbox *inbox);
void mqtt_inbox_free(struct inbox *inbox);
// The library's callback; only copies.
void mqtt_hear_message(struct mosquitto *client, void *user,
                       const struct mosquitto_message *message,
                       const mosquitto_property *properties);

// subscribe.c
void mqtt_subscribe_begin(struct link *link);
void mqtt_subscribe_answered(struct link *link);

// send_queue.c
void mqtt_queue_init(struct send_queue *queue);
void mqtt_queue_free(struct mqtt *mqtt);
void mqtt_queue_confirm(struct mqtt *mqtt, int mid, int reason);
// Reports refusals, fills the broker's window and says when there is room again.
void mqtt_queue_pump(struct mqtt *mqtt);
// The live connection went down: documents are discarded, the rest waits.
void mqtt_queue_down(struct mqtt *mqtt);

// survey.c
bool mqtt_survey_open(struct mqtt *mqtt);
void mqtt_survey_close(struct mqtt *mqtt);
void mqtt_survey_message(struct mqtt *mqtt, const struct mqtt_message *message);
void mqtt_survey_answered(struct mqtt *mqtt);
void mqtt_survey_abort(struct mqtt *mqtt);
