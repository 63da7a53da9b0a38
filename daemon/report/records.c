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

bool report_records_begin(struct report_records *records) {
    size_t count = records->site->position_count;
    records->places = calloc(count + 1, sizeof *records->places);
    for (size_t i = 0; records->places != NULL && i < count; i++) {
        records->places[i] = (struct report_service){
            .unproved = true, .since = records->created, .cause = MODEL_CAUSE_UNKNOWN};
    }
    return records->places != NULL;
}

void report_records_free(struct report_records *records) {
    for (size_t i = 0; i < records->open_count; i++) {
        report_record_free(records->open[i]);
    }
    report_record_free(records->spare);
    free(records->open);
    free(records->places);
    json_tape_free(&records->tape);
}

// --- What a row is about ---

static const struct json_node *member(const struct report_records *records, const char *name) {
    return json_present(&records->tape, json_root(&records->tape), name);
}

static bool names(const struct report_records *records, const char *name, const char *text) {
    return text != NULL && json_equals(&records->tape, member(records, name), text);
}

static bool among_jobs(const struct report_records *records, const char *job) {
    const struct json_node *jobs = member(records, "jobs");
    for (const struct json_node *at = json_first(&records->tape, jobs); at != NULL;
         at = json_next(&records->tape, jobs, at)) {
        if (json_equals(&records->tape, at, job)) {
            return true;
        }
    }
    return false;
}

static bool of_required_point(const struct report_records *records,
                              const struct report_record *record) {
    const struct gate_fact *opened = record->opened;
    for (size_t i = 0; i < opened->evidence_count; i++) {
        if (names(records, "point", opened->evidence[i].point)) {
            return true;
        }
    }
    return false;
}

static bool of_alarm(const struct report_records *records, const struct report_record *record) {
    for (size_t i = 0; i < record->alarm_count; i++) {
        if (names(records, "alarm", record->alarms[i].alarm)) {
            return true;
        }
    }
    return record->ended == 0 && member(records, "job") == NULL &&
           ((member(records, "position") == NULL && member(records, "point") == NULL) ||
            names(records, "position", record->opened->position) ||
            of_required_point(records, record));
}

// Whether a fact belongs to a record: it names the job, or touches what the job stands on.
static bool belongs(const struct report_records *records, const struct report_record *record,
                    enum gate_fact_type type) {
    const char *job = record->opened->job;
    if (names(records, "job", job) || among_jobs(records, job)) {
        return true;
    }
    switch (type) {
    case GATE_FACT_DAEMON_STARTED:
        return record->ended == 0;
    case GATE_FACT_POSITION_OUT_OF_SERVICE:
    case GATE_FACT_POSITION_RETURNED:
        return record->back_at == 0 && record->next_job == NULL &&
               names(records, "position", record->opened->position);
    case GATE_FACT_POINT_CHANGED:
    case GATE_FACT_POINT_WITNESSED:
    case GATE_FACT_SENSOR_DISTRUSTED:
    case GATE_FACT_SENSOR_TRUSTED:
    case GATE_FACT_TAG_HUNG:
    case GATE_FACT_TAG_LIFTED:
    case GATE_FACT_TAG_DISCOUNTED:
        return record->ended == 0 && of_required_point(records, record);
    case GATE_FACT_ALARM_RAISED:
    case GATE_FACT_ALARM_ACKNOWLEDGED:
    case GATE_FACT_ALARM_CLEARED:
        return of_alarm(records, record);
    default:
        return false;
    }
}

// --- Keeping ---

static bool fail(struct report_records *records, const struct report_row *row, const char *why) {
    snprintf(records->what, sizeof records->what, "fact %lld (%.60s): %s", (long long)row->seq,
             row->type, why);
    records->failed = true;
    return false;
}

// Facts that change nothing of what a table's line tells.
static bool is_detail(enum gate_fact_type type) {
    switch (type) {
    case GATE_FACT_POINT_CHANGED:
    case GATE_FACT_POINT_WITNESSED:
    case GATE_FACT_SENSOR_DISTRUSTED:
    case GATE_FACT_SENSOR_TRUSTED:
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

static bool keep(struct report_records *records, struct report_record *record,
                 const struct report_row *row, enum gate_fact_type type) {
    reach(record, row);
    if (records->brief && is_detail(type)) {
        return true;
    }
    struct gate_fact *fact = wire_fact_arena_array(&record->arena, 1, sizeof *fact);
    if (fact == NULL ||
        !BASE_ARRAY_ROOM(record->entries, record->entry_count, record->entry_capacity)) {
        return fail(records, row, "out of memory");
    }
    if (!wire_fact_decode(&records->tape, json_root(&records->tape), type, REPORT_FOLD_SITE,
                          (struct gate_time){row->at_ms, row->mono_ms}, &record->arena, fact)) {
        return fail(records, row, "data that cannot be read");
    }
    struct report_entry *entry = &record->entries[record->entry_count++];
    *entry = (struct report_entry){.seq = row->seq, .fact = fact};
    record->opened = type == GATE_FACT_JOB_OPENED && record->opened == NULL ? fact : record->opened;
    return report_build(record, entry) ||
           fail(records, row, record->failed ? "out of memory" : "data that cannot be read");
}

static struct report_service *place_of(struct report_records *records, const char *position) {
    uint32_t index = position != NULL ? model_position_find(records->site, position) : MODEL_NONE;
    return index != MODEL_NONE ? &records->places[index] : NULL;
}

// --- Opening and closing ---

static struct report_record *new_record(struct report_records *records) {
    if (!BASE_ARRAY_ROOM(records->open, records->open_count, records->open_capacity)) {
        return NULL;
    }
    struct report_record *record =
        records->spare != NULL ? records->spare : calloc(1, sizeof *record);
    records->spare = NULL;
    if (record != NULL) {
        record->model = records->model;
        record->site = records->site;
        records->open[records->open_count++] = record;
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

static bool open_record(struct report_records *records, const struct report_row *row) {
    if (records->job != NULL ? !names(records, "job", records->job) : row->at_ms >= records->to) {
        return true;
    }
    struct report_record *record = new_record(records);
    if (record == NULL) {
        return fail(records, row, "out of memory");
    }
    record->first_seq = row->seq;
    if (!keep(records, record, row, GATE_FACT_JOB_OPENED)) {
        return false;
    }
    uint32_t index = record->opened->position != NULL
                         ? model_position_find(records->site, record->opened->position)
                         : MODEL_NONE;
    if (index != MODEL_NONE) {
        record->position = &records->site->positions[index];
        already_out(record, &records->places[index]);
    }
    return true;
}

static bool in_period(const struct report_records *records, const struct report_record *record) {
    return records->job != NULL || record->ended == 0 || record->ended >= records->from;
}

static bool hand_out(struct report_records *records, const struct report_record *record) {
    if (in_period(records, record) && !records->hook(records->user, record)) {
        records->ended = true;
    }
    return !records->ended;
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

static bool close_record(struct report_records *records, size_t index) {
    struct report_record *record = records->open[index];
    memmove(&records->open[index], &records->open[index + 1],
            (records->open_count - index - 1) * sizeof(struct report_record *));
    records->open_count--;
    record->closed = true;
    bool more = hand_out(records, record);
    if (records->spare == NULL) {
        report_record_clear(record);
        records->spare = record;
    } else {
        report_record_free(record);
    }
    return more && records->job == NULL;
}

// --- Rows ---

static void service(struct report_records *records, struct report_record *record,
                    const struct report_row *row, enum gate_fact_type type) {
    if (!report_is(record->opened->position, row->subject)) {
        return;
    }
    if (type == GATE_FACT_POSITION_RETURNED) {
        record->back_at = record->ended != 0 && record->back_at == 0 ? row->at_ms : record->back_at;
        record->back_seq =
            record->back_at != 0 && record->back_seq == 0 ? row->seq : record->back_seq;
    } else if (record->ended == 0 && record->out_from == 0) {
        already_out(record, place_of(records, row->subject));
    }
}

// The position's own state, which goes on whether a job stands or not.
static void follow_place(struct report_records *records, const struct report_row *row,
                         enum gate_fact_type type) {
    struct report_service *place = place_of(records, row->subject);
    if (place == NULL) {
        return;
    }
    bool in = type == GATE_FACT_POSITION_RETURNED;
    if (in || place->in) {
        *place = (struct report_service){.in = in, .since = row->at_ms, .seq = row->seq};
    }
    for (int cause = MODEL_CAUSE_NONE + 1; !in && cause < MODEL_CAUSE_COUNT; cause++) {
        if (names(records, "cause", model_cause_name((enum model_cause)cause))) {
            place->cause = (enum model_cause)cause;
        }
    }
}

// Another job on the position of one that has ended: the position did not come back in between.
static void displace(struct report_records *records) {
    for (size_t i = 0; i < records->open_count; i++) {
        struct report_record *record = records->open[i];
        char job[MODEL_ID_SIZE];
        if (record->ended != 0 && record->back_at == 0 && record->next_job == NULL &&
            names(records, "position", record->opened->position) &&
            json_copy(&records->tape, member(records, "job"), job, sizeof job)) {
            char *kept = wire_fact_arena_alloc(&record->arena, sizeof job);
            record->failed |= kept == NULL;
            record->next_job = kept != NULL ? memcpy(kept, job, sizeof job) : NULL;
        }
    }
}

static bool give(struct report_records *records, const struct report_row *row,
                 enum gate_fact_type type) {
    bool about_service =
        type == GATE_FACT_POSITION_OUT_OF_SERVICE || type == GATE_FACT_POSITION_RETURNED;
    if (about_service) {
        follow_place(records, row, type);
    }
    for (size_t i = 0; i < records->open_count; i++) {
        struct report_record *record = records->open[i];
        if (!belongs(records, record, type) || type == GATE_FACT_JOB_OPENED) {
            continue;
        }
        if (!keep(records, record, row, type)) {
            return false;
        }
        if (about_service) {
            service(records, record, row, type);
        }
    }
    return true;
}

static bool close_those(struct report_records *records) {
    for (size_t i = 0; i < records->open_count;) {
        if (still_holds(records->open[i])) {
            i++;
        } else if (!close_record(records, i)) {
            return false;
        }
    }
    return true;
}

bool report_records_take(struct report_records *records, const struct report_row *row) {
    int type = gate_fact_of(row->type);
    bool opening = type == GATE_FACT_JOB_OPENED;
    bool idle = records->open_count == 0 && !opening && type != GATE_FACT_POSITION_OUT_OF_SERVICE &&
                type != GATE_FACT_POSITION_RETURNED;
    if (records->failed || records->ended) {
        return false;
    }
    if (type < 0) {
        return fail(records, row, "a type that this version does not know");
    }
    if (idle) {
        return true;
    }
    if (!json_scan(&records->tape, row->data, row->data_length, &json_config_limits, NULL)) {
        return fail(records, row, "data that cannot be read");
    }
    if (!give(records, row, (enum gate_fact_type)type)) {
        return false;
    }
    if (opening) {
        displace(records);
    }
    return close_those(records) && (!opening || open_record(records, row));
}

bool report_records_end(struct report_records *records) {
    for (size_t i = 0; i < records->open_count && !records->failed && !records->ended; i++) {
        hand_out(records, records->open[i]);
    }
    return !records->failed;
}
