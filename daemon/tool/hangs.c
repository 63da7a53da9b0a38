// `forelock hangs export` and `hangs import PERSON FILE`: what hangs at the positions, as CSV. The
// import writes facts into the journal, with who and when, while no daemon holds it.
#include "base/clock.h"
#include "base/file.h"
#include "base/text.h"
#include "base/time_text.h"
#include "gate/part.h"
#include "tool/csv.h"
#include "tool/row.h"
#include "tool/standing.h"
#include "tool/text.h"
#include "tool/tool.h"

#include <stdlib.h>
#include <string.h>

enum { SITE, POSITION, PART, FAMILY, SERIAL, FITTED, JOB, DUE, COLUMNS };
static const char *const columns[COLUMNS] = {"site",   "position", "part", "family",
                                             "serial", "fitted",   "job",  "due"};
#define FILE_MAX (4 * 1024 * 1024)

struct hangs {
    struct tool_row_reader reader;
    struct standing standing;
    char what[TOOL_ROW_WHAT_SIZE]; // why a row cannot be read; "": all can
};

static bool on_row(void *user, const struct journal_row *row) {
    struct hangs *hangs = user;
    struct gate_fact fact;
    if (!tool_row_read(&hangs->reader, row, &fact, hangs->what)) {
        return false;
    }
    tool_standing_apply(&hangs->standing, &fact, row->seq);
    return true;
}

// Folds the whole journal. An enum tool_status.
static int fold(struct hangs *hangs, struct journal *journal, const char *path) {
    const struct journal_query query = {.verify = true};
    if (!tool_standing_begin(&hangs->standing, hangs->reader.model)) {
        tool_error("out of memory");
        return TOOL_REACH;
    }
    enum journal_status status = journal_each(journal, &query, on_row, hangs);
    const char *why = hangs->what[0] != '\0'            ? hangs->what
                      : hangs->standing.what[0] != '\0' ? hangs->standing.what
                                                        : journal_why(journal);
    if (status == JOURNAL_OK && hangs->what[0] == '\0' && hangs->standing.what[0] == '\0') {
        return TOOL_DONE;
    }
    tool_error("%s: %s", path, why);
    return TOOL_REACH;
}

// --- Export ---

static void put_part(const struct model_site *site, uint32_t position,
                     const struct gate_part *part) {
    char fitted[BASE_TIME_SIZE];
    base_time_format(part->fitted.wall, fitted);
    const char *const texts[COLUMNS] = {site->site,   site->positions[position].position,
                                        part->part,   part->family,
                                        part->serial, fitted,
                                        part->job,    part->due};
    for (size_t i = 0; i < COLUMNS; i++) {
        tool_csv_put(texts[i]);
        fputs(i + 1 < COLUMNS ? "," : "\r\n", stdout);
    }
}

static void put_all(const struct gate *gate) {
    for (size_t i = 0; i < COLUMNS; i++) {
        printf("%s%s", columns[i], i + 1 < COLUMNS ? "," : "\r\n");
    }
    for (size_t s = 0; s < gate->model->site_count; s++) {
        const struct gate_site *site = &gate->sites[s];
        for (uint32_t p = 0; p < site->model->position_count; p++) {
            for (size_t i = 0; i < site->positions[p].hang_count; i++) {
                put_part(site->model, p, &site->positions[p].hangs[i]);
            }
        }
    }
}

static int run_export(const struct tool_call *call) {
    struct model *model = tool_model(call);
    if (model == NULL) {
        return TOOL_CONFIGURATION;
    }
    struct hangs hangs = {.reader = {.model = model}};
    struct journal *journal = tool_journal(model, NULL);
    int status = journal != NULL ? fold(&hangs, journal, model->journal) : TOOL_REACH;
    if (status == TOOL_DONE) {
        put_all(hangs.standing.gate);
    }
    tool_standing_end(&hangs.standing);
    tool_row_reader_free(&hangs.reader);
    journal_close(journal);
    model_free(model);
    return status;
}

// --- Import ---

// The list, as far as it is read.
struct list {
    const struct model *model;
    const char *by;
    int place[COLUMNS]; // of each column in the file; -1: it has none
    struct gate_time at;
    struct journal *journal;
    struct json_out out;
    unsigned line, count;
    bool writes; // else it is only looked through
};

static const char *text_of(const struct list *list, char *const *texts, int column) {
    int place = list->place[column];
    return place >= 0 && texts[place][0] != '\0' ? texts[place] : NULL;
}

static bool complain(const struct list *list, const char *column, const char *need) {
    tool_error("line %u: %s must be %s", list->line, column, need);
    return false;
}

// A day (noon of it) or an instant.
static bool instant(const char *text, int64_t *at) {
    char noon[40];
    snprintf(noon, sizeof noon, "%.10sT12:00:00Z", text);
    return base_time_parse(strlen(text) == 10 ? noon : text, strlen(text) == 10 ? 20 : strlen(text),
                           at);
}

static bool fits(const char *text) {
    return text == NULL || (strlen(text) < MODEL_ID_SIZE && !base_text_blank(text));
}

static bool append(struct list *list, const struct gate_fact *fact) {
    json_out_reset(&list->out);
    if (!wire_fact_encode(fact, list->model, &list->out)) {
        tool_error("out of memory");
        return false;
    }
    const struct journal_fact row = {.at_ms = fact->at.wall,
                                     .mono_ms = fact->at.mono,
                                     .site = list->model->sites[fact->site].site,
                                     .type = gate_fact_name(fact->type),
                                     .subject = fact->position,
                                     .data = list->out.data};
    if (journal_append(list->journal, &row, NULL) != JOURNAL_OK) {
        tool_error("%s", journal_why(list->journal));
        return false;
    }
    return true;
}

static bool take_line(struct list *list, char *const *texts) {
    const char *site_id = text_of(list, texts, SITE), *id = text_of(list, texts, POSITION);
    const struct model_site *site = site_id != NULL ? model_site_find(list->model, site_id) : NULL;
    const char *due = text_of(list, texts, DUE), *fitted = text_of(list, texts, FITTED);
    struct gate_fact fact = {.type = GATE_FACT_PART_LISTED,
                             .at = list->at,
                             .by = list->by,
                             .position = id,
                             .part = text_of(list, texts, PART),
                             .family = text_of(list, texts, FAMILY),
                             .serial = text_of(list, texts, SERIAL),
                             .due = due};
    int64_t day;
    if (site == NULL) {
        return complain(list, "site", "one of the configuration");
    }
    if (id == NULL || model_position_find(site, id) == MODEL_NONE) {
        return complain(list, "position", "one of the site");
    }
    if (fact.part == NULL || !fits(fact.part) || !fits(fact.family) || !fits(fact.serial)) {
        return complain(list, "part", "a text of 1 to 64 bytes, and so family and serial if given");
    }
    if (due != NULL && (strlen(due) != 10 || !instant(due, &day))) {
        return complain(list, "due", "a day: YYYY-MM-DD");
    }
    if (fitted != NULL && !instant(fitted, &fact.fitted)) {
        return complain(list, "fitted", "a day or an RFC 3339 time");
    }
    fact.site = site->index;
    list->count++;
    return !list->writes || append(list, &fact);
}

static bool take_head(struct list *list, char *const *texts, size_t count) {
    for (size_t c = 0; c < COLUMNS; c++) {
        list->place[c] = -1;
        for (size_t i = 0; i < count; i++) {
            list->place[c] = strcmp(texts[i], columns[c]) == 0 ? (int)i : list->place[c];
        }
    }
    if (list->place[SITE] < 0 || list->place[POSITION] < 0 || list->place[PART] < 0) {
        tool_error("line 1: the columns site, position and part must be named");
        return false;
    }
    return true;
}

// Every line, of a copy of the text. The first wrong one ends it.
static bool take_all(struct list *list, const char *text) {
    char *copy = strdup(text), *at = copy, *texts[TOOL_CSV_COLUMNS];
    size_t count = 0, head = 0;
    bool good = copy != NULL;
    for (list->line = 1, list->count = 0; good && *at != '\0'; list->line++) {
        if (!tool_csv_next(&at, texts, &count)) {
            tool_error("line %u: no line of comma-separated values", list->line);
            good = false;
        } else if (list->line == 1) {
            head = count;
            good = take_head(list, texts, count);
        } else if (count != head) {
            good = complain(list, "a line", "as long as the first");
        } else {
            good = take_line(list, texts);
        }
    }
    free(copy);
    return good;
}

static bool may_list(const struct model *model, const char *by) {
    const struct model_person *person = model_person_find(model, by);
    if (person == NULL || !model_person_has(person, MODEL_ROLE_MANAGER | MODEL_ROLE_SUPERVISOR |
                                                        MODEL_ROLE_TRACKER)) {
        tool_error("%s is no manager, supervisor or tracker of the configuration", by);
        return false;
    }
    return true;
}

// Who writes holds the journal's lock: a daemon that runs has it, and then nothing is written.
static int write_list(struct list *list, const char *text) {
    struct journal_head head;
    struct journal_error error = {0};
    const struct journal_options options = {.path = list->model->journal,
                                            .instance = list->model->instance,
                                            .mode = JOURNAL_READ_WRITE_CREATE,
                                            .check = JOURNAL_CHECK_WHOLE,
                                            .created_ms = base_clock_wall_ms()};
    list->journal = journal_open(&options, &error);
    if (list->journal == NULL) {
        tool_error("%s%s", error.say,
                   error.status == JOURNAL_BUSY ? " Stop the daemon first." : "");
        return TOOL_REACH;
    }
    bool good = journal_last(list->journal, &head) == JOURNAL_OK;
    int64_t now = base_clock_wall_ms();
    list->at.wall = now > head.newest_at_ms ? now : head.newest_at_ms;
    list->at.mono = head.mono_ms;
    list->writes = true;
    good = good && journal_begin(list->journal) == JOURNAL_OK;
    if (good && take_all(list, text)) {
        good = journal_commit(list->journal) == JOURNAL_OK;
    } else {
        journal_rollback(list->journal);
        good = false;
    }
    if (good) {
        tool_line(stdout, "%u parts are listed in %s", list->count, list->model->journal);
    } else {
        tool_error("%s: nothing is imported. %s", list->model->journal, journal_why(list->journal));
    }
    journal_close(list->journal);
    return good ? TOOL_DONE : TOOL_REACH;
}

static int import(const struct model *model, const char *by, const char *path) {
    struct list list = {.model = model, .by = by};
    size_t length = 0;
    const char *why = "";
    struct journal *there = tool_journal(model, NULL); // an import makes none
    char *text = there != NULL ? base_file_read(path, FILE_MAX, &length, &why) : NULL;
    journal_close(there);
    if (there == NULL) {
        return TOOL_REACH;
    }
    if (text == NULL) {
        tool_error("%s: %s", path, why);
        return TOOL_REACH;
    }
    int status = TOOL_NO;
    if (strlen(text) != length) {
        tool_error("%s is no text", path);
    } else if (may_list(model, by) && take_all(&list, text)) {
        status = write_list(&list, text);
    }
    json_out_free(&list.out);
    free(text);
    return status;
}

static int run_import(const struct tool_call *call) {
    struct model *model = tool_model(call);
    if (model == NULL) {
        return TOOL_CONFIGURATION;
    }
    int status = import(model, call->argv[0], call->argv[1]);
    model_free(model);
    return status;
}

const struct tool_command tool_hangs_export = {
    .name = "hangs",
    .part = "export",
    .words = "",
    .options = "-c FILE",
    .about = "Prints what hangs at every position as CSV.",
    .run = run_export,
};

const struct tool_command tool_hangs_import = {
    .name = "hangs",
    .part = "import",
    .words = "PERSON FILE",
    .options = "-c FILE",
    .about =
        "Writes a CSV list of what hangs at the positions into the journal, as said by PERSON; "
        "with the daemon stopped.",
    .least = 2,
    .most = 2,
    .run = run_import,
};
