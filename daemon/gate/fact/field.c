// The table of fields, and which of them a fact has.
#include "gate/fact/field.h"

#include <string.h>

#define OFFSET(member) offsetof(struct gate_fact, member)
// Where the flag of a field stands, by its kind: its own place where it has none.
#define FLAG_OF_ALWAYS(member) OFFSET(member)
#define FLAG_OF_AT(member) OFFSET(member)
#define FLAG_OF_EVIDENCE(member) OFFSET(member)
#define FLAG_OF_TEXT(member) OFFSET(member)
#define FLAG_OF_NUMBER(member) OFFSET(has_##member)
#define FLAG_OF_COUNT(member) OFFSET(member)
#define FLAG_OF_ARGS(member) OFFSET(member)
#define FLAG_OF_FLAG(member) OFFSET(has_##member)
#define FLAG_OF_YES(member) OFFSET(member)
#define FLAG_OF_TIME(member) OFFSET(member)
#define COUNT_OF_jobs job_count
#define COUNT_OF_points point_count
#define FLAG_OF_TEXTS(member) OFFSET(COUNT_OF_##member)
#define FLAG_OF_NEEDS(member) OFFSET(member)
#define FLAG_OF_RESULT(member) OFFSET(member)
#define FLAG_OF_SUM(member) OFFSET(member)
#define FLAG_OF_SUMS(member) OFFSET(member)
#define FLAG_OF_REFUSALS(member) OFFSET(member)

#define AS(member, key, as)                                                                        \
    [GATE_FACT_FIELD_##member] = {.name = key,                                                     \
                                  .length = sizeof key - 1,                                        \
                                  .kind = GATE_FACT_KIND_##as,                                     \
                                  .offset = OFFSET(member),                                        \
                                  .flag = FLAG_OF_##as(member)},
#define FIELD(member, as) AS(member, #member, as)
#define NAME(member, spelled)                                                                      \
    [GATE_FACT_FIELD_##member] = {.name = #member,                                                 \
                                  .length = sizeof #member - 1,                                    \
                                  .kind = GATE_FACT_KIND_NAME,                                     \
                                  .offset = OFFSET(member),                                        \
                                  .flag = OFFSET(has_##member),                                    \
                                  .spelling = &gate_spelling_##spelled},

const struct gate_fact_field_row gate_fact_field_rows[GATE_FACT_FIELD_COUNT] = {
    GATE_FACT_FIELDS(FIELD, NAME, AS)};

_Static_assert(GATE_FACT_FIELD_COUNT < 128, "a mask has a bit for each field");
_Static_assert(sizeof(enum model_trust) == sizeof(int) && sizeof(enum model_code) == sizeof(int),
               "names are read and written as int");

static const void *place_of(const struct gate_fact *fact, size_t offset) {
    return (const char *)fact + offset;
}

bool gate_fact_has(const struct gate_fact *fact, const struct gate_fact_field_row *field) {
    switch (field->kind) {
    case GATE_FACT_KIND_AT:
        return true;
    case GATE_FACT_KIND_EVIDENCE:
        return fact->evidence_count > 0;
    case GATE_FACT_KIND_ALWAYS:
    case GATE_FACT_KIND_TEXT:
        return gate_fact_text_of(fact, field) != NULL;
    case GATE_FACT_KIND_NUMBER:
    case GATE_FACT_KIND_FLAG:
    case GATE_FACT_KIND_NAME:
    case GATE_FACT_KIND_YES:
        return *(const bool *)place_of(fact, field->flag);
    case GATE_FACT_KIND_COUNT:
        return *(const uint32_t *)place_of(fact, field->offset) != 0;
    case GATE_FACT_KIND_TIME:
        return *(const int64_t *)place_of(fact, field->offset) != 0;
    case GATE_FACT_KIND_TEXTS:
        return *(const size_t *)place_of(fact, field->flag) > 0;
    case GATE_FACT_KIND_NEEDS:
        return fact->requirements != NULL;
    case GATE_FACT_KIND_RESULT:
        return fact->result != NULL;
    case GATE_FACT_KIND_ARGS:
        return fact->args != NULL;
    case GATE_FACT_KIND_SUM:
        return fact->sum != NULL;
    case GATE_FACT_KIND_SUMS:
        return fact->fuel_count > 0;
    case GATE_FACT_KIND_REFUSALS:
        return fact->refusal_count > 0;
    }
    return false;
}

const char *gate_fact_text_of(const struct gate_fact *fact,
                              const struct gate_fact_field_row *field) {
    if (field->kind == GATE_FACT_KIND_NAME) {
        int value;
        memcpy(&value, place_of(fact, field->offset), sizeof value);
        return *(const bool *)place_of(fact, field->flag) ? field->spelling->name(value) : NULL;
    }
    const char *text = NULL;
    if (field->kind == GATE_FACT_KIND_TEXT || field->kind == GATE_FACT_KIND_ALWAYS) {
        memcpy(&text, place_of(fact, field->offset), sizeof text);
    }
    return text;
}
