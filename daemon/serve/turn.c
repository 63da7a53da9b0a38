// A turn of the loop and its flight to the disk.
//
// At the end of a turn its facts take off: the worker writes them while the loop hears on. Landed,
// they are told. A commit that fails is never half told: if anything may have been permitted, the
// state is folded anew from the disk and what was asked is decided again with the journal down.
#include "serve/book.h"

#include <stdlib.h>
#include <string.h>

// How long to wait before a journal that could not write is tried again.
#define WRITE_AGAIN_MS 500

static void fatal(struct daemon *daemon, const char *why) {
    log_error("turn", "%s: ending without acknowledging; what was not committed is asked again",
              why);
    daemon->fatal = true;
    loop_stop(daemon->loop);
}

// --- Taking off ---

static void note_heard(void *user, const char *site, const char *point, int64_t heard) {
    struct daemon *daemon = user;
    struct daemon_flight *flight = &daemon->flight;
    const struct model_site *model = model_site_find(daemon->model, site);
    if (flight->heard_count == flight->heard_capacity) {
        size_t capacity = flight->heard_capacity == 0 ? 64 : flight->heard_capacity * 2;
        struct daemon_heard *grown = realloc(flight->heard, capacity * sizeof *grown);
        if (grown == NULL) {
            daemon->turn.failed = true;
            return;
        }
        flight->heard = grown;
        flight->heard_capacity = capacity;
    }
    flight->heard[flight->heard_count++] = (struct daemon_heard){model->index, point, heard};
}

static void take_heard(struct daemon *daemon) {
    daemon->flight.heard_count = 0;
    if (daemon->turn.heard_due && daemon->journal_up) {
        gate_each_watched(daemon->gate, daemon_now(daemon), note_heard, daemon);
    }
    daemon->turn.heard_due = false;
}

// The flight's own lists are empty but for answers that wait for the link.
static bool take_answers(struct daemon *daemon) {
    struct daemon_answers *from = &daemon->turn.answers, *to = &daemon->flight.answers;
    for (size_t i = 0; i < from->count; i++) {
        struct daemon_answer *answer = daemon_answer_new(to);
        if (answer == NULL) {
            return false;
        }
        *answer = from->items[i];
        memset(&from->items[i], 0, sizeof from->items[i]);
        to->count++;
    }
    from->count = 0;
    return true;
}

static void take_messages(struct daemon *daemon) {
    struct daemon_messages swap = daemon->flight.messages;
    daemon->flight.messages = daemon->turn.messages;
    daemon->turn.messages = swap;
}

static bool is_due(const struct daemon *daemon) {
    return daemon->journal_up || loop_now(daemon->loop).mono_ms >= daemon->write_after;
}

static bool has_to_write(const struct daemon *daemon) {
    return !daemon_batch_empty(&daemon->flight.batch) || daemon->flight.heard_count > 0 ||
           daemon->flight.hooks;
}

static void tell_landed(struct daemon *daemon, bool written);

// Everything the turn brought moves to the flight; what needs no disk is told at once.
static void take_off(struct daemon *daemon) {
    struct daemon_turn *turn = &daemon->turn;
    uint64_t changes = daemon->gate->changes;
    bool idle = changes == daemon->seen_changes && daemon->all_told;
    daemon->seen_changes = changes;
    take_heard(daemon);
    daemon->flight.hooks = daemon_hooks_take(daemon) || daemon->flight.hooks;
    if (!take_answers(daemon) || !daemon_batch_absorb(&daemon->flight.batch, &turn->batch)) {
        turn->failed = true;
    }
    take_messages(daemon);
    if (!idle) {
        daemon_draw(daemon);
    }
    if (turn->failed || daemon->gate->broken_memory) {
        fatal(daemon, "out of memory");
    } else if (has_to_write(daemon) && is_due(daemon)) {
        daemon->flight.at = daemon_now(daemon).wall;
        daemon->flight.told = daemon_told_so_far(daemon);
        loop_work_begin(daemon->writer, book_write);
    } else {
        tell_landed(daemon, daemon_batch_empty(&daemon->flight.batch));
    }
}

// --- Landing ---

// Tells what the flight brought. written: the journal has it; else only what ends was decided,
// which is told now and written when it can be.
static void tell_landed(struct daemon *daemon, bool written) {
    struct daemon_flight *flight = &daemon->flight;
    daemon_release(daemon);
    daemon->all_told = daemon_all_told(daemon);
    daemon->telling_anew = daemon->telling_anew && !daemon_told_anew(daemon);
    if (daemon->self_due && daemon->all_told) {
        daemon->self_due = false; // online is said once everything else is true
        daemon_publish_self(daemon);
    }
    if (written) {
        daemon_publish_events(daemon);
        daemon_publish_streams(daemon);
        daemon_batch_forget(&flight->batch);
    }
    daemon_publish_answers(daemon);
    daemon_messages_forget(&flight->messages);
    // Acknowledging lets go whatever was delivered: not while something of it waits to be decided.
    if (daemon->acknowledge_due && daemon->mqtt != NULL && daemon->turn.waiting.count == 0) {
        daemon->acknowledge_due = false;
        mqtt_acknowledge(daemon->mqtt);
        daemon_publish_answers(daemon); // the refusals
    }
}

static void take_waiting(struct daemon *daemon) {
    struct daemon_turn *turn = &daemon->turn;
    struct daemon_messages swap = turn->messages;
    turn->messages = turn->waiting;
    turn->waiting = swap;
    for (size_t i = 0; i < turn->messages.count; i++) {
        daemon_take(daemon, &turn->messages.items[i]);
    }
}

// The journal refused the flight, in which things may have been permitted. Nothing of it was told.
static void decide_again(struct daemon *daemon) {
    struct daemon_flight *flight = &daemon->flight;
    struct daemon_turn *turn = &daemon->turn;
    log_error("turn", "the journal cannot be written: nothing is permitted until it can (%s)",
              flight->why);
    daemon_answers_forget(&flight->answers);
    daemon_answers_forget(&turn->answers);
    daemon_batch_forget(&flight->batch);
    daemon_batch_forget(&turn->batch);
    daemon_publish_anew(daemon);
    daemon->journal_up = false;
    if (!daemon_fold(daemon)) {
        fatal(daemon, "the journal cannot be read again");
        return;
    }
    for (size_t i = 0; i < flight->messages.count; i++) {
        daemon_take(daemon, &flight->messages.items[i]);
    }
    daemon_messages_forget(&flight->messages);
}

static void journal_down(struct daemon *daemon) {
    daemon->journal_up = false;
    log_error("turn", "the disk is full: only the space in reserve is left; nothing is permitted");
    gate_journal(daemon->gate, false, daemon_now(daemon));
}

static void log_not_written(struct daemon *daemon) {
    uint64_t left_out;
    if (log_allowed(&daemon->journal_limit, loop_now(daemon->loop).mono_ms, &left_out)) {
        log_error("journal", "%s left_out=%llu", daemon->flight.why, (unsigned long long)left_out);
    }
}

void daemon_landed(void *user) {
    struct daemon *daemon = user;
    struct daemon_flight *flight = &daemon->flight;
    daemon->write_after = loop_now(daemon->loop).mono_ms + WRITE_AGAIN_MS;
    bool written =
        flight->result == DAEMON_WRITTEN || flight->result == DAEMON_WRITTEN_FROM_RESERVE;
    if (written) {
        daemon->next_seq += flight->batch.record_count;
    }
    flight->hooks = false;
    daemon_hooks_landed(daemon, written);
    if (flight->result == DAEMON_FATAL) {
        log_error("journal", "%s", flight->why);
        fatal(daemon, "the disk cannot be trusted");
        return;
    }
    if (!written && daemon->journal_up) {
        decide_again(daemon);
        if (daemon->fatal) {
            return;
        }
    } else {
        if (!written) {
            log_not_written(daemon);
        }
        tell_landed(daemon, written);
    }
    // What is heard meanwhile may be seen before it is written; what was asked, never.
    if (daemon->http != NULL && !daemon->fatal) {
        http_settled(daemon->http);
    }
    if (flight->result == DAEMON_WRITTEN_FROM_RESERVE && daemon->journal_up) {
        journal_down(daemon);
    }
    take_waiting(daemon);
}

// --- The end of a turn ---

static void set_deadline(struct daemon *daemon) {
    int64_t next = gate_deadline(daemon->gate), now = daemon_now(daemon).line;
    if (!daemon_batch_empty(&daemon->flight.batch) && now + WRITE_AGAIN_MS < next) {
        next = now + WRITE_AGAIN_MS;
    }
    if (next == INT64_MAX) {
        loop_timer_stop(daemon->deadline_timer);
    } else {
        loop_timer_once(daemon->deadline_timer, next > now ? next - now : 0);
    }
}

static bool brought_nothing(const struct daemon *daemon) {
    const struct daemon_turn *turn = &daemon->turn;
    return daemon->gate->changes == daemon->seen_changes && daemon->all_told && !turn->failed &&
           !turn->heard_due && !daemon_hooks_due(daemon) && daemon_batch_empty(&turn->batch) &&
           daemon_batch_empty(&daemon->flight.batch) && turn->answers.count == 0 &&
           turn->messages.count == 0 && daemon->flight.answers.count == 0 && !daemon->self_due &&
           !daemon->acknowledge_due && daemon->next_event >= daemon->next_seq;
}

void daemon_turn_end(void *user) {
    struct daemon *daemon = user;
    uint64_t changes = daemon->gate->changes;
    if (daemon->fatal) {
        return;
    }
    daemon_publish_breaks(daemon);
    if (!loop_work_busy(daemon->writer) && !brought_nothing(daemon)) {
        take_off(daemon);
    }
    if (daemon->http != NULL && !loop_work_busy(daemon->writer) && !daemon->fatal) {
        http_settled(daemon->http);
    }
    if (changes != daemon->timed_changes || !daemon_batch_empty(&daemon->flight.batch)) {
        daemon->timed_changes = changes;
        set_deadline(daemon);
    }
}

void daemon_turn_finish(struct daemon *daemon) {
    daemon->turn.heard_due = daemon->journal_up;
    daemon->write_after = 0;                        // a journal that is down is tried once more
    for (int i = 0; i < 3 && !daemon->fatal; i++) { // what waits, and what that leads to
        loop_work_wait(daemon->writer);
        daemon_turn_end(daemon);
    }
    loop_work_wait(daemon->writer);
}

void daemon_turn_free(struct daemon *daemon) {
    struct daemon_turn *turn = &daemon->turn;
    struct daemon_flight *flight = &daemon->flight;
    struct daemon_messages *messages[] = {&turn->messages, &turn->waiting, &flight->messages};
    for (size_t i = 0; i < 3; i++) {
        daemon_messages_forget(messages[i]);
        free(messages[i]->items);
    }
    daemon_answers_forget(&turn->answers);
    daemon_answers_forget(&flight->answers);
    free(turn->answers.items);
    free(flight->answers.items);
    daemon_batch_free(&turn->batch);
    daemon_batch_free(&flight->batch);
    free(flight->heard);
    free(turn->breaks);
}
