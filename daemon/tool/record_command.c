// `forelock record`: the record of one job, or of every job that stood in a period.
//
// What is rendered is kept until the reading has ended, so that it comes out in the order of
// opening and nothing is half said.
#include "report/records.h"

#include "base/array.h"
#include "journal/journal.h"

#include "base/clock.h"
#include "base/time_text.h"
#include "forelock_version.h"
#include "tool/text.h"
#include "tool/tool.h"

#include <stdlib.h>
#include <string.h>

#define DAY_MS (24 * 3600 * 1000LL)

struct rendered {
    int64_t seq; // of the job's opening
    char *text;
    size_t length;
};

struct rendering {
    const struct tool_call *call;
    struct rendered *items;
    size_t count, capacity;
    bool failed;
};

static struct rendered *rendered_new(struct rendering *rendering) {
    if (!BASE_ARRAY_ROOM(rendering->items, rendering->count, rendering->capacity)) {
        return NULL;
    }
    rendering->items[rendering->count] = (struct rendered){0};
    return &rendering->items[rendering->count++];
}

static bool render_json(struct rendered *rendered, const struct report_record *record,
                        const struct report_context *with) {
    struct json_out out = {0};
    report_record_json(record, with, &out);
    if (out.failed) {
        json_out_free(&out);
        return false;
    }
    rendered->text = out.data; // the writer's own text, kept
    rendered->length = out.length;
    return true;
}

static bool render_lines(struct rendering *rendering, struct rendered *rendered,
                         const struct report_record *record, const struct report_context *with) {
    FILE *out = open_memstream(&rendered->text, &rendered->length);
    if (out == NULL) {
        return false;
    }
    if (rendering->call->csv) {
        report_record_csv(record, with, out);
    } else {
        report_record_text(record, with, out);
    }
    return fclose(out) == 0;
}

static bool on_record(void *user, const struct report_record *record,
                      const struct report_context *with) {
    struct rendering *rendering = user;
    struct rendered *rendered = rendered_new(rendering);
    bool good = rendered != NULL;
    if (good) {
        rendered->seq = record->first_seq;
        good = rendering->call->json ? render_json(rendered, record, with)
                                     : render_lines(rendering, rendered, record, with);
    }
    rendering->failed = !good;
    return good;
}

// --- What is asked ---

// A day, whose end is meant if so (UTC), or an instant. False: it is neither, which was said.
static bool instant(const char *option, const char *text, bool end, int64_t *ms) {
    char whole[32];
    if (text == NULL || base_time_parse(text, strlen(text), ms)) {
        return true;
    }
    snprintf(whole, sizeof whole, "%.10sT00:00:00Z", text);
    if (strlen(text) == 10 && base_time_parse(whole, strlen(whole), ms)) {
        *ms += end ? DAY_MS : 0;
        return true;
    }
    tool_error("%s must be a day like 2026-03-31 (UTC) or an RFC 3339 instant; found \"%s\"",
               option, text);
    return false;
}

static bool understand(const struct tool_call *call, struct report_question *question) {
    question->from = INT64_MIN;
    question->to = INT64_MAX;
    if (call->json && call->csv) {
        tool_error("record gives either JSON or CSV");
        return false;
    }
    if (question->job != NULL && (call->since != NULL || call->to != NULL)) {
        tool_error("record takes a job or a period, not both");
        return false;
    }
    if (question->job == NULL && call->site == NULL) {
        tool_error("record needs a JOB, or --site SITE for every job of a period");
        return false;
    }
    if (!instant("--from", call->since, false, &question->from) ||
        !instant("--to", call->to, true, &question->to)) {
        return false;
    }
    if (question->from >= question->to) {
        tool_error("--from must be before --to");
        return false;
    }
    return true;
}

// --- Reading and printing ---

static int by_opening(const void *a, const void *b) {
    const struct rendered *x = a, *y = b;
    return (x->seq > y->seq) - (x->seq < y->seq);
}

static void print(const struct rendering *rendering) {
    const struct tool_call *call = rendering->call;
    bool several = call->argc == 0;
    if (rendering->count > 0) {
        qsort(rendering->items, rendering->count, sizeof *rendering->items, by_opening);
    }
    if (call->csv) {
        report_record_csv_head(stdout);
    }
    fputs(call->json && several ? "[" : "", stdout);
    for (size_t i = 0; i < rendering->count; i++) {
        fputs(i == 0 || call->csv ? "" : call->json ? ",\n " : "\n\f", stdout);
        fwrite(rendering->items[i].text, 1, rendering->items[i].length, stdout);
    }
    fputs(!call->json ? "" : several ? "]\n" : "\n", stdout);
}

// Reads one site, or looks for the job at each. The status of the tool.
static int read_sites(const struct report_source *source, struct report_question *question,
                      const struct model_site *only) {
    const struct model *model = question->model;
    size_t found = 0;
    for (size_t i = 0; i < model->site_count; i++) {
        question->site = &model->sites[i];
        if (only != NULL && question->site != only) {
            continue;
        }
        enum report_status status = report_records_read(source, question);
        if (status == REPORT_FAILED) {
            tool_error("%s", question->why);
            return TOOL_REACH;
        }
        found += status == REPORT_DONE;
    }
    if (question->job != NULL && found == 0) {
        tool_error("%s: no job \"%s\" was ever opened%s%s", model->journal, question->job,
                   only != NULL ? " at site " : "", only != NULL ? only->site : "");
        return TOOL_NO;
    }
    if (question->job != NULL && found > 1) {
        tool_error("job \"%s\" was opened at %zu sites: name one with --site", question->job,
                   found);
        return TOOL_USAGE;
    }
    return TOOL_DONE;
}

static int answer(struct rendering *rendering, struct report_question *question) {
    const struct model *model = question->model;
    const char *site = rendering->call->site;
    const struct model_site *only = site != NULL ? model_site_find(model, site) : NULL;
    if (site != NULL && only == NULL) {
        tool_error("there is no site \"%s\" in the configuration", site);
        return TOOL_NO;
    }
    struct journal *journal = tool_journal(model, NULL);
    if (journal == NULL) {
        return TOOL_REACH;
    }
    struct report_source source;
    int status = TOOL_REACH;
    if (journal_report_source(journal, &source)) {
        status = read_sites(&source, question, only);
    } else {
        tool_error("%s", journal_why(journal));
    }
    journal_close(journal);
    if (status == TOOL_DONE && rendering->failed) {
        tool_error("out of memory");
        status = TOOL_REACH;
    }
    if (status == TOOL_DONE) {
        print(rendering);
    }
    return status;
}

static int run(const struct tool_call *call) {
    struct rendering rendering = {.call = call};
    struct report_question question = {.job = call->argc > 0 ? call->argv[0] : NULL,
                                       .now = base_clock_wall_ms(),
                                       .version = FORELOCK_VERSION,
                                       .brief = call->csv,
                                       .hook = on_record,
                                       .user = &rendering};
    if (!understand(call, &question)) {
        return TOOL_USAGE;
    }
    struct model *model = tool_model(call);
    question.model = model;
    int status = model != NULL ? answer(&rendering, &question) : TOOL_CONFIGURATION;
    for (size_t i = 0; i < rendering.count; i++) {
        free(rendering.items[i].text);
    }
    free(rendering.items);
    model_free(model);
    return status;
}

const struct tool_command tool_record = {
    .name = "record",
    .words = "[JOB]",
    .options = "-c FILE [--site SITE] [--from DATE] [--to DATE] [--json | --csv]",
    .about =
        "Gives the record of a job, or of every job of a site and period, as text, JSON or CSV.",
    .most = 1,
    .run = run,
};
