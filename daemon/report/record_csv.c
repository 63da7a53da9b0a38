// A record as one line of a table.
#include "report/builder.h"
#include "report/record.h"

#include "base/time_text.h"

void report_record_csv_head(FILE *out) {
    fputs("site,job,position,dispenser,procedure,opened,out_from,back_at,out_s,technician,part,"
          "defect,tests,result,refusals,stops,last_seq,hash\r\n",
          out);
}

// In quotes; what a spreadsheet would take for a formula is told apart by an apostrophe.
static void field(FILE *out, const char *text) {
    if (text == NULL || text[0] == '\0') {
        return;
    }
    fputc('"', out);
    if (strchr("=+-@\t\r", text[0]) != NULL) {
        fputc('\'', out);
    }
    for (; *text != '\0'; text++) {
        fputc((unsigned char)*text < 0x20 ? ' ' : *text, out);
        if (*text == '"') {
            fputc('"', out);
        }
    }
    fputc('"', out);
}

static void column(FILE *out, const char *text) {
    field(out, text);
    fputc(',', out);
}

static void when(FILE *out, int64_t ms) {
    char text[BASE_TIME_SIZE];
    if (ms != 0) {
        base_time_format(ms, text);
        fputs(text, out);
    }
    fputc(',', out);
}

// "leak passed; continuity FAILED": the latest of each, void ones said to be so.
static void tests(FILE *out, const struct report_record *record) {
    bool first = true;
    fputc('"', out);
    for (size_t i = 0; i < record->test_count; i++) {
        const struct report_test *test = &record->tests[i];
        if (!test->replaced) {
            const struct gate_fact *fact = test->entry.fact;
            fprintf(out, "%s%s %s%s", first ? "" : "; ", fact->test,
                    fact->has_pass && fact->pass ? "passed" : "FAILED",
                    test->void_.seq != 0 ? " (void)" : "");
            first = false;
        }
    }
    fputs("\",", out);
}

void report_record_csv(const struct report_record *record, const struct report_context *context,
                       FILE *out) {
    char hash[2 * REPORT_HASH_SIZE + 1];
    int64_t ms = report_out_ms(record, context->now);
    column(out, record->site->site);
    column(out, record->opened->job);
    column(out, record->opened->position);
    column(out, record->position != NULL ? record->position->dispenser : NULL);
    column(out, record->opened->procedure);
    when(out, record->opened->at.wall);
    when(out, record->out_from);
    when(out, record->back_at);
    if (ms >= 0) {
        fprintf(out, "%lld.%03d", (long long)(ms / 1000), (int)(ms % 1000));
    }
    fputc(',', out);
    column(out, record->leader);
    column(out, record->opened->part);
    column(out, record->opened->defect);
    tests(out, record);
    column(out, report_result_name(record));
    report_hash_text(record->last_hash, hash);
    fprintf(out, "%u,%u,%lld,%s\r\n", record->refusals, record->stops, (long long)record->last_seq,
            hash);
}
