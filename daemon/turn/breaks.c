// Breaks: the alarm and the job, published ahead of everything and before the disk.
#include "turn/internal.h"

#include <string.h>

static const struct gate_alarm *broken_alarm(const struct gate_site *site, const char *job) {
    for (size_t i = 0; i < site->alarm_count; i++) {
        if (site->alarms[i].kind == MODEL_ALARM_LOCKOUT_BROKEN &&
            strcmp(site->alarms[i].job, job) == 0) {
            return &site->alarms[i];
        }
    }
    return NULL;
}

static void publish_break(struct turn *turn, const struct turn_break *entry) {
    const struct gate_site *site = &turn->gate->sites[entry->site];
    turn_documents_publish_now(turn, site, broken_alarm(site, entry->job),
                               gate_job_find(site, entry->job));
}

static void stream_break(struct turn *turn, const struct turn_break *entry) {
    const struct gate_alarm *alarm = broken_alarm(&turn->gate->sites[entry->site], entry->job);
    json_out_reset(&turn->out);
    if (alarm != NULL && wire_alarm(&turn->out, turn->gate, entry->site, alarm)) {
        turn->world->stream_alarm(turn->user, entry->site, turn->out.data, turn->out.length);
    }
}

// Rule (3, what is published): A break reaches the event streams before the disk, also without a
// broker. [turn-break-to-streams-forgotten]
// Rule (3, what is published): A break leaves before the streams are told, of which there may be a
// thousand. [turn-break-not-flushed]
void turn_publish_breaks(struct turn *turn) {
    size_t count = turn->break_count;
    turn->break_count = 0;
    if (count > 0 && turn->world->is_up(turn->user)) {
        for (size_t i = 0; i < count; i++) {
            publish_break(turn, &turn->breaks[i]);
        }
        turn->world->flush(turn->user); // before the streams, of which there may be a thousand
    }
    for (size_t i = 0; i < count; i++) {
        stream_break(turn, &turn->breaks[i]);
    }
}
