// What the daemon's documents say of themselves, of the job and of its points.
#include "tool/gate_status.h"

#include "tool/text.h"
#include "tool/tool.h"
#include "wire/fact_parts.h"
#include "wire/fact_refusal.h"

#include <stdlib.h>
#include <string.h>

#define RELY "; nothing is to be relied on"

void tool_gate_status_free(struct tool_gate_status *view) {
    wire_fact_arena_free(&view->arena);
    free(view->required);
    free(view->needs);
    view->required = NULL;
    view->needs = NULL;
}

bool tool_gate_status_online(const struct documents *documents, int64_t now, char *say,
                             size_t size) {
    const struct document *daemon = &documents->daemon;
    const struct json_node *root = tool_document_root(daemon);
    const char *instance = documents->model->instance;
    int64_t at = tool_document_time(daemon, root, "at");
    char age[TOOL_AGE_SIZE];
    tool_age(now > at ? now - at : at - now, age);
    if (root == NULL) {
        snprintf(say, size, "the broker keeps no document of daemon %s" RELY, instance);
    } else if (!tool_document_says(daemon, root, "state", "online")) {
        snprintf(say, size, "daemon %s is offline" RELY, instance);
    } else if (at == 0) {
        snprintf(say, size, "daemon %s does not say when it was last there" RELY, instance);
    } else if (now - at >= TOOL_RENEWED_MS) {
        snprintf(say, size, "daemon %s has not been heard for %s" RELY, instance, age);
    } else if (at - now >= TOOL_RENEWED_MS) {
        snprintf(say, size, "the clock of daemon %s is %s ahead of this machine's" RELY, instance,
                 age);
    } else {
        return true;
    }
    return false;
}

static bool serves(const struct documents *documents, uint32_t site) {
    const struct document *daemon = &documents->daemon;
    const struct json_node *sites =
        json_present(&daemon->tape, tool_document_root(daemon), "sites");
    for (const struct json_node *node = json_first(&daemon->tape, sites); node != NULL;
         node = json_next(&daemon->tape, sites, node)) {
        if (node->kind == JSON_STRING &&
            json_equals(&daemon->tape, node, documents->model->sites[site].site)) {
            return true;
        }
    }
    return false;
}

// The one site's document of the job.
static int choose_job(struct tool_gate_status *view) {
    const struct documents *documents = view->documents;
    size_t found = 0;
    for (size_t i = 0; i < documents->jobs.count; i++) {
        if (documents->jobs.items[i].payload != NULL) {
            view->job = &documents->jobs.items[i];
            found++;
        }
    }
    if (found == 1) {
        view->site = &documents->model->sites[view->job->site];
        return TOOL_DONE;
    }
    if (found > 1) {
        snprintf(view->say, sizeof view->say,
                 "job \"%.64s\" is known at %zu sites: name one with --site", documents->job,
                 found);
        return TOOL_USAGE;
    }
    snprintf(view->say, sizeof view->say, "the daemon knows no job \"%.64s\"%s%s", documents->job,
             documents->only_site != MODEL_NONE ? " at site " : "",
             documents->only_site != MODEL_NONE ? documents->model->sites[documents->only_site].site
                                                : "");
    return TOOL_NO;
}

static bool unreadable(struct tool_gate_status *view, const char *what) {
    snprintf(view->say, sizeof view->say, "the document of job %.64s %s" RELY, view->documents->job,
             what);
    return false;
}

static bool read_words(struct tool_gate_status *view, const struct json_node *root) {
    char phase[32], lockout[32], position[MODEL_ID_SIZE], procedure[MODEL_ID_SIZE];
    tool_document_text(view->job, root, "phase", phase, sizeof phase);
    tool_document_text(view->job, root, "lockout", lockout, sizeof lockout);
    tool_document_text(view->job, root, "position", position, sizeof position);
    tool_document_text(view->job, root, "procedure", procedure, sizeof procedure);
    tool_document_text(view->job, root, "technician", view->leader, sizeof view->leader);
    int phase_value = model_phase_of(phase), lockout_value = model_lockout_of(lockout);
    if (phase_value < 0 || lockout_value < 0) {
        return unreadable(view, "has a phase or lockout that this version does not know");
    }
    view->phase = (enum model_phase)phase_value;
    view->lockout = (enum model_lockout)lockout_value;
    view->position = model_position_find(view->site, position);
    int64_t opened = tool_document_time(view->job, root, "opened");
    const struct model_requirements *row = model_requirements_find(
        view->documents->model, view->site, procedure, opened != 0 ? opened : view->now);
    if (view->position != MODEL_NONE && row != NULL) {
        view->needs = model_requirements_at(row, view->site, view->position);
    }
    return (view->position != MODEL_NONE && view->needs != NULL) ||
           unreadable(view, "names a position or procedure that this configuration lacks");
}

static bool read_missing(struct tool_gate_status *view, const struct json_node *root) {
    const struct json_node *missing = json_present(&view->job->tape, root, "missing");
    const struct wire_fact_reader reader = {.tape = &view->job->tape, .arena = &view->arena};
    return (missing != NULL && missing->kind == JSON_ARRAY &&
            wire_fact_read_refusals(&reader, missing, &view->missing, &view->missing_count)) ||
           unreadable(view, "does not say what is missing");
}

// The points that isolate the position and whose energy the procedure isolates.
static bool find_required(struct tool_gate_status *view) {
    const struct model_position *position = &view->site->positions[view->position];
    view->required = calloc(position->point_count + 1, sizeof *view->required);
    for (uint32_t i = 0; view->required != NULL && i < position->point_count; i++) {
        const struct model_point *point = &view->site->points[position->points[i]];
        bool isolates = false;
        for (size_t e = 0; e < view->needs->isolate_count; e++) {
            isolates = isolates || strcmp(view->needs->isolate[e], point->energy) == 0;
        }
        if (isolates) {
            view->required[view->required_count++] = position->points[i];
        }
    }
    return view->required != NULL || unreadable(view, "cannot be read: out of memory");
}

// Whether the document of every required point is there: without one, the rest is of another time.
static bool are_told(struct tool_gate_status *view) {
    for (size_t i = 0; i < view->required_count; i++) {
        const char *point = view->site->points[view->required[i]].point;
        if (tool_document_root(tool_documents_point(view->documents, view->site->index, point)) ==
            NULL) {
            snprintf(view->say, sizeof view->say, "point %s is not told" RELY, point);
            return false;
        }
    }
    return true;
}

static int read_documents(struct tool_gate_status *view) {
    const struct documents *documents = view->documents;
    if (!tool_gate_status_online(documents, view->now, view->say, sizeof view->say)) {
        return TOOL_REACH;
    }
    int status = choose_job(view);
    if (status != TOOL_DONE) {
        return status;
    }
    if (!serves(documents, view->site->index)) {
        snprintf(view->say, sizeof view->say, "daemon %s does not serve site %s now" RELY,
                 documents->model->instance, view->site->site);
        return TOOL_REACH;
    }
    const struct json_node *root = tool_document_root(view->job);
    if (root == NULL) {
        unreadable(view, "cannot be read");
        return TOOL_REACH;
    }
    view->daemon_at =
        tool_document_time(&documents->daemon, tool_document_root(&documents->daemon), "at");
    tool_document_text(&documents->daemon, tool_document_root(&documents->daemon), "version",
                       view->version, sizeof view->version);
    return read_words(view, root) && read_missing(view, root) && find_required(view) &&
                   are_told(view)
               ? TOOL_DONE
               : TOOL_REACH;
}

int tool_gate_status_read(struct tool_gate_status *view, const struct documents *documents,
                          int64_t now) {
    view->documents = documents;
    view->now = now;
    int status = documents->failed ? TOOL_REACH : read_documents(view);
    if (documents->failed) {
        snprintf(view->say, sizeof view->say, "out of memory" RELY);
    }
    if (status != TOOL_DONE) {
        return status;
    }
    if (gate_verb_next(view->phase) == GATE_VERB_COUNT) {
        snprintf(view->say, sizeof view->say, "job %s is %s: it has no next gate", view->job->id,
                 model_phase_name(view->phase));
        return TOOL_NO;
    }
    return view->missing_count == 0 ? TOOL_DONE : TOOL_NO;
}

// --- When the evidence was heard ---

static int64_t entry_time(const struct tool_gate_status *view, const char *list_name,
                          const char *name, const char *id) {
    const struct json_tape *tape = &view->job->tape;
    const struct json_node *list = json_present(tape, tool_document_root(view->job), list_name);
    for (const struct json_node *entry = json_first(tape, list); entry != NULL;
         entry = json_next(tape, list, entry)) {
        char found[MODEL_TEST_SIZE];
        tool_document_text(view->job, entry, name, found, sizeof found);
        if (strcmp(found, id) == 0) {
            return tool_document_time(view->job, entry, "at");
        }
    }
    return 0;
}

struct gate_refusal tool_gate_status_missing(const struct tool_gate_status *view, size_t i) {
    struct gate_refusal missing = view->missing[i];
    const struct document *point =
        tool_documents_point(view->documents, view->site->index, missing.subject);
    int64_t heard = tool_document_time(point, tool_document_root(point), "heard");
    heard = heard != 0 ? heard : entry_time(view, "checks", "check", missing.subject);
    heard = heard != 0 ? heard : entry_time(view, "tests", "test", missing.subject);
    if (missing.age_ms < 0 && heard != 0) {
        missing.age_ms = view->now - heard;
    }
    return missing;
}
