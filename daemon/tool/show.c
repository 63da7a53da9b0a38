// `forelock journal show`: the journal's facts, one a line.
#include "base/time_text.h"
#include "tool/fact_text.h"
#include "tool/row.h"
#include "tool/text.h"
#include "tool/tool.h"

#include <stdlib.h>
#include <string.h>

struct show {
    const struct tool_call *call;
    struct tool_row_reader reader;
    struct json_out out;
    struct tool_text text;
    int64_t shown;
    bool failed;
};

// A fact that cannot be read is shown as it lies there, so that the journal of a newer daemon, or
// a damaged one, can be looked at.
static void print_line(struct show *show, const struct journal_row *row,
                       const struct gate_fact *fact) {
    char at[BASE_TIME_SIZE];
    base_time_format(row->at_ms, at);
    tool_text_cut(&show->text, 0);
    if (fact != NULL) {
        tool_fact_headline(&show->text, fact);
    } else {
        tool_text_add_n(&show->text, row->data, row->data_length);
    }
    tool_line(stdout, "%lld  %s  %s  forelock.%s  %s  %s", (long long)row->seq, at,
              row->site[0] != '\0' ? row->site : "-", row->type,
              row->subject[0] != '\0' ? row->subject : "-", tool_text_of(&show->text));
}

static void print_json(struct show *show, const struct journal_row *row) {
    struct json_out *out = &show->out;
    json_out_reset(out);
    json_out_object(out);
    tool_row_members(out, row);
    json_out_key(out, "data");
    json_out_raw(out, row->data, row->data_length);
    json_out_object_end(out);
    show->failed = out->failed;
    if (!out->failed) {
        printf("%s\n", out->data);
    }
}

static bool is_wanted(const struct tool_call *call, const struct journal_row *row,
                      const struct gate_fact *fact) {
    if (call->site != NULL && strcmp(call->site, row->site) != 0) {
        return false;
    }
    return call->job == NULL || (fact != NULL && tool_fact_names_job(fact, call->job));
}

static bool on_row(void *user, const struct journal_row *row) {
    struct show *show = user;
    struct gate_fact fact;
    char what[TOOL_ROW_WHAT_SIZE];
    bool read = (!show->call->json || show->call->job != NULL) &&
                tool_row_read(&show->reader, row, &fact, what);
    if (is_wanted(show->call, row, read ? &fact : NULL)) {
        if (show->call->json) {
            print_json(show, row);
        } else {
            print_line(show, row, read ? &fact : NULL);
        }
        show->shown++;
    }
    return !show->failed && !ferror(stdout) &&
           (show->call->limit == 0 || show->shown < show->call->limit);
}

static int show_all(const struct tool_call *call, const struct model *model,
                    struct journal *journal) {
    struct show show = {.call = call, .reader = {.model = model}};
    struct journal_query query = {.from_seq = call->from, .verify = true};
    enum journal_status status = journal_each(journal, &query, on_row, &show);
    int result = TOOL_DONE;
    if (status != JOURNAL_OK) {
        fflush(stdout);
        tool_error("%s", journal_why(journal));
        result = TOOL_REACH;
    } else if (show.failed) {
        tool_error("out of memory");
        result = TOOL_REACH;
    }
    tool_row_reader_free(&show.reader);
    json_out_free(&show.out);
    tool_text_free(&show.text);
    return result;
}

static int run(const struct tool_call *call) {
    struct model *model = tool_model(call);
    if (model == NULL) {
        return TOOL_CONFIGURATION;
    }
    struct journal *journal = tool_journal(model, NULL);
    int status = journal != NULL ? show_all(call, model, journal) : TOOL_REACH;
    journal_close(journal);
    model_free(model);
    return status;
}

const struct tool_command tool_journal_show = {
    .name = "journal",
    .part = "show",
    .words = "",
    .options = "-c FILE [--from N] [--limit N] [--job JOB] [--site SITE] [--json]",
    .about = "Lists facts in order, one a line.",
    .run = run,
};
