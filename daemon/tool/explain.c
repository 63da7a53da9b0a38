// `forelock explain JOB`: the job's story from the journal, in the order of time.
//
// The journal is read twice: to find the job's site, then to tell what belongs to the job while all
// facts are folded, so that its end can say where the job stands.
#include "base/clock.h"
#include "base/time_text.h"
#include "tool/fact_text.h"
#include "tool/row.h"
#include "tool/standing.h"
#include "tool/text.h"
#include "tool/tool.h"
#include "wire/fact_parts.h"
#include "wire/fact_refusal.h"

#include <string.h>

#define REQUIRED_MAX 64

struct explain {
    const struct tool_call *call;
    const char *job;
    struct tool_row_reader reader;
    struct standing standing;
    struct json_out out;
    struct tool_text text;
    char site[MODEL_ID_SIZE];
    unsigned sites; // that have a job of this id
    char position[MODEL_ID_SIZE];
    char required[REQUIRED_MAX][MODEL_ID_SIZE];
    size_t required_count;
    bool stands;      // between its opening and its end
    bool at_position; // its end not yet followed by the position's own
    size_t told;
    struct gate_time last;
    char what[TOOL_ROW_WHAT_SIZE];
    bool failed;
};

// --- First reading: whose job it is ---

static bool on_row_find(void *user, const struct journal_row *row) {
    struct explain *explain = user;
    struct gate_fact fact;
    const char *wanted = explain->call->site;
    if (strcmp(row->type, gate_fact_name(GATE_FACT_JOB_OPENED)) != 0 ||
        (wanted != NULL && strcmp(wanted, row->site) != 0)) {
        return true;
    }
    if (!tool_row_read(&explain->reader, row, &fact, explain->what)) {
        explain->failed = true;
        return false;
    }
    if (tool_same(fact.job, explain->job)) {
        explain->sites++;
        snprintf(explain->site, sizeof explain->site, "%s", row->site);
        snprintf(explain->position, sizeof explain->position, "%s",
                 fact.position != NULL ? fact.position : "");
    }
    return true;
}

// --- Second reading: what belongs to the job ---

static bool is_required(const struct explain *explain, const char *point) {
    for (size_t i = 0; i < explain->required_count; i++) {
        if (tool_same(explain->required[i], point)) {
            return true;
        }
    }
    return false;
}

static void require(struct explain *explain, const struct gate_fact *fact) {
    for (size_t i = 0; i < fact->evidence_count; i++) {
        const char *point = fact->evidence[i].point;
        if (!is_required(explain, point) && explain->required_count < REQUIRED_MAX) {
            snprintf(explain->required[explain->required_count++], MODEL_ID_SIZE, "%s", point);
        }
    }
}

// Facts of no job that touch this one while it stands: its points, the alarms of all, a restart.
static bool touches(const struct explain *explain, const struct gate_fact *fact) {
    switch (fact->type) {
    case GATE_FACT_DAEMON_STARTED:
        return true;
    case GATE_FACT_POINT_CHANGED:
    case GATE_FACT_POINT_WITNESSED:
    case GATE_FACT_SENSOR_DISTRUSTED:
    case GATE_FACT_SENSOR_TRUSTED:
    case GATE_FACT_TAG_HUNG:
    case GATE_FACT_TAG_LIFTED:
    case GATE_FACT_TAG_DISCOUNTED:
        return is_required(explain, fact->point);
    case GATE_FACT_ALARM_RAISED:
    case GATE_FACT_ALARM_ACKNOWLEDGED:
    case GATE_FACT_ALARM_CLEARED:
        return (fact->position == NULL && fact->point == NULL) ||
               tool_same(fact->position, explain->position) || is_required(explain, fact->point);
    default:
        return false;
    }
}

static bool belongs(const struct explain *explain, const struct journal_row *row,
                    const struct gate_fact *fact) {
    bool here = strcmp(row->site, explain->site) == 0;
    if (here && tool_fact_names_job(fact, explain->job)) {
        return true;
    }
    if ((!here && row->site[0] != '\0') || fact->job != NULL) {
        return false;
    }
    if (fact->type == GATE_FACT_POSITION_OUT_OF_SERVICE ||
        fact->type == GATE_FACT_POSITION_RETURNED) {
        return here && explain->at_position && tool_same(fact->position, explain->position);
    }
    return explain->stands && touches(explain, fact);
}

static void follow(struct explain *explain, const struct journal_row *row,
                   const struct gate_fact *fact) {
    if (strcmp(row->site, explain->site) != 0) {
        return;
    }
    bool ours = tool_same(fact->job, explain->job);
    if (fact->type == GATE_FACT_JOB_OPENED && tool_same(fact->position, explain->position)) {
        explain->stands = explain->at_position = ours;
    }
    if (ours && fact->type == GATE_FACT_JOB_OPENED) {
        require(explain, fact);
    }
    if (ours && (fact->type == GATE_FACT_JOB_RETURNED || fact->type == GATE_FACT_JOB_CANCELLED)) {
        explain->stands = false;
    }
    if (!explain->stands && fact->type == GATE_FACT_POSITION_RETURNED &&
        tool_same(fact->position, explain->position)) {
        explain->at_position = false;
    }
}

// --- Telling ---

static void print_details(struct explain *explain, const struct gate_fact *fact) {
    struct tool_text *text = &explain->text;
    if (fact->result != NULL) {
        tool_text_cut(text, 0);
        tool_fact_result(text, fact->result);
        tool_line(stdout, "        worked: %s", tool_text_of(text));
    }
    for (size_t i = 0; i < fact->refusal_count; i++) {
        tool_text_cut(text, 0);
        tool_fact_refusal(text, &fact->refusals[i]);
        tool_line(stdout, "        because: %s", tool_text_of(text));
    }
    if (fact->evidence_count > 0) {
        tool_text_cut(text, 0);
        tool_fact_evidence(text, fact);
        tool_line(stdout, "        known then: %s", tool_text_of(text));
    }
}

static void begin_entry(struct explain *explain) {
    json_out_reset(&explain->out);
    json_out_object(&explain->out);
}

static void end_entry(struct explain *explain) {
    json_out_object_end(&explain->out);
    if (explain->out.failed) {
        explain->failed = true;
        snprintf(explain->what, sizeof explain->what, "out of memory");
        return;
    }
    printf("%s%s", explain->told++ == 0 ? "[" : ",\n ", explain->out.data);
}

static void tell(struct explain *explain, const struct journal_row *row,
                 const struct gate_fact *fact) {
    char at[BASE_TIME_SIZE];
    tool_text_cut(&explain->text, 0);
    tool_fact_headline(&explain->text, fact);
    if (explain->call->json) {
        begin_entry(explain);
        tool_row_members(&explain->out, row);
        json_out_key(&explain->out, "say");
        json_out_string(&explain->out, tool_text_of(&explain->text));
        json_out_key(&explain->out, "data");
        json_out_raw(&explain->out, row->data, row->data_length);
        end_entry(explain);
        return;
    }
    base_time_format(row->at_ms, at);
    const char *said = tool_text_of(&explain->text);
    size_t length = strlen(said);
    tool_line(stdout, "%s  #%lld  %s%s", at, (long long)row->seq, said,
              length > 0 && said[length - 1] == '.' ? "" : ".");
    print_details(explain, fact);
}

static bool on_row_tell(void *user, const struct journal_row *row) {
    struct explain *explain = user;
    struct gate_fact fact;
    if (!tool_row_read(&explain->reader, row, &fact, explain->what)) {
        explain->failed = true;
        return false;
    }
    tool_standing_apply(&explain->standing, &fact, row->seq);
    explain->last = fact.at;
    bool ours = belongs(explain, row, &fact);
    follow(explain, row, &fact);
    if (ours) {
        tell(explain, row, &fact);
    }
    return !explain->failed && !ferror(stdout);
}

// --- Where it stands ---

static void print_standing(const struct gate_job *job, const struct gate_list *list,
                           struct tool_text *text) {
    const char *gate = tool_standing_gate_name(job->phase);
    tool_line(stdout, "Now: job %s is %s, its lockout %s%s%s.", job->job,
              model_phase_name(job->phase), model_lockout_name(job->lockout),
              job->leader[0] != '\0' ? ", led by " : ", led by nobody", job->leader);
    if (gate == NULL) {
        tool_line(stdout, "It has ended and waits for nothing.");
        return;
    }
    tool_line(stdout, "It waits for the %s, which lacks%s", gate,
              list->count > 0 ? ":" : " nothing that the journal knows of.");
    for (size_t i = 0; i < list->count; i++) {
        tool_text_cut(text, 0);
        tool_fact_refusal(text, &list->items[i].refusal);
        tool_line(stdout, "        %s", tool_text_of(text));
    }
    tool_line(stdout, "It also needs %s: `forelock gate %s` tells that.", tool_standing_also(job),
              job->job);
}

static void standing_json(struct explain *explain, const struct gate_job *job,
                          const struct gate_list *list) {
    struct json_out *out = &explain->out;
    const char *gate = tool_standing_gate_name(job->phase);
    begin_entry(explain);
    json_out_key(out, "seq");
    json_out_null(out);
    json_out_key(out, "type");
    json_out_string(out, "now");
    json_out_key(out, "site");
    json_out_string(out, explain->site);
    json_out_key(out, "subject");
    wire_fact_write_text(out, explain->position);
    json_out_key(out, "data");
    json_out_object(out);
    json_out_key(out, "phase");
    json_out_string(out, model_phase_name(job->phase));
    json_out_key(out, "lockout");
    json_out_string(out, model_lockout_name(job->lockout));
    json_out_key(out, "technician");
    wire_fact_write_text(out, job->leader);
    json_out_key(out, "gate");
    json_out_string(out, gate);
    json_out_key(out, "missing");
    json_out_array(out);
    for (size_t i = 0; i < list->count; i++) {
        wire_fact_write_refusal(out, &list->items[i].refusal, true);
    }
    json_out_array_end(out);
    json_out_object_end(out);
    end_entry(explain);
}

static int tell_standing(struct explain *explain) {
    const struct gate_job *job = tool_standing_job(&explain->standing, explain->site, explain->job);
    struct gate_list list = {0};
    int64_t wall = base_clock_wall_ms();
    struct gate_time now = {wall, explain->last.mono +
                                      (wall > explain->last.wall ? wall - explain->last.wall : 0)};
    if (job == NULL) {
        tool_error("where the job stands cannot be told: %s", explain->standing.what);
        return TOOL_REACH;
    }
    bool told = tool_standing_waits(&explain->standing, explain->site, job, now, &list);
    if (!told) {
        tool_error("out of memory");
    } else if (explain->call->json) {
        standing_json(explain, job, &list);
    } else {
        print_standing(job, &list, &explain->text);
    }
    gate_list_free(&list);
    return told && !explain->failed ? TOOL_DONE : TOOL_REACH;
}

// --- The command ---

static int read_journal(struct explain *explain, struct journal *journal, const char *path,
                        journal_row_hook hook) {
    struct journal_query query = {.verify = true};
    enum journal_status status = journal_each(journal, &query, hook, explain);
    if (status == JOURNAL_OK && !explain->failed) {
        return TOOL_DONE;
    }
    tool_error("%s: %s", path, explain->failed ? explain->what : journal_why(journal));
    return TOOL_REACH;
}

static int tell_all(struct explain *explain, struct journal *journal, const char *path) {
    if (!tool_standing_begin(&explain->standing, explain->reader.model)) {
        tool_error("out of memory");
        return TOOL_REACH;
    }
    if (!explain->call->json) {
        tool_line(stdout, "Job %s on %s, site %s", explain->job, explain->position, explain->site);
    }
    int status = read_journal(explain, journal, path, on_row_tell);
    if (status == TOOL_DONE) {
        status = tell_standing(explain);
    }
    if (explain->call->json) {
        printf("%s]\n", explain->told == 0 ? "[" : "");
    } else {
        tool_line(stdout, "%s", TOOL_CAUTION);
    }
    tool_standing_end(&explain->standing);
    return status;
}

static int find_and_tell(struct explain *explain, struct journal *journal, const char *path) {
    int status = read_journal(explain, journal, path, on_row_find);
    if (status != TOOL_DONE) {
        return status;
    }
    if (explain->sites == 0) {
        tool_error("%s: no job \"%s\" was ever opened%s%s", path, explain->job,
                   explain->call->site != NULL ? " at site " : "",
                   explain->call->site != NULL ? explain->call->site : "");
        return TOOL_NO;
    }
    if (explain->sites > 1) {
        tool_error("job \"%s\" was opened at %u sites: name one with --site", explain->job,
                   explain->sites);
        return TOOL_USAGE;
    }
    return tell_all(explain, journal, path);
}

static int run(const struct tool_call *call) {
    struct model *model = tool_model(call);
    if (model == NULL) {
        return TOOL_CONFIGURATION;
    }
    struct explain explain = {.call = call, .job = call->argv[0], .reader = {.model = model}};
    struct journal *journal = tool_journal(model, NULL);
    int status = journal != NULL ? find_and_tell(&explain, journal, model->journal) : TOOL_REACH;
    tool_row_reader_free(&explain.reader);
    json_out_free(&explain.out);
    tool_text_free(&explain.text);
    journal_close(journal);
    model_free(model);
    return status;
}

const struct tool_command tool_explain = {
    .name = "explain",
    .words = "JOB",
    .options = "-c FILE [--site SITE] [--json]",
    .about = "Tells the job's story from the journal, and what it waits for.",
    .least = 1,
    .most = 1,
    .run = run,
};
