// The turn as the daemon drives it: what comes in, the end of a turn, the course of time.
#include "turn/internal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// How long the link may take after the start before its absence is an alarm.
#define FIRST_LINK_MS 10000
#define MIB (1024.0 * 1024.0)

struct turn *turn_new(const struct turn_options *options, const struct turn_operations *operations,
                      void *user) {
    struct turn *turn = calloc(1, sizeof *turn);
    if (turn == NULL) {
        return NULL;
    }
    turn->world = operations;
    turn->user = user;
    turn->model = options->model;
    turn->version = options->version;
    memcpy(turn->boot, options->boot, sizeof turn->boot);
    turn->since = operations->now(user).wall_ms;
    turn->decider = turn_decider_new();
    turn->duplicates = turn_duplicates_new();
    turn->documents = turn_documents_new(turn->model);
    turn->topics = turn_topics_new(turn->model);
    if (turn->decider == NULL || turn->duplicates == NULL || turn->documents == NULL ||
        turn->topics == NULL) {
        turn_free(turn);
        return NULL;
    }
    return turn;
}

void turn_free(struct turn *turn) {
    if (turn == NULL) {
        return;
    }
    turn_batch_free(&turn->batch);
    turn_batch_free(&turn->commit.batch);
    turn_answers_free(&turn->answers);
    turn_answers_free(&turn->committed_answers);
    turn_inputs_free(&turn->inputs);
    turn_inputs_free(&turn->waiting);
    turn_inputs_free(&turn->committed_inputs);
    free(turn->commit.heard);
    turn_breaks_free(turn);
    turn_decider_free(turn->decider);
    turn_duplicates_free(turn->duplicates);
    turn_topics_free(turn->topics);
    turn_documents_free(turn->documents);
    gate_free(turn->gate);
    json_out_free(&turn->out);
    json_out_free(&turn->event);
    free(turn);
}

// Rule (3, alarms): A journal that cannot be written when the daemon comes up is an alarm too.
// [turn-down-at-the-start]
enum turn_folded turn_open(struct turn *turn, bool journal_up) {
    turn->journal_up = journal_up;
    enum turn_folded folded = turn_fold(turn, false);
    if (folded == TURN_FOLDED && !journal_up) {
        gate_journal(turn->gate, false, turn_now(turn));
    }
    return folded;
}

// --- What comes in ---

// It waits for the end of the turn and, if a commit is pending, for that: the journal is not ours
// then. What ends or stops is done at once all the same.
// Rule (4, the answer): What waited for a commit is decided after it, not taken for decided.
// [turn-waiting-as-decided]
// Rule (4, stop-work; R3): What ends or stops while a commit is pending is told before that disk.
// [turn-early-stop-untold]
// Rule (4, Only the present is permitted; R11): What came from the session before the first pulse
// of this connection came back has waited. [session-is-now]
bool turn_submit_request(struct turn *turn, const struct wire_request_in *request) {
    struct wire_request_in taken = *request;
    taken.waited |= request->ticket == 0 && !turn->pulses[GATE_DURABLE].proved;
    struct turn_input *input = turn_inputs_add_request(&turn->waiting, &taken);
    if (input != NULL) {
        input->came = turn_now(turn).mono;
    }
    if (input != NULL && turn->pending) {
        turn_decide_early(turn, input);
        turn_publish_breaks(turn);
    }
    return input != NULL;
}

// Rule (3, Tags; R11): A reader's event from the session has waited. [session-lock-is-now]
bool turn_submit_tagging(struct turn *turn, const struct turn_tagging *tagging) {
    struct turn_tagging taken = *tagging;
    taken.tagging.waited |= !turn->pulses[GATE_DURABLE].proved;
    struct turn_input *input = turn_inputs_add_tagging(&turn->waiting, &taken);
    if (input != NULL && turn->pending) {
        turn_decide_early(turn, input);
        turn_publish_breaks(turn);
    }
    return input != NULL;
}

void turn_delivered(struct turn *turn) {
    turn->acknowledge_due = true;
}

void turn_fail(struct turn *turn) {
    turn->failed = true;
}

// Rule (3, what is published): A break is published as soon as it is heard.
// [turn-break-after-the-turn]
void turn_heard(struct turn *turn) {
    turn_publish_breaks(turn);
}

// --- The broker ---

static void survey(struct turn *turn) {
    turn->surveyed = turn->world->survey(turn->user);
}

// Rule (3, Hearing; R20): The gate is told of each subscription, before what is kept comes.
// [turn-subscription-untold]
void turn_subscribed(struct turn *turn) {
    gate_subscribed(turn->gate);
}

// Everything is published on it: the broker may lack whatever it was told before.
static void live_up(struct turn *turn) {
    turn_duplicates_reset(turn);
    turn->self_due = true;
    turn_documents_forget(turn);
    survey(turn);
}

// Rule (5, Breaking): What the broker keeps of us is asked for before the connection can be proved,
// so before anything is permitted. [turn-proved-before-surveyed]
void turn_connection(struct turn *turn, enum gate_connection which, bool up, bool resumed) {
    if (up && which == GATE_LIVE) {
        live_up(turn);
    }
    turn_pulse_connection(turn, which, up);
    if (!up) {
        turn_topics_down(turn, which);
    } else if (which == GATE_DURABLE && !resumed) {
        turn_session_lost(turn);
    }
}

// --- The end of a turn ---

static void set_deadline(struct turn *turn) {
    int64_t next = gate_deadline(turn->gate), now = turn_now(turn).mono;
    if (!turn_batch_empty(&turn->commit.batch) && now + TURN_WRITE_AGAIN_MS < next) {
        next = now + TURN_WRITE_AGAIN_MS;
    }
    turn->world->wake(turn->user, next == INT64_MAX ? -1 : next > now ? next - now : 0);
}

// What has arrived on either connection by now is heard before, and what came by the broker is
// decided before what came by HTTP: a reading, a lift or a stop that lies in a socket came before
// whatever is permitted here.
// Rule (4, Only the present is permitted; R37): What has already arrived is read before anything is
// decided. [turn-arrived-unread]
// Rule (4, Only the present is permitted; R37): What arrived by the broker is decided before what
// came by HTTP. [turn-http-first]
// Rule (3, what is published): A break by a request is published before its commit.
// [turn-break-by-request-after-the-disk]
static void decide_waiting(struct turn *turn) {
    if (turn->waiting.count == 0) {
        return;
    }
    turn->world->read(turn->user);
    size_t first = turn->inputs.count;
    turn->failed |= !turn_inputs_move(&turn->inputs, &turn->waiting, false) ||
                    !turn_inputs_move(&turn->inputs, &turn->waiting, true);
    for (size_t i = first; i < turn->inputs.count; i++) {
        turn_decide(turn, &turn->inputs.items[i]);
        turn_publish_breaks(turn);
    }
}

// Rule (3, what is published): A break by time is published before the commit.
// [turn-break-by-time-after-the-disk]
// Rule (4, the answer): What is asked while a commit is pending waits. [turn-decided-during-commit]
// Rule (4, the answer; 5, last paragraph): A daemon that cannot go on acknowledges nothing.
// [turn-goes-on-at-its-end]
// Rule (4, the answer; 5, last paragraph): One commit is pending at a time. [turn-second-commit]
void turn_end(struct turn *turn) {
    uint64_t changes = turn->gate->changes;
    if (turn->ending) {
        return;
    }
    turn_publish_breaks(turn);
    if (!turn->pending) {
        decide_waiting(turn);
    }
    if (!turn->pending && !turn_commit_idle(turn)) {
        turn_commit_begin(turn);
    }
    if (!turn->pending && !turn->ending) {
        turn_settle(turn);
    }
    if (changes != turn->timed_changes || !turn_batch_empty(&turn->commit.batch)) {
        turn->timed_changes = changes;
        set_deadline(turn);
    }
}

// Rule (4, the answer): At the end of the run what waits is decided and committed.
// [turn-end-loses-what-waits]
void turn_finish(struct turn *turn) {
    turn->heard_due = turn->journal_up;
    turn->time_due = turn->journal_up && gate_is_ageing(turn->gate);
    turn->write_after = 0;                         // a journal that is down is tried once more
    for (int i = 0; i < 3 && !turn->ending; i++) { // what waits, and what that leads to
        turn->world->wait(turn->user);
        turn_end(turn);
    }
    turn->world->wait(turn->user);
}

// --- The course of time ---

// Rule (3, Hearing): The deadline is set anew after each tick: a missed one would let a stale point
// stand. [turn-deadline-missed]
void turn_tick(struct turn *turn) {
    gate_tick(turn->gate, turn_now(turn));
    // It comes once. What was heard meanwhile may have moved the deadline and changed nothing, so
    // it is set anew whether or not something changed: a missed one would let a stale point stand.
    turn->timed_changes = turn->gate->changes - 1;
}

// Another daemon wrote its documents over ours and emptied those that it did not know: once it is
// gone, all of ours are published again. Not while a commit is pending, whose documents go before
// its answers.
// Rule (3, what is published): After a duplicate instance all is published again, not while a
// commit is pending. [turn-anew-during-commit]
static void publish_after_duplicate(struct turn *turn) {
    if (!turn->pending && turn_duplicates_ended(turn)) {
        turn->surveyed = false;
        turn_documents_forget(turn);
    }
}

// The journal is down: whether it may be up again, and where room is wanting, how much.
// Rule (4, the answer; 5, last paragraph): The journal is up again only when everything is written.
// [turn-up-before-written]
// Rule (3, alarms): Where room is wanting the alarm says how much. [turn-room-unsaid]
static void recover(struct turn *turn, struct gate_time now) {
    int64_t need = 0, found = 0;
    bool room = turn->world->recover(turn->user, &need, &found);
    if (room && turn_batch_empty(&turn->commit.batch)) {
        turn_notice(turn, TURN_NOTICE_ROOM_AGAIN, "");
        turn->journal_up = true;
        gate_journal(turn->gate, true, now);
    } else if (!room && need > 0) {
        char wanted[96];
        snprintf(wanted, sizeof wanted, "need=%.1f MiB found=%.1f MiB", (double)need / MIB,
                 (double)found / MIB);
        turn_notice(turn, TURN_NOTICE_NO_ROOM, wanted);
        gate_journal_room(turn->gate, (double)need / MIB, (double)found / MIB, now);
    }
}

// Rule (3, alarms): The link may take ten seconds at the start before its absence is an alarm.
// [turn-link-alarm-at-the-start]
void turn_second(struct turn *turn) {
    struct gate_time now = turn_now(turn);
    gate_tick(turn->gate, now); // a clock that was set is noticed, though nothing is due
    turn->heard_due = turn->journal_up && gate_is_watching(turn->gate);
    turn_duplicates_expire(turn);
    if (!turn->journal_up && !turn->pending) {
        recover(turn, now);
    }
    turn_pulse_second(turn);
    turn_topics_second(turn);
    for (int i = 0; i < GATE_CONNECTION_COUNT; i++) {
        if (!turn->connected[i] && !turn->down_told[i] && now.wall - turn->since > FIRST_LINK_MS) {
            turn->down_told[i] = true;
            gate_link(turn->gate, (enum gate_connection)i, false, now);
        }
    }
    publish_after_duplicate(turn);
    if (!turn->surveyed && turn->world->is_up(turn->user)) {
        survey(turn);
    }
}

// Rule (5, After a restart; R38): While anything ages the time is written each minute, also where
// nothing happens. [turn-time-unwritten]
void turn_minute(struct turn *turn) {
    turn->time_due = turn->journal_up && gate_is_ageing(turn->gate);
    turn->self_due = true;
}

// --- To be asked ---

struct gate *turn_gate(const struct turn *turn) {
    return turn->gate;
}

// Rule (3, what is published): The state is not shown while what was asked is not on the disk.
// [turn-settled-while-pending]
struct turn_view turn_view(const struct turn *turn) {
    return (struct turn_view){.next_seq = turn->next_seq,
                              .since = turn->since,
                              .link_up = turn->gate->link_up,
                              .journal_up = turn->journal_up,
                              .pending = turn->pending,
                              .settled = !turn->pending && turn->inputs.count == 0 &&
                                         turn->waiting.count == 0 && turn_batch_empty(&turn->batch),
                              .ending = turn->ending,
                              .unwritten = turn->commit.batch.record_count};
}

const struct turn_figures *turn_figures(const struct turn *turn) {
    return &turn->figures;
}
