// The whole record as JSON. Names, words and times are those of events and documents.
#include "report/record_json.h"
#include "report/builder.h"
#include "report/record.h"
#include "report/record_day.h"

#include "gate/verb.h"
#include "wire/fact_parts.h"
#include "wire/fact_refusal.h"

static const char *const cautions[] = {
    "Forelock only refuses and reports. It switches nothing, replaces no lock, no tag and no "
    "meter, "
    "and is no safety-rated function.",
    "This record tells what the daemon was told and what it decided. Persons, credentials and "
    "calibration days are as configured when it was made.",
    "Local codes and the authority having jurisdiction come first; the work is for qualified, "
    "licensed persons. Keep this record as long as the rules of the place ask (40 CFR 63.11125: 5 "
    "years).",
};

const char *report_caution(size_t index) {
    return index < sizeof cautions / sizeof cautions[0] ? cautions[index] : NULL;
}

// --- The head ---

static void about_place(struct json_out *out, const struct report_record *record) {
    const struct model_position *position = record->position;
    wire_text(out, "site", record->site->site);
    wire_text(out, "title", record->site->title);
    wire_texts(out, "titles", record->site->titles);
    wire_text(out, "time_zone", record->site->time_zone);
    wire_text(out, "position", record->opened->position);
    wire_text(out, "position_title", position != NULL ? position->title : NULL);
    wire_texts(out, "position_titles", position != NULL ? position->titles : NULL);
    wire_text(out, "dispenser", position != NULL ? position->dispenser : NULL);
    wire_list(out, "products");
    for (uint32_t i = 0; position != NULL && i < position->product_count; i++) {
        json_out_string(out, position->products[i]);
    }
    json_out_array_end(out);
    wire_text(out, "nozzle_family", position != NULL ? position->nozzle_family : NULL);
}

static void about_rules(struct json_out *out, const struct report_record *record) {
    const struct model_requirements *needs = record->opened->requirements;
    const char *district =
        needs != NULL && needs->district != NULL ? needs->district : record->site->district;
    wire_text(out, "district", district);
    wire_text(out, "effective", needs != NULL ? needs->effective : NULL);
    wire_text(out, "procedure", record->opened->procedure);
    wire_text(out, "procedure_title", needs != NULL ? needs->title : NULL);
    wire_texts(out, "procedure_titles", needs != NULL ? needs->titles : NULL);
    wire_list(out, "credentials");
    for (size_t i = 0; needs != NULL && i < needs->credential_count; i++) {
        json_out_array(out);
        for (size_t k = 0; k < needs->credentials[i].count; k++) {
            json_out_string(out, needs->credentials[i].any[k]);
        }
        json_out_array_end(out);
    }
    json_out_array_end(out);
    wire_list(out, "isolate");
    for (size_t i = 0; needs != NULL && i < needs->isolate_count; i++) {
        json_out_string(out, needs->isolate[i]);
    }
    json_out_array_end(out);
    wire_text(out, "takes", needs != NULL ? model_takes_name(needs) : "position");
}

static void about_job(struct json_out *out, const struct report_record *record) {
    const struct gate_fact *opened = record->opened;
    wire_text(out, "job", opened->job);
    wire_text(out, "result", report_result_name(record));
    wire_flag(out, "finished", record->ended != 0);
    wire_flag(out, "closed", record->closed);
    wire_text(out, "phase", model_phase_name(record->phase));
    wire_text(out, "part", opened->part);
    wire_text(out, "kit_family", record->kit_family);
    wire_text(out, "defect", opened->defect);
    wire_text(out, "note", opened->note);
    wire_time(out, "opened", opened->at.wall);
    report_json_person(out, record, "opened_by", "opened_by_title", opened->by);
    report_json_person(out, record, "technician", "technician_title", record->leader);
    wire_time(out, "ended", record->ended);
    report_json_person(out, record, "ended_by", "ended_by_title", record->ended_by);
    wire_text(out, "end_reason", record->end_reason);
    wire_count(out, "reworks", record->reworks);
    wire_count(out, "set_asides", record->set_asides);
    wire_count(out, "starts", record->starts);
}

static void out_of_service(struct json_out *out, const struct report_record *record, int64_t now) {
    int64_t ms = report_out_ms(record, now);
    json_out_key(out, "out_of_service");
    json_out_object(out);
    wire_time(out, "from", record->out_from);
    wire_time(out, "back", record->back_at);
    wire_number(out, "seconds", ms >= 0, (double)ms / 1000);
    wire_flag(out, "ongoing", record->back_at == 0);
    wire_text(out, "cause", model_cause_name(record->out_cause));
    wire_flag(out, "before_job",
              record->out_from != 0 && record->out_from < record->opened->at.wall);
    wire_flag(out, "unproved_before", record->out_unproved);
    wire_text(out, "next_job", record->next_job);
    json_out_object_end(out);
}

// --- People, locks, points ---

static void credentials(struct json_out *out, const struct model_person *person_) {
    wire_list(out, "credentials");
    for (size_t i = 0; person_ != NULL && i < person_->credential_count; i++) {
        const struct model_credential *credential = &person_->credentials[i];
        json_out_object(out);
        wire_text(out, "credential", credential->credential);
        wire_text(out, "until", credential->until.set ? credential->until.day : NULL);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void crew(struct json_out *out, const struct report_record *record) {
    wire_list(out, "crew");
    for (size_t i = 0; i < record->crew_count; i++) {
        const struct report_member *member = &record->crew[i];
        json_out_object(out);
        report_json_person(out, record, "person", "title", member->person);
        wire_flag(out, "led", member->led);
        wire_time(out, "joined", member->joined);
        wire_time(out, "left", member->left);
        credentials(out, model_person_find(record->model, member->person));
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void phases(struct json_out *out, const struct report_record *record) {
    wire_list(out, "phases");
    for (size_t i = 0; i < record->phase_count; i++) {
        const struct report_phase *phase = &record->phases[i];
        json_out_object(out);
        wire_text(out, "phase", model_phase_name(phase->phase));
        wire_time(out, "at", phase->at);
        wire_time(out, "until", phase->until);
        wire_count(out, "seq", phase->seq);
        wire_text(out, "by", phase->by);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static bool is_word(const struct report_entry *entry, const char *point) {
    return (entry->fact->type == GATE_FACT_POINT_CHANGED ||
            entry->fact->type == GATE_FACT_POINT_WITNESSED ||
            entry->fact->type == GATE_FACT_SENSOR_DISTRUSTED ||
            entry->fact->type == GATE_FACT_SENSOR_TRUSTED) &&
           report_is(entry->fact->point, point);
}

static const char *how(enum gate_fact_type type) {
    switch (type) {
    case GATE_FACT_POINT_WITNESSED:
        return "witnessed";
    case GATE_FACT_SENSOR_DISTRUSTED:
        return "distrusted";
    case GATE_FACT_SENSOR_TRUSTED:
        return "trusted";
    default:
        return "changed";
    }
}

// What is out of order, or no longer: told of such a fact alone.
static void out_of_order(struct json_out *out, const struct gate_fact *fact) {
    if (fact->sensor != NULL || fact->reader_of != NULL) {
        wire_text(out, "sensor", fact->sensor);
        wire_text(out, "reader", fact->reader_of);
        wire_time(out, "until", fact->until);
        wire_text(out, "reason", fact->reason);
        wire_text(out, "why", fact->trusted_why);
    }
}

static void word(struct json_out *out, const struct report_record *record,
                 const struct report_entry *entry) {
    const struct gate_fact *fact = entry->fact;
    report_json_entry(out, entry);
    wire_text(out, "how", how(fact->type));
    wire_text(out, "state", fact->has_state ? model_point_state_name(fact->state) : NULL);
    wire_text(out, "trust", fact->has_trust ? model_trust_name(fact->trust) : NULL);
    report_json_person(out, record, "by", "title", fact->person != NULL ? fact->person : fact->by);
    wire_flag(out, "overseer", fact->has_overseer && fact->overseer);
    out_of_order(out, fact);
    json_out_object_end(out);
}

static void points(struct json_out *out, const struct report_record *record) {
    wire_list(out, "points");
    for (size_t i = 0; i < record->opened->evidence_count; i++) {
        const char *id = record->opened->evidence[i].point;
        uint32_t index = model_point_find(record->site, id);
        const struct model_point *point = index != MODEL_NONE ? &record->site->points[index] : NULL;
        json_out_object(out);
        wire_text(out, "point", id);
        wire_text(out, "title", point != NULL ? point->title : NULL);
        wire_texts(out, "titles", point != NULL ? point->titles : NULL);
        wire_text(out, "kind", point != NULL ? point->kind : NULL);
        wire_text(out, "energy", point != NULL ? point->energy : NULL);
        wire_text(out, "at_opening", model_point_state_name(record->opened->evidence[i].state));
        wire_list(out, "words");
        for (size_t k = 0; k < record->entry_count; k++) {
            if (is_word(&record->entries[k], id)) {
                word(out, record, &record->entries[k]);
            }
        }
        json_out_array_end(out);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void tags(struct json_out *out, const struct report_record *record) {
    wire_list(out, "tags");
    for (size_t i = 0; i < record->tag_count; i++) {
        const struct report_tag *tag = &record->tags[i];
        json_out_object(out);
        wire_text(out, "point", tag->point);
        report_json_person(out, record, "person", "title", tag->person);
        wire_text(out, "badge", tag->badge);
        wire_text(out, "job", tag->job);
        wire_time(out, "hung", tag->hung);
        wire_flag(out, "counts", tag->counts);
        wire_flag(out, "reader", tag->reader);
        wire_flag(out, "adopted", tag->adopted);
        wire_time(out, "discounted", tag->discounted);
        wire_text(out, "discounted_why", tag->discounted != 0 ? model_code_name(tag->why) : NULL);
        wire_time(out, "lifted", tag->lifted);
        report_json_person(out, record, "lifted_by", "lifted_by_title", tag->lifted_by);
        wire_flag(out, "absent", tag->absent);
        wire_text(out, "reason", tag->reason);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

// --- Refusals, stops and the rest ---

static void refusal(struct json_out *out, const struct report_record *record,
                    const struct report_entry *entry) {
    const struct gate_fact *fact = entry->fact;
    report_json_entry(out, entry);
    report_json_person(out, record, "by", "title", fact->by);
    wire_text(out, "asked", gate_verb_refused(fact->type, fact->verb));
    wire_text(out, "point", fact->point);
    wire_text(out, "check", fact->check);
    wire_text(out, "test", fact->test);
    wire_list(out, "refusals");
    for (size_t i = 0; i < fact->refusal_count; i++) {
        wire_fact_write_refusal(out, &fact->refusals[i], true);
    }
    json_out_array_end(out);
    json_out_key(out, "evidence");
    wire_fact_write_evidence(out, fact->evidence, fact->evidence_count);
    json_out_object_end(out);
}

// The check that stopped the work, with what was read and the limits that it was held against.
static void stopping(struct json_out *out, const struct report_signature *of) {
    const struct model_limits none = {0};
    const struct model_check *check = of != NULL ? of->check : NULL;
    const struct gate_fact *fact = of != NULL ? of->entry.fact : NULL;
    wire_text(out, "check", fact != NULL ? fact->check : NULL);
    wire_text(out, "ask", check != NULL ? check->ask : NULL);
    wire_number(out, "value", fact != NULL && fact->has_value, fact != NULL ? fact->value : 0);
    wire_text(out, "unit", fact != NULL ? fact->unit : NULL);
    wire_limits(out, check != NULL ? &check->limits : &none);
}

static void happening(struct json_out *out, const struct report_record *record,
                      const struct report_entry *entry) {
    const struct gate_fact *fact = entry->fact;
    report_json_entry(out, entry);
    wire_text(out, "what", gate_fact_name(fact->type));
    report_json_person(out, record, "by", "title", fact->by);
    report_json_person(out, record, "person", "person_title", fact->person);
    wire_text(out, "to", fact->to);
    wire_text(out, "point", fact->point);
    stopping(out, report_stopping(record, entry));
    wire_flag(out, "orderly", entry->orderly);
    wire_text(out, "why", fact->has_why ? model_code_name(fact->why) : NULL);
    wire_text(out, "reason", fact->reason);
    wire_text(out, "say", fact->say);
    wire_text(out, "lockout", fact->has_lockout ? model_lockout_name(fact->lockout) : NULL);
    wire_text(out, "version", fact->version);
    json_out_key(out, "evidence");
    wire_fact_write_evidence(out, fact->evidence, fact->evidence_count);
    json_out_object_end(out);
}

static void happenings(struct json_out *out, const struct report_record *record, const char *name,
                       bool (*wanted)(enum gate_fact_type type),
                       void (*tell)(struct json_out *out, const struct report_record *record,
                                    const struct report_entry *entry)) {
    wire_list(out, name);
    for (size_t i = 0; i < record->entry_count; i++) {
        if (wanted(record->entries[i].fact->type)) {
            tell(out, record, &record->entries[i]);
        }
    }
    json_out_array_end(out);
}

static bool is_refusal(enum gate_fact_type type) {
    return gate_verb_refused(type, "") != NULL;
}

static bool is_lockout(enum gate_fact_type type) {
    return type == GATE_FACT_LOCKOUT_CONFIRMED || type == GATE_FACT_WORK_STARTED;
}

static bool is_stop(enum gate_fact_type type) {
    return type == GATE_FACT_WORK_STOPPED || type == GATE_FACT_LOCKOUT_BROKEN ||
           type == GATE_FACT_LOCKOUT_LOST || type == GATE_FACT_STOP_CALLED ||
           type == GATE_FACT_WORK_SET_ASIDE || type == GATE_FACT_WORK_REOPENED;
}

static bool is_crew(enum gate_fact_type type) {
    return type == GATE_FACT_JOB_ASSIGNED || type == GATE_FACT_LEAD_OFFERED ||
           type == GATE_FACT_JOB_HANDED_OVER || type == GATE_FACT_CREW_JOINED ||
           type == GATE_FACT_CREW_LEFT || type == GATE_FACT_CREW_UNPROTECTED;
}

static bool is_start(enum gate_fact_type type) {
    return type == GATE_FACT_DAEMON_STARTED;
}

static void alarms(struct json_out *out, const struct report_record *record) {
    wire_list(out, "alarms");
    for (size_t i = 0; i < record->alarm_count; i++) {
        const struct report_alarm *alarm = &record->alarms[i];
        json_out_object(out);
        wire_text(out, "alarm", alarm->alarm);
        wire_text(out, "kind", model_alarm_kind_name(alarm->kind));
        wire_text(out, "point", alarm->point);
        wire_text(out, "subject", alarm->subject);
        report_json_person(out, record, "by", "by_title", alarm->by);
        wire_text(out, "why", alarm->why);
        wire_text(out, "say", alarm->say);
        wire_time(out, "raised", alarm->raised);
        wire_count(out, "count", alarm->count);
        wire_time(out, "acknowledged", alarm->acknowledged);
        report_json_person(out, record, "acknowledged_by", "acknowledged_by_title",
                           alarm->acknowledged_by);
        wire_text(out, "note", alarm->note);
        wire_time(out, "cleared", alarm->cleared);
        wire_flag(out, "gone", alarm->gone);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void journal(struct json_out *out, const struct report_record *record,
                    const struct report_context *context) {
    json_out_key(out, "journal");
    json_out_object(out);
    wire_text(out, "instance", context->instance);
    wire_count(out, "facts", (int64_t)record->entry_count);
    wire_count(out, "first_seq", record->first_seq);
    wire_count(out, "last_seq", record->last_seq);
    report_json_hash(out, "last_hash", record->last_hash);
    wire_count(out, "head_seq", context->head_seq);
    report_json_hash(out, "head_hash", context->head_hash);
    wire_flag(out, "verified", context->verified);
    json_out_object_end(out);
}

static void end(struct json_out *out, const struct report_record *record,
                const struct report_context *context) {
    journal(out, record, context);
    wire_text(out, "version", context->version);
    wire_time(out, "made", context->now);
    wire_list(out, "cautions");
    for (size_t i = 0; report_caution(i) != NULL; i++) {
        json_out_string(out, report_caution(i));
    }
    json_out_array_end(out);
}

void report_record_json(const struct report_record *record, const struct report_context *context,
                        struct json_out *out) {
    json_out_object(out);
    about_place(out, record);
    about_job(out, record);
    about_rules(out, record);
    out_of_service(out, record, context->now);
    crew(out, record);
    phases(out, record);
    points(out, record);
    tags(out, record);
    report_json_checks(out, record);
    report_json_tests(out, record);
    report_json_day(out, record);
    happenings(out, record, "refusals", is_refusal, refusal);
    happenings(out, record, "lockout", is_lockout, happening);
    happenings(out, record, "stops", is_stop, happening);
    happenings(out, record, "crew_changes", is_crew, happening);
    happenings(out, record, "restarts", is_start, happening);
    alarms(out, record);
    end(out, record, context);
    json_out_object_end(out);
}
