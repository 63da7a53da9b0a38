// A record as a printed form for a terminal: the same facts as the JSON, in the order of the form.
#include "report/record_text.h"
#include "report/builder.h"
#include "report/record.h"
#include "report/record_day.h"

#include "gate/verb.h"

#include <inttypes.h>

// --- The head ---

static void put_head(FILE *out, const struct report_record *record) {
    const struct gate_fact *opened = record->opened;
    const struct model_requirements *needs = opened->requirements;
    const struct model_position *position = record->position;
    const char *district =
        needs != NULL && needs->district != NULL ? needs->district : record->site->district;
    char at[REPORT_WHEN_SIZE], ended[REPORT_WHEN_SIZE];
    report_put(out, 0, "RECORD OF REPAIR %s", opened->job);
    if (record->ended == 0) {
        report_put(out, 0, "NOT FINISHED: this job still stands, in phase %s.",
                   model_phase_name(record->phase));
    }
    report_heading(out, "WHAT AND WHERE");
    report_put(out, 2, "Site        %s (%s)%s%s%s%s", record->site->title, record->site->site,
               REPORT_LABELED(", district ", district),
               REPORT_LABELED(", rules in effect from ", needs != NULL ? needs->effective : NULL));
    report_put(
        out, 2, "Position    %s%s%s%s%s%s%s", report_or_dash(opened->position),
        REPORT_LABELED(", ", position != NULL ? position->title : NULL),
        REPORT_LABELED(", dispenser ", position != NULL ? position->dispenser : NULL),
        REPORT_LABELED(", nozzle family ", position != NULL ? position->nozzle_family : NULL));
    for (uint32_t i = 0; position != NULL && i < position->product_count; i++) {
        report_put(out, 2, "%s%s", i == 0 ? "Products    " : "            ", position->products[i]);
    }
    report_put(out, 2, "Procedure   %s%s%s", report_or_dash(opened->procedure),
               REPORT_LABELED(": ", needs != NULL ? needs->title : NULL));
    report_put(out, 2, "Part        %s%s%s", report_or_dash(opened->part),
               REPORT_LABELED(", kit family ", record->kit_family));
    report_put(out, 2, "Defect      %s%s%s", report_or_dash(opened->defect),
               REPORT_LABELED("; how found: ", opened->note));
    report_put(out, 2, "Opened      %s by %s %s", report_when(opened->at.wall, at),
               report_or_dash(opened->by), report_title_of(record, opened->by));
    report_put(out, 2, "Led by      %s %s", report_or_dash(record->leader),
               report_title_of(record, record->leader));
    report_put(out, 2, "Result      %s%s%s%s%s%s%s", report_result_name(record),
               REPORT_LABELED(", ", record->ended != 0 ? report_when(record->ended, ended) : NULL),
               REPORT_LABELED(" by ", record->ended_by), REPORT_LABELED(": ", record->end_reason));
}

static void put_out(FILE *out, const struct report_record *record, int64_t now) {
    char from[REPORT_WHEN_SIZE], back[REPORT_WHEN_SIZE];
    int64_t ms = report_out_ms(record, now);
    report_heading(out, "TIME OUT OF SERVICE");
    report_put(out, 2, "Out         %s%s%s%s%s", report_when(record->out_from, from),
               REPORT_LABELED(", cause ", model_cause_name(record->out_cause)),
               record->out_from != 0 && record->out_from < record->opened->at.wall
                   ? ", before this job was opened"
                   : "",
               record->out_unproved ? " (never proved live since the journal began)" : "");
    if (record->next_job != NULL) {
        report_put(out, 2, "Back        not by this job: job %s was opened there first",
                   record->next_job);
    } else {
        report_put(out, 2, "Back        %s",
                   record->back_at != 0 ? report_when(record->back_at, back) : "not yet");
    }
    if (ms >= 0) {
        report_put(out, 2, "Duration    %" PRId64 ".%03d s (%" PRId64 " h %02d min)%s", ms / 1000,
                   (int)(ms % 1000), ms / 3600000, (int)(ms / 60000 % 60),
                   record->back_at == 0 ? " so far" : "");
    }
}

static void put_crew(FILE *out, const struct report_record *record) {
    char joined[REPORT_WHEN_SIZE], left[REPORT_WHEN_SIZE];
    report_heading(out, "PEOPLE (credentials as configured now)");
    for (size_t i = 0; i < record->crew_count; i++) {
        const struct report_member *member = &record->crew[i];
        const struct model_person *person = model_person_find(record->model, member->person);
        report_put(
            out, 2, "%s %s%s, joined %s%s%s", member->person,
            report_title_of(record, member->person), member->led ? ", led" : "",
            report_when(member->joined, joined),
            REPORT_LABELED(", left ", member->left != 0 ? report_when(member->left, left) : NULL));
        if (person == NULL) {
            report_put(out, 6, "no longer in the people file: credentials not known");
        }
        for (size_t k = 0; person != NULL && k < person->credential_count; k++) {
            report_put(out, 6, "credential %s%s%s", person->credentials[k].credential,
                       REPORT_LABELED(", valid until ", person->credentials[k].until.day));
        }
    }
}

static void put_phases(FILE *out, const struct report_record *record) {
    char at[REPORT_WHEN_SIZE];
    report_heading(out, "PHASES");
    for (size_t i = 0; i < record->phase_count; i++) {
        const struct report_phase *phase = &record->phases[i];
        report_put(out, 2, "%s  %-10s%s%s", report_when(phase->at, at),
                   model_phase_name(phase->phase), REPORT_LABELED(" by ", phase->by));
    }
}

// --- Locks and points ---

static const char *why_discounted(const struct report_tag *tag) {
    return tag->why == MODEL_CODE_CHECK_FAILED ? "a check found energy"
           : tag->why == MODEL_CODE_LINK_DOWN  ? "what its reader said meanwhile is lost"
                                               : "the point read live";
}

static void put_tag(FILE *out, const struct report_record *record, const struct report_tag *tag) {
    char hung[REPORT_WHEN_SIZE], lifted[REPORT_WHEN_SIZE], lost[REPORT_WHEN_SIZE];
    const char *owner = tag->person != NULL ? tag->person : report_or_dash(tag->badge);
    report_put(
        out, 2, "%s  %s  hung %s%s%s%s%s%s%s", tag->point, owner, report_when(tag->hung, hung),
        tag->own           ? ""
        : tag->job != NULL ? ", of another job: "
                           : ", of no job",
        tag->own || tag->job == NULL ? "" : tag->job, tag->reader ? ", told by a reader" : "",
        tag->adopted ? ", a lock that hung there before" : "",
        REPORT_LABELED(", badge ", tag->person != NULL ? tag->badge : NULL));
    if (!tag->counts) {
        report_put(out, 6, "did NOT count when it was hung");
    }
    if (tag->discounted != 0) {
        report_put(out, 6, "stopped counting %s: %s", report_when(tag->discounted, lost),
                   why_discounted(tag));
    }
    if (tag->lifted == 0) {
        report_put(out, 6, "%s", record->ended == 0 ? "hangs" : "was not lifted in this record");
    } else {
        report_put(out, 6, "lifted %s%s%s%s", report_when(tag->lifted, lifted),
                   REPORT_LABELED(" by ", tag->lifted_by),
                   tag->lifted_reader ? ", told by a reader" : "");
    }
    if (tag->absent) {
        report_put(
            out, 6,
            "for its absent owner, attested: verified not on site, all reasonable efforts to make "
            "contact, will be told before resuming work (29 CFR 1910.147(e)(3)). Reason: %s",
            report_or_dash(tag->reason));
    }
}

static void put_out_of_order(FILE *out, const struct gate_fact *fact) {
    char at[REPORT_WHEN_SIZE];
    const char *what = fact->sensor != NULL ? fact->sensor : "its reader";
    bool out_of_order = fact->type == GATE_FACT_SENSOR_DISTRUSTED;
    report_put(out, 6, "%s  %s %s%s%s%s%s%s%s", report_when(fact->at.wall, at), what,
               out_of_order ? "OUT OF ORDER" : "in order again",
               REPORT_LABELED(", says ", fact->by), REPORT_LABELED(": ", fact->reason),
               REPORT_LABELED(", ", fact->trusted_why));
}

static void put_word(FILE *out, const struct report_record *record,
                     const struct report_entry *entry) {
    const struct gate_fact *fact = entry->fact;
    char at[REPORT_WHEN_SIZE];
    report_put(out, 6, "%s  %s%s%s%s%s%s%s", report_when(fact->at.wall, at),
               fact->has_state ? model_point_state_name(fact->state) : "-",
               REPORT_LABELED(", ", fact->has_trust ? model_trust_name(fact->trust) : NULL),
               REPORT_LABELED(", said by ", fact->person),
               report_title_of(record, fact->person)[0] != '\0' ? " " : "",
               report_title_of(record, fact->person));
}

static void put_locks(FILE *out, const struct report_record *record) {
    report_heading(out, "LOCKS AND TAGS");
    if (record->tag_count == 0) {
        report_put(out, 2, "none was hung");
    }
    for (size_t i = 0; i < record->tag_count; i++) {
        put_tag(out, record, &record->tags[i]);
    }
    report_heading(out, "POINTS, and what was heard of them");
    for (size_t i = 0; i < record->opened->evidence_count; i++) {
        const char *id = record->opened->evidence[i].point;
        uint32_t index = model_point_find(record->site, id);
        const struct model_point *point = index != MODEL_NONE ? &record->site->points[index] : NULL;
        report_put(out, 2, "%s%s%s%s%s; at the opening %s", id,
                   REPORT_LABELED(", ", point != NULL ? point->title : NULL),
                   REPORT_LABELED(", ", point != NULL ? point->energy : NULL),
                   model_point_state_name(record->opened->evidence[i].state));
        for (size_t k = 0; k < record->entry_count; k++) {
            const struct gate_fact *fact = record->entries[k].fact;
            if ((fact->type == GATE_FACT_POINT_CHANGED ||
                 fact->type == GATE_FACT_POINT_WITNESSED) &&
                report_is(fact->point, id)) {
                put_word(out, record, &record->entries[k]);
            } else if ((fact->type == GATE_FACT_SENSOR_DISTRUSTED ||
                        fact->type == GATE_FACT_SENSOR_TRUSTED) &&
                       report_is(fact->point, id)) {
                put_out_of_order(out, fact);
            }
        }
    }
}

// --- Refusals, stops and the rest ---

static void put_refusal(FILE *out, const struct report_record *record,
                        const struct report_entry *entry) {
    const struct gate_fact *fact = entry->fact;
    const char *verb = gate_verb_refused(fact->type, fact->verb);
    char at[REPORT_WHEN_SIZE];
    report_put(out, 2, "%s  %s %s asked %s", report_when(fact->at.wall, at),
               report_or_dash(fact->by), report_title_of(record, fact->by), report_or_dash(verb));
    for (size_t i = 0; i < fact->refusal_count; i++) {
        const struct gate_refusal *refusal = &fact->refusals[i];
        report_put(out, 6, "%s %s%s%s%s%s", model_code_name(refusal->code), refusal->subject,
                   REPORT_LABELED("; need: ", refusal->need),
                   REPORT_LABELED("; found: ", refusal->found));
    }
}

static void put_evidence(FILE *out, const struct gate_fact *fact) {
    char heard[REPORT_WHEN_SIZE];
    for (size_t i = 0; i < fact->evidence_count; i++) {
        const struct gate_evidence *evidence = &fact->evidence[i];
        report_put(out, 6, "then %s %s, %s, heard %s%s", evidence->point,
                   model_point_state_name(evidence->state), model_trust_name(evidence->trust),
                   evidence->heard != 0 ? report_when(evidence->heard, heard) : "never",
                   evidence->distrusted ? ", a sensor out of order" : "");
    }
}

static const char *happening(enum gate_fact_type type) {
    switch (type) {
    case GATE_FACT_STOP_CALLED:
        return "STOP CALLED";
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

static void put_stopping(FILE *out, const struct report_signature *of) {
    char figure[REPORT_FIGURE_SIZE], limit[REPORT_LIMITS_SIZE] = "";
    if (of == NULL) {
        return;
    }
    const struct gate_fact *fact = of->entry.fact;
    if (of->check != NULL) {
        report_limits_text(&of->check->limits, of->check->unit, limit);
    }
    report_put(out, 6, "by the check %s%s%s%s%s%s%s%s", fact->check,
               REPORT_LABELED(", ", of->check != NULL ? of->check->ask : NULL),
               REPORT_LABELED(": ", fact->has_value ? report_figure(fact->value, figure) : NULL),
               REPORT_LABELED(" ", fact->has_value ? fact->unit : NULL), limit);
}

static void put_happening(FILE *out, const struct report_record *record,
                          const struct report_entry *entry, const char *what) {
    const struct gate_fact *fact = entry->fact;
    char at[REPORT_WHEN_SIZE];
    report_put(out, 2, "%s  %s%s%s%s%s%s%s%s%s%s%s%s%s%s%s", report_when(fact->at.wall, at), what,
               REPORT_LABELED(": ", fact->person), REPORT_LABELED(", to ", fact->to),
               REPORT_LABELED(", by ", fact->by), REPORT_LABELED(", at ", fact->point),
               REPORT_LABELED(", ", fact->has_why ? model_code_name(fact->why) : NULL),
               REPORT_LABELED(": ", fact->reason != NULL ? fact->reason : fact->say),
               REPORT_LABELED(", version ", fact->version));
    put_stopping(out, report_stopping(record, entry));
    put_evidence(out, fact);
}

static void put_alarm(FILE *out, const struct report_alarm *alarm) {
    char raised[REPORT_WHEN_SIZE], acknowledged[REPORT_WHEN_SIZE], times[32] = "";
    if (alarm->count > 1) {
        snprintf(times, sizeof times, " (raised %u times)", alarm->count);
    }
    report_put(out, 2, "%s  %s%s%s%s%s%s; %s%s%s%s%s%s", report_when(alarm->raised, raised),
               model_alarm_kind_name(alarm->kind), times, REPORT_LABELED(" at ", alarm->point),
               REPORT_LABELED(": ", alarm->say),
               alarm->acknowledged != 0 ? "acknowledged " : "NOT ACKNOWLEDGED",
               alarm->acknowledged != 0 ? report_when(alarm->acknowledged, acknowledged) : "",
               REPORT_LABELED(" by ", alarm->acknowledged_by), REPORT_LABELED(": ", alarm->note));
}

static void put_story(FILE *out, const struct report_record *record) {
    bool any = false;
    report_heading(out, "REFUSALS");
    for (size_t i = 0; i < record->entry_count; i++) {
        if (record->entries[i].fact->refusal_count > 0) {
            put_refusal(out, record, &record->entries[i]);
            any = true;
        }
    }
    if (!any) {
        report_put(out, 2, "none");
    }
    report_heading(out, "LOCKOUT, STOPS, CREW, RESTARTS");
    for (size_t i = 0; i < record->entry_count; i++) {
        const struct report_entry *entry = &record->entries[i];
        const char *what = entry->orderly ? "locks off" : happening(entry->fact->type);
        if (what != NULL) {
            put_happening(out, record, entry, what);
        }
    }
    if (record->alarm_count > 0) {
        report_heading(out, "ALARMS");
    }
    for (size_t i = 0; i < record->alarm_count; i++) {
        put_alarm(out, &record->alarms[i]);
    }
}

void report_record_text(const struct report_record *record, const struct report_context *context,
                        FILE *out) {
    char last[2 * REPORT_HASH_SIZE + 1], head[2 * REPORT_HASH_SIZE + 1], made[REPORT_WHEN_SIZE];
    put_head(out, record);
    put_out(out, record, context->now);
    put_crew(out, record);
    put_phases(out, record);
    put_locks(out, record);
    report_put_checks(out, record);
    report_put_tests(out, record);
    report_put_day(out, record);
    put_story(out, record);
    report_heading(out, "JOURNAL");
    report_hash_text(record->last_hash, last);
    report_hash_text(context->head_hash, head);
    report_put(out, 2, "Facts %" PRId64 " to %" PRId64 " (%zu of this job) of %s",
               record->first_seq, record->last_seq, record->entry_count, context->instance);
    report_put(out, 2, "SHA-256 of fact %" PRId64, record->last_seq);
    report_put(out, 4, "%s", last);
    report_put(out, 2, "Head %" PRId64, context->head_seq);
    report_put(out, 4, "%s", head);
    report_put(out, 2, "%s",
               context->verified
                   ? "The chain from the opening to the head was proved when this was made."
                   : "The chain was not proved for this: `forelock journal verify` does.");
    report_put(out, 2, "Made %s by forelock %s", report_when(context->now, made), context->version);
    fputc('\n', out);
    for (size_t i = 0; report_caution(i) != NULL; i++) {
        report_put(out, 0, "%s", report_caution(i));
    }
}
