// Breaks, called stops and work that stopped for a lock: the alarm and the job, published ahead of
// everything and before the disk.
#include "turn/internal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/array.h"

// Of locks that were removed a job may have several alarms, and work that stopped for another
// reason has none: the one that came with it.
static bool is_its_own(const struct gate_alarm *alarm, const struct turn_break *entry) {
    return alarm->kind == entry->kind && strcmp(alarm->job, entry->job) == 0 &&
           (alarm->kind != MODEL_ALARM_ABSENT_LOCK_REMOVED || alarm->raised.mono >= entry->at.mono);
}

static const struct gate_alarm *alarm_of(const struct gate_site *site,
                                         const struct turn_break *entry) {
    for (size_t i = 0; i < site->alarm_count; i++) {
        if (is_its_own(&site->alarms[i], entry)) {
            return &site->alarms[i];
        }
    }
    return NULL;
}

static void publish_break(struct turn *turn, const struct turn_break *entry) {
    const struct gate_site *site = &turn->gate->sites[entry->site];
    turn_documents_publish_now(turn, site, alarm_of(site, entry), gate_job_find(site, entry->job));
}

static void stream_break(struct turn *turn, const struct turn_break *entry) {
    const struct gate_alarm *alarm = alarm_of(&turn->gate->sites[entry->site], entry);
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

static enum model_alarm_kind kind_of(enum gate_fact_type type) {
    return type == GATE_FACT_STOP_CALLED    ? MODEL_ALARM_STOP_CALLED
           : type == GATE_FACT_WORK_STOPPED ? MODEL_ALARM_ABSENT_LOCK_REMOVED
                                            : MODEL_ALARM_LOCKOUT_BROKEN;
}

// Whether something of the job is about to be told: its document says all of it.
static bool is_noted(const struct turn *turn, const struct gate_fact *fact) {
    for (size_t i = 0; i < turn->break_count; i++) {
        const struct turn_break *entry = &turn->breaks[i];
        if (!entry->published && entry->site == fact->site && strcmp(entry->job, fact->job) == 0) {
            return true;
        }
    }
    return false;
}

bool turn_note_break(struct turn *turn, const struct gate_fact *fact) {
    if (fact->type == GATE_FACT_WORK_STOPPED && is_noted(turn, fact)) {
        return true; // by what broke
    }
    char *reason = fact->reason != NULL ? strdup(fact->reason) : NULL;
    if ((fact->reason != NULL && reason == NULL) ||
        !BASE_ARRAY_ROOM(turn->breaks, turn->break_count, turn->break_capacity)) {
        free(reason);
        return false;
    }
    struct turn_break *entry = &turn->breaks[turn->break_count++];
    *entry = (struct turn_break){.site = fact->site,
                                 .kind = kind_of(fact->type),
                                 .at = fact->at,
                                 .why = fact->why,
                                 .point = MODEL_NONE,
                                 .reason = reason};
    if (fact->point != NULL) {
        entry->point = model_point_find(&turn->model->sites[fact->site], fact->point);
    }
    snprintf(entry->job, sizeof entry->job, "%s", fact->job);
    snprintf(entry->check, sizeof entry->check, "%s", fact->check != NULL ? fact->check : "");
    snprintf(entry->by, sizeof entry->by, "%s", fact->by != NULL ? fact->by : "");
    return true;
}

static void breaks_clear(struct turn_break *breaks, size_t count) {
    for (size_t i = 0; i < count; i++) {
        free(breaks[i].reason);
    }
    free(breaks);
}

void turn_breaks_free(struct turn *turn) {
    breaks_clear(turn->breaks, turn->break_count);
}

void turn_breaks_commit(struct turn *turn) {
    for (size_t i = 0; i < turn->break_count; i++) {
        turn->breaks[i].committing = true;
    }
    turn->session_committing = turn->session_lost;
}

// Rule (5, last paragraph): What the journal has is not told to the gate again.
// [turn-break-kept-for-ever]
void turn_breaks_written(struct turn *turn) {
    size_t kept = 0;
    for (size_t i = 0; i < turn->break_count; i++) {
        if (turn->breaks[i].committing) {
            free(turn->breaks[i].reason);
        } else {
            turn->breaks[kept++] = turn->breaks[i];
        }
    }
    turn->break_count = kept;
    turn->session_lost = turn->session_lost && !turn->session_committing;
}

// The broker tells it once. Until the journal has what it led to it is kept here.
void turn_session_lost(struct turn *turn) {
    turn->session_lost = true;
    turn->session_committing = false;
    gate_session_lost(turn->gate, turn_now(turn));
}

static void again(struct turn *turn, const struct turn_break *before, struct gate_time now) {
    if (before->kind == MODEL_ALARM_STOP_CALLED) {
        gate_stop_again(turn->gate, before->site, before->job, before->by, before->reason, now);
    } else if (before->kind == MODEL_ALARM_ABSENT_LOCK_REMOVED) {
        gate_stopped_again(turn->gate, before->site, before->job, before->why, before->reason, now);
    } else {
        gate_break_again(turn->gate, before->site, before->job, before->why, before->point,
                         before->check, now);
    }
}

// The reading that broke may be gone: a live that was said once, or taken back since. Who called a
// stop is decided again, and finds it standing.
// Rule (5, last paragraph): A break that was told stands though its commit failed.
// [turn-break-taken-back, turn-break-during-commit-taken-back]
// Rule (4, stop-work; R3): So does a stop that was told. [turn-stop-taken-back]
// Rule (5, last paragraph; R12): So does work that stopped. [turn-stopped-work-taken-back]
// Rule (3, Tags; R14): Nor is a session that the broker lost found again by a commit that failed.
// [turn-lost-session-forgotten]
void turn_breaks_again(struct turn *turn, struct gate_time now) {
    struct turn_break *before = turn->breaks;
    size_t count = turn->break_count;
    turn->breaks = NULL; // the gate's own facts are noted anew
    turn->break_count = turn->break_capacity = 0;
    for (size_t i = 0; i < count; i++) {
        again(turn, &before[i], now);
    }
    if (turn->session_lost) {
        gate_session_lost(turn->gate, now);
    }
    breaks_clear(before, count);
}
