// The world of a rig: a journal in memory, a broker and an HTTP API that write down what they get.
#include "rig_operations.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "rig.h"
#include "wire/fact_codec.h"

static void line(struct rig *rig, const char *payload, size_t length, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

static void line(struct rig *rig, const char *payload, size_t length, const char *format, ...) {
    assert_true(rig->line_count < RIG_LINES);
    struct rig_line *entry = &rig->lines[rig->line_count++];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(entry->text, sizeof entry->text, format, arguments);
    va_end(arguments);
    entry->payload = payload != NULL ? strndup(payload, length) : NULL;
}

// --- The loop ---

static struct base_time now(void *user) {
    const struct rig *rig = user;
    return rig->clock;
}

static void wake(void *user, int64_t delay_ms) {
    struct rig *rig = user;
    rig->wake = delay_ms;
}

static void stop(void *user) {
    line(user, NULL, 0, "stop");
}

static void notice(void *user, enum turn_notice notice, const char *about) {
    line(user, about, strlen(about), "notice %d", (int)notice);
}

// --- The journal ---

static void write(void *user, const struct turn_commit *commit) {
    struct rig *rig = user;
    assert_null(rig->pending);
    rig->pending = commit;
    line(rig, NULL, 0, "write");
}

static void keep(struct rig *rig, const struct turn_commit *commit) {
    const struct turn_batch *batch = &commit->batch;
    for (size_t i = 0; i < batch->record_count; i++) {
        const struct turn_record *record = &batch->records[i];
        assert_true(rig->row_count < 512);
        rig->rows[rig->row_count++] =
            (struct rig_row){record->site, record->type, record->at,
                             strndup(batch->text.data + record->data, record->length)};
    }
    for (size_t i = 0; i < batch->remembered_count; i++) {
        const struct turn_remembered *entry = &batch->remembered[i];
        assert_true(rig->request_count < 64);
        rig->requests[rig->request_count++] =
            (struct rig_request){*entry, strndup(batch->text.data + entry->answer, entry->length)};
    }
    if (commit->heard_count > 0) { // else what was written before stands
        rig->heard_count = commit->heard_count;
    }
    for (size_t i = 0; i < commit->heard_count; i++) {
        rig->heard[i] = commit->heard[i];
    }
    rig->kept = commit->at;
    rig->newest = commit->newest;
    rig->published = commit->published;
}

void rig_commit(struct rig *rig, enum turn_outcome outcome) {
    const struct turn_commit *commit = rig->pending;
    assert_non_null(commit);
    rig->pending = NULL;
    if (outcome == TURN_WRITTEN || outcome == TURN_WRITTEN_FROM_RESERVE) {
        keep(rig, commit);
    }
    turn_committed(rig->turn, outcome, outcome == TURN_WRITTEN ? "" : "no room");
}

static void wait_for(void *user) {
    struct rig *rig = user;
    if (rig->pending != NULL) {
        rig_commit(rig, TURN_WRITTEN);
    }
}

static bool recover(void *user, int64_t *need, int64_t *found) {
    const struct rig *rig = user;
    *need = rig->has_room ? 0 : rig->need;
    *found = 1 << 20;
    return rig->has_room;
}

static enum turn_found find_request(void *user, uint32_t site, const char *person, const char *id,
                                    struct turn_answered *found) {
    struct rig *rig = user;
    assert_null(rig->pending); // the journal is the writer's
    for (size_t i = 0; i < rig->request_count && !rig->unsearchable; i++) {
        const struct turn_remembered *entry = &rig->requests[i].entry;
        if (entry->site == site && strcmp(entry->person, person) == 0 &&
            strcmp(entry->id, id) == 0) {
            snprintf(found->verb, sizeof found->verb, "%s", entry->verb);
            memcpy(found->body, entry->body, sizeof found->body);
            found->answer = rig->requests[i].answer;
            found->length = strlen(found->answer);
            return TURN_FOUND;
        }
    }
    return rig->unsearchable ? TURN_UNREADABLE : TURN_NOT_FOUND;
}

static bool digest(void *user, const char *text, size_t length, uint8_t into[32]) {
    uint64_t hash = wire_hash(text, length);
    (void)user;
    memset(into, 0, 32);
    memcpy(into, &hash, sizeof hash);
    return true;
}

static bool fold(void *user, struct gate *gate, struct turn_journal_end *end) {
    struct rig *rig = user;
    struct wire_fact_arena arena = {0};
    struct json_tape tape = {0};
    char what[256];
    for (size_t i = 0; i < rig->row_count && !rig->unreadable; i++) {
        const struct rig_row *row = &rig->rows[i];
        struct json_error error;
        struct gate_fact fact;
        wire_fact_arena_reset(&arena);
        assert_true(json_scan(&tape, row->data, strlen(row->data), &json_config_limits, &error));
        assert_true(wire_fact_decode(&tape, json_root(&tape), row->type, row->site, row->at, &arena,
                                     &fact));
        assert_true(gate_apply(gate, &fact, what, sizeof what));
    }
    end->kept = rig->kept;
    end->newest_wall = rig->newest;
    end->last = rig->row_count;
    end->published = (uint64_t)rig->published;
    wire_fact_arena_free(&arena);
    json_tape_free(&tape);
    return !rig->unreadable;
}

static bool fold_heard(void *user, struct gate *gate, struct gate_time at) {
    const struct rig *rig = user;
    for (size_t i = 0; i < rig->heard_count; i++) {
        const struct turn_last_heard *heard = &rig->heard[i];
        uint32_t point = model_point_find(&world_model()->sites[heard->site], heard->point);
        gate_heard_before(gate, heard->site, point, heard->heard, at);
    }
    return true;
}

static void each_record(void *user, uint64_t from,
                        bool (*each)(void *each_user, const struct wire_record *record),
                        void *each_user) {
    struct rig *rig = user;
    assert_null(rig->pending);
    for (size_t i = (size_t)from - 1; i < rig->row_count; i++) {
        const struct rig_row *row = &rig->rows[i];
        const struct wire_record record = {
            .seq = i + 1,
            .at = row->at.wall,
            .site = row->site != MODEL_NONE ? world_model()->sites[row->site].site : NULL,
            .type = gate_fact_name(row->type),
            .data = row->data,
            .data_length = strlen(row->data)};
        if (!each(each_user, &record)) {
            return;
        }
    }
}

// --- The broker ---

// What arrives when it is read for, comes in from inside.
static void read_what_arrived(void *user) {
    struct rig *rig = user;
    if (rig->arrives != NULL) {
        void (*arrives)(struct rig *) = rig->arrives;
        rig->arrives = NULL;
        arrives(rig);
    }
}

static bool say(void *user, enum gate_connection which, const char *topic, const char *payload,
                size_t length, bool kept) {
    struct rig *rig = user;
    if (rig->word_count < sizeof rig->words / sizeof rig->words[0]) {
        struct rig_word *word = &rig->words[rig->word_count++];
        word->which = which;
        snprintf(word->topic, sizeof word->topic, "%s", topic);
        snprintf(word->payload, sizeof word->payload, "%.*s", (int)length, payload);
    }
    line(rig, payload, length, "say%s %s", kept ? "-kept" : "", topic);
    return true;
}

static bool is_up(void *user) {
    const struct rig *rig = user;
    return rig->up;
}

static bool publish(void *user, const struct turn_publication *publication) {
    struct rig *rig = user;
    if (!rig->up || rig->deaf) {
        return false;
    }
    if (publication->number != 0) {
        line(rig, publication->payload, publication->length, "event %" PRIu64, publication->number);
    } else if (!publication->retain) {
        line(rig, publication->payload, publication->length, "reply %s", publication->topic);
    } else {
        line(rig, publication->payload, publication->length, "%s %s",
             publication->length == 0 ? "empty"
             : publication->urgent    ? "urgent"
                                      : "publish",
             publication->topic);
    }
    return true;
}

static size_t room(void *user) {
    const struct rig *rig = user;
    return rig->room;
}

static uint64_t oldest(void *user) {
    const struct rig *rig = user;
    return rig->oldest;
}

static void flush(void *user) {
    line(user, NULL, 0, "flush");
}

static void acknowledge(void *user) {
    line(user, NULL, 0, "acknowledge");
}

static bool survey(void *user) {
    const struct rig *rig = user;
    line(user, NULL, 0, "survey");
    return rig->surveys;
}

// --- HTTP and webhooks ---

static bool gave_up(void *user, uint64_t ticket) {
    const struct rig *rig = user;
    return ticket == rig->hung_up;
}

static void answer(void *user, uint64_t ticket, int status, const char *json, size_t length) {
    line(user, json, length, "answer %" PRIu64 " %d", ticket, status);
}

static void stream_event(void *user, uint32_t site, const struct wire_record *record) {
    (void)site;
    line(user, NULL, 0, "stream-event %" PRIu64, record->seq);
}

static void stream_alarm(void *user, uint32_t site, const char *json, size_t length) {
    (void)site;
    line(user, json, length, "stream-alarm");
}

static void settled(void *user) {
    line(user, NULL, 0, "settled");
}

static bool notes_due(void *user) {
    const struct rig *rig = user;
    return rig->notes_due;
}

static bool notes_take(void *user) {
    struct rig *rig = user;
    rig->notes_taken = rig->notes_due;
    rig->notes_due = false;
    return rig->notes_taken;
}

static void notes_over(void *user, bool written, uint64_t last) {
    struct rig *rig = user;
    rig->notes_over = written ? 1 : -1;
    if (written) {
        assert_int_equal(last, rig->row_count);
    }
}

const struct turn_operations rig_operations = {
    .now = now,
    .wake = wake,
    .stop = stop,
    .notice = notice,
    .write = write,
    .wait = wait_for,
    .recover = recover,
    .find_request = find_request,
    .digest = digest,
    .fold = fold,
    .fold_heard = fold_heard,
    .each_record = each_record,
    .read = read_what_arrived,
    .is_up = is_up,
    .say = say,
    .publish = publish,
    .room = room,
    .oldest = oldest,
    .flush = flush,
    .acknowledge = acknowledge,
    .survey = survey,
    .gave_up = gave_up,
    .answer = answer,
    .stream_event = stream_event,
    .stream_alarm = stream_alarm,
    .settled = settled,
    .notes_due = notes_due,
    .notes_take = notes_take,
    .notes_over = notes_over,
};
