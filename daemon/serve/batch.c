// What one transaction writes: facts as they are told, requests with their answers.
#include "serve/daemon.h"

#include <stdlib.h>
#include <string.h>

bool daemon_batch_text(struct daemon_batch *batch, const char *text, size_t length, size_t *at) {
    *at = batch->text.length;
    batch->text.comma = false; // texts beside each other, not one value
    json_out_raw(&batch->text, text, length);
    return !batch->text.failed;
}

// Room for count elements more of size bytes; NULL: no memory, and the array is as it was.
static void *grown(void *items, size_t count, size_t more, size_t *capacity, size_t size) {
    size_t wanted = *capacity == 0 ? 64 : *capacity;
    while (wanted < count + more) {
        wanted *= 2;
    }
    if (wanted == *capacity) {
        return items;
    }
    void *now = realloc(items, wanted * size);
    if (now != NULL) {
        *capacity = wanted;
    }
    return now;
}

static bool records_reserve(struct daemon_batch *batch, size_t more) {
    struct daemon_record *records =
        grown(batch->records, batch->record_count, more, &batch->record_capacity, sizeof *records);
    batch->records = records != NULL ? records : batch->records;
    return records != NULL;
}

static bool remembered_reserve(struct daemon_batch *batch, size_t more) {
    struct daemon_remembered *remembered = grown(batch->remembered, batch->remembered_count, more,
                                                 &batch->remembered_capacity, sizeof *remembered);
    batch->remembered = remembered != NULL ? remembered : batch->remembered;
    return remembered != NULL;
}

struct daemon_remembered *daemon_batch_remember(struct daemon_batch *batch) {
    return remembered_reserve(batch, 1) ? &batch->remembered[batch->remembered_count++] : NULL;
}

bool daemon_batch_empty(const struct daemon_batch *batch) {
    return batch->record_count == 0 && batch->remembered_count == 0;
}

void daemon_batch_forget(struct daemon_batch *batch) {
    batch->record_count = batch->remembered_count = 0;
    json_out_reset(&batch->text);
}

void daemon_batch_free(struct daemon_batch *batch) {
    free(batch->records);
    free(batch->remembered);
    json_out_free(&batch->text);
}

static bool absorb_behind(struct daemon_batch *to, const struct daemon_batch *from) {
    size_t base;
    if (!records_reserve(to, from->record_count) ||
        !remembered_reserve(to, from->remembered_count) ||
        !daemon_batch_text(to, from->text.data, from->text.length, &base)) {
        return false;
    }
    for (size_t i = 0; i < from->record_count; i++) {
        to->records[to->record_count] = from->records[i];
        to->records[to->record_count++].data += base;
    }
    for (size_t i = 0; i < from->remembered_count; i++) {
        to->remembered[to->remembered_count] = from->remembered[i];
        to->remembered[to->remembered_count++].answer += base;
    }
    return true;
}

bool daemon_batch_absorb(struct daemon_batch *to, struct daemon_batch *from) {
    if (daemon_batch_empty(from)) {
        return true;
    }
    if (daemon_batch_empty(to)) {
        struct daemon_batch swap = *to;
        *to = *from;
        *from = swap;
    } else if (!absorb_behind(to, from)) {
        return false;
    }
    daemon_batch_forget(from);
    return true;
}

static void note_break(struct daemon_turn *turn, const struct gate_fact *fact) {
    if (turn->break_count == turn->break_capacity) {
        size_t capacity = turn->break_capacity == 0 ? 16 : turn->break_capacity * 2;
        struct daemon_break *breaks = realloc(turn->breaks, capacity * sizeof *breaks);
        if (breaks == NULL) {
            turn->failed = true;
            return;
        }
        turn->breaks = breaks;
        turn->break_capacity = capacity;
    }
    struct daemon_break *entry = &turn->breaks[turn->break_count++];
    entry->site = fact->site;
    snprintf(entry->job, sizeof entry->job, "%s", fact->job);
}

// The position as the model has it, which outlives the fact.
static const char *lasting_subject(const struct daemon *daemon, const struct gate_fact *fact) {
    const char *subject = fact_subject(fact, daemon->model);
    if (subject == NULL || fact->site == MODEL_NONE) {
        return NULL;
    }
    const struct model_site *site = &daemon->model->sites[fact->site];
    uint32_t position = model_position_find(site, subject);
    return position != MODEL_NONE ? site->positions[position].position : NULL;
}

void daemon_fact(void *user, const struct gate_fact *fact) {
    struct daemon *daemon = user;
    struct daemon_turn *turn = &daemon->turn;
    struct daemon_batch *batch = &turn->batch;
    size_t at = 0;
    json_out_reset(&daemon->event);
    if (!records_reserve(batch, 1) || !fact_encode(fact, daemon->model, &daemon->event) ||
        !daemon_batch_text(batch, daemon->event.data, daemon->event.length, &at)) {
        turn->failed = true;
        return;
    }
    batch->records[batch->record_count++] =
        (struct daemon_record){.site = fact->site,
                               .type = fact->type,
                               .at = fact->at,
                               .subject = lasting_subject(daemon, fact),
                               .data = at,
                               .length = daemon->event.length};
    // What a restart will judge the gap by is written with what begins to rest on it.
    turn->heard_due |= fact->type == GATE_FACT_HOLD_BEGUN ||
                       fact->type == GATE_FACT_LOCKOUT_CONFIRMED ||
                       fact->type == GATE_FACT_WORK_STARTED;
    if (fact->type == GATE_FACT_LOCKOUT_BROKEN) {
        note_break(turn, fact);
    }
}
