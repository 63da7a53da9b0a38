// The journal as the source of reports.
#include "journal/journal.h"

#include <string.h>

#include "report/source.h"

struct reading {
    report_row_hook *hook;
    void *user;
};

struct report_row journal_report_row(const struct journal_row *row) {
    return (struct report_row){.seq = row->seq,
                               .at_ms = row->at_ms,
                               .mono_ms = row->mono_ms,
                               .site = row->site,
                               .type = row->type,
                               .subject = row->subject,
                               .data = row->data,
                               .data_length = row->data_length,
                               .hash = row->hash};
}

static bool on_row(void *user, const struct journal_row *row) {
    const struct reading *reading = user;
    const struct report_row given = journal_report_row(row);
    return reading->hook(reading->user, &given);
}

static bool each(void *user, const char *site, report_row_hook *hook, void *hook_user) {
    struct reading reading = {hook, hook_user};
    const struct journal_query query = {.site = site};
    return journal_each(user, &query, on_row, &reading) == JOURNAL_OK;
}

static bool prove(void *user, int64_t from_seq) {
    const struct journal_query query = {.from_seq = from_seq, .verify = true};
    return journal_each(user, &query, NULL, NULL) == JOURNAL_OK;
}

static const char *why(void *user) {
    return journal_why(user);
}

bool journal_report_source(struct journal *journal, struct report_source *source) {
    struct journal_head head;
    *source = (struct report_source){.created = journal_created_ms(journal),
                                     .instance = journal_instance(journal),
                                     .each = each,
                                     .prove = prove,
                                     .why = why,
                                     .user = journal};
    if (journal_last(journal, &head) != JOURNAL_OK) {
        return false;
    }
    source->head_seq = head.seq;
    memcpy(source->head_hash, head.hash, sizeof source->head_hash);
    return true;
}
