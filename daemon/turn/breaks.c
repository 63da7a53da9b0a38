// Breaks: the alarm and the job, published ahead of everything and before the disk.
#include "turn/internal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/array.h"

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
    if (turn->break_count == 0) { // as after almost every reading
        return;
    }
    bool some = false, up = turn->world->is_up(turn->user);
    for (size_t i = 0; i < turn->break_count; i++) {
        if (!turn->breaks[i].published && up) {
            publish_break(turn, &turn->breaks[i]);
        }
        some |= !turn->breaks[i].published;
    }
    if (some && up) {
        turn->world->flush(turn->user); // before the streams, of which there may be a thousand
    }
    for (size_t i = 0; some && i < turn->break_count; i++) {
        if (!turn->breaks[i].published) {
            stream_break(turn, &turn->breaks[i]);
            turn->breaks[i].published = true;
        }
    }
}

// --- Until the journal has them ---

bool turn_note_break(struct turn *turn, const struct gate_fact *fact) {
    if (!BASE_ARRAY_ROOM(turn->breaks, turn->break_count, turn->break_capacity)) {
        return false;
    }
    struct turn_break *entry = &turn->breaks[turn->break_count++];
    *entry = (struct turn_break){.site = fact->site, .why = fact->why, .point = MODEL_NONE};
    if (fact->point != NULL) {
        entry->point = model_point_find(&turn->model->sites[fact->site], fact->point);
    }
    snprintf(entry->job, sizeof entry->job, "%s", fact->job);
    snprintf(entry->check, sizeof entry->check, "%s", fact->check != NULL ? fact->check : "");
    return true;
}

void turn_breaks_commit(struct turn *turn) {
    for (size_t i = 0; i < turn->break_count; i++) {
        turn->breaks[i].committing = true;
    }
}

// Rule (5, last paragraph): What the journal has is not told to the gate again.
// [turn-break-kept-for-ever]
void turn_breaks_written(struct turn *turn) {
    size_t kept = 0;
    for (size_t i = 0; i < turn->break_count; i++) {
        if (!turn->breaks[i].committing) {
            turn->breaks[kept++] = turn->breaks[i];
        }
    }
    turn->break_count = kept;
}

// The reading that broke may be gone: a live that was said once, or taken back since.
// Rule (5, last paragraph): A break that was told stands though its commit failed.
// [turn-break-taken-back, turn-break-during-commit-taken-back]
void turn_breaks_again(struct turn *turn, struct gate_time now) {
    struct turn_break *before = turn->breaks;
    size_t count = turn->break_count;
    turn->breaks = NULL; // the gate's own facts are noted anew
    turn->break_count = turn->break_capacity = 0;
    for (size_t i = 0; i < count; i++) {
        gate_break_again(turn->gate, before[i].site, before[i].job, before[i].why, before[i].point,
                         before[i].check, now);
    }
    free(before);
}
