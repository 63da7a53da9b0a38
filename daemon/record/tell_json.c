// The whole record as JSON. Names, words and times are those of events and documents.
#include "record/internal.h"
#include "record/tell.h"

#include "fact/fact_parts.h"

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

const char *record_caution(size_t index) {
    return index < sizeof cautions / sizeof cautions[0] ? cautions[index] : NULL;
}

void record_hash_text(const uint8_t hash[RECORD_HASH_SIZE], char text[2 * RECORD_HASH_SIZE + 1]) {
    for (size_t i = 0; i < RECORD_HASH_SIZE; i++) {
        snprintf(text + 2 * i, 3, "%02x", hash[i]);
    }
}

// --- Members ---

static void text(struct json_out *out, const char *name, const char *value) {
    json_out_key(out, name);
    fact_write_text(out, value);
}

static void when(struct json_out *out, const char *name, int64_t ms) {
    json_out_key(out, name);
    fact_write_time(out, ms);
}

static void number(struct json_out *out, const char *name, bool has, double value) {
    json_out_key(out, name);
    fact_write_number(out, has, value);
}

static void count(struct json_out *out, const char *name, int64_t value) {
    json_out_key(out, name);
    json_out_int(out, value);
}

static void flag(struct json_out *out, const char *name, bool value) {
    json_out_key(out, name);
    json_out_bool(out, value);
}

static void hash(struct json_out *out, const char *name, const uint8_t *bytes) {
    char digits[2 * RECORD_HASH_SIZE + 1];
    record_hash_text(bytes, digits);
    text(out, name, digits);
}

static void list(struct json_out *out, const char *name) {
    json_out_key(out, name);
    json_out_array(out);
}

static void begin(struct json_out *out, const struct record_entry *entry) {
    json_out_object(out);
    count(out, "seq", entry->seq);
    when(out, "at", entry->fact->at.wall);
}

static void person(struct json_out *out, const struct record *record, const char *name,
                   const char *title_name, const char *id) {
    const struct model_person *found = id != NULL ? model_person_find(record->model, id) : NULL;
    text(out, name, id);
    text(out, title_name, found != NULL ? found->title : NULL);
}

static void instrument(struct json_out *out, const struct record *record, const char *id) {
    const struct model_instrument *found =
        id != NULL ? model_instrument_find(record->model, id) : NULL;
    text(out, "instrument", id);
    text(out, "instrument_kind", found != NULL ? found->kind : NULL);
    text(out, "calibrated_until", found != NULL ? found->calibrated_until.day : NULL);
}

static void voided(struct json_out *out, const struct record_void *one) {
    json_out_key(out, "void");
    if (one->seq == 0) {
        json_out_null(out);
        return;
    }
    json_out_object(out);
    count(out, "seq", one->seq);
    when(out, "at", one->at);
    text(out, "why", one->why);
    json_out_object_end(out);
}

static void limits(struct json_out *out, const struct model_limits *of) {
    number(out, "min", of->has_min, of->min);
    number(out, "max", of->has_max, of->max);
}

// --- The head ---

static void about_place(struct json_out *out, const struct record *record) {
    const struct model_position *position = record->position;
    text(out, "site", record->site->site);
    text(out, "title", record->site->title);
    text(out, "time_zone", record->site->time_zone);
    text(out, "position", record->opened->position);
    text(out, "position_title", position != NULL ? position->title : NULL);
    text(out, "dispenser", position != NULL ? position->dispenser : NULL);
    list(out, "products");
    for (uint32_t i = 0; position != NULL && i < position->product_count; i++) {
        json_out_string(out, position->products[i]);
    }
    json_out_array_end(out);
    text(out, "nozzle_family", position != NULL ? position->nozzle_family : NULL);
}

static void about_rules(struct json_out *out, const struct record *record) {
    const struct model_requirements *needs = record->opened->requirements;
    const char *district =
        needs != NULL && needs->district != NULL ? needs->district : record->site->district;
    text(out, "district", district);
    text(out, "effective", needs != NULL ? needs->effective : NULL);
    text(out, "procedure", record->opened->procedure);
    text(out, "procedure_title", needs != NULL ? needs->title : NULL);
    list(out, "credentials");
    for (size_t i = 0; needs != NULL && i < needs->credential_count; i++) {
        json_out_array(out);
        for (size_t k = 0; k < needs->credentials[i].count; k++) {
            json_out_string(out, needs->credentials[i].any[k]);
        }
        json_out_array_end(out);
    }
    json_out_array_end(out);
    list(out, "isolate");
    for (size_t i = 0; needs != NULL && i < needs->isolate_count; i++) {
        json_out_string(out, needs->isolate[i]);
    }
    json_out_array_end(out);
    text(out, "takes", needs != NULL && needs->takes_dispenser ? "dispenser" : "position");
}

static void about_job(struct json_out *out, const struct record *record) {
    const struct gate_fact *opened = record->opened;
    text(out, "job", opened->job);
    text(out, "result", record_result_name(record));
    flag(out, "finished", record->ended != 0);
    flag(out, "closed", record->closed);
    text(out, "phase", gate_phase_name(record->phase));
    text(out, "part", opened->part);
    text(out, "kit_family", record->kit_family);
    text(out, "defect", opened->defect);
    text(out, "note", opened->note);
    when(out, "opened", opened->at.wall);
    person(out, record, "opened_by", "opened_by_title", opened->by);
    person(out, record, "technician", "technician_title", record->leader);
    when(out, "ended", record->ended);
    person(out, record, "ended_by", "ended_by_title", record->ended_by);
    text(out, "end_reason", record->end_reason);
    count(out, "reworks", record->reworks);
    count(out, "set_asides", record->set_asides);
    count(out, "starts", record->starts);
}

static void out_of_service(struct json_out *out, const struct record *record, int64_t now) {
    int64_t ms = record_out_ms(record, now);
    json_out_key(out, "out_of_service");
    json_out_object(out);
    when(out, "from", record->out_from);
    when(out, "back", record->back_at);
    number(out, "seconds", ms >= 0, (double)ms / 1000);
    flag(out, "ongoing", record->back_at == 0);
    text(out, "cause", gate_cause_name(record->out_cause));
    flag(out, "before_job", record->out_from != 0 && record->out_from < record->opened->at.wall);
    flag(out, "unproved_before", record->out_unproved);
    text(out, "next_job", record->next_job);
    json_out_object_end(out);
}

// --- People, locks, points ---

static void credentials(struct json_out *out, const struct model_person *person_) {
    list(out, "credentials");
    for (size_t i = 0; person_ != NULL && i < person_->credential_count; i++) {
        const struct model_credential *credential = &person_->credentials[i];
        json_out_object(out);
        text(out, "credential", credential->credential);
        text(out, "until", credential->until.set ? credential->until.day : NULL);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void crew(struct json_out *out, const struct record *record) {
    list(out, "crew");
    for (size_t i = 0; i < record->crew_count; i++) {
        const struct record_member *member = &record->crew[i];
        json_out_object(out);
        person(out, record, "person", "title", member->person);
        flag(out, "led", member->led);
        when(out, "joined", member->joined);
        when(out, "left", member->left);
        credentials(out, model_person_find(record->model, member->person));
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void phases(struct json_out *out, const struct record *record) {
    list(out, "phases");
    for (size_t i = 0; i < record->phase_count; i++) {
        const struct record_phase *phase = &record->phases[i];
        json_out_object(out);
        text(out, "phase", gate_phase_name(phase->phase));
        when(out, "at", phase->at);
        when(out, "until", phase->until);
        count(out, "seq", phase->seq);
        text(out, "by", phase->by);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static bool is_word(const struct record_entry *entry, const char *point) {
    return (entry->fact->type == GATE_FACT_POINT_CHANGED ||
            entry->fact->type == GATE_FACT_POINT_WITNESSED) &&
           record_is(entry->fact->point, point);
}

static void word(struct json_out *out, const struct record *record,
                 const struct record_entry *entry) {
    const struct gate_fact *fact = entry->fact;
    begin(out, entry);
    text(out, "how", fact->type == GATE_FACT_POINT_WITNESSED ? "witnessed" : "changed");
    text(out, "state", fact->has_state ? gate_point_state_name(fact->state) : NULL);
    text(out, "trust", fact->has_trust ? gate_trust_name(fact->trust) : NULL);
    person(out, record, "by", "title", fact->person);
    flag(out, "overseer", fact->has_overseer && fact->overseer);
    json_out_object_end(out);
}

static void points(struct json_out *out, const struct record *record) {
    list(out, "points");
    for (size_t i = 0; i < record->opened->evidence_count; i++) {
        const char *id = record->opened->evidence[i].point;
        uint32_t index = model_point_find(record->site, id);
        const struct model_point *point = index != MODEL_NONE ? &record->site->points[index] : NULL;
        json_out_object(out);
        text(out, "point", id);
        text(out, "title", point != NULL ? point->title : NULL);
        text(out, "kind", point != NULL ? point->kind : NULL);
        text(out, "energy", point != NULL ? point->energy : NULL);
        text(out, "at_opening", gate_point_state_name(record->opened->evidence[i].state));
        list(out, "words");
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

static void tags(struct json_out *out, const struct record *record) {
    list(out, "tags");
    for (size_t i = 0; i < record->tag_count; i++) {
        const struct record_tag *tag = &record->tags[i];
        json_out_object(out);
        text(out, "point", tag->point);
        person(out, record, "person", "title", tag->person);
        text(out, "badge", tag->badge);
        text(out, "job", tag->job);
        when(out, "hung", tag->hung);
        flag(out, "counts", tag->counts);
        flag(out, "reader", tag->reader);
        flag(out, "adopted", tag->adopted);
        when(out, "discounted", tag->discounted);
        when(out, "lifted", tag->lifted);
        person(out, record, "lifted_by", "lifted_by_title", tag->lifted_by);
        flag(out, "absent", tag->absent);
        text(out, "reason", tag->reason);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

// --- Checks and tests ---

static void signature(struct json_out *out, const struct record *record,
                      const struct record_signature *of) {
    const struct gate_fact *fact = of->entry.fact;
    begin(out, &of->entry);
    person(out, record, "by", "title", fact->person);
    number(out, "value", fact->has_value, fact->value);
    text(out, "unit", fact->unit);
    instrument(out, record, fact->instrument);
    flag(out, "pass", fact->has_pass && fact->pass);
    when(out, "valid_until",
         of->check != NULL && of->check->valid_ms > 0 ? fact->at.wall + of->check->valid_ms : 0);
    text(out, "note", fact->note);
    flag(out, "replaced", of->replaced);
    voided(out, &of->void_);
    json_out_object_end(out);
}

static void signatures_of(struct json_out *out, const struct record *record, const char *check) {
    list(out, "signatures");
    for (size_t i = 0; i < record->signature_count; i++) {
        if (record_is(record->signatures[i].entry.fact->check, check)) {
            signature(out, record, &record->signatures[i]);
        }
    }
    json_out_array_end(out);
}

// Signed, but not among the requirements of the opening: a later configuration asked for it.
static void added_checks(struct json_out *out, const struct record *record) {
    for (size_t i = 0; i < record->signature_count; i++) {
        const struct record_signature *of = &record->signatures[i];
        if (of->check == NULL && !of->replaced) {
            json_out_object(out);
            text(out, "check", of->entry.fact->check);
            text(out, "group", NULL);
            signatures_of(out, record, of->entry.fact->check);
            json_out_object_end(out);
        }
    }
}

static void checks(struct json_out *out, const struct record *record) {
    const struct model_requirements *needs = record->opened->requirements;
    list(out, "checks");
    for (size_t i = 0; needs != NULL && i < needs->check_count; i++) {
        const struct model_check *check = &needs->checks[i];
        json_out_object(out);
        text(out, "check", check->check);
        text(out, "group", model_group_name(check->group));
        text(out, "ask", check->ask);
        text(out, "unit", check->unit);
        limits(out, &check->limits);
        text(out, "instrument_kind", check->instrument);
        text(out, "by", check->by != 0 ? model_role_name(check->by) : NULL);
        signatures_of(out, record, check->check);
        json_out_object_end(out);
    }
    added_checks(out, record);
    json_out_array_end(out);
}

static void test_record(struct json_out *out, const struct record *record,
                        const struct record_test *of) {
    const struct gate_fact *fact = of->entry.fact;
    begin(out, &of->entry);
    person(out, record, "by", "title", fact->person);
    instrument(out, record, fact->instrument);
    json_out_key(out, "result");
    if (fact->result != NULL) {
        fact_write_result(out, fact->result);
    } else {
        json_out_null(out);
    }
    flag(out, "pass", fact->has_pass && fact->pass);
    text(out, "note", fact->note);
    flag(out, "replaced", of->replaced);
    voided(out, &of->void_);
    json_out_object_end(out);
}

static void test_records_of(struct json_out *out, const struct record *record, const char *test) {
    list(out, "records");
    for (size_t i = 0; i < record->test_count; i++) {
        if (record_is(record->tests[i].entry.fact->test, test)) {
            test_record(out, record, &record->tests[i]);
        }
    }
    json_out_array_end(out);
}

// A test that another job left to do here, one of each product, or one that was added later.
static void added_tests(struct json_out *out, const struct record *record) {
    for (size_t i = 0; i < record->test_count; i++) {
        const struct record_test *of = &record->tests[i];
        if (of->test == NULL && !of->replaced) {
            json_out_object(out);
            text(out, "test", of->entry.fact->test);
            text(out, "rule", of->entry.fact->result != NULL ? of->entry.fact->result->rule : NULL);
            test_records_of(out, record, of->entry.fact->test);
            json_out_object_end(out);
        }
    }
}

static void tests(struct json_out *out, const struct record *record) {
    const struct model_requirements *needs = record->opened->requirements;
    list(out, "tests");
    for (size_t i = 0; needs != NULL && i < needs->test_count; i++) {
        const struct model_test *test = &needs->tests[i];
        if (test->each_product && record_test_of(record, test->test) == NULL) {
            continue; // it stands below under the name of each product
        }
        json_out_object(out);
        text(out, "test", test->test);
        text(out, "rule", test->rule);
        text(out, "unit", test->unit);
        limits(out, &test->limits);
        text(out, "instrument_kind", test->instrument);
        flag(out, "powered", test->powered);
        test_records_of(out, record, test->test);
        json_out_object_end(out);
    }
    added_tests(out, record);
    json_out_array_end(out);
}

// --- Refusals, stops and the rest ---

static const char *asked(const struct gate_fact *fact) {
    switch (fact->type) {
    case GATE_FACT_WORK_REFUSED:
        return "start-work";
    case GATE_FACT_TEST_REFUSED:
        return "begin-test";
    case GATE_FACT_RETURN_REFUSED:
        return "return-position";
    default:
        return fact->verb;
    }
}

static void refusal(struct json_out *out, const struct record *record,
                    const struct record_entry *entry) {
    const struct gate_fact *fact = entry->fact;
    begin(out, entry);
    person(out, record, "by", "title", fact->by);
    text(out, "asked", asked(fact));
    text(out, "point", fact->point);
    text(out, "check", fact->check);
    text(out, "test", fact->test);
    list(out, "refusals");
    for (size_t i = 0; i < fact->refusal_count; i++) {
        fact_write_refusal(out, &fact->refusals[i], true);
    }
    json_out_array_end(out);
    json_out_key(out, "evidence");
    fact_write_evidence(out, fact->evidence, fact->evidence_count);
    json_out_object_end(out);
}

static void happening(struct json_out *out, const struct record *record,
                      const struct record_entry *entry) {
    const struct gate_fact *fact = entry->fact;
    begin(out, entry);
    text(out, "what", gate_fact_name(fact->type));
    person(out, record, "by", "title", fact->by);
    person(out, record, "person", "person_title", fact->person);
    text(out, "to", fact->to);
    text(out, "point", fact->point);
    text(out, "why", fact->has_why ? gate_code_name(fact->why) : NULL);
    text(out, "reason", fact->reason);
    text(out, "say", fact->say);
    text(out, "lockout", fact->has_lockout ? gate_lockout_name(fact->lockout) : NULL);
    text(out, "version", fact->version);
    json_out_key(out, "evidence");
    fact_write_evidence(out, fact->evidence, fact->evidence_count);
    json_out_object_end(out);
}

static void happenings(struct json_out *out, const struct record *record, const char *name,
                       bool (*wanted)(enum gate_fact_type type),
                       void (*tell)(struct json_out *out, const struct record *record,
                                    const struct record_entry *entry)) {
    list(out, name);
    for (size_t i = 0; i < record->entry_count; i++) {
        if (wanted(record->entries[i].fact->type)) {
            tell(out, record, &record->entries[i]);
        }
    }
    json_out_array_end(out);
}

static bool is_refusal(enum gate_fact_type type) {
    return type == GATE_FACT_WORK_REFUSED || type == GATE_FACT_TEST_REFUSED ||
           type == GATE_FACT_RETURN_REFUSED || type == GATE_FACT_REQUEST_REFUSED;
}

static bool is_lockout(enum gate_fact_type type) {
    return type == GATE_FACT_LOCKOUT_CONFIRMED || type == GATE_FACT_WORK_STARTED;
}

static bool is_stop(enum gate_fact_type type) {
    return type == GATE_FACT_WORK_STOPPED || type == GATE_FACT_LOCKOUT_BROKEN ||
           type == GATE_FACT_LOCKOUT_LOST || type == GATE_FACT_WORK_SET_ASIDE ||
           type == GATE_FACT_WORK_REOPENED;
}

static bool is_crew(enum gate_fact_type type) {
    return type == GATE_FACT_JOB_ASSIGNED || type == GATE_FACT_LEAD_OFFERED ||
           type == GATE_FACT_JOB_HANDED_OVER || type == GATE_FACT_CREW_JOINED ||
           type == GATE_FACT_CREW_LEFT || type == GATE_FACT_CREW_UNPROTECTED;
}

static bool is_start(enum gate_fact_type type) {
    return type == GATE_FACT_DAEMON_STARTED;
}

static void alarms(struct json_out *out, const struct record *record) {
    list(out, "alarms");
    for (size_t i = 0; i < record->alarm_count; i++) {
        const struct record_alarm *alarm = &record->alarms[i];
        json_out_object(out);
        text(out, "alarm", alarm->alarm);
        text(out, "kind", gate_alarm_kind_name(alarm->kind));
        text(out, "point", alarm->point);
        text(out, "why", alarm->why);
        text(out, "say", alarm->say);
        when(out, "raised", alarm->raised);
        when(out, "acknowledged", alarm->acknowledged);
        person(out, record, "acknowledged_by", "acknowledged_by_title", alarm->acknowledged_by);
        when(out, "cleared", alarm->cleared);
        flag(out, "gone", alarm->gone);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void journal(struct json_out *out, const struct record *record,
                    const struct record_telling *telling) {
    json_out_key(out, "journal");
    json_out_object(out);
    text(out, "instance", telling->instance);
    count(out, "facts", (int64_t)record->entry_count);
    count(out, "first_seq", record->first_seq);
    count(out, "last_seq", record->last_seq);
    hash(out, "last_hash", record->last_hash);
    count(out, "head_seq", telling->head_seq);
    hash(out, "head_hash", telling->head_hash);
    flag(out, "verified", telling->verified);
    json_out_object_end(out);
}

static void end(struct json_out *out, const struct record *record,
                const struct record_telling *telling) {
    journal(out, record, telling);
    text(out, "version", telling->version);
    when(out, "made", telling->now);
    list(out, "cautions");
    for (size_t i = 0; record_caution(i) != NULL; i++) {
        json_out_string(out, record_caution(i));
    }
    json_out_array_end(out);
}

void record_tell_json(const struct record *record, const struct record_telling *telling,
                      struct json_out *out) {
    json_out_object(out);
    about_place(out, record);
    about_job(out, record);
    about_rules(out, record);
    out_of_service(out, record, telling->now);
    crew(out, record);
    phases(out, record);
    points(out, record);
    tags(out, record);
    checks(out, record);
    tests(out, record);
    happenings(out, record, "refusals", is_refusal, refusal);
    happenings(out, record, "lockout", is_lockout, happening);
    happenings(out, record, "stops", is_stop, happening);
    happenings(out, record, "crew_changes", is_crew, happening);
    happenings(out, record, "restarts", is_start, happening);
    alarms(out, record);
    end(out, record, telling);
    json_out_object_end(out);
}
