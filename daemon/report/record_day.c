// What was told of the day around a repair, in the order in which it was told.
#include "report/record_day.h"

#include "gate/fact/sentence.h"
#include "gate/fuel.h"
#include "report/record_json.h"
#include "report/record_text.h"
#include "wire/tell_day.h"
#include "wire/tell_member.h"

// Longer than any sentence of these facts: a note has at most 500 characters, an address 2000.
#define SENTENCE_SIZE 8192

static bool is_of_day(const struct gate_fact *fact) {
    switch (fact->type) {
    case GATE_FACT_FUEL_RECORDED:
    case GATE_FACT_PART_FITTED:
    case GATE_FACT_SPILL_RECORDED:
    case GATE_FACT_JOB_EXPECTED:
    case GATE_FACT_EVIDENCE_ATTACHED:
        return true;
    case GATE_FACT_LEAD_OFFERED:
    case GATE_FACT_JOB_HANDED_OVER:
        return fact->note != NULL; // a shift note
    default:
        return false;
    }
}

void report_json_day(struct json_out *out, const struct report_record *record) {
    char sentence[SENTENCE_SIZE];
    wire_day(out, report_fold_job(&record->fold));
    wire_list(out, "day");
    for (size_t i = 0; i < record->entry_count; i++) {
        const struct gate_fact *fact = record->entries[i].fact;
        if (is_of_day(fact)) {
            gate_fact_sentence(fact, sentence, sizeof sentence);
            report_json_entry(out, &record->entries[i]);
            wire_text(out, "what", gate_fact_name(fact->type));
            report_json_person(out, record, "by", "title", fact->by != NULL ? fact->by : fact->to);
            wire_text(out, "say", sentence);
            json_out_object_end(out);
        }
    }
    json_out_array_end(out);
}

static void put_fuel(FILE *out, const struct gate_day *day) {
    for (size_t i = 0; i < day->fuel_count; i++) {
        const struct gate_fuel_sum sum = gate_fuel_sum(&day->fuel[i]);
        report_put(out, 2,
                   "%s: drawn %.6g %s, returned %.6g, kept %.6g; %.6g not accounted for "
                   "(tolerance %.3g): %s",
                   day->fuel[i].product, sum.drawn, sum.unit, sum.returned, sum.kept,
                   sum.unaccounted, sum.tolerance, sum.accounted ? "accounted" : "NOT ACCOUNTED");
    }
}

void report_put_day(FILE *out, const struct report_record *record) {
    const struct gate_expected *expected = &report_fold_job(&record->fold)->day.expected;
    char sentence[SENTENCE_SIZE], at[REPORT_WHEN_SIZE];
    bool any = false;
    for (size_t i = 0; i < record->entry_count; i++) {
        const struct gate_fact *fact = record->entries[i].fact;
        if (!is_of_day(fact)) {
            continue;
        }
        if (!any) {
            report_heading(out, "THE DAY AROUND IT");
        }
        any = true;
        gate_fact_sentence(fact, sentence, sizeof sentence);
        report_put(out, 2, "%s  %s", report_when(fact->at.wall, at), sentence);
    }
    put_fuel(out, &report_fold_job(&record->fold)->day);
    if (expected->at != 0) {
        report_put(out, 2, "Expected back %s, moved %u times", report_when(expected->at, at),
                   (unsigned)expected->moved);
    }
}
