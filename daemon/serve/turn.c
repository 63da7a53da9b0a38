// A turn of the loop: facts gathered, written in one transaction, told after the commit.
#include "serve/book.h"

#include <stdlib.h>
#include <string.h>

// Answers kept while the broker cannot be reached; those behind are given when asked again.
#define ANSWERS_WAITING_MAX 1000
// How long to wait before a journal that could not write is tried again.
#define WRITE_AGAIN_MS 500

bool daemon_turn_text(struct daemon_turn *turn, const char *text, size_t length, size_t *at) {
    *at = turn->text.length;
    turn->text.comma = false; // texts beside each other, not one value
    json_out_raw(&turn->text, text, length);
    turn->failed |= turn->text.failed;
    return !turn->text.failed;
}

static struct daemon_record *record_new(struct daemon_turn *turn) {
    if (turn->record_count == turn->record_capacity) {
        size_t capacity = turn->record_capacity == 0 ? 256 : turn->record_capacity * 2;
        struct daemon_record *grown = realloc(turn->records, capacity * sizeof *grown);
        if (grown == NULL) {
            return NULL;
        }
        turn->records = grown;
        turn->record_capacity = capacity;
    }
    return &turn->records[turn->record_count];
}

void daemon_fact(void *user, const struct gate_fact *fact) {
    struct daemon *daemon = user;
    struct daemon_turn *turn = &daemon->turn;
    struct daemon_record *record = record_new(turn);
    json_out_reset(&daemon->event);
    if (record == NULL || !fact_encode(fact, daemon->model, &daemon->event) ||
        !daemon_turn_text(turn, daemon->event.data, daemon->event.length, &record->data)) {
        turn->failed = true;
        return;
    }
    record->length = daemon->event.length;
    record->site = fact->site;
    record->type = fact->type;
    record->at = fact->at;
    record->subject = NULL;
    const char *subject = fact_subject(fact, daemon->model);
    if (subject != NULL && fact->site != MODEL_NONE) {
        const struct model_site *site = &daemon->model->sites[fact->site];
        uint32_t position = model_position_find(site, subject);
        record->subject = position != MODEL_NONE ? site->positions[position].position : NULL;
    }
    turn->record_count++;
    // What a restart will judge the gap by is written with what begins to rest on it.
    turn->heard_due |= fact->type == GATE_FACT_HOLD_BEGUN ||
                       fact->type == GATE_FACT_LOCKOUT_CONFIRMED ||
                       fact->type == GATE_FACT_WORK_STARTED;
    turn->broken |=
        fact->type == GATE_FACT_LOCKOUT_BROKEN ||
        (fact->type == GATE_FACT_ALARM_RAISED && fact->kind == GATE_ALARM_LOCKOUT_BROKEN);
}

static void message_free(struct daemon_message *message) {
    free(message->topic);
    free(message->payload);
    free(message->response_topic);
    free(message->correlation);
}

static void messages_forget(struct daemon_turn *turn) {
    for (size_t i = 0; i < turn->message_count; i++) {
        message_free(&turn->messages[i]);
    }
    turn->message_count = 0;
}

static void answers_forget(struct daemon_turn *turn) {
    for (size_t i = 0; i < turn->answer_count; i++) {
        free(turn->answers[i].topic);
        free(turn->answers[i].payload);
        free(turn->answers[i].correlation);
    }
    turn->answer_count = 0;
}

static void records_forget(struct daemon_turn *turn) {
    turn->record_count = 0;
    turn->remembered_count = 0;
    json_out_reset(&turn->text);
}

void daemon_turn_free(struct daemon_turn *turn) {
    messages_forget(turn);
    answers_forget(turn);
    free(turn->messages);
    free(turn->answers);
    free(turn->records);
    free(turn->remembered);
    json_out_free(&turn->text);
}

static void fatal(struct daemon *daemon, const char *why) {
    log_error("turn", "%s: ending without acknowledging; what was not committed is asked again",
              why);
    daemon->fatal = true;
    loop_stop(daemon->loop);
}

// The journal refused the turn, in which things may have been permitted. Nothing of it was told:
// the state is folded anew from what is on the disk, and what was asked is decided again with the
// journal down, so that what ends takes effect and what permits is refused.
static void decide_again(struct daemon *daemon) {
    struct daemon_turn *turn = &daemon->turn;
    answers_forget(turn);
    records_forget(turn);
    daemon->journal_up = false;
    log_error("turn", "the journal cannot be written: nothing is permitted until it can");
    if (!daemon_fold(daemon)) {
        fatal(daemon, "the journal cannot be read again");
        return;
    }
    for (size_t i = 0; i < turn->message_count; i++) {
        daemon_take(daemon, &turn->messages[i]);
    }
}

static void journal_down(struct daemon *daemon) {
    daemon->journal_up = false;
    log_error("turn", "the disk is full: only the space in reserve is left; nothing is permitted");
    gate_journal(daemon->gate, false, daemon_now(daemon));
}

static bool has_something(const struct daemon_turn *turn) {
    return turn->record_count > 0 || turn->remembered_count > 0 || turn->heard_due;
}

// Writes what the turn decided; *reserve: only with the last of the disk. False: it is not written,
// and the state that stands rests on nothing that permits, or the daemon is to end.
static bool write_turn(struct daemon *daemon, bool *reserve) {
    struct daemon_turn *turn = &daemon->turn;
    int64_t boot = loop_now(daemon->loop).boot_ms;
    *reserve = false;
    if (!has_something(turn)) {
        return true;
    }
    if (!daemon->journal_up && boot < daemon->write_after) {
        return false;
    }
    enum book_written written = book_write(daemon);
    turn->heard_due = false;
    daemon->write_after = boot + WRITE_AGAIN_MS;
    if (written == BOOK_WRITTEN || written == BOOK_WRITTEN_FROM_RESERVE) {
        daemon->next_seq += turn->record_count;
        *reserve = written == BOOK_WRITTEN_FROM_RESERVE && daemon->journal_up;
        return true;
    }
    if (written == BOOK_FATAL) {
        fatal(daemon, "the disk cannot be trusted");
    } else if (daemon->journal_up) {
        decide_again(daemon);
    }
    return false; // what ends was decided: it is told now and written when it can be
}

// Answers wait while the live connection is down (it may come up after the durable one).
static void publish_answers(struct daemon *daemon) {
    struct daemon_turn *turn = &daemon->turn;
    if (daemon->mqtt == NULL ||
        (!mqtt_up(daemon->mqtt, MQTT_LIVE) && turn->answer_count < ANSWERS_WAITING_MAX)) {
        return;
    }
    for (size_t i = 0; i < turn->answer_count; i++) {
        const struct daemon_answer *answer = &turn->answers[i];
        const struct mqtt_publication publication = {.topic = answer->topic,
                                                     .payload = answer->payload,
                                                     .length = answer->length,
                                                     .qos = 1,
                                                     .content_type = "application/json",
                                                     .correlation = answer->correlation,
                                                     .correlation_length =
                                                         answer->correlation_length};
        if (!mqtt_publish(daemon->mqtt, &publication)) {
            log_warn("turn", "answer_not_sent=%s (it stands; asked again, it is given again)",
                     answer->topic);
        }
    }
    answers_forget(turn);
}

static void set_deadline(struct daemon *daemon) {
    int64_t next = gate_deadline(daemon->gate);
    if (has_something(&daemon->turn)) {
        int64_t again = daemon_now(daemon).line + (daemon->journal_up ? 0 : WRITE_AGAIN_MS);
        next = again < next ? again : next;
    }
    if (next == INT64_MAX) {
        loop_timer_stop(daemon->deadline_timer);
        return;
    }
    int64_t delay = next - daemon_now(daemon).line;
    loop_timer_once(daemon->deadline_timer, delay > 0 ? delay : 0);
}

void daemon_turn_end(void *user) {
    struct daemon *daemon = user;
    struct daemon_turn *turn = &daemon->turn;
    if (daemon->fatal) {
        return;
    }
    if (turn->failed || daemon->gate->broken_memory) {
        fatal(daemon, "out of memory");
        return;
    }
    if (turn->broken) {
        turn->broken = false;
        daemon_publish_break(daemon);
    }
    bool reserve;
    bool written = write_turn(daemon, &reserve);
    if (daemon->fatal) {
        return;
    }
    uint64_t changes = daemon->gate->changes;
    bool idle = changes == daemon->seen_changes && daemon->all_told;
    if (!idle) {
        daemon_publish_all(daemon);
        daemon->all_told = daemon_all_told(daemon);
    }
    if (daemon->self_due && daemon->all_told) {
        daemon->self_due = false; // online is said once everything else is true
        daemon_publish_self(daemon);
    }
    if (written) {
        daemon_publish_events(daemon);
        records_forget(turn);
    }
    publish_answers(daemon);
    messages_forget(turn);
    if (turn->durable && daemon->mqtt != NULL) {
        turn->durable = false;
        mqtt_acknowledge(daemon->mqtt);
    }
    if (reserve) {
        journal_down(daemon);
    }
    daemon->seen_changes = changes;
    if (!idle || has_something(turn)) {
        set_deadline(daemon);
    }
}
