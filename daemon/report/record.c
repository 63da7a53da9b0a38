// A record's memory, and what is asked of it.
#include "report/record.h"

#include "report/builder.h"

#include <stdlib.h>

static void lists_free(struct report_record *record) {
    free(record->entries);
    free(record->signatures);
    free(record->tests);
    free(record->tags);
    free(record->phases);
    free(record->crew);
    free(record->alarms);
    report_fold_free(&record->fold);
}

void report_record_clear(struct report_record *record) {
    struct wire_fact_arena arena = record->arena;
    lists_free(record);
    wire_fact_arena_reset(&arena);
    *record = (struct report_record){.arena = arena};
}

void report_record_free(struct report_record *record) {
    if (record != NULL) {
        lists_free(record);
        wire_fact_arena_free(&record->arena);
        free(record);
    }
}

const struct report_test *report_test_of(const struct report_record *record, const char *test) {
    for (size_t i = record->test_count; i-- > 0;) {
        if (report_is(record->tests[i].entry.fact->test, test)) {
            return &record->tests[i];
        }
    }
    return NULL;
}

// The break that a stop came with, or itself.
static const struct report_entry *break_of(const struct report_record *record,
                                           const struct report_entry *entry) {
    for (size_t i = 0; i < record->entry_count; i++) {
        const struct report_entry *other = &record->entries[i];
        if (other->fact->type == GATE_FACT_LOCKOUT_BROKEN &&
            other->fact->at.wall == entry->fact->at.wall) {
            return other;
        }
    }
    return entry;
}

const struct report_signature *report_stopping(const struct report_record *record,
                                               const struct report_entry *entry) {
    bool stops = entry->fact->type == GATE_FACT_WORK_STOPPED ||
                 entry->fact->type == GATE_FACT_LOCKOUT_BROKEN;
    const char *check = stops ? break_of(record, entry)->fact->check : NULL;
    const struct report_signature *found = NULL;
    for (size_t i = 0; i < record->signature_count; i++) {
        const struct report_signature *of = &record->signatures[i];
        if (of->entry.seq < entry->seq && report_is(of->entry.fact->check, check)) {
            found = of;
        }
    }
    return found;
}

int64_t report_out_ms(const struct report_record *record, int64_t now) {
    int64_t until = record->back_at != 0 ? record->back_at : now;
    if (record->out_from == 0 || record->next_job != NULL) {
        return -1;
    }
    return until > record->out_from ? until - record->out_from : 0;
}

const char *report_result_name(const struct report_record *record) {
    return record->ended == 0 ? "standing" : model_phase_name(record->phase);
}
