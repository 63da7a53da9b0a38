// The broker link: MQTT 5 over libmosquitto, inside our event loop.
//
// Two connections make one link. The *durable* one has a session: requests and tag events come in
// at QoS 1 and are acknowledged only after the caller has committed them. The *live* one has none:
// signals, controllers and the daemons' own documents come in, and everything goes out, so that an
// alarm never waits behind a held-back acknowledgement.
//
// Single-threaded: call everything from the loop's thread. Callbacks run from the loop, never from
// inside a function of this header (mqtt_free and mqtt_stop call none at all), so a callback may
// call any function here except mqtt_free and mqtt_stop.
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct loop;
struct mqtt;

enum mqtt_connection { MQTT_DURABLE, MQTT_LIVE, MQTT_CONNECTION_COUNT };

// One received message. Everything is borrowed until the callback returns. The payload is followed
// by a NUL that is not counted.
struct mqtt_message {
    enum mqtt_connection connection;
    const char *topic;
    const char *payload; // never NULL
    size_t length;       // [bytes]
    int qos;             // as delivered
    // On the daemon's loop (mono ms): there was nothing to be read then, so it came later.
    int64_t after;
    // Kept by the broker, and sent because we subscribed; on the durable connection also what is
    // published as retained while we listen.
    bool retained;
    bool expires; // it is good for so long, counted from now:
    uint32_t expiry_s;
    const char *response_topic; // NULL: none
    const void *correlation;    // NULL: none
    size_t correlation_length;  // [bytes]
};

// One message to publish, always on the live connection. Everything is copied.
struct mqtt_publication {
    const char *topic;
    const void *payload; // may be NULL if `length` is 0; empty and retained empties the topic
    size_t length;       // [bytes]
    int qos;             // 0 or 1
    bool retain;
    bool urgent;              // goes ahead of what is queued, and replaces queued ones of its topic
    const char *content_type; // NULL: none
    const void *correlation;  // NULL: none
    size_t correlation_length;
    uint64_t number; // with QoS 1, for mqtt_oldest; 0: none
};

// What went wrong, for the log and the counters. `about` is a topic, a filter or the broker's
// address; `text` says what happened. Both are borrowed.
enum mqtt_trouble {
    MQTT_TROUBLE_RESOLVE,   // the host has no address
    MQTT_TROUBLE_CONNECT,   // could not connect, or not in time
    MQTT_TROUBLE_REFUSED,   // the broker answered, and refused us (CONNACK)
    MQTT_TROUBLE_LOST,      // a connection that was up broke
    MQTT_TROUBLE_SUBSCRIBE, // a subscription was denied (SUBACK)
    MQTT_TROUBLE_PUBLISH,   // a publication was denied (PUBACK)
    MQTT_TROUBLE_OVERFLOW,  // more was queued than is allowed; the link is dropped
};

// All may be NULL.
struct mqtt_callbacks {
    void (*on_message)(void *user, const struct mqtt_message *message);
    // After one or more on_message of this connection: there is nothing more for now, or the bound
    // of a turn is reached. What came by MQTT_DURABLE waits for mqtt_acknowledge.
    void (*on_batch_end)(void *user, enum mqtt_connection connection);
    // Connected: from here on comes what is kept of the topics that are subscribed to.
    void (*on_subscribe)(void *user, enum mqtt_connection connection);
    // Up: connected and every subscription answered. A connection that goes up has lost nothing of
    // the durable session unless `resumed` is false; it is always false for the live one.
    void (*on_link)(void *user, enum mqtt_connection connection, bool up, bool resumed);
    void (*on_trouble)(void *user, enum mqtt_connection connection, enum mqtt_trouble trouble,
                       const char *about, const char *text);
    // The queue was more than half full and now is less than a quarter full.
    void (*on_room)(void *user);
};

// Everything is copied by mqtt_new.
struct mqtt_options {
    const char *host; // name or address
    int port;
    const char *username;             // NULL: none
    const char *password;             // NULL: none
    const char *ca_file;              // NULL: no TLS
    const char *cert_file, *key_file; // both or neither
    const char *instance;             // client ids are <instance>-durable and <instance>-live
    const char *root;                 // of the canonical topics, without a slash at its end
    // Sites to subscribe to; none: every site ("+").
    const char *const *sites;
    size_t site_count;
    // Further filters, for the topics of feeds.
    const char *const *durable_filters;
    size_t durable_filter_count;
    const char *const *live_filters;
    size_t live_filter_count;
    // The last will, published retained at QoS 1 on <root>/daemon/<instance>; NULL: none.
    const char *will;
    size_t will_length;
    // 0 stands for the default.
    int keepalive_s;      // 10; at least 5
    int session_expiry_s; // 7 days
    int receive_maximum;  // 200: unacknowledged messages that the broker may send
    int batch;            // 500: messages of one connection in one turn
    size_t queue_bytes;   // 48 MiB: outgoing messages that wait for the broker
};

struct mqtt_counters {
    uint64_t received[MQTT_CONNECTION_COUNT];
    uint64_t connected[MQTT_CONNECTION_COUNT]; // times it went up
    uint64_t lost[MQTT_CONNECTION_COUNT];      // times it went down
    uint64_t published;                        // given to the broker
    uint64_t confirmed;                        // PUBACKs without an error
    uint64_t acknowledged;                     // durable messages, by mqtt_acknowledge
    uint64_t dropped_down;   // publications refused, as the link was down or they were unsound
    uint64_t dropped_full;   // publications refused, as the queue was full
    uint64_t dropped_stale;  // queued documents discarded when the link broke
    uint64_t dropped_memory; // received, but there was no memory for it
    size_t queued_messages, queued_bytes; // waiting now, those under way included
};

// Makes a link that does not connect yet. Returns NULL with a message in `error` (at most `size`
// bytes) if a TLS file cannot be used, an option is out of range or memory is short. `callbacks` is
// copied. SIGPIPE must be ignored by the program.
struct mqtt *mqtt_new(struct loop *loop, const struct mqtt_options *options,
                      const struct mqtt_callbacks *callbacks, void *user, char *error, size_t size);

// Starts to connect, and from then on reconnects by itself: jittered from 0.25 s to 30 s, starting
// over once a link was stable for 30 s.
void mqtt_start(struct mqtt *mqtt);

// Ends the link in good order: publishes `offline` (retained, on <root>/daemon/<instance>), waits
// for it and for what is queued to be confirmed for at most `timeout_ms`, and disconnects without
// the will. Blocks; call it once, when the loop has ended. What the durable connection received and
// nobody acknowledged stays with the broker. If `offline` is NULL or not everything is confirmed in
// time, the live connection is cut instead, so that the will says it. Returns whether everything
// was confirmed.
bool mqtt_stop(struct mqtt *mqtt, const void *offline, size_t length, int timeout_ms);

// Frees the link; one that is up is cut as if the program had died (the will is published). NULL is
// allowed.
void mqtt_free(struct mqtt *mqtt);

// Whether a connection is up; both must be for the link to be.
bool mqtt_up(const struct mqtt *mqtt, enum mqtt_connection connection);

// Publishes, at once if the broker's window allows it, else in order when it does. Returns false if
// the live connection is down, the queue is full, memory is short or the publication is unsound (a
// topic with wildcards, QoS 2); nothing is kept then. When the queue overflows, the live connection
// is also dropped, so that whoever publishes everything on on_link(up) leaves no document stale. If
// the link breaks, queued documents (`retain`) are discarded; other messages are sent when it is up
// again, possibly for the second time.
bool mqtt_publish(struct mqtt *mqtt, const struct mqtt_publication *publication);

// Says something to ourselves (or whoever else listens) by the connection that it is to prove, at
// once and outside the queue. It is not sent again, and nobody is told what became of it but by its
// coming back. At QoS 1 it stands behind what the session kept; a broker may end the connection
// over one that it denies, at QoS 0 it does not. False: that connection is down, or it could not be
// taken.
bool mqtt_say(struct mqtt *mqtt, enum mqtt_connection connection, const char *topic,
              const char *payload, size_t length, int qos);

// Reads what has already arrived on both connections, however much it is, and delivers it.
void mqtt_read(struct mqtt *mqtt);

// Bytes that may be queued before half of the bound is reached. Who publishes thousands of
// documents stops at 0 and goes on in on_room.
size_t mqtt_room(const struct mqtt *mqtt);

// The number of the oldest publication with one that the broker has not acknowledged; 0: none
// waits. They have to be published in ascending order and not as urgent.
uint64_t mqtt_oldest(const struct mqtt *mqtt);

// Writes now what the library holds for the live connection, as far as the socket takes it.
void mqtt_flush(struct mqtt *mqtt);

// Lets the acknowledgements of all durable messages delivered so far go: call it after COMMIT, and
// not later than half the keepalive after on_batch_end.
void mqtt_acknowledge(struct mqtt *mqtt);

// Learns what the broker keeps under `filters` (copied), by the live connection: each retained
// message goes to `on_retained` (never to on_message), then `on_end` is called exactly once.
// `complete` is false if the link broke, a filter was denied or memory was short. Returns false,
// and calls nothing, if the live connection is down, a survey is under way or memory is short.
// Only what the broker kept is seen, not what is published meanwhile.
bool mqtt_survey(struct mqtt *mqtt, const char *const *filters, size_t count,
                 void (*on_retained)(void *user, const struct mqtt_message *message),
                 void (*on_end)(void *user, bool complete), void *user);

// Borrowed; valid until mqtt_free.
const struct mqtt_counters *mqtt_counters(const struct mqtt *mqtt);
