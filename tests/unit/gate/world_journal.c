// The journal of a world: facts with all that they point to copied, so that they can be folded
// again.
#include "world_journal.h"

#include <stdlib.h>
#include <string.h>

#include "gate/fact/field.h"

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

struct entry {
    struct gate_fact fact;
    struct gate_evidence evidence[16];
    char names[16][MODEL_ID_SIZE];
    const char *jobs[8];
    struct model_requirements *requirements;
    struct model_result result;
    struct gate_refusal args;
    struct gate_fuel_sum sum;
    struct gate_fuel_of fuel[4];
};

struct journal {
    struct entry *entries[20000];
    size_t count;
};

static struct journal journals[1];

static const char *keep(const char *text) {
    return text != NULL ? strdup(text) : NULL;
}

// Where a text field lies; NULL: the field is none.
static const char **text_at(struct gate_fact *fact, const struct gate_fact_field_row *field) {
    bool text = field->kind == GATE_FACT_KIND_TEXT || field->kind == GATE_FACT_KIND_ALWAYS;
    return text ? (const char **)(void *)((char *)fact + field->offset) : NULL;
}

static void keep_texts(struct gate_fact *fact) {
    for (size_t i = 0; i < GATE_FACT_FIELD_COUNT; i++) {
        const char **text = text_at(fact, &gate_fact_field_rows[i]);
        if (text != NULL) {
            *text = keep(*text);
        }
    }
}

static void free_texts(struct gate_fact *fact) {
    for (size_t i = 0; i < GATE_FACT_FIELD_COUNT; i++) {
        const char **text = text_at(fact, &gate_fact_field_rows[i]);
        if (text != NULL) {
            free((void *)(uintptr_t)*text);
        }
    }
}

void world_journal_add(const struct gate_fact *fact) {
    struct journal *journal = &journals[0];
    assert_true(journal->count < COUNT(journal->entries));
    struct entry *entry = calloc(1, sizeof *entry);
    assert_non_null(entry);
    entry->fact = *fact;
    keep_texts(&entry->fact);
    for (size_t i = 0; i < fact->evidence_count; i++) {
        entry->evidence[i] = fact->evidence[i];
        strncpy(entry->names[i], fact->evidence[i].point, MODEL_ID_SIZE - 1);
        entry->evidence[i].point = entry->names[i];
    }
    entry->fact.evidence = entry->evidence;
    for (size_t i = 0; i < fact->job_count; i++) {
        entry->jobs[i] = keep(fact->jobs[i]);
    }
    entry->fact.jobs = entry->jobs;
    entry->fact.points = NULL; // told, and not folded
    entry->fact.point_count = 0;
    entry->fact.refusals = NULL;
    entry->fact.refusal_count = 0;
    if (fact->result != NULL) {
        entry->result = *fact->result;
        entry->fact.result = &entry->result;
    }
    if (fact->args != NULL) {
        entry->args = *fact->args;
        entry->fact.args = &entry->args;
    }
    if (fact->sum != NULL) {
        entry->sum = *fact->sum;
        entry->fact.sum = &entry->sum;
    }
    for (size_t i = 0; i < fact->fuel_count; i++) {
        entry->fuel[i] = fact->fuel[i];
    }
    entry->fact.fuel = entry->fuel;
    if (fact->requirements != NULL) {
        entry->requirements = model_requirements_copy(fact->requirements);
        entry->fact.requirements = entry->requirements;
    }
    journal->entries[journal->count++] = entry;
}

void world_journal_clear(void) {
    struct journal *journal = &journals[0];
    for (size_t i = 0; i < journal->count; i++) {
        struct entry *entry = journal->entries[i];
        free_texts(&entry->fact);
        free(entry->requirements);
        for (size_t j = 0; j < entry->fact.job_count; j++) {
            free((void *)(uintptr_t)entry->jobs[j]);
        }
        free(entry);
    }
    journal->count = 0;
}

void world_journal_fold(struct gate *gate) {
    char what[256];
    for (size_t i = 0; i < journals[0].count; i++) {
        assert_true(gate_apply(gate, &journals[0].entries[i]->fact, what, sizeof what));
    }
}

const struct gate_fact *world_journal_last(enum gate_fact_type type) {
    for (size_t i = journals[0].count; i-- > 0;) {
        if (journals[0].entries[i]->fact.type == type) {
            return &journals[0].entries[i]->fact;
        }
    }
    return NULL;
}
