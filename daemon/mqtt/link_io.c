// What every part asks of a connection: its descriptor watched and written to, and to go down. A
// link that is to go down is only marked here and taken down from the loop (link.c), since the
// library must not lose its client in the middle of a call.
#include "mqtt/internal.h"

#include <stdio.h>

bool mqtt_up(const struct mqtt *mqtt, enum mqtt_connection connection) {
    const struct link *link = &mqtt->links[connection];
    return link->state == LINK_UP && !link->broken;
}

void mqtt_link_trouble(struct link *link, enum mqtt_trouble trouble, const char *about,
                       const char *text) {
    struct mqtt *mqtt = link->mqtt;
    if (mqtt->callbacks.on_trouble != NULL && !mqtt->stopping) {
        mqtt->callbacks.on_trouble(mqtt->user, link->which, trouble, about, text);
    }
}

void mqtt_link_break(struct link *link, enum mqtt_trouble why, const char *format, ...) {
    if (link->broken || link->state <= LINK_WAITING) {
        return;
    }
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(link->text, sizeof(link->text), format, arguments);
    va_end(arguments);
    link->broken = true;
    link->why = why;
    loop_timer_soon(link->settle);
}

// While acknowledgements are held back nothing may be written, or they would leave first.
static bool may_write(const struct link *link) {
    return link->held == 0 && !link->broken;
}

void mqtt_link_refresh(struct link *link) {
    int fd = link->client != NULL && !link->broken ? mosquitto_socket(link->client) : -1;
    bool write = fd >= 0 && may_write(link) && mosquitto_want_write(link->client);
    link->fd = fd;
    loop_watch_set(link->io, fd, write ? LOOP_READ | LOOP_WRITE : LOOP_READ);
}

void mqtt_link_write(struct link *link) {
    if (link->client != NULL && may_write(link) && mosquitto_want_write(link->client)) {
        mosquitto_loop_write(link->client, 1);
    }
}
