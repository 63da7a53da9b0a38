// The records of a site, as its facts come by: opened, followed, closed, handed out.
#include "report/records.h"

#include "base/array.h"
#include "report/builder.h"

#include <stdio.h>
#include <stdlib.h>

// Whether a position is in service, as of the facts so far.
struct report_service {
    bool in;
    bool unproved; // out since the journal began
    int64_t since, seq;
    enum model_cause cause;
};

bool report_records_begin(struct report_records *book) {
    size_t count = book->site->position_count;
    book->places = calloc(count + 1, sizeof *book->places);
    for (size_t i = 0; book->places != NULL && i < count; i++) {
        book->places[i] = (struct report_service){
            .unproved = true, .since = book->created, .cause = MODEL_CAUSE_UNKNOWN};
    }
    return book->places != NULL;
}

void report_records_free(struct report_records *book) {
    for (size_t i = 0; i < book->open_count; i++) {
        report_record_free(book->open[i]);
    }
    report_record_free(book->spare);
    free(book->open);
    free(book->places);
    json_tape_free(&book->tape);
}

// --- What a row is about ---

static const struct json_node *member(const struct report_records *book, const char *name) {
    return json_present(&book->tape, json_root(&book->tape), name);
}

static bool names(const struct report_records *book, const char *name, const char *text) {
    return text != NULL && json_equals(&book->tape, member(book, name), text);
}

static bool among_jobs(const struct report_records *book, const char *job) {
    const struct json_node *jobs = member(book, "jobs");
    for (const struct json_node *at = json_first(&book->tape, jobs); at != NULL;
         at = json_next(&book->tape, jobs, at)) {
        if (json_equals(&book->tape, at, job)) {
            return true;
        }
    }
    return false;
}

static bool of_required_point(const struct report_records *book,
                              const struct report_record *record) {
    const struct gate_fact *opened = record->opened;
    for (size_t i = 0; i < opened->evidence_count; i++) {
        if (names(book, "point", opened->evidence[i].point)) {
            return true;
        }
    }
    return false;
}

static bool of_alarm(const struct report_records *book, const struct report_record *record) {
    for (size_t i = 0; i < record->alarm_count; i++) {
        if (names(book, "alarm", record->alarms[i].alarm)) {
            return true;
        }
    }
    return record->ended == 0 && member(book, "job") == NULL &&
           ((member(book, "position") == NULL && member(book, "point") == NULL) ||
            names(book, "position", record->opened->position) || of_required_point(book, record));
}

// Whether a fact belongs to a record: it names the job, or touches what the job stands on.
static bool belongs(const struct report_records *book, const struct report_record *record,
                    enum gate_fact_type type) {
    const char *job = record->opened->job;
    if (names(book, "job", job) || among_jobs(book, job)) {
        return true;
    }
    switch (type) {
    case GATE_FACT_DAEMON_STARTED:
        return record->ended == 0;
    case GATE_FACT_POSITION_OUT_OF_SERVICE:
    case GATE_FACT_POSITION_RETURNED:
        return record->back_at == 0 && record->next_job == NULL &&
               names(book, "position", record->opened->position);
    case GATE_FACT_POINT_CHANGED:
    case GATE_FACT_POINT_WITNESSED:
    case GATE_FACT_TAG_HUNG:
    case GATE_FACT_TAG_LIFTED:
    case GATE_FACT_TAG_DISCOUNTED:
        return record->ended == 0 && of_required_point(book, record);
    case GATE_FACT_ALARM_RAISED:
    case GATE_FACT_ALARM_ACKNOWLEDGED:
    case GATE_FACT_ALARM_CLEARED:
        return of_alarm(book, record);
    default:
        return false;
    }
}

// --- Keeping ---

static bool fail(struct report_records *book, const struct report_row *row, const char *why) {
    snprintf(book->what, sizeof book->what, "fact %lld (%.60s): %s", (long long)row->seq, row->type,
             why);
    book->failed = true;
    return false;
}

// Facts that change nothing of what a table's line tells.
static bool is_detail(enum gate_fact_type type) {
    switch (type) {
    case GATE_FACT_POINT_CHANGED:
    case GATE_FACT_POINT_WITNESSED:
    case GATE_FACT_CREW_PROTECTED:
    case GATE_FACT_CREW_UNPROTECTED:
    case GATE_FACT_LOCKOUT_CONFIRMED:
    case GATE_FACT_HOLD_BEGUN:
    case GATE_FACT_DAEMON_STARTED:
        return true;
    default:
        return false;
    }
}

static void reach(struct report_record *record, const struct report_row *row) {
    record->last_seq = row->seq;
    memcpy(record->last_hash, row->hash, REPORT_HASH_SIZE);
}

static bool keep(struct report_records *book, struct report_record *record,
                 const struct report_row *row, enum gate_fact_type type) {
    reach(record, row);
    if (book->brief && is_detail(type)) {
        return true;
    }
    struct gate_fact *fact = fact_arena_array(&record->arena, 1, sizeof *fact);
    if (fact == NULL ||
        !BASE_ARRAY_ROOM(record->entries, record->entry_count, record->entry_capacity)) {
        return fail(book, row, "out of memory");
    }
    if (!fact_decode(&book->tape, json_root(&book->tape), type, REPORT_FOLD_SITE,
                     (struct gate_time){row->at_ms, row->elapsed_ms}, &record->arena, fact)) {
        return fail(book, row, "data that cannot be read");
    }
    struct report_entry *entry = &record->entries[record->entry_count++];
    *entry = (struct report_entry){row->seq, fact};
    record->opened = type == GATE_FACT_JOB_OPENED && record->opened == NULL ? fact : record->opened;
    return report_build(record, entry) ||
           fail(book, row, record->failed ? "out of memory" : "data that cannot be read");
}

static struct report_service *place_of(struct report_records *book, const char *position) {
    uint32_t index = position != NULL ? model_position_find(book->site, position) : MODEL_NONE;
    return index != MODEL_NONE ? &book->places[index] : NULL;
}

// --- Opening and closing ---

static struct report_record *new_record(struct report_records *book) {
    if (!BASE_ARRAY_ROOM(book->open, book->open_count, book->open_capacity)) {
        return NULL;
    }
    struct report_record *record = book->spare != NULL ? book->spare : calloc(1, sizeof *record);
    book->spare = NULL;
    if (record != NULL) {
        record->model = book->model;
        record->site = book->site;
        book->open[book->open_count++] = record;
    }
    return record;
}

static void already_out(struct report_record *record, const struct report_service *place) {
    if (!place->in) {
        record->out_from = place->since;
        record->out_seq = place->seq;
        record->out_cause = place->cause;
        record->out_unproved = place->unproved;
    }
}

static bool open_record(struct report_records *book, const struct report_row *row) {
    if (book->job != NULL ? !names(book, "job", book->job) : row->at_ms >= book->to) {
        return true;
    }
    struct report_record *record = new_record(book);
    if (record == NULL) {
        return fail(book, row, "out of memory");
    }
    record->first_seq = row->seq;
    if (!keep(book, record, row, GATE_FACT_JOB_OPENED)) {
        return false;
    }
    uint32_t index = record->opened->position != NULL
                         ? model_position_find(book->site, record->opened->position)
                         : MODEL_NONE;
    if (index != MODEL_NONE) {
        record->position = &book->site->positions[index];
        already_out(record, &book->places[index]);
    }
    return true;
}

static bool in_period(const struct report_records *book, const struct report_record *record) {
    return book->job != NULL || record->ended == 0 || record->ended >= book->from;
}

static bool hand_out(struct report_records *book, const struct report_record *record) {
    if (in_period(book, record) && !book->hook(book->user, record)) {
        book->ended = true;
    }
    return !book->ended;
}

static bool still_holds(const struct report_record *record) {
    for (size_t i = 0; i < record->alarm_count; i++) {
        const struct report_alarm *alarm = &record->alarms[i];
        if (alarm->kind == MODEL_ALARM_LOCKOUT_BROKEN && !alarm->gone) {
            return true;
        }
    }
    for (size_t i = 0; i < record->tag_count; i++) {
        if (record->tags[i].own && record->tags[i].lifted == 0) {
            return true;
        }
    }
    return record->ended == 0 || (record->back_at == 0 && record->next_job == NULL);
}

static bool close_record(struct report_records *book, size_t index) {
    struct report_record *record = book->open[index];
    memmove(&book->open[index], &book->open[index + 1],
            (book->open_count - index - 1) * sizeof(struct report_record *));
    book->open_count--;
    record->closed = true;
    bool more = hand_out(book, record);
    if (book->spare == NULL) {
        report_record_clear(record);
        book->spare = record;
    } else {
        report_record_free(record);
    }
    return more && book->job == NULL;
}

// --- Rows ---

static void service(struct report_records *book, struct report_record *record,
                    const struct report_row *row, enum gate_fact_type type) {
    if (!report_is(record->opened->position, row->subject)) {
        return;
    }
    if (type == GATE_FACT_POSITION_RETURNED) {
        record->back_at = record->ended != 0 && record->back_at == 0 ? row->at_ms : record->back_at;
        record->back_seq =
            record->back_at != 0 && record->back_seq == 0 ? row->seq : record->back_seq;
    } else if (record->ended == 0 && record->out_from == 0) {
        already_out(record, place_of(book, row->subject));
    }
}

// The position's own state, which goes on whether a job stands or not.
static void follow_place(struct report_records *book, const struct report_row *row,
                         enum gate_fact_type type) {
    struct report_service *place = place_of(book, row->subject);
    if (place == NULL) {
        return;
    }
    bool in = type == GATE_FACT_POSITION_RETURNED;
    if (in || place->in) {
        *place = (struct report_service){.in = in, .since = row->at_ms, .seq = row->seq};
    }
    for (int cause = MODEL_CAUSE_NONE + 1; !in && cause < MODEL_CAUSE_COUNT; cause++) {
        if (names(book, "cause", model_cause_name((enum model_cause)cause))) {
            place->cause = (enum model_cause)cause;
        }
    }
}

// Another job on the position of one that has ended: the position did not come back in between.
static void displace(struct report_records *book) {
    for (size_t i = 0; i < book->open_count; i++) {
        struct report_record *record = book->open[i];
        char job[MODEL_ID_SIZE];
        if (record->ended != 0 && record->back_at == 0 && record->next_job == NULL &&
            names(book, "position", record->opened->position) &&
            json_copy(&book->tape, member(book, "job"), job, sizeof job)) {
            char *kept = fact_arena_alloc(&record->arena, sizeof job);
            record->failed |= kept == NULL;
            record->next_job = kept != NULL ? memcpy(kept, job, sizeof job) : NULL;
        }
    }
}

static bool give(struct report_records *book, const struct report_row *row,
                 enum gate_fact_type type) {
    bool about_service =
        type == GATE_FACT_POSITION_OUT_OF_SERVICE || type == GATE_FACT_POSITION_RETURNED;
    if (about_service) {
        follow_place(book, row, type);
    }
    for (size_t i = 0; i < book->open_count; i++) {
        struct report_record *record = book->open[i];
        if (!belongs(book, record, type) || type == GATE_FACT_JOB_OPENED) {
            continue;
        }
        if (!keep(book, record, row, type)) {
            return false;
        }
        if (about_service) {
            service(book, record, row, type);
        }
    }
    return true;
}

static bool close_those(struct report_records *book) {
    for (size_t i = 0; i < book->open_count;) {
        if (still_holds(book->open[i])) {
            i++;
        } else if (!close_record(book, i)) {
            return false;
        }
    }
    return true;
}

bool report_records_take(struct report_records *book, const struct report_row *row) {
    int type = gate_fact_of(row->type);
    bool opening = type == GATE_FACT_JOB_OPENED;
    bool idle = book->open_count == 0 && !opening && type != GATE_FACT_POSITION_OUT_OF_SERVICE &&
                type != GATE_FACT_POSITION_RETURNED;
    if (book->failed || book->ended) {
        return false;
    }
    if (type < 0) {
        return fail(book, row, "a type that this version does not know");
    }
    if (idle) {
        return true;
    }
    if (!json_scan(&book->tape, row->data, row->data_length, &json_config_limits, NULL)) {
        return fail(book, row, "data that cannot be read");
    }
    if (!give(book, row, (enum gate_fact_type)type)) {
        return false;
    }
    if (opening) {
        displace(book);
    }
    return close_those(book) && (!opening || open_record(book, row));
}

bool report_records_end(struct report_records *book) {
    for (size_t i = 0; i < book->open_count && !book->failed && !book->ended; i++) {
        hand_out(book, book->open[i]);
    }
    return !book->failed;
}
