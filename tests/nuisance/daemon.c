// The daemon: a turn, its journal in memory, a disk that takes its time, and what it publishes.
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "day.h"
#include "wire/fact_codec.h"

// The daemon's monotonic time is not the day's: nothing may lean on where it begins.
#define MONO_AHEAD 3600000

struct row {
    uint32_t site;
    enum gate_fact_type type;
    struct gate_time at;
    char *data;
};

struct kept_request {
    struct turn_remembered entry;
    char *answer;
};

static struct {
    struct row *rows;
    size_t count, capacity;
    struct kept_request *requests;
    size_t request_count, request_capacity;
    struct turn_last_heard heard[64];
    size_t heard_count;
    struct gate_time kept; // of the last commit
    int64_t newest;
    const struct turn_commit *pending;
    int64_t wakes; // when turn_tick is to be called; -1: not
    unsigned starts;
    bool stopped;
} disk;

static void *grow(void *array, size_t count, size_t *capacity, size_t size) {
    if (count < *capacity) {
        return array;
    }
    *capacity = *capacity == 0 ? 1024 : 2 * *capacity;
    array = realloc(array, *capacity * size);
    if (array == NULL) {
        day_end_with("out of memory");
    }
    return array;
}

// --- The loop ---

static struct base_time now(void *user) {
    const struct day *day = user;
    return (struct base_time){.wall_ms = day_wall(day) + day->ours,
                              .mono_ms = day->now + MONO_AHEAD};
}

static void tick(struct day *day, int64_t number) {
    if (day->turn != NULL && disk.wakes == number) {
        disk.wakes = -1;
        turn_tick(day->turn);
    }
}

static void wake(void *user, int64_t delay_ms) {
    struct day *day = user;
    disk.wakes = delay_ms >= 0 ? day->now + delay_ms : -1;
    if (delay_ms >= 0) {
        day_later(day, delay_ms, tick, disk.wakes);
    }
}

static void stop(void *user) {
    (void)user;
    day_end_with("the daemon says that it cannot go on");
}

static void notice(void *user, enum turn_notice notice, const char *about) {
    char text[300];
    snprintf(text, sizeof text, "notices of kind %d: %s", (int)notice, about);
    books_count(user, text);
}

// --- The journal ---

static void keep(struct day *day, const struct turn_commit *commit) {
    const struct turn_batch *batch = &commit->batch;
    for (size_t i = 0; i < batch->record_count; i++) {
        const struct turn_record *record = &batch->records[i];
        disk.rows = grow(disk.rows, disk.count, &disk.capacity, sizeof *disk.rows);
        struct row *row = &disk.rows[disk.count++];
        *row = (struct row){record->site, record->type, record->at,
                            strndup(batch->text.data + record->data, record->length)};
        books_fact(day, row->type, row->data);
    }
    for (size_t i = 0; i < batch->remembered_count; i++) {
        const struct turn_remembered *entry = &batch->remembered[i];
        disk.requests =
            grow(disk.requests, disk.request_count, &disk.request_capacity, sizeof *disk.requests);
        disk.requests[disk.request_count++] =
            (struct kept_request){*entry, strndup(batch->text.data + entry->answer, entry->length)};
    }
    if (commit->heard_count > 0) { // else what was written before stands
        disk.heard_count = commit->heard_count < 64 ? commit->heard_count : 64;
    }
    for (size_t i = 0; i < commit->heard_count && i < 64; i++) {
        disk.heard[i] = commit->heard[i];
    }
    disk.kept = commit->at;
    disk.newest = commit->newest;
}

static void written(struct day *day) {
    const struct turn_commit *commit = disk.pending;
    disk.pending = NULL;
    keep(day, commit);
    turn_committed(day->turn, TURN_WRITTEN, "");
}

static void write_over(struct day *day, int64_t number) {
    if (day->turn != NULL && disk.pending != NULL && disk.count == (size_t)number) {
        written(day);
    }
}

static void write(void *user, const struct turn_commit *commit) {
    struct day *day = user;
    disk.pending = commit;
    int64_t ms = day_chance(day, 100) ? day_between(day, 50, 400) : day_between(day, 1, 25);
    day_later(day, ms, write_over, (int64_t)disk.count);
}

static void wait_for(void *user) {
    if (disk.pending != NULL) {
        written(user);
    }
}

static bool recover(void *user, int64_t *need, int64_t *found) {
    (void)user;
    *need = *found = 0;
    return true;
}

static enum turn_found find_request(void *user, uint32_t site, const char *person, const char *id,
                                    struct turn_answered *found) {
    (void)user;
    for (size_t i = disk.request_count; i-- > 0;) {
        const struct turn_remembered *entry = &disk.requests[i].entry;
        if (entry->site == site && strcmp(entry->person, person) == 0 &&
            strcmp(entry->id, id) == 0) {
            snprintf(found->verb, sizeof found->verb, "%s", entry->verb);
            memcpy(found->body, entry->body, sizeof found->body);
            found->answer = disk.requests[i].answer;
            found->length = strlen(found->answer);
            return TURN_FOUND;
        }
    }
    return TURN_NOT_FOUND;
}

static bool digest(void *user, const char *text, size_t length, uint8_t into[32]) {
    uint64_t hash = wire_hash(text, length);
    (void)user;
    memset(into, 0, 32);
    memcpy(into, &hash, sizeof hash);
    return true;
}

static bool fold(void *user, struct gate *gate, struct turn_journal_end *end) {
    struct wire_fact_arena arena = {0};
    struct json_tape tape = {0};
    bool good = true;
    (void)user;
    for (size_t i = 0; good && i < disk.count; i++) {
        const struct row *row = &disk.rows[i];
        struct json_error error;
        struct gate_fact fact;
        char what[256];
        wire_fact_arena_reset(&arena);
        good = json_scan(&tape, row->data, strlen(row->data), &json_config_limits, &error) &&
               wire_fact_decode(&tape, json_root(&tape), row->type, row->site, row->at, &arena,
                                &fact) &&
               gate_apply(gate, &fact, what, sizeof what);
    }
    end->kept = disk.kept;
    end->newest_wall = disk.newest;
    end->last = end->published = disk.count;
    wire_fact_arena_free(&arena);
    json_tape_free(&tape);
    return good;
}

static bool fold_heard(void *user, struct gate *gate, struct gate_time at) {
    const struct day *day = user;
    for (size_t i = 0; i < disk.heard_count; i++) {
        const struct turn_last_heard *heard = &disk.heard[i];
        uint32_t point = model_point_find(&day->model->sites[heard->site], heard->point);
        gate_heard_before(gate, heard->site, point, heard->heard, at);
    }
    return true;
}

static void each_record(void *user, uint64_t from,
                        bool (*each)(void *each_user, const struct wire_record *record),
                        void *each_user) {
    const struct day *day = user;
    for (size_t i = (size_t)from - 1; i < disk.count; i++) {
        const struct row *row = &disk.rows[i];
        const struct wire_record record = {
            .seq = i + 1,
            .at = row->at.wall,
            .site = row->site != MODEL_NONE ? day->model->sites[row->site].site : NULL,
            .type = gate_fact_name(row->type),
            .data = row->data,
            .data_length = strlen(row->data)};
        if (!each(each_user, &record)) {
            return;
        }
    }
}

// --- The broker, HTTP and webhooks ---

static void nothing(void *user) {
    (void)user;
}

static bool is_up(void *user) {
    return network_is_up(user, DAY_LIVE);
}

static bool publish(void *user, const struct turn_publication *publication) {
    books_count(user, publication->retain ? "documents published" : "events published");
    return network_is_up(user, DAY_LIVE);
}

static bool say(void *user, enum gate_connection which, const char *topic, const char *payload,
                size_t length, bool kept) {
    char text[128];
    (void)kept;
    snprintf(text, sizeof text, "%.*s", (int)length, payload);
    return network_say(user, which == GATE_LIVE ? DAY_LIVE : DAY_DURABLE, topic, text);
}

static size_t room(void *user) {
    (void)user;
    return SIZE_MAX;
}

static uint64_t oldest(void *user) {
    (void)user;
    return 0;
}

static bool survey(void *user) {
    (void)user;
    return false;
}

static bool gave_up(void *user, uint64_t ticket) {
    (void)user;
    (void)ticket;
    return false;
}

static void answer(void *user, uint64_t ticket, int status, const char *json, size_t length) {
    char *text = strndup(json, length);
    (void)status;
    if (text == NULL) {
        day_end_with("out of memory");
    }
    crews_answered(user, (unsigned)(ticket - 1), text);
    free(text);
}

static void stream_event(void *user, uint32_t site, const struct wire_record *record) {
    (void)user;
    (void)site;
    (void)record;
}

static void stream_alarm(void *user, uint32_t site, const char *json, size_t length) {
    (void)user;
    (void)site;
    (void)json;
    (void)length;
}

static bool no(void *user) {
    (void)user;
    return false;
}

static void notes_over(void *user, bool was_written, uint64_t last) {
    (void)user;
    (void)was_written;
    (void)last;
}

static const struct turn_operations operations = {
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
    .read = nothing,
    .is_up = is_up,
    .say = say,
    .publish = publish,
    .room = room,
    .oldest = oldest,
    .flush = nothing,
    .acknowledge = nothing,
    .survey = survey,
    .gave_up = gave_up,
    .answer = answer,
    .stream_event = stream_event,
    .stream_alarm = stream_alarm,
    .settled = nothing,
    .notes_due = no,
    .notes_take = no,
    .notes_over = notes_over,
};

// --- Its life ---

static void second(struct day *day, int64_t number) {
    if (day->turn != NULL) {
        turn_second(day->turn);
    }
    day_later(day, 1000, second, number);
}

static void minute(struct day *day, int64_t number) {
    if (day->turn != NULL) {
        turn_minute(day->turn);
    }
    day_later(day, 60000, minute, number);
}

void daemon_new(struct day *day) {
    memset(&disk, 0, sizeof disk);
    disk.wakes = -1;
    day_later(day, 1000, second, 0);
    day_later(day, 60000, minute, 0);
}

void daemon_free(struct day *day) {
    if (day->turn != NULL) {
        daemon_stop(day);
    }
    for (size_t i = 0; i < disk.count; i++) {
        free(disk.rows[i].data);
    }
    for (size_t i = 0; i < disk.request_count; i++) {
        free(disk.requests[i].answer);
    }
    free(disk.rows);
    free(disk.requests);
}

void daemon_start(struct day *day) {
    struct turn_options options = {.model = day->model, .version = "test"};
    snprintf(options.boot, sizeof options.boot, "boot-%u", ++disk.starts);
    day->turn = turn_new(&options, &operations, day);
    if (day->turn == NULL || turn_open(day->turn, true) != TURN_FOLDED) {
        day_end_with("the daemon does not come up");
    }
    network_up(day);
}

void daemon_stop(struct day *day) {
    turn_finish(day->turn);
    network_lost(day);
    turn_free(day->turn);
    day->turn = NULL;
    disk.pending = NULL;
    disk.wakes = -1;
    books_outage(day, DAY_LIVE);
}

void daemon_turn_over(struct day *day) {
    if (day->turn != NULL) {
        turn_end(day->turn);
    }
}
