// One table of fields (gate/fact/field.h) serves both directions. The writer follows it from top to
// bottom, so the reader, which expects the next field where the last one stood, finds each at once.
#include "wire/fact_codec.h"

#include "gate/fact/field.h"
#include "gate/fact/row.h"
#include "wire/fact_fuel.h"
#include "wire/fact_parts.h"
#include "wire/fact_refusal.h"
#include "wire/fact_requirements.h"
#include "wire/fact_words.h"

#include <string.h>

const char *wire_fact_subject(const struct gate_fact *fact, const struct model *model) {
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

static bool flag_of(const struct gate_fact *fact, size_t offset) {
    return *((const bool *)fact + offset);
}

static uint32_t count_of(const struct gate_fact *fact, size_t offset) {
    uint32_t count;
    memcpy(&count, (const char *)fact + offset, sizeof count);
    return count;
}

static bool is_told(const struct gate_fact *fact, const struct gate_fact_field_row *field) {
    return field->kind == GATE_FACT_KIND_ALWAYS || field->kind == GATE_FACT_KIND_EVIDENCE ||
           gate_fact_has(fact, field);
}

// A value that has no spelling, and is not the one that has none on purpose, cannot be kept.
static bool write_name(struct json_out *out, const struct gate_fact *fact,
                       const struct gate_fact_field_row *field) {
    int value;
    memcpy(&value, (const char *)fact + field->offset, sizeof value);
    json_out_string(out, field->spelling->name(value));
    return value >= 0 && value < field->spelling->count;
}

static void write_texts(struct json_out *out, const struct gate_fact *fact,
                        const struct gate_fact_field_row *field) {
    const char *const *texts;
    size_t count;
    memcpy(&texts, (const char *)fact + field->offset, sizeof texts);
    memcpy(&count, (const char *)fact + field->flag, sizeof count);
    json_out_array(out);
    for (size_t i = 0; i < count; i++) {
        json_out_string(out, texts[i]);
    }
    json_out_array_end(out);
}

static void write_refusals(struct json_out *out, const struct gate_fact *fact) {
    json_out_array(out);
    for (size_t i = 0; i < fact->refusal_count; i++) {
        wire_fact_write_refusal(out, &fact->refusals[i], true);
    }
    json_out_array_end(out);
}

static bool write_value(struct json_out *out, const struct gate_fact *fact,
                        const struct gate_fact_field_row *field) {
    switch (field->kind) {
    case GATE_FACT_KIND_AT:
        wire_fact_write_time(out, fact->at.wall);
        break;
    case GATE_FACT_KIND_ALWAYS:
    case GATE_FACT_KIND_TEXT:
        json_out_string(out, gate_fact_text_of(fact, field));
        break;
    case GATE_FACT_KIND_NUMBER:
        json_out_double(out, *(const double *)((const char *)fact + field->offset));
        break;
    case GATE_FACT_KIND_COUNT:
        json_out_int(out, count_of(fact, field->offset));
        break;
    case GATE_FACT_KIND_FLAG:
    case GATE_FACT_KIND_YES:
        json_out_bool(out, flag_of(fact, field->offset));
        break;
    case GATE_FACT_KIND_NAME:
        return write_name(out, fact, field);
    case GATE_FACT_KIND_TIME:
        wire_fact_write_time(out, *(const int64_t *)((const char *)fact + field->offset));
        break;
    case GATE_FACT_KIND_TEXTS:
        write_texts(out, fact, field);
        break;
    case GATE_FACT_KIND_EVIDENCE:
        wire_fact_write_evidence(out, fact->evidence, fact->evidence_count);
        break;
    case GATE_FACT_KIND_NEEDS:
        wire_fact_write_requirements(out, fact->requirements);
        break;
    case GATE_FACT_KIND_RESULT:
        wire_fact_write_result(out, fact->result);
        break;
    case GATE_FACT_KIND_ARGS:
        wire_fact_write_args(out, fact->args);
        break;
    case GATE_FACT_KIND_SUM:
        wire_fact_write_sum(out, fact->sum);
        break;
    case GATE_FACT_KIND_SUMS:
        wire_fact_write_sums(out, fact->fuel, fact->fuel_count);
        break;
    case GATE_FACT_KIND_REFUSALS:
        write_refusals(out, fact);
        break;
    }
    return true;
}

bool wire_fact_encode(const struct gate_fact *fact, const struct model *model,
                      struct json_out *out) {
    struct gate_fact whole = *fact;
    bool good = true;
    whole.position = wire_fact_subject(fact, model);
    json_out_object(out);
    for (size_t i = 0; i < GATE_FACT_FIELD_COUNT; i++) {
        if (is_told(&whole, &gate_fact_field_rows[i])) {
            json_out_key(out, gate_fact_field_rows[i].name);
            good = write_value(out, &whole, &gate_fact_field_rows[i]) && good;
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
static bool read_text(const struct wire_fact_reader *reader, const struct json_node *node,
                      const struct gate_fact_field_row *field, struct gate_fact *fact) {
    const char *text;
    if (node->kind == JSON_NULL) {
        return true;
    }
    if (!wire_fact_read_text(reader, node, &text)) {
        return false;
    }
    memcpy(place(fact, field->offset), &text, sizeof text);
    return true;
}

static bool read_flag(const struct json_node *node, size_t offset, struct gate_fact *fact) {
    *(bool *)place(fact, offset) = node->kind == JSON_TRUE;
    return node->kind == JSON_TRUE || node->kind == JSON_FALSE;
}

static bool read_name(const struct wire_fact_reader *reader, const struct json_node *node,
                      const struct gate_fact_field_row *field, struct gate_fact *fact) {
    int value = wire_fact_word_read(field->spelling, reader->tape, node);
    if (value < 0) {
        return false;
    }
    memcpy(place(fact, field->offset), &value, sizeof value);
    return true;
}

static bool read_count(const struct wire_fact_reader *reader, const struct json_node *node,
                       const struct gate_fact_field_row *field, struct gate_fact *fact) {
    double number;
    if (!json_double(reader->tape, node, &number) || number < 0 || number > UINT32_MAX) {
        return false;
    }
    uint32_t count = (uint32_t)number;
    memcpy(place(fact, field->offset), &count, sizeof count);
    return true;
}

static bool read_texts(const struct wire_fact_reader *reader, const struct json_node *node,
                       const struct gate_fact_field_row *field, struct gate_fact *fact) {
    const char **texts;
    size_t count;
    if (!wire_fact_read_texts(reader, node, &texts, &count)) {
        return false;
    }
    memcpy(place(fact, field->offset), &texts, sizeof texts);
    memcpy(place(fact, field->flag), &count, sizeof count);
    return true;
}

static bool read_value(const struct wire_fact_reader *reader, const struct json_node *node,
                       const struct gate_fact_field_row *field, struct gate_fact *fact) {
    switch (field->kind) {
    case GATE_FACT_KIND_AT:
        return node->kind == JSON_STRING || node->kind == JSON_NULL;
    case GATE_FACT_KIND_ALWAYS:
    case GATE_FACT_KIND_TEXT:
        return read_text(reader, node, field, fact);
    case GATE_FACT_KIND_NUMBER:
        *(bool *)place(fact, field->flag) = true;
        return json_double(reader->tape, node, place(fact, field->offset));
    case GATE_FACT_KIND_COUNT:
        return read_count(reader, node, field, fact);
    case GATE_FACT_KIND_FLAG:
        *(bool *)place(fact, field->flag) = true;
        return read_flag(node, field->offset, fact);
    case GATE_FACT_KIND_YES:
        return read_flag(node, field->offset, fact);
    case GATE_FACT_KIND_NAME:
        *(bool *)place(fact, field->flag) = true;
        return read_name(reader, node, field, fact);
    case GATE_FACT_KIND_TIME:
        return wire_fact_read_time(reader, node, place(fact, field->offset));
    case GATE_FACT_KIND_TEXTS:
        return read_texts(reader, node, field, fact);
    case GATE_FACT_KIND_EVIDENCE:
        return wire_fact_read_evidence(reader, node, &fact->evidence, &fact->evidence_count);
    case GATE_FACT_KIND_NEEDS:
        return wire_fact_read_requirements(reader, node, &fact->requirements);
    case GATE_FACT_KIND_RESULT:
        return wire_fact_read_result(reader, node, &fact->result);
    case GATE_FACT_KIND_ARGS:
        return wire_fact_read_alarm_args(reader, node, &fact->args);
    case GATE_FACT_KIND_SUM:
        return wire_fact_read_sum(reader, node, &fact->sum);
    case GATE_FACT_KIND_SUMS:
        return wire_fact_read_sums(reader, node, &fact->fuel, &fact->fuel_count);
    case GATE_FACT_KIND_REFUSALS:
        return wire_fact_read_refusals(reader, node, &fact->refusals, &fact->refusal_count);
    }
    return false;
}

// Of fields with one key, the one that a fact of the type carries; else the first.
static const struct gate_fact_field_row *carried(size_t found, gate_fact_mask carries) {
    const struct gate_fact_field_row *of = &gate_fact_field_rows[found], *first = NULL;
    for (size_t i = 0; i < GATE_FACT_FIELD_COUNT && (carries >> found & 1u) == 0; i++) {
        const struct gate_fact_field_row *field = &gate_fact_field_rows[i];
        if (field->length == of->length && memcmp(field->name, of->name, of->length) == 0) {
            if ((carries >> i & 1u) != 0) {
                return field;
            }
            first = first != NULL ? first : field;
        }
    }
    return first != NULL ? first : of;
}

// The field of a key, looked for from *next on, and *next set behind it. NULL: there is none.
static const struct gate_fact_field_row *field_of(const struct json_tape *tape,
                                                  const struct json_node *key,
                                                  gate_fact_mask carries, size_t *next) {
    for (size_t tried = 0; tried < GATE_FACT_FIELD_COUNT; tried++) {
        size_t at = *next;
        const struct gate_fact_field_row *field = &gate_fact_field_rows[at];
        *next = (at + 1) % GATE_FACT_FIELD_COUNT;
        if (wire_fact_spells(tape, key, field->name, field->length)) {
            return carried(at, carries);
        }
    }
    return NULL;
}

bool wire_fact_decode(const struct json_tape *tape, const struct json_node *data,
                      enum gate_fact_type type, uint32_t site, struct gate_time at,
                      struct wire_fact_arena *arena, struct gate_fact *fact) {
    const struct wire_fact_reader reader = {.tape = tape, .arena = arena};
    size_t next = 0;
    *fact = (struct gate_fact){.type = type, .site = site, .at = at};
    if (data == NULL || data->kind != JSON_OBJECT || (int)type < 0 || type >= GATE_FACT_COUNT) {
        return false;
    }
    const gate_fact_mask carries = GATE_FACT_OF_ALL | gate_fact_row(type)->carries;
    const struct json_node *key = json_first(tape, data);
    while (key != NULL) {
        const struct json_node *value = json_next(tape, data, key);
        const struct gate_fact_field_row *field = field_of(tape, key, carries, &next);
        if (field == NULL || !read_value(&reader, value, field, fact)) {
            return false;
        }
        key = json_next(tape, data, value);
    }
    return true;
}
