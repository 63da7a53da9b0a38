// One table of a fact's fields serves both directions. The writer follows it from top to bottom, so
// the reader, which expects the next field where the last one stood, finds each at once.
#include "wire/fact_codec.h"

#include "wire/fact_parts.h"
#include "wire/fact_requirements.h"
#include "wire/fact_words.h"

#include <string.h>

enum field_kind {
    FIELD_AT,       // the wall clock of `at`
    FIELD_ALWAYS,   // const char *, NULL: null; every fact tells it
    FIELD_TEXT,     // const char *, NULL: absent
    FIELD_NUMBER,   // double, with a flag
    FIELD_FLAG,     // bool, with a flag
    FIELD_YES,      // bool, absent where false
    FIELD_WORD,     // an enum, with a flag
    FIELD_TIME,     // Unix ms, 0: absent
    FIELD_TEXTS,    // jobs
    FIELD_EVIDENCE, // every fact tells it, [] where there is none
    FIELD_NEEDS,    // requirements
    FIELD_RESULT,   //
    FIELD_REFUSALS, //
};

struct field {
    const char *name;
    size_t length; // of the name
    enum field_kind kind;
    size_t offset;
    size_t flag; // offset of its "has_", where the kind has one
    const struct fact_words *words;
};

#define AT(member) offsetof(struct gate_fact, member)
#define TEXT(member)                                                                               \
    { .name = #member, .length = sizeof #member - 1, .kind = FIELD_TEXT, .offset = AT(member) }
#define FLAG(member)                                                                               \
    {                                                                                              \
        .name = #member, .length = sizeof #member - 1, .kind = FIELD_FLAG, .offset = AT(member),   \
        .flag = AT(has_##member)                                                                   \
    }
#define YES(member)                                                                                \
    { .name = #member, .length = sizeof #member - 1, .kind = FIELD_YES, .offset = AT(member) }
#define WORD(member, spellings)                                                                    \
    {                                                                                              \
        .name = #member, .length = sizeof #member - 1, .kind = FIELD_WORD, .offset = AT(member),   \
        .flag = AT(has_##member), .words = &(spellings)                                            \
    }
#define PART(member, as)                                                                           \
    { .name = #member, .length = sizeof #member - 1, .kind = (as), .offset = AT(member) }

static const struct field fields[] = {
    PART(job, FIELD_ALWAYS),
    PART(position, FIELD_ALWAYS),
    PART(at, FIELD_AT),
    PART(evidence, FIELD_EVIDENCE),
    TEXT(point),
    TEXT(person),
    TEXT(by),
    TEXT(verb),
    TEXT(procedure),
    TEXT(kit_family),
    TEXT(part),
    TEXT(defect),
    TEXT(note),
    TEXT(check),
    TEXT(test),
    {.name = "value",
     .length = 5,
     .kind = FIELD_NUMBER,
     .offset = AT(value),
     .flag = AT(has_value)},
    TEXT(unit),
    TEXT(instrument),
    FLAG(pass),
    PART(result, FIELD_RESULT),
    TEXT(badge),
    TEXT(to),
    TEXT(with),
    TEXT(alarm),
    WORD(kind, fact_alarm_kinds),
    WORD(alarm_state, fact_alarm_states),
    WORD(state, fact_point_states),
    WORD(trust, fact_trusts),
    WORD(phase, fact_phases),
    WORD(lockout, fact_lockouts),
    WORD(cause, fact_causes),
    WORD(why, fact_codes),
    TEXT(say),
    TEXT(reason),
    FLAG(counts),
    FLAG(overseer),
    YES(takes_dispenser),
    YES(absent),
    YES(reader),
    YES(adopted),
    PART(hung, FIELD_TIME),
    PART(jobs, FIELD_TEXTS),
    TEXT(boot),
    TEXT(version),
    PART(requirements, FIELD_NEEDS),
    PART(refusals, FIELD_REFUSALS),
};

#define FIELD_COUNT (sizeof fields / sizeof fields[0])

_Static_assert(sizeof(enum model_trust) == sizeof(int) && sizeof(enum model_code) == sizeof(int),
               "words are read and written as int");

const char *fact_subject(const struct gate_fact *fact, const struct model *model) {
    if (fact->position != NULL || fact->point == NULL || fact->site >= model->site_count) {
        return fact->position;
    }
    const struct model_site *site = &model->sites[fact->site];
    uint32_t index = model_point_find(site, fact->point);
    if (index == MODEL_NONE || site->points[index].isolates_count != 1) {
        return NULL;
    }
    return site->positions[site->points[index].isolates[0]].position;
}

// --- Writing ---

static const char *text_of(const struct gate_fact *fact, const struct field *field) {
    const char *text;
    memcpy(&text, (const char *)fact + field->offset, sizeof text);
    return text;
}

static bool flag_of(const struct gate_fact *fact, size_t offset) {
    return *((const bool *)fact + offset);
}

static bool is_set(const struct gate_fact *fact, const struct field *field) {
    switch (field->kind) {
    case FIELD_AT:
    case FIELD_ALWAYS:
    case FIELD_EVIDENCE:
        return true;
    case FIELD_TEXT:
        return text_of(fact, field) != NULL;
    case FIELD_NUMBER:
    case FIELD_FLAG:
    case FIELD_WORD:
        return flag_of(fact, field->flag);
    case FIELD_YES:
        return flag_of(fact, field->offset);
    case FIELD_TIME:
        return fact->hung != 0;
    case FIELD_TEXTS:
        return fact->job_count > 0;
    case FIELD_NEEDS:
        return fact->requirements != NULL;
    case FIELD_RESULT:
        return fact->result != NULL;
    case FIELD_REFUSALS:
        return fact->refusal_count > 0;
    }
    return false;
}

// A word that has no spelling, and is not the one that has none on purpose, cannot be kept.
static bool write_word(struct json_out *out, const struct gate_fact *fact,
                       const struct field *field) {
    int value;
    memcpy(&value, (const char *)fact + field->offset, sizeof value);
    json_out_string(out, field->words->name(value));
    return value >= 0 && value < field->words->count;
}

static void write_jobs(struct json_out *out, const struct gate_fact *fact) {
    json_out_array(out);
    for (size_t i = 0; i < fact->job_count; i++) {
        json_out_string(out, fact->jobs[i]);
    }
    json_out_array_end(out);
}

static void write_refusals(struct json_out *out, const struct gate_fact *fact) {
    json_out_array(out);
    for (size_t i = 0; i < fact->refusal_count; i++) {
        fact_write_refusal(out, &fact->refusals[i], true);
    }
    json_out_array_end(out);
}

static bool write_value(struct json_out *out, const struct gate_fact *fact,
                        const struct field *field) {
    switch (field->kind) {
    case FIELD_AT:
        fact_write_time(out, fact->at.wall);
        break;
    case FIELD_ALWAYS:
    case FIELD_TEXT:
        json_out_string(out, text_of(fact, field));
        break;
    case FIELD_NUMBER:
        json_out_double(out, fact->value);
        break;
    case FIELD_FLAG:
    case FIELD_YES:
        json_out_bool(out, flag_of(fact, field->offset));
        break;
    case FIELD_WORD:
        return write_word(out, fact, field);
    case FIELD_TIME:
        fact_write_time(out, fact->hung);
        break;
    case FIELD_TEXTS:
        write_jobs(out, fact);
        break;
    case FIELD_EVIDENCE:
        fact_write_evidence(out, fact->evidence, fact->evidence_count);
        break;
    case FIELD_NEEDS:
        fact_write_requirements(out, fact->requirements);
        break;
    case FIELD_RESULT:
        fact_write_result(out, fact->result);
        break;
    case FIELD_REFUSALS:
        write_refusals(out, fact);
        break;
    }
    return true;
}

bool fact_encode(const struct gate_fact *fact, const struct model *model, struct json_out *out) {
    struct gate_fact whole = *fact;
    bool good = true;
    whole.position = fact_subject(fact, model);
    json_out_object(out);
    for (size_t i = 0; i < FIELD_COUNT; i++) {
        if (is_set(&whole, &fields[i])) {
            json_out_key(out, fields[i].name);
            good = write_value(out, &whole, &fields[i]) && good;
        }
    }
    json_out_object_end(out);
    return good && !out->failed;
}

// --- Reading ---

static void *place(struct gate_fact *fact, size_t offset) {
    return (char *)fact + offset;
}

// Null is absent, as it is in every message.
static bool read_text(const struct fact_reader *reader, const struct json_node *node,
                      const struct field *field, struct gate_fact *fact) {
    const char *text;
    if (node->kind == JSON_NULL) {
        return true;
    }
    if (!fact_read_text(reader, node, &text)) {
        return false;
    }
    memcpy(place(fact, field->offset), &text, sizeof text);
    return true;
}

static bool read_flag(const struct json_node *node, size_t offset, struct gate_fact *fact) {
    *(bool *)place(fact, offset) = node->kind == JSON_TRUE;
    return node->kind == JSON_TRUE || node->kind == JSON_FALSE;
}

static bool read_word(const struct fact_reader *reader, const struct json_node *node,
                      const struct field *field, struct gate_fact *fact) {
    int value = fact_word_read(field->words, reader->tape, node);
    if (value < 0) {
        return false;
    }
    memcpy(place(fact, field->offset), &value, sizeof value);
    return true;
}

static bool read_jobs(const struct fact_reader *reader, const struct json_node *node,
                      struct gate_fact *fact) {
    const char **jobs;
    if (!fact_read_texts(reader, node, &jobs, &fact->job_count)) {
        return false;
    }
    fact->jobs = jobs;
    return true;
}

static bool read_value(const struct fact_reader *reader, const struct json_node *node,
                       const struct field *field, struct gate_fact *fact) {
    switch (field->kind) {
    case FIELD_AT:
        return node->kind == JSON_STRING || node->kind == JSON_NULL;
    case FIELD_ALWAYS:
    case FIELD_TEXT:
        return read_text(reader, node, field, fact);
    case FIELD_NUMBER:
        *(bool *)place(fact, field->flag) = true;
        return json_double(reader->tape, node, &fact->value);
    case FIELD_FLAG:
        *(bool *)place(fact, field->flag) = true;
        return read_flag(node, field->offset, fact);
    case FIELD_YES:
        return read_flag(node, field->offset, fact);
    case FIELD_WORD:
        *(bool *)place(fact, field->flag) = true;
        return read_word(reader, node, field, fact);
    case FIELD_TIME:
        return fact_read_time(reader, node, &fact->hung);
    case FIELD_TEXTS:
        return read_jobs(reader, node, fact);
    case FIELD_EVIDENCE:
        return fact_read_evidence(reader, node, &fact->evidence, &fact->evidence_count);
    case FIELD_NEEDS:
        return fact_read_requirements(reader, node, &fact->requirements);
    case FIELD_RESULT:
        return fact_read_result(reader, node, &fact->result);
    case FIELD_REFUSALS:
        return fact_read_refusals(reader, node, &fact->refusals, &fact->refusal_count);
    }
    return false;
}

// The field of a key, looked for from *next on, and *next set behind it. NULL: there is none.
static const struct field *field_of(const struct json_tape *tape, const struct json_node *key,
                                    size_t *next) {
    for (size_t tried = 0; tried < FIELD_COUNT; tried++) {
        const struct field *field = &fields[*next];
        *next = (*next + 1) % FIELD_COUNT;
        if (fact_spells(tape, key, field->name, field->length)) {
            return field;
        }
    }
    return NULL;
}

bool fact_decode(const struct json_tape *tape, const struct json_node *data,
                 enum gate_fact_type type, uint32_t site, struct gate_time at,
                 struct fact_arena *arena, struct gate_fact *fact) {
    const struct fact_reader reader = {.tape = tape, .arena = arena};
    size_t next = 0;
    *fact = (struct gate_fact){.type = type, .site = site, .at = at};
    if (data == NULL || data->kind != JSON_OBJECT || (int)type < 0 || type >= GATE_FACT_COUNT) {
        return false;
    }
    const struct json_node *key = json_first(tape, data);
    while (key != NULL) {
        const struct json_node *value = json_next(tape, data, key);
        const struct field *field = field_of(tape, key, &next);
        if (field == NULL || !read_value(&reader, value, field, fact)) {
            return false;
        }
        key = json_next(tape, data, value);
    }
    return true;
}
