// A record as a printed form for a terminal: the same facts as the JSON, in the order of the form.
#include "record/internal.h"
#include "record/tell.h"

#include "fact/time_text.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stdlib.h>

#define WIDTH 96

// --- Lines ---

// C0, DEL, and C1 in UTF-8.
static void tame(char *text) {
    for (unsigned char *at = (unsigned char *)text; *at != '\0'; at++) {
        if (at[0] == 0xC2 && at[1] >= 0x80 && at[1] < 0xA0) {
            at[0] = at[1] = ' ';
        } else if (*at < 0x20 || *at == 0x7F) {
            *at = ' ';
        }
    }
}

// The bytes that fit into a number of columns, cut at a space where there is one.
static size_t fitting(const char *text, size_t columns) {
    size_t at = 0, space = 0, used = 0;
    while (text[at] != '\0' && used < columns) {
        space = text[at] == ' ' ? at : space;
        at++;
        while (((unsigned char)text[at] & 0xC0) == 0x80) {
            at++;
        }
        used++;
    }
    return text[at] == '\0' || text[at] == ' ' || space == 0 ? at : space;
}

// One paragraph; what goes on stands indented a little further.
static void put(FILE *out, int indent, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

static void put(FILE *out, int indent, const char *format, ...) {
    char *text = NULL;
    va_list arguments;
    va_start(arguments, format);
    int length = vasprintf(&text, format, arguments);
    va_end(arguments);
    if (length < 0) {
        fputs("(out of memory)\n", out);
        return;
    }
    tame(text);
    const char *at = text;
    int more = 0;
    do {
        size_t count = fitting(at, (size_t)(WIDTH - indent - more));
        fprintf(out, "%*s%.*s\n", indent + more, "", (int)count, at);
        at += count;
        at += strspn(at, " ");
        more = 4;
    } while (*at != '\0');
    free(text);
}

static void heading(FILE *out, const char *text) {
    static const char dashes[] =
        "-------------------------------------------------------------------"
        "-----------------------------";
    fprintf(out, "\n%s %.*s\n", text, (int)(WIDTH - strlen(text) - 1), dashes);
}

// --- Words ---

#define WHEN_SIZE (TIME_TEXT_SIZE + 8)
static const char *when(int64_t ms, char text[WHEN_SIZE]) {
    if (ms == 0) {
        snprintf(text, WHEN_SIZE, "-");
    } else {
        time_text_format(ms, text);
    }
    return text;
}

static const char *or_dash(const char *text) {
    return text != NULL && text[0] != '\0' ? text : "-";
}

// " label text", or nothing.
#define MORE(label, text)                                                                          \
    ((text) != NULL && (text)[0] != '\0' ? (label) : ""),                                          \
        ((text) != NULL && (text)[0] != '\0' ? (text) : "")

static const char *title_of(const struct record *record, const char *person) {
    const struct model_person *found =
        person != NULL ? model_person_find(record->model, person) : NULL;
    return found != NULL && strcmp(found->title, person) != 0 ? found->title : "";
}

#define LIMIT_SIZE 80
static const char *limits_text(const struct model_limits *limits, const char *unit,
                               char text[LIMIT_SIZE]) {
    text[0] = '\0';
    if (limits->has_min && limits->has_max) {
        snprintf(text, LIMIT_SIZE, " [limits %.15g to %.15g %s]", limits->min, limits->max,
                 unit != NULL ? unit : "");
    } else if (limits->has_min || limits->has_max) {
        snprintf(text, LIMIT_SIZE, " [limit: %s %.15g %s]",
                 limits->has_min ? "at least" : "at most",
                 limits->has_min ? limits->min : limits->max, unit != NULL ? unit : "");
    }
    return text;
}

static const char *calibration(const struct record *record, const char *id) {
    const struct model_instrument *found =
        id != NULL ? model_instrument_find(record->model, id) : NULL;
    return found != NULL ? found->calibrated_until.day : "";
}

// --- The head ---

static void put_head(FILE *out, const struct record *record) {
    const struct gate_fact *opened = record->opened;
    const struct model_requirements *needs = opened->requirements;
    const struct model_position *position = record->position;
    const char *district =
        needs != NULL && needs->district != NULL ? needs->district : record->site->district;
    char at[WHEN_SIZE], ended[WHEN_SIZE];
    put(out, 0, "RECORD OF REPAIR %s", opened->job);
    if (record->ended == 0) {
        put(out, 0, "NOT FINISHED: this job still stands, in phase %s.",
            gate_phase_name(record->phase));
    }
    heading(out, "WHAT AND WHERE");
    put(out, 2, "Site        %s (%s)%s%s%s%s", record->site->title, record->site->site,
        MORE(", district ", district),
        MORE(", rules in effect from ", needs != NULL ? needs->effective : NULL));
    put(out, 2, "Position    %s%s%s%s%s%s%s", or_dash(opened->position),
        MORE(", ", position != NULL ? position->title : NULL),
        MORE(", dispenser ", position != NULL ? position->dispenser : NULL),
        MORE(", nozzle family ", position != NULL ? position->nozzle_family : NULL));
    for (uint32_t i = 0; position != NULL && i < position->product_count; i++) {
        put(out, 2, "%s%s", i == 0 ? "Products    " : "            ", position->products[i]);
    }
    put(out, 2, "Procedure   %s%s%s", or_dash(opened->procedure),
        MORE(": ", needs != NULL ? needs->title : NULL));
    put(out, 2, "Part        %s%s%s", or_dash(opened->part),
        MORE(", kit family ", record->kit_family));
    put(out, 2, "Defect      %s%s%s", or_dash(opened->defect), MORE("; how found: ", opened->note));
    put(out, 2, "Opened      %s by %s %s", when(opened->at.wall, at), or_dash(opened->by),
        title_of(record, opened->by));
    put(out, 2, "Led by      %s %s", or_dash(record->leader), title_of(record, record->leader));
    put(out, 2, "Result      %s%s%s%s%s%s%s", record_result_name(record),
        MORE(", ", record->ended != 0 ? when(record->ended, ended) : NULL),
        MORE(" by ", record->ended_by), MORE(": ", record->end_reason));
}

static void put_out(FILE *out, const struct record *record, int64_t now) {
    char from[WHEN_SIZE], back[WHEN_SIZE];
    int64_t ms = record_out_ms(record, now);
    heading(out, "TIME OUT OF SERVICE");
    put(out, 2, "Out         %s%s%s%s%s", when(record->out_from, from),
        MORE(", cause ", gate_cause_name(record->out_cause)),
        record->out_from != 0 && record->out_from < record->opened->at.wall
            ? ", before this job was opened"
            : "",
        record->out_unproved ? " (never proved live since the journal began)" : "");
    if (record->next_job != NULL) {
        put(out, 2, "Back        not by this job: job %s was opened there first", record->next_job);
    } else {
        put(out, 2, "Back        %s",
            record->back_at != 0 ? when(record->back_at, back) : "not yet");
    }
    if (ms >= 0) {
        put(out, 2, "Duration    %" PRId64 ".%03d s (%" PRId64 " h %02d min)%s", ms / 1000,
            (int)(ms % 1000), ms / 3600000, (int)(ms / 60000 % 60),
            record->back_at == 0 ? " so far" : "");
    }
}

static void put_crew(FILE *out, const struct record *record) {
    char joined[WHEN_SIZE], left[WHEN_SIZE];
    heading(out, "PEOPLE (credentials as configured now)");
    for (size_t i = 0; i < record->crew_count; i++) {
        const struct record_member *member = &record->crew[i];
        const struct model_person *person = model_person_find(record->model, member->person);
        put(out, 2, "%s %s%s, joined %s%s%s", member->person, title_of(record, member->person),
            member->led ? ", led" : "", when(member->joined, joined),
            MORE(", left ", member->left != 0 ? when(member->left, left) : NULL));
        if (person == NULL) {
            put(out, 6, "no longer in the people file: credentials not known");
        }
        for (size_t k = 0; person != NULL && k < person->credential_count; k++) {
            put(out, 6, "credential %s%s%s", person->credentials[k].credential,
                MORE(", valid until ", person->credentials[k].until.day));
        }
    }
}

static void put_phases(FILE *out, const struct record *record) {
    char at[WHEN_SIZE];
    heading(out, "PHASES");
    for (size_t i = 0; i < record->phase_count; i++) {
        const struct record_phase *phase = &record->phases[i];
        put(out, 2, "%s  %-10s%s%s", when(phase->at, at), gate_phase_name(phase->phase),
            MORE(" by ", phase->by));
    }
}

// --- Locks and points ---

static void put_tag(FILE *out, const struct record *record, const struct record_tag *tag) {
    char hung[WHEN_SIZE], lifted[WHEN_SIZE], lost[WHEN_SIZE];
    const char *owner = tag->person != NULL ? tag->person : or_dash(tag->badge);
    put(out, 2, "%s  %s  hung %s%s%s%s%s%s%s", tag->point, owner, when(tag->hung, hung),
        tag->own           ? ""
        : tag->job != NULL ? ", of another job: "
                           : ", of no job",
        tag->own || tag->job == NULL ? "" : tag->job, tag->reader ? ", told by a reader" : "",
        tag->adopted ? ", a lock that hung there before" : "",
        MORE(", badge ", tag->person != NULL ? tag->badge : NULL));
    if (!tag->counts) {
        put(out, 6, "did NOT count when it was hung");
    }
    if (tag->discounted != 0) {
        put(out, 6, "stopped counting %s: the point read live", when(tag->discounted, lost));
    }
    if (tag->lifted == 0) {
        put(out, 6, "%s", record->ended == 0 ? "hangs" : "was not lifted in this record");
    } else {
        put(out, 6, "lifted %s%s%s%s", when(tag->lifted, lifted), MORE(" by ", tag->lifted_by),
            tag->lifted_reader ? ", told by a reader" : "");
    }
    if (tag->absent) {
        put(out, 6,
            "for its absent owner, attested: verified not on site, all reasonable efforts to make "
            "contact, will be told before resuming work (29 CFR 1910.147(e)(3)). Reason: %s",
            or_dash(tag->reason));
    }
}

static void put_word(FILE *out, const struct record *record, const struct record_entry *entry) {
    const struct gate_fact *fact = entry->fact;
    char at[WHEN_SIZE];
    put(out, 6, "%s  %s%s%s%s%s%s%s", when(fact->at.wall, at),
        fact->has_state ? gate_point_state_name(fact->state) : "-",
        MORE(", ", fact->has_trust ? gate_trust_name(fact->trust) : NULL),
        MORE(", said by ", fact->person), title_of(record, fact->person)[0] != '\0' ? " " : "",
        title_of(record, fact->person));
}

static void put_locks(FILE *out, const struct record *record) {
    heading(out, "LOCKS AND TAGS");
    if (record->tag_count == 0) {
        put(out, 2, "none was hung");
    }
    for (size_t i = 0; i < record->tag_count; i++) {
        put_tag(out, record, &record->tags[i]);
    }
    heading(out, "POINTS, and what was heard of them");
    for (size_t i = 0; i < record->opened->evidence_count; i++) {
        const char *id = record->opened->evidence[i].point;
        uint32_t index = model_point_find(record->site, id);
        const struct model_point *point = index != MODEL_NONE ? &record->site->points[index] : NULL;
        put(out, 2, "%s%s%s%s%s; at the opening %s", id,
            MORE(", ", point != NULL ? point->title : NULL),
            MORE(", ", point != NULL ? point->energy : NULL),
            gate_point_state_name(record->opened->evidence[i].state));
        for (size_t k = 0; k < record->entry_count; k++) {
            const struct gate_fact *fact = record->entries[k].fact;
            if ((fact->type == GATE_FACT_POINT_CHANGED ||
                 fact->type == GATE_FACT_POINT_WITNESSED) &&
                record_is(fact->point, id)) {
                put_word(out, record, &record->entries[k]);
            }
        }
    }
}

// --- Checks and tests ---

static void put_with(FILE *out, const struct record *record, const struct gate_fact *fact) {
    if (fact->instrument != NULL) {
        put(out, 6, "with %s%s%s", fact->instrument,
            MORE(", calibration valid until ", calibration(record, fact->instrument)));
    }
    if (fact->note != NULL) {
        put(out, 6, "note: %s", fact->note);
    }
}

static void put_void(FILE *out, const struct record_void *one) {
    char at[WHEN_SIZE];
    if (one->seq != 0) {
        put(out, 6, "void since %s: %s", when(one->at, at), one->why);
    }
}

static void put_signature(FILE *out, const struct record *record,
                          const struct record_signature *of) {
    const struct gate_fact *fact = of->entry.fact;
    char at[WHEN_SIZE], value[64] = "";
    if (fact->has_value) {
        snprintf(value, sizeof value, ": %.15g %.32s", fact->value,
                 fact->unit != NULL ? fact->unit : "");
    }
    put(out, 4, "%s  %s%s, by %s %s", when(fact->at.wall, at),
        fact->has_pass && fact->pass ? "good" : "FAILED", value, or_dash(fact->person),
        title_of(record, fact->person));
    put_with(out, record, fact);
    put_void(out, &of->void_);
}

static void put_check(FILE *out, const struct record *record, const char *id,
                      const struct model_check *check) {
    char limit[LIMIT_SIZE] = "";
    if (check != NULL) {
        put(out, 2, "%s %s: %s%s", model_group_name(check->group), id, check->ask,
            limits_text(&check->limits, check->unit, limit));
    } else {
        put(out, 2, "%s (not among the requirements of the opening)", id);
    }
    bool any = false;
    for (size_t i = 0; i < record->signature_count; i++) {
        if (record_is(record->signatures[i].entry.fact->check, id)) {
            put_signature(out, record, &record->signatures[i]);
            any = true;
        }
    }
    if (!any) {
        put(out, 4, "not signed");
    }
}

static void put_checks(FILE *out, const struct record *record) {
    const struct model_requirements *needs = record->opened->requirements;
    heading(out, "CHECKS");
    for (size_t i = 0; needs != NULL && i < needs->check_count; i++) {
        put_check(out, record, needs->checks[i].check, &needs->checks[i]);
    }
    for (size_t i = 0; i < record->signature_count; i++) {
        const struct record_signature *of = &record->signatures[i];
        if (of->check == NULL && !of->replaced) {
            put_check(out, record, of->entry.fact->check, NULL);
        }
    }
}

static void put_inputs(FILE *out, const struct model_result *result) {
    for (size_t i = 0; i < result->input_count; i++) {
        const struct model_reading *input = &result->inputs[i];
        if (input->kind == MODEL_READING_NUMBER) {
            put(out, 8, "%s = %.15g", input->name, input->number);
        } else {
            put(out, 8, "%s = %s", input->name,
                input->kind == MODEL_READING_TEXT ? input->text
                : input->flag                     ? "true"
                                                  : "false");
        }
    }
}

static void put_result(FILE *out, const struct model_result *result) {
    char limit[LIMIT_SIZE], value[40] = "-", margin[40] = "-";
    struct model_limits one = result->limits;
    if (result->has_value) {
        snprintf(value, sizeof value, "%.15g", result->value);
    }
    if (result->has_margin) {
        snprintf(margin, sizeof margin, "%.15g", result->margin);
    }
    put(out, 6, "rule %s, formula %s", result->rule, result->formula);
    put_inputs(out, result);
    if (!result->limit_is_interval && (one.has_min || one.has_max)) {
        snprintf(limit, sizeof limit, " [limit %.15g]", one.has_max ? one.max : one.min);
    } else {
        limits_text(&one, NULL, limit);
    }
    put(out, 6, "value %s%s, margin %s", value, limit, margin);
    put(out, 6, "source: %s", result->source);
}

static void put_test(FILE *out, const struct record *record, const struct record_test *of) {
    const struct gate_fact *fact = of->entry.fact;
    char at[WHEN_SIZE];
    put(out, 4, "%s  %s, by %s %s", when(fact->at.wall, at),
        fact->has_pass && fact->pass ? "passed" : "FAILED", or_dash(fact->person),
        title_of(record, fact->person));
    if (fact->result != NULL) {
        put_result(out, fact->result);
    }
    put_with(out, record, fact);
    put_void(out, &of->void_);
}

static void put_tests_named(FILE *out, const struct record *record, const char *id,
                            const char *rule) {
    put(out, 2, "%s%s%s", id, MORE(", rule ", rule));
    for (size_t i = 0; i < record->test_count; i++) {
        if (record_is(record->tests[i].entry.fact->test, id)) {
            put_test(out, record, &record->tests[i]);
        }
    }
    if (record_test_of(record, id) == NULL) {
        put(out, 4, "not recorded");
    }
}

static void put_tests(FILE *out, const struct record *record) {
    const struct model_requirements *needs = record->opened->requirements;
    heading(out, "TESTS");
    for (size_t i = 0; needs != NULL && i < needs->test_count; i++) {
        const struct model_test *test = &needs->tests[i];
        if (!test->each_product || record_test_of(record, test->test) != NULL) {
            put_tests_named(out, record, test->test, test->rule);
        }
    }
    for (size_t i = 0; i < record->test_count; i++) {
        const struct record_test *of = &record->tests[i];
        if (of->test == NULL && !of->replaced) {
            put_tests_named(out, record, of->entry.fact->test, NULL);
        }
    }
}

// --- Refusals, stops and the rest ---

static void put_refusal(FILE *out, const struct record *record, const struct record_entry *entry) {
    const struct gate_fact *fact = entry->fact;
    const char *verb = fact->type == GATE_FACT_WORK_REFUSED     ? "start-work"
                       : fact->type == GATE_FACT_TEST_REFUSED   ? "begin-test"
                       : fact->type == GATE_FACT_RETURN_REFUSED ? "return-position"
                                                                : fact->verb;
    char at[WHEN_SIZE];
    put(out, 2, "%s  %s %s asked %s", when(fact->at.wall, at), or_dash(fact->by),
        title_of(record, fact->by), or_dash(verb));
    for (size_t i = 0; i < fact->refusal_count; i++) {
        const struct gate_refusal *refusal = &fact->refusals[i];
        put(out, 6, "%s %s%s%s%s%s", gate_code_name(refusal->code), refusal->subject,
            MORE("; need: ", refusal->need), MORE("; found: ", refusal->found));
    }
}

static void put_evidence(FILE *out, const struct gate_fact *fact) {
    char heard[WHEN_SIZE];
    for (size_t i = 0; i < fact->evidence_count; i++) {
        const struct gate_evidence *evidence = &fact->evidence[i];
        put(out, 6, "then %s %s, %s, heard %s", evidence->point,
            gate_point_state_name(evidence->state), gate_trust_name(evidence->trust),
            evidence->heard != 0 ? when(evidence->heard, heard) : "never");
    }
}

static const char *happening(enum gate_fact_type type) {
    switch (type) {
    case GATE_FACT_LOCKOUT_CONFIRMED:
        return "lockout confirmed";
    case GATE_FACT_LOCKOUT_LOST:
        return "lockout confirmed no longer";
    case GATE_FACT_LOCKOUT_BROKEN:
        return "LOCKOUT BROKEN";
    case GATE_FACT_WORK_STARTED:
        return "work started";
    case GATE_FACT_WORK_STOPPED:
        return "WORK STOPPED";
    case GATE_FACT_WORK_SET_ASIDE:
        return "set aside";
    case GATE_FACT_WORK_REOPENED:
        return "rework";
    case GATE_FACT_JOB_ASSIGNED:
        return "assigned";
    case GATE_FACT_LEAD_OFFERED:
        return "lead offered";
    case GATE_FACT_JOB_HANDED_OVER:
        return "lead taken over";
    case GATE_FACT_CREW_JOINED:
        return "joined the crew";
    case GATE_FACT_CREW_LEFT:
        return "left the crew";
    case GATE_FACT_CREW_UNPROTECTED:
        return "NOT PROTECTED, off the job";
    case GATE_FACT_DAEMON_STARTED:
        return "daemon started";
    default:
        return NULL;
    }
}

static void put_happening(FILE *out, const struct record_entry *entry, const char *what) {
    const struct gate_fact *fact = entry->fact;
    char at[WHEN_SIZE];
    put(out, 2, "%s  %s%s%s%s%s%s%s%s%s%s%s%s%s%s%s", when(fact->at.wall, at), what,
        MORE(": ", fact->person), MORE(", to ", fact->to), MORE(", by ", fact->by),
        MORE(", at ", fact->point), MORE(", ", fact->has_why ? gate_code_name(fact->why) : NULL),
        MORE(": ", fact->reason != NULL ? fact->reason : fact->say),
        MORE(", version ", fact->version));
    put_evidence(out, fact);
}

static void put_story(FILE *out, const struct record *record) {
    bool any = false;
    heading(out, "REFUSALS");
    for (size_t i = 0; i < record->entry_count; i++) {
        if (record->entries[i].fact->refusal_count > 0) {
            put_refusal(out, record, &record->entries[i]);
            any = true;
        }
    }
    if (!any) {
        put(out, 2, "none");
    }
    heading(out, "LOCKOUT, STOPS, CREW, RESTARTS");
    for (size_t i = 0; i < record->entry_count; i++) {
        const char *what = happening(record->entries[i].fact->type);
        if (what != NULL) {
            put_happening(out, &record->entries[i], what);
        }
    }
    if (record->alarm_count > 0) {
        heading(out, "ALARMS");
    }
    for (size_t i = 0; i < record->alarm_count; i++) {
        const struct record_alarm *alarm = &record->alarms[i];
        char raised[WHEN_SIZE], acknowledged[WHEN_SIZE];
        put(out, 2, "%s  %s%s%s%s%s; %s%s%s%s", when(alarm->raised, raised),
            gate_alarm_kind_name(alarm->kind), MORE(" at ", alarm->point), MORE(": ", alarm->say),
            alarm->acknowledged != 0 ? "acknowledged " : "NOT ACKNOWLEDGED",
            alarm->acknowledged != 0 ? when(alarm->acknowledged, acknowledged) : "",
            MORE(" by ", alarm->acknowledged_by));
    }
}

void record_tell_text(const struct record *record, const struct record_telling *telling,
                      FILE *out) {
    char last[2 * RECORD_HASH_SIZE + 1], head[2 * RECORD_HASH_SIZE + 1], made[WHEN_SIZE];
    put_head(out, record);
    put_out(out, record, telling->now);
    put_crew(out, record);
    put_phases(out, record);
    put_locks(out, record);
    put_checks(out, record);
    put_tests(out, record);
    put_story(out, record);
    heading(out, "JOURNAL");
    record_hash_text(record->last_hash, last);
    record_hash_text(telling->head_hash, head);
    put(out, 2, "Facts %" PRId64 " to %" PRId64 " (%zu of this job) of %s", record->first_seq,
        record->last_seq, record->entry_count, telling->instance);
    put(out, 2, "SHA-256 of fact %" PRId64, record->last_seq);
    put(out, 4, "%s", last);
    put(out, 2, "Head %" PRId64, telling->head_seq);
    put(out, 4, "%s", head);
    put(out, 2, "%s",
        telling->verified ? "The chain from the opening to the head was proved when this was made."
                          : "The chain was not proved for this: `forelock journal verify` does.");
    put(out, 2, "Made %s by forelock %s", when(telling->now, made), telling->version);
    fputc('\n', out);
    for (size_t i = 0; record_caution(i) != NULL; i++) {
        put(out, 0, "%s", record_caution(i));
    }
}
