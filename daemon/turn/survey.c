// What the broker keeps of us: what is no longer true is emptied; what people were told before the
// disk, and the journal does not have, holds all the same.
//
// A break and a called stop are published before they are written. Where the daemon was killed in
// between, the retained document alone knows of them. Whether the journal does is read off the
// folded state: it says when it last knew of a stop, of a break, of the job's phase. So neither a
// second restart nor a name that was given to another alarm since can hide one.
#include "turn/internal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/time_text.h"

// A document of an alarm or a job, as far as it tells of what ended or stopped something.
struct told {
    char job[MODEL_ID_SIZE], by[MODEL_ID_SIZE], check[MODEL_ID_SIZE];
    char reason[1024]; // "": none
    int kind;          // enum model_alarm_kind; negative: it is no alarm
    int phase;         // enum model_phase, of a job; negative: it is none
    int why;           // enum model_code; negative: none
    uint32_t point;    // index, or MODEL_NONE
    int64_t at;        // wall ms at which the alarm was raised, or the phase begun
};

// --- Reading ---

static const struct json_node *member(const struct json_tape *tape, const struct json_node *of,
                                      const char *name) {
    return of != NULL && of->kind == JSON_OBJECT ? json_present(tape, of, name) : NULL;
}

static bool read_text(const struct json_tape *tape, const struct json_node *of, const char *name,
                      char *buffer, size_t size) {
    const struct json_node *node = member(tape, of, name);
    buffer[0] = '\0';
    if (node == NULL || node->kind != JSON_STRING || !json_copy(tape, node, buffer, size)) {
        buffer[0] = '\0';
        return false;
    }
    return true;
}

static int read_word(const struct json_tape *tape, const struct json_node *of, const char *name,
                     int (*word)(const char *name)) {
    char text[MODEL_ID_SIZE];
    return read_text(tape, of, name, text, sizeof text) ? word(text) : -1;
}

static bool read_time(const struct json_tape *tape, const struct json_node *of, const char *name,
                      int64_t *at) {
    char text[BASE_TIME_SIZE];
    return read_text(tape, of, name, text, sizeof text) && base_time_parse(text, strlen(text), at);
}

static bool read_members(const struct json_tape *tape, const struct model_site *site,
                         struct told *told) {
    const struct json_node *root = json_root(tape), *args = member(tape, root, "args");
    char point[MODEL_ID_SIZE];
    *told = (struct told){.kind = read_word(tape, root, "kind", model_alarm_kind_of),
                          .phase = read_word(tape, root, "phase", model_phase_of),
                          .why = read_word(tape, root, "why", model_code_of),
                          .point = MODEL_NONE};
    if (read_text(tape, root, "point", point, sizeof point)) {
        told->point = model_point_find(site, point);
    }
    (void)read_text(tape, root, "by", told->by, sizeof told->by);
    (void)read_text(tape, args, "check", told->check, sizeof told->check);
    (void)read_text(tape, args, "reason", told->reason, sizeof told->reason);
    return read_text(tape, root, "job", told->job, sizeof told->job) &&
           read_time(tape, root, told->kind >= 0 ? "raised" : "since", &told->at);
}

static bool read(const struct model_site *site, const char *payload, size_t length,
                 struct told *told) {
    struct json_tape tape = {0};
    struct json_error error;
    bool whole = json_scan(&tape, payload, length, &json_config_limits, &error) &&
                 json_root(&tape)->kind == JSON_OBJECT && read_members(&tape, site, told);
    json_tape_free(&tape);
    return whole;
}

// --- What was told and not written ---

// Rule (4, stop-work; R3): A stop that was told, and that the journal does not have after a kill,
// stands all the same. [turn-told-stop-forgotten]
// Rule (4, stop-work; R3): One that it has is called no second time. [turn-told-stop-counts]
static bool stop_again(struct turn *turn, uint32_t site, const struct gate_job *job,
                       const struct told *told) {
    bool lost = told->at > job->stop.at.wall && told->by[0] != '\0';
    if (lost) {
        gate_stop_again(turn->gate, site, told->job, told->by,
                        told->reason[0] != '\0' ? told->reason : NULL, turn_now(turn));
    }
    return lost;
}

// A break of this run, by what was heard first, says nothing of one that was told before it.
// Rule (5, After a restart): What broke at the restart does not stand for what was told before it:
// a reading that failed has the locks hung again. [turn-told-break-hidden-by-a-restart]
static bool is_break_lost(const struct turn *turn, const struct gate_job *job,
                          const struct told *told) {
    bool before = told->at < turn->since;
    return told->why >= 0 && told->at > (before ? job->broke_before.wall : job->broke.wall);
}

// Rule (3, what is published; 5, Breaking): A break that was told, and that the journal does not
// have after a kill, holds all the same. [turn-told-break-forgotten]
// Rule (3, what is published; R17): One that it has breaks nothing again. [turn-told-break-counts]
static bool break_again(struct turn *turn, uint32_t site, const struct gate_job *job,
                        const struct told *told) {
    bool lost = is_break_lost(turn, job, told);
    if (lost) {
        gate_break_again(turn->gate, site, told->job, (enum model_code)told->why, told->point,
                         told->check, turn_now(turn));
    }
    return lost;
}

// Of a lock that was removed, or is vouched for no longer, the work stops; that it was removed
// nobody was answered, and is said again.
// Rule (5, last paragraph; R12): Work that was told to have stopped, and goes on in the journal
// after a kill, stops all the same. [turn-told-stopped-work-goes-on]
// Rule (5, last paragraph; R12): Work that was started since is not stopped by it.
// [turn-told-stopped-before-the-start]
static bool stopped_again(struct turn *turn, uint32_t site, const struct gate_job *job,
                          const struct told *told) {
    bool lost = job->phase == MODEL_PHASE_WORKING && told->at > job->since.wall;
    if (lost) {
        gate_stopped_again(turn->gate, site, told->job, MODEL_CODE_TAG_MISSING,
                           "The work was told to have stopped before the daemon ended. Look at "
                           "every lock, and prove it again.",
                           turn_now(turn));
    }
    return lost;
}

static bool hold_again(struct turn *turn, const struct model_site *site, const char *payload,
                       size_t length) {
    struct told told;
    if (payload == NULL || !read(site, payload, length, &told)) {
        return false;
    }
    const struct gate_job *job = gate_job_find(&turn->gate->sites[site->index], told.job);
    if (job == NULL) {
        return false;
    }
    switch (told.kind) {
    case MODEL_ALARM_STOP_CALLED:
        return stop_again(turn, site->index, job, &told);
    case MODEL_ALARM_LOCKOUT_BROKEN:
        return break_again(turn, site->index, job, &told);
    case MODEL_ALARM_ABSENT_LOCK_REMOVED:
        return stopped_again(turn, site->index, job, &told);
    default:
        return told.kind < 0 && told.phase == MODEL_PHASE_STOPPED &&
               stopped_again(turn, site->index, job, &told);
    }
}

// --- What is no longer true ---

// Rule (3, what is published): What the broker keeps of a job that there is not is emptied.
// [turn-kept-job-believed]
// Rule (3, what is published): What the broker keeps of an alarm that does not stand is emptied.
// [turn-kept-alarm-believed]
static bool is_true(const struct turn *turn, const struct model_site *site, const char *kind,
                    const char *id) {
    const struct gate_site *state = &turn->gate->sites[site->index];
    if (strcmp(kind, "position") == 0) {
        return model_position_find(site, id) != MODEL_NONE;
    }
    if (strcmp(kind, "point") == 0) {
        return model_point_find(site, id) != MODEL_NONE;
    }
    if (strcmp(kind, "alarm") == 0) {
        return gate_alarm_find(state, id) != NULL;
    }
    return gate_job_find(state, id) != NULL;
}

// Rule (3, what is published): What holds again is told anew before its old document is emptied.
// [turn-told-again-after-emptied]
void turn_retained(struct turn *turn, const char *topic, const char *payload, size_t length) {
    char copy[512], *rest = NULL;
    if (strlen(topic) >= sizeof copy) {
        return;
    }
    snprintf(copy, sizeof copy, "%s", topic + strlen(turn->model->root) + 1);
    const char *site_id = strtok_r(copy, "/", &rest);
    const char *kind = strtok_r(NULL, "/", &rest);
    const char *id = strtok_r(NULL, "/", &rest);
    const struct model_site *site = site_id != NULL ? model_site_find(turn->model, site_id) : NULL;
    if (site == NULL || kind == NULL || id == NULL) {
        return;
    }
    if (hold_again(turn, site, payload, length)) {
        turn_notice(turn, TURN_NOTICE_TOLD_AGAIN, topic);
        turn_publish_breaks(turn);
    }
    if (!is_true(turn, site, kind, id)) {
        turn_notice(turn, TURN_NOTICE_EMPTIED, topic);
        turn_publish_retained(turn, topic, NULL, 0, false);
    }
}

// Rule (3, what is published): A survey that was cut is made again. [turn-survey-once]
void turn_surveyed(struct turn *turn, bool complete) {
    turn->surveyed = complete;
    if (!complete) {
        turn_notice(turn, TURN_NOTICE_SURVEY_CUT, "");
    }
}
