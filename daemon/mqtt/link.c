// One connection's life: resolve, connect, subscribe, up, and again after a back-off.
//
// The library is never asked to reconnect and never left to itself: it does not notice a refused
// TLS handshake, may close or replace its descriptor in any call, and knows no deadlines. So after
// every call into it the events are derived anew from its state, in mqtt_link_refresh; a link that
// is to go down is only marked, in mqtt_link_break, and taken down from the loop.
#include "mqtt/internal.h"

#include "base/clock.h"

#include <errno.h>
#include <netdb.h>
#include <stdio.h>
#include <string.h>
#include <sys/random.h>
#include <sys/socket.h>

#define BACKOFF_FIRST_MS 250
#define BACKOFF_LAST_MS 30000
#define STALLED_EVENTS 200

// From half to the whole of the step, so that many daemons do not come back in one wave.
static int64_t backoff_ms(struct link *link) {
    int64_t step = BACKOFF_FIRST_MS;
    for (unsigned i = 0; i < link->attempt && step < BACKOFF_LAST_MS; i++) {
        step *= 2;
    }
    step = step < BACKOFF_LAST_MS ? step : BACKOFF_LAST_MS;
    uint32_t random = 0;
    if (getrandom(&random, sizeof(random), GRND_NONBLOCK) != (ssize_t)sizeof(random)) {
        random = (uint32_t)base_clock_mono_ms();
    }
    return step / 2 + random % (step / 2 + 1);
}

// Forgets the connection as if the program had died: what was held back is thrown away with it.
static void drop_client(struct link *link) {
    loop_watch_set(link->io, -1, 0);
    link->fd = -1;
    mosquitto_destroy(link->client);
    link->client = NULL;
    mqtt_resolve_free(link->resolve);
    link->resolve = NULL;
    link->held = 0;
    link->answers = (struct answers){0};
    mqtt_inbox_clear(&link->inbox);
}

static void explain_tls(struct link *link) {
    struct mqtt *mqtt = link->mqtt;
    if (mqtt->tls_error != X509_V_OK) {
        snprintf(link->text, sizeof(link->text), "the broker's certificate: %s",
                 X509_verify_cert_error_string(mqtt->tls_error));
        mqtt->tls_error = X509_V_OK;
    }
}

static void tell_down(struct link *link, bool was_up) {
    struct mqtt *mqtt = link->mqtt;
    char about[300];
    snprintf(about, sizeof(about), "%s:%d", mqtt->options.host, mqtt->options.port);
    mqtt_link_trouble(link, link->why, about, link->text);
    if (!was_up) {
        return;
    }
    mqtt->counters.lost[link->which]++;
    if (mqtt->callbacks.on_link != NULL && !mqtt->stopping) {
        mqtt->callbacks.on_link(mqtt->user, link->which, false, false);
    }
}

static void take_down(struct link *link) {
    bool was_up = link->state == LINK_UP;
    if (was_up && base_clock_mono_ms() - link->up_since >= MQTT_STABLE_MS) {
        link->attempt = 0;
    }
    explain_tls(link);
    drop_client(link);
    link->state = LINK_WAITING;
    link->broken = false;
    loop_timer_once(link->timer, backoff_ms(link));
    link->attempt++;
    if (link->which == MQTT_LIVE) {
        mqtt_queue_down(link->mqtt);
        mqtt_survey_abort(link->mqtt);
    }
    tell_down(link, was_up);
}

static void settle(struct link *link) {
    if (link->broken) {
        take_down(link);
    } else {
        mqtt_link_refresh(link);
    }
}

static void connect_to(struct link *link, const char *address) {
    link->state = LINK_CONNECTING;
    link->dry_at = loop_now(link->mqtt->loop).mono_ms;
    link->stalled = 0;
    loop_timer_once(link->timer, MQTT_CONNECT_DEADLINE_MS);
    link->client = mqtt_client_new(link);
    if (link->client == NULL) {
        mqtt_link_break(link, MQTT_TROUBLE_CONNECT, "no memory for a connection");
        return;
    }
    errno = 0;
    int code = mqtt_client_connect(link, address);
    if (code != MOSQ_ERR_SUCCESS) {
        mqtt_link_break(link, MQTT_TROUBLE_CONNECT, "cannot connect: %s",
                        code == MOSQ_ERR_ERRNO ? strerror(errno) : mosquitto_strerror(code));
    }
}

static void on_resolved(void *user, const struct resolve_result *result) {
    struct link *link = user;
    mqtt_resolve_free(link->resolve);
    link->resolve = NULL;
    if (result->error != 0 || result->count == 0) {
        mqtt_link_break(link, MQTT_TROUBLE_RESOLVE, "cannot resolve: %s",
                        result->error != 0 ? gai_strerror(result->error) : "no address");
    } else {
        connect_to(link, result->addresses[link->rotation++ % result->count]);
    }
    settle(link);
}

static bool is_numeric(const char *host) {
    const struct addrinfo hints = {.ai_flags = AI_NUMERICHOST};
    struct addrinfo *list = NULL;
    if (getaddrinfo(host, NULL, &hints, &list) != 0) {
        return false;
    }
    freeaddrinfo(list);
    return true;
}

void mqtt_link_start(struct link *link) {
    const char *host = link->mqtt->options.host;
    if (is_numeric(host)) {
        connect_to(link, host);
    } else {
        link->state = LINK_RESOLVING;
        loop_timer_once(link->timer, MQTT_RESOLVE_DEADLINE_MS);
        link->resolve = mqtt_resolve_start(link->mqtt->loop, host, on_resolved, link);
        if (link->resolve == NULL) {
            mqtt_link_break(link, MQTT_TROUBLE_RESOLVE, "cannot resolve: no memory or threads");
        }
    }
    mqtt_link_refresh(link);
}

// While connecting the library may spin on a peer that has gone, and tells nobody. Readable without
// a byte to read means gone.
static bool peer_is_there(struct link *link) {
    int error = 0;
    socklen_t size = sizeof(error);
    char byte;
    if (getsockopt(link->fd, SOL_SOCKET, SO_ERROR, &error, &size) == 0 && error != 0) {
        mqtt_link_break(link, MQTT_TROUBLE_CONNECT, "cannot connect: %s", strerror(error));
        return false;
    }
    if (recv(link->fd, &byte, 1, MSG_PEEK | MSG_DONTWAIT) == 0) {
        mqtt_link_break(link, MQTT_TROUBLE_CONNECT, "the peer closed while we connected%s",
                        link->mqtt->tls != NULL ? " (TLS)" : "");
        return false;
    }
    if (++link->stalled > STALLED_EVENTS) {
        mqtt_link_break(link, MQTT_TROUBLE_CONNECT, "the handshake makes no progress");
        return false;
    }
    return true;
}

static void on_io(void *user, unsigned what) {
    struct link *link = user;
    if (link->state == LINK_CONNECTING && !peer_is_there(link)) {
        settle(link);
        return;
    }
    if ((what & LOOP_WRITE) != 0) {
        mqtt_link_write(link);
    }
    if ((what & LOOP_READ) != 0 && !link->broken) {
        mqtt_link_read(link);
    }
    settle(link);
}

static void on_settle(void *user) {
    struct link *link = user;
    if (link->which == MQTT_LIVE && !link->broken) {
        mqtt_queue_pump(link->mqtt);
    }
    settle(link);
}

static void on_deadline(struct link *link) {
    static const char *const WAITED_FOR[] = {[LINK_RESOLVING] = "no answer for the host's name",
                                             [LINK_CONNECTING] = "no CONNACK in time",
                                             [LINK_SUBSCRIBING] = "no SUBACK in time"};
    mqtt_link_break(link,
                    link->state == LINK_RESOLVING ? MQTT_TROUBLE_RESOLVE : MQTT_TROUBLE_CONNECT,
                    "%s", WAITED_FOR[link->state]);
}

static void on_timer(void *user) {
    struct link *link = user;
    if (link->state == LINK_WAITING) {
        mqtt_link_start(link);
        return;
    }
    if (link->state == LINK_UP) {
        mosquitto_loop_misc(link->client); // sends and misses pings
        loop_timer_once(link->timer, MQTT_TICK_MS);
    } else if (link->state != LINK_IDLE) {
        on_deadline(link);
    }
    settle(link);
}

bool mqtt_link_open(struct link *link, struct mqtt *mqtt, enum mqtt_connection which) {
    link->mqtt = mqtt;
    link->which = which;
    link->fd = -1;
    link->io = loop_watch_new(mqtt->loop, on_io, link);
    link->timer = loop_timer_new(mqtt->loop, on_timer, link);
    link->settle = loop_timer_new(mqtt->loop, on_settle, link);
    return link->io != NULL && link->timer != NULL && link->settle != NULL;
}

void mqtt_link_stop(struct link *link) {
    drop_client(link);
    loop_timer_stop(link->timer);
    loop_timer_stop(link->settle);
    link->state = LINK_IDLE;
    link->broken = false;
}

void mqtt_link_close(struct link *link) {
    if (link->mqtt == NULL) {
        return; // never opened
    }
    if (link->io != NULL) {
        drop_client(link);
    }
    link->state = LINK_IDLE;
    loop_watch_free(link->io);
    loop_timer_free(link->timer);
    loop_timer_free(link->settle);
    mqtt_inbox_free(&link->inbox);
}
