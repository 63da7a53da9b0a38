// `forelock gate JOB`: whether the job's next gate would open, as the daemon tells it now.
#include "base/clock.h"
#include "tool/broker.h"
#include "tool/gate_status.h"
#include "tool/text.h"
#include "tool/tool.h"

#include <string.h>

// A daemon that came up just now may not have told its documents anew yet.
#define SETTLED_MS 2000

struct look {
    struct documents documents;
    int step;
    char filter[4 * MODEL_ID_SIZE + 512];
};

static void on_message(void *user, const char *topic, const char *payload, size_t length) {
    struct look *look = user;
    tool_documents_take(&look->documents, topic, payload, length);
}

static const struct document *the_job(const struct documents *documents) {
    const struct document *found = NULL;
    for (size_t i = 0; i < documents->jobs.count; i++) {
        if (documents->jobs.items[i].payload != NULL) {
            if (found != NULL) {
                return NULL;
            }
            found = &documents->jobs.items[i];
        }
    }
    return found;
}

// The daemon, then the job, then the points of its site.
static const char *next_filter(void *user) {
    struct look *look = user;
    const struct documents *documents = &look->documents;
    const struct model *model = documents->model;
    const struct document *job = the_job(documents);
    const char *site =
        documents->only_site != MODEL_NONE ? model->sites[documents->only_site].site : "+";
    switch (look->step++) {
    case 0:
        snprintf(look->filter, sizeof look->filter, "%s/daemon/%s", model->root, model->instance);
        return look->filter;
    case 1:
        if (tool_document_root(&documents->daemon) == NULL) {
            return NULL; // without it, nothing else is to be relied on
        }
        snprintf(look->filter, sizeof look->filter, "%s/%s/job/%s", model->root, site,
                 documents->job);
        return look->filter;
    case 2:
        snprintf(look->filter, sizeof look->filter, "%s/%s/point/+", model->root,
                 job != NULL ? model->sites[job->site].site : "");
        return job != NULL ? look->filter : NULL;
    default:
        return NULL;
    }
}

static bool has_points(const struct documents *documents, const struct document *job) {
    const struct model_site *site = &documents->model->sites[job->site];
    for (size_t i = 0; i < site->point_count; i++) {
        if (tool_document_root(tool_documents_point(documents, job->site, site->points[i].point)) ==
            NULL) {
            return false;
        }
    }
    return true;
}

static bool has_all(void *user) {
    const struct look *look = user;
    const struct document *daemon = &look->documents.daemon;
    const struct document *job = the_job(&look->documents);
    int64_t since = tool_document_time(daemon, tool_document_root(daemon), "since");
    if (since == 0 || base_clock_wall_ms() - since < SETTLED_MS) {
        return false;
    }
    return look->step < 2 || (job != NULL && (look->step < 3 || has_points(&look->documents, job)));
}

static bool read_broker(struct look *look) {
    const struct model_broker *broker = &look->documents.model->broker;
    const struct tool_broker_look how = {.broker = broker,
                                         .deadline = base_clock_mono_ms() + BROKER_LOOK_MS,
                                         .on_message = on_message,
                                         .next_filter = next_filter,
                                         .has_all = has_all,
                                         .user = look};
    char error[256];
    if (!tool_broker_look(&how, error, sizeof error)) {
        tool_error("cannot ask the broker at %s:%u: %s; nothing is to be relied on", broker->host,
                   broker->port, error);
        return false;
    }
    return true;
}

static int tell(const struct documents *documents, bool json) {
    struct tool_gate_status view = {0};
    int status = tool_gate_status_read(&view, documents, base_clock_wall_ms());
    if (view.say[0] != '\0') {
        tool_error("%s", view.say);
    } else if (!json) {
        tool_gate_status_print(&view);
    } else if (!tool_gate_status_print_json(&view)) {
        tool_error("out of memory");
        status = TOOL_REACH;
    }
    tool_gate_status_free(&view);
    return status;
}

static int look_and_tell(struct look *look, bool json) {
    int status = read_broker(look) ? tell(&look->documents, json) : TOOL_REACH;
    tool_documents_free(&look->documents);
    return status;
}

static int run(const struct tool_call *call) {
    struct model *model = tool_model(call);
    if (model == NULL) {
        return TOOL_CONFIGURATION;
    }
    const struct model_site *site = call->site != NULL ? model_site_find(model, call->site) : NULL;
    struct look look = {.documents = {.model = model,
                                      .job = call->argv[0],
                                      .only_site = site != NULL ? site->index : MODEL_NONE}};
    int status = TOOL_NO;
    if (call->site != NULL && site == NULL) {
        tool_error("%s: there is no site \"%s\"", call->config, call->site);
    } else if (!model_id_valid(call->argv[0], strlen(call->argv[0]))) {
        tool_error("no job can be called \"%s\": that is no id", call->argv[0]);
    } else {
        status = look_and_tell(&look, call->json);
    }
    model_free(model);
    return status;
}

const struct tool_command tool_gate = {
    .name = "gate",
    .words = "JOB",
    .options = "-c FILE [--site SITE] [--json]",
    .about = "Says whether the job's next gate would open and what it still lacks, as the daemon "
             "tells it "
             "now.",
    .least = 1,
    .most = 1,
    .run = run,
};
