// Facts as plain sentences: one template a type.
//
// In a template, {name} is a field of the fact; {a|b} the first of them that is set; {?flag} and
// {!flag} print nothing, and are set where the flag is true, or is known and false. What stands in
// [brackets] is left out unless all of it is set.
#include "tool/narrate.h"

#include "tool/record.h"
#include "wire/fact_words.h"

#include <string.h>

#define LOCK "lock and tag"

static const char *const templates[GATE_FACT_COUNT] = {
    [GATE_FACT_JOB_OPENED] = "{by} opened job {job} on {position} by procedure {procedure}[, led "
                             "by {person}][, kit {kit_family}][, part {part}][: {defect}][ "
                             "(note: {note})]",
    [GATE_FACT_JOB_ASSIGNED] = "{by} assigned job {job} to {person}[, kit {kit_family}]",
    [GATE_FACT_JOB_CANCELLED] = "{by} cancelled job {job}[: {reason}]",
    [GATE_FACT_JOB_RETURNED] = "{by} returned the position: job {job} is over",
    [GATE_FACT_LEAD_OFFERED] = "{by} offered the lead of job {job} to {to}",
    [GATE_FACT_JOB_HANDED_OVER] = "{to} took the lead of job {job}[ over from {person}]",
    [GATE_FACT_CREW_JOINED] = "{person} joined the crew of {job}",
    [GATE_FACT_CREW_LEFT] = "{person} left the crew of {job}[ (asked by {by})]",
    [GATE_FACT_CREW_PROTECTED] = "{person} is protected: a tag that counts on every required point",
    [GATE_FACT_CREW_UNPROTECTED] = "{person} is NOT protected: off the job until every tag is hung",
    [GATE_FACT_TAG_HUNG] = "{person|badge} hung " LOCK " on {point}[{?reader}, told by a reader][, "
                           "badge {badge}][{?adopted}, a lock that hung there before][{!counts}; "
                           "it does NOT count]",
    [GATE_FACT_TAG_LIFTED] = LOCK " of {person|badge} on {point} was lifted[ by {by}][{?absent}, "
                                  "for its absent owner][{?reader}, told by a reader][: {reason}]",
    [GATE_FACT_CHECK_SIGNED] = "{person} signed check {check}[: {value}][ {unit}][ with "
                               "{instrument}][{!pass}, which is OUTSIDE its limits][ (note: "
                               "{note})]",
    [GATE_FACT_POINT_WITNESSED] = "{person} looked and said that {point} is {state}[{?overseer}, "
                                  "as manager or supervisor]",
    [GATE_FACT_POINT_CHANGED] = "{point} became {state}[ ({trust})]",
    [GATE_FACT_LOCKOUT_CONFIRMED] = "the lockout of {job} is confirmed",
    [GATE_FACT_LOCKOUT_LOST] = "the lockout of {job} is confirmed no longer[: it is {lockout}]",
    [GATE_FACT_LOCKOUT_BROKEN] = "the lockout of {job} was BROKEN[ at {point}][ ({why})][: {say}]",
    [GATE_FACT_WORK_STARTED] = "{by} started the work on {job}",
    [GATE_FACT_WORK_REFUSED] = "{by} asked to start the work on {job} and was refused",
    [GATE_FACT_WORK_STOPPED] = "the work on {job} was stopped[ by {by}][ ({why})][: {reason}]",
    [GATE_FACT_WORK_FINISHED] = "{by} finished the work on {job}",
    [GATE_FACT_WORK_SET_ASIDE] = "{by} set job {job} aside[: {reason}]",
    [GATE_FACT_WORK_REOPENED] = "{by} took job {job} back to open[: {reason}]",
    [GATE_FACT_TEST_BEGUN] = "{by} began the tests of {job}",
    [GATE_FACT_TEST_REFUSED] = "{by} asked to begin the tests of {job} and was refused",
    [GATE_FACT_TEST_RECORDED] = "{person} recorded test {test}[{?pass}: passed][{!pass}: FAILED][ "
                                "at {value}][ with {instrument}][ (note: {note})]",
    [GATE_FACT_RETURN_REFUSED] = "{by} asked to return the position and was refused",
    [GATE_FACT_POSITION_OUT_OF_SERVICE] = "position {position} went out of service[ ({cause})][, "
                                          "held by job {with}][: {why}]",
    [GATE_FACT_POSITION_RETURNED] = "position {position} is back in service",
    [GATE_FACT_ALARM_RAISED] = "alarm {alarm} ({kind}) was raised[ at {point}][ ({why})][: {say}]",
    [GATE_FACT_ALARM_ACKNOWLEDGED] = "{by} acknowledged alarm {alarm}[ ({kind})]",
    [GATE_FACT_ALARM_CLEARED] = "alarm {alarm}[ ({kind})] cleared[: {alarm_state}]",
    [GATE_FACT_DAEMON_STARTED] = "the daemon started[ (version {version})]: what it heard before "
                                 "is no evidence any more",
    [GATE_FACT_TAG_DISCOUNTED] = "the tag of {person|badge} on {point} counts no longer: the "
                                 "point read live",
    [GATE_FACT_HOLD_BEGUN] = "every required point is isolated and tagged by the leader: relieve "
                             "and verify are in season",
    [GATE_FACT_HOLD_ENDED] = "not every required point is isolated and tagged by the leader any "
                             "more: what was relieved and verified is void",
    [GATE_FACT_REQUEST_REFUSED] = "{by} asked {verb}[ on {point}][ of check {check}][ of test "
                                  "{test}] and was refused",
};

// --- Fields ---

#define AT(member) offsetof(struct gate_fact, member)
#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static const struct {
    const char *name;
    size_t at;
} texts[] = {
    {"job", AT(job)},
    {"position", AT(position)},
    {"point", AT(point)},
    {"person", AT(person)},
    {"by", AT(by)},
    {"verb", AT(verb)},
    {"note", AT(note)},
    {"procedure", AT(procedure)},
    {"kit_family", AT(kit_family)},
    {"part", AT(part)},
    {"defect", AT(defect)},
    {"reason", AT(reason)},
    {"check", AT(check)},
    {"test", AT(test)},
    {"unit", AT(unit)},
    {"badge", AT(badge)},
    {"instrument", AT(instrument)},
    {"to", AT(to)},
    {"with", AT(with)},
    {"alarm", AT(alarm)},
    {"say", AT(say)},
    {"version", AT(version)},
};

static const struct {
    const char *name;
    size_t at, has;
    const struct fact_words *words;
} words[] = {
    {"state", AT(state), AT(has_state), &fact_point_states},
    {"trust", AT(trust), AT(has_trust), &fact_trusts},
    {"lockout", AT(lockout), AT(has_lockout), &fact_lockouts},
    {"why", AT(why), AT(has_why), &fact_codes},
    {"kind", AT(kind), AT(has_kind), &fact_alarm_kinds},
    {"alarm_state", AT(alarm_state), AT(has_alarm_state), &fact_alarm_states},
    {"cause", AT(cause), AT(has_cause), &fact_causes},
};

static const struct {
    const char *name;
    size_t at, has; // the same: there is no "has_"
} flags[] = {
    {"absent", AT(absent), AT(absent)},           {"reader", AT(reader), AT(reader)},
    {"adopted", AT(adopted), AT(adopted)},        {"counts", AT(counts), AT(has_counts)},
    {"overseer", AT(overseer), AT(has_overseer)}, {"pass", AT(pass), AT(has_pass)},
};

static bool is_name(const char *name, const char *text, size_t length) {
    return strlen(name) == length && memcmp(name, text, length) == 0;
}

static bool flag_at(const struct gate_fact *fact, size_t at) {
    return *(const bool *)((const char *)fact + at);
}

static const char *word_of(const struct gate_fact *fact, const char *name, size_t length) {
    for (size_t i = 0; i < COUNT(words); i++) {
        if (is_name(words[i].name, name, length) && flag_at(fact, words[i].has)) {
            int value;
            memcpy(&value, (const char *)fact + words[i].at, sizeof value);
            return words[i].words->name(value);
        }
    }
    return NULL;
}

static const char *text_of(const struct gate_fact *fact, const char *name, size_t length) {
    for (size_t i = 0; i < COUNT(texts); i++) {
        if (is_name(texts[i].name, name, length)) {
            const char *text;
            memcpy(&text, (const char *)fact + texts[i].at, sizeof text);
            return text;
        }
    }
    return word_of(fact, name, length);
}

static bool flag_is(const struct gate_fact *fact, const char *name, size_t length, bool wanted) {
    for (size_t i = 0; i < COUNT(flags); i++) {
        if (is_name(flags[i].name, name, length)) {
            bool known = flags[i].has == flags[i].at || flag_at(fact, flags[i].has);
            return known && flag_at(fact, flags[i].at) == wanted;
        }
    }
    return false;
}

// --- Templates ---

// The first that is set of names with bars between them. False: none is.
static bool add_field(struct tool_text *text, const struct gate_fact *fact, const char *name,
                      size_t length) {
    if (name[0] == '?' || name[0] == '!') {
        return flag_is(fact, name + 1, length - 1, name[0] == '?');
    }
    if (is_name("value", name, length)) {
        tool_text_add(text, "%.15g", fact->value);
        return fact->has_value;
    }
    for (const char *end = name + length; name < end;) {
        const char *bar = memchr(name, '|', (size_t)(end - name));
        size_t one = (size_t)((bar != NULL ? bar : end) - name);
        const char *found = text_of(fact, name, one);
        if (found != NULL && found[0] != '\0') {
            tool_text_add(text, "%s", found);
            return true;
        }
        name += one + 1;
    }
    return false;
}

// Adds a stretch without brackets, with `instead` for what is not set. Whether all of it was.
static bool add_span(struct tool_text *text, const struct gate_fact *fact, const char *at,
                     const char *end, const char *instead) {
    bool all = true;
    while (at < end) {
        const char *open = memchr(at, '{', (size_t)(end - at));
        tool_text_add_n(text, at, (size_t)((open != NULL ? open : end) - at));
        if (open == NULL) {
            break;
        }
        const char *close = strchr(open, '}');
        bool set = add_field(text, fact, open + 1, (size_t)(close - open - 1));
        tool_text_add(text, "%s", set ? "" : instead);
        all = all && set;
        at = close + 1;
    }
    return all;
}

static const char *template_of(const struct gate_fact *fact) {
    if (fact->type == GATE_FACT_CHECK_SIGNED && fact->person == NULL) {
        return "measure {note} answered check {check}[: {value}][ {unit}][{!pass}, which is "
               "OUTSIDE "
               "its limits]";
    }
    if (fact->type == GATE_FACT_TEST_RECORDED && !fact->has_pass && fact->result != NULL &&
        fact->result->runs > 0) {
        return "{person} recorded a run of test {test}, which is borderline: no verdict yet[; mean "
               "so far {value}][ with {instrument}][ (note: {note})]";
    }
    return templates[fact->type];
}

void narrate_headline(struct tool_text *text, const struct gate_fact *fact) {
    const char *at = template_of(fact);
    while (*at != '\0') {
        size_t plain = strcspn(at, "[");
        add_span(text, fact, at, at + plain, "(not known)");
        at += plain;
        if (*at == '[') {
            const char *close = strchr(at, ']');
            size_t before = text->length;
            if (!add_span(text, fact, at + 1, close, "")) {
                tool_text_cut(text, before);
            }
            at = close + 1;
        }
    }
}

// --- Details ---

void narrate_evidence(struct tool_text *text, const struct gate_fact *fact) {
    for (size_t i = 0; i < fact->evidence_count; i++) {
        const struct gate_evidence *evidence = &fact->evidence[i];
        char age[TOOL_AGE_SIZE];
        tool_age(fact->at.wall - evidence->heard, age);
        tool_text_add(text, "%s%s %s, %s, ", i > 0 ? "; " : "", evidence->point,
                      model_point_state_name(evidence->state), model_trust_name(evidence->trust));
        if (evidence->heard != 0) {
            tool_text_add(text, "heard %s before", age);
        } else {
            tool_text_add(text, "never heard");
        }
    }
}

void narrate_refusal(struct tool_text *text, const struct gate_refusal *refusal) {
    char age[TOOL_AGE_SIZE];
    tool_text_add(text, "%s (%s%s%s", refusal->say, model_code_name(refusal->code),
                  refusal->subject[0] != '\0' ? " " : "", refusal->subject);
    if (refusal->need[0] != '\0') {
        tool_text_add(text, "; need: %s", refusal->need);
    }
    if (refusal->found[0] != '\0') {
        tool_text_add(text, "; found: %s", refusal->found);
    }
    if (refusal->age_ms >= 0) {
        tool_age(refusal->age_ms, age);
        tool_text_add(text, "; %s old", age);
    }
    tool_text_add(text, ")");
}

static void add_inputs(struct tool_text *text, const struct model_result *result) {
    for (size_t i = 0; i < result->input_count; i++) {
        const struct model_reading *input = &result->inputs[i];
        tool_text_add(text, "%s%s=", i > 0 ? ", " : "", input->name);
        if (input->kind == MODEL_READING_NUMBER) {
            tool_text_add(text, "%.15g", input->number);
        } else {
            tool_text_add(text, "%s",
                          input->kind == MODEL_READING_TEXT ? input->text
                          : input->flag                     ? "true"
                                                            : "false");
        }
    }
}

// A limit that is one number does not say which end it was.
static void add_limit(struct tool_text *text, const struct model_result *result) {
    const struct model_limits *limits = &result->limits;
    if (!result->limit_is_interval && (limits->has_min || limits->has_max)) {
        tool_text_add(text, ", limit %.15g", limits->has_max ? limits->max : limits->min);
        return;
    }
    if (limits->has_min) {
        tool_text_add(text, ", at least %.15g", limits->min);
    }
    if (limits->has_max) {
        tool_text_add(text, ", at most %.15g", limits->max);
    }
}

void narrate_result(struct tool_text *text, const struct model_result *result) {
    tool_text_add(text, "%s, %s: ", result->rule, result->formula);
    add_inputs(text, result);
    if (result->has_value) {
        tool_text_add(text, "; value %.15g", result->value);
    }
    add_limit(text, result);
    if (result->has_margin) {
        tool_text_add(text, ", margin %.15g", result->margin);
    }
    tool_text_add(text, "; source: %s", result->source);
}

bool narrate_names_job(const struct gate_fact *fact, const char *job) {
    for (size_t i = 0; i < fact->job_count; i++) {
        if (record_same(fact->jobs[i], job)) {
            return true;
        }
    }
    return record_same(fact->job, job);
}
