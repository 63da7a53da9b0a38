// The operations, as the rest of the turn calls them.
#include "turn/internal.h"

#include <stdio.h>

struct gate_time turn_now(const struct turn *turn) {
    struct base_time now = turn->world->now(turn->user);
    return (struct gate_time){now.wall_ms, turn->mono_base + now.mono_ms};
}

void turn_notice(const struct turn *turn, enum turn_notice notice, const char *about) {
    turn->world->notice(turn->user, notice, about);
}

bool turn_publish_retained(struct turn *turn, const char *topic, const char *payload, size_t length,
                           bool urgent) {
    const struct turn_publication publication = {.topic = topic,
                                                 .payload = payload,
                                                 .length = length,
                                                 .retain = true,
                                                 .urgent = urgent,
                                                 .content_type =
                                                     length > 0 ? "application/json" : NULL};
    return turn->world->publish(turn->user, &publication);
}

bool turn_say(struct turn *turn, enum gate_connection which, const char *topic, bool kept) {
    struct turn_pulse *pulse = &turn->pulses[which];
    char text[TURN_BOOT_SIZE + 48];
    int length = snprintf(text, sizeof text, "{\"boot\":\"%s\",\"n\":%llu}", turn->boot,
                          (unsigned long long)pulse->sent + 1);
    if (!turn->world->say(turn->user, which, topic, text, (size_t)length, kept)) {
        return false;
    }
    pulse->sent++;
    return true;
}
