// The daemon's word about itself.
#include "turn/internal.h"

#include <stdio.h>

bool turn_write_self(const struct turn *turn, bool online, struct json_out *text) {
    const struct wire_daemon self = {.online = online,
                                     .version = turn->version,
                                     .boot = turn->boot,
                                     .since = turn->since,
                                     .at = turn_now(turn).wall};
    json_out_reset(text);
    return wire_daemon(text, turn->model, &self);
}

void turn_publish_self(struct turn *turn) {
    char topic[512];
    snprintf(topic, sizeof topic, "%s/daemon/%s", turn->model->root, turn->model->instance);
    if (turn_write_self(turn, true, &turn->out)) {
        turn_publish_retained(turn, topic, turn->out.data, turn->out.length, false);
    }
}
