// The next gate, for people and as JSON.
#include "tool/gate_status.h"

#include "tool/fact_text.h"
#include "tool/print.h"
#include "tool/standing.h"
#include "tool/text.h"
#include "tool/tool.h"
#include "wire/fact_parts.h"
#include "wire/fact_refusal.h"

#include <string.h>

static bool is_required(const struct tool_gate_status *view, uint32_t point) {
    for (size_t i = 0; i < view->required_count; i++) {
        if (view->required[i] == point) {
            return true;
        }
    }
    return false;
}

// --- For people ---

static void add_tags(struct tool_text *text, const struct document *document) {
    const struct json_node *tags =
        json_present(&document->tape, tool_document_root(document), "tags");
    const char *between = "; tags: ";
    for (const struct json_node *tag = json_first(&document->tape, tags); tag != NULL;
         tag = json_next(&document->tape, tags, tag)) {
        char who[MODEL_ID_SIZE], job[MODEL_ID_SIZE];
        tool_document_text(document, tag, "person", who, sizeof who);
        if (who[0] == '\0') {
            tool_document_text(document, tag, "badge", who, sizeof who);
        }
        tool_document_text(document, tag, "job", job, sizeof job);
        tool_text_add(text, "%s%s for %s%s", between, who, job[0] != '\0' ? job : "no job",
                      tool_document_flag(document, tag, "counts") ? "" : " (does not count)");
        between = ", ";
    }
    tool_text_add(text, "%s", strcmp(between, ", ") == 0 ? "" : "; no tags");
}

static void print_point(const struct tool_gate_status *view, uint32_t point,
                        struct tool_text *text) {
    const struct model_point *model = &view->site->points[point];
    const struct document *document =
        tool_documents_point(view->documents, view->site->index, model->point);
    const struct json_node *root = tool_document_root(document);
    char state[32], trust[32], age[TOOL_AGE_SIZE];
    if (root == NULL) {
        tool_line(stdout, "  %s (%s): not told", model->point, model->title);
        return;
    }
    tool_document_text(document, root, "state", state, sizeof state);
    tool_document_text(document, root, "trust", trust, sizeof trust);
    int64_t heard = tool_document_time(document, root, "heard");
    tool_age(view->now - heard, age);
    tool_text_cut(text, 0);
    tool_text_add(text, "  %s (%s): %s, %s, %s%s%s", model->point, model->title, state, trust,
                  heard != 0 ? "heard " : "never heard", heard != 0 ? age : "",
                  heard != 0 ? " ago when it was last told" : "");
    add_tags(text, document);
    tool_line(stdout, "%s", tool_text_of(text));
}

static void print_missing(const struct tool_gate_status *view, struct tool_text *text) {
    for (size_t i = 0; i < view->missing_count; i++) {
        const struct gate_refusal missing = tool_gate_status_missing(view, i);
        tool_text_cut(text, 0);
        tool_fact_refusal(text, &missing);
        tool_line(stdout, "  [MISSING] %s", tool_text_of(text));
    }
    if (view->missing_count == 0) {
        tool_line(stdout, "  nothing is missing");
    }
}

void tool_gate_status_print(const struct tool_gate_status *view) {
    struct tool_text text = {0};
    char age[TOOL_AGE_SIZE];
    tool_age(view->now - view->daemon_at, age);
    tool_line(stdout, "Job %s on %s at %s: %s, lockout %s, led by %s", view->job->id,
              view->site->positions[view->position].position, view->site->site,
              model_phase_name(view->phase), model_lockout_name(view->lockout),
              view->leader[0] != '\0' ? view->leader : "nobody");
    tool_line(stdout, "Next gate: %s; %s (%zu requirements missing)",
              tool_standing_gate_name(view->phase),
              view->missing_count == 0 ? "it would open for the leader now" : "it would NOT open",
              view->missing_count);
    tool_line(stdout, "Required points:");
    for (size_t i = 0; i < view->required_count; i++) {
        print_point(view, view->required[i], &text);
    }
    tool_line(stdout, "Requirements:");
    print_missing(view, &text);
    tool_line(stdout,
              "As told by daemon %s, which was last there %s ago. Ages of points are those "
              "of the last telling: the daemon tells anew when a point changes or ages.",
              view->documents->model->instance, age);
    tool_line(stdout, "%s", TOOL_CAUTION);
    tool_text_free(&text);
}

// --- As JSON ---

static void text_member(struct json_out *out, const char *name, const char *text) {
    json_out_key(out, name);
    wire_fact_write_text(out, text);
}

// The document as the daemon told it, and what this is to the job.
static void point_json(struct json_out *out, const struct tool_gate_status *view, uint32_t point) {
    const char *id = view->site->points[point].point;
    const struct document *document = tool_documents_point(view->documents, view->site->index, id);
    const struct json_node *root = tool_document_root(document);
    static const char *const copied[] = {"energy", "state", "trust", "tags", "heard", "since"};
    int64_t heard = tool_document_time(document, root, "heard");
    json_out_object(out);
    text_member(out, "point", id);
    for (size_t i = 0; i < sizeof copied / sizeof copied[0]; i++) {
        const struct json_node *node =
            root != NULL ? json_present(&document->tape, root, copied[i]) : NULL;
        json_out_key(out, copied[i]);
        if (node != NULL) {
            json_out_node(out, &document->tape, node);
        } else {
            json_out_null(out);
        }
    }
    json_out_key(out, "age_s");
    wire_fact_write_number(out, heard != 0, (double)(view->now - heard) / 1000);
    json_out_key(out, "required");
    json_out_bool(out, is_required(view, point));
    json_out_object_end(out);
}

static void requirements_json(struct json_out *out, const struct tool_gate_status *view) {
    json_out_key(out, "requirements");
    json_out_array(out);
    for (size_t i = 0; i < view->missing_count; i++) {
        const struct gate_refusal missing = tool_gate_status_missing(view, i);
        json_out_object(out);
        json_out_key(out, "met");
        json_out_bool(out, false);
        wire_fact_write_refusal_members(out, &missing, true);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void write_json(struct json_out *out, const struct tool_gate_status *view) {
    const struct model_position *position = &view->site->positions[view->position];
    json_out_object(out);
    text_member(out, "job", view->job->id);
    text_member(out, "site", view->site->site);
    text_member(out, "position", position->position);
    text_member(out, "procedure", view->needs->procedure);
    text_member(out, "phase", model_phase_name(view->phase));
    text_member(out, "lockout", model_lockout_name(view->lockout));
    text_member(out, "technician", view->leader);
    text_member(out, "gate", tool_standing_gate_name(view->phase));
    json_out_key(out, "opens");
    json_out_bool(out, view->missing_count == 0);
    text_member(out, "daemon", view->documents->model->instance);
    json_out_key(out, "at");
    wire_fact_write_time(out, view->daemon_at);
    json_out_key(out, "points");
    json_out_array(out);
    for (uint32_t i = 0; i < position->point_count; i++) {
        point_json(out, view, position->points[i]);
    }
    json_out_array_end(out);
    requirements_json(out, view);
    text_member(out, "caution", TOOL_CAUTION);
    json_out_object_end(out);
}

bool tool_gate_status_print_json(const struct tool_gate_status *view) {
    struct json_out out = {0};
    write_json(&out, view);
    return tool_print_json(&out);
}
