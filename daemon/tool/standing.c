// Where a job stands by the journal alone.
#include "tool/standing.h"

#include <stdio.h>

static void ignore(void *user, const struct gate_fact *fact) {
    (void)user; // nothing is decided here, so nothing new happens
    (void)fact;
}

bool tool_standing_begin(struct standing *standing, const struct model *model) {
    standing->what[0] = '\0';
    standing->gate = gate_new(model, ignore, NULL);
    return standing->gate != NULL;
}

void tool_standing_end(struct standing *standing) {
    gate_free(standing->gate);
    standing->gate = NULL;
}

void tool_standing_apply(struct standing *standing, const struct gate_fact *fact, int64_t seq) {
    char what[256];
    if (standing->what[0] == '\0' && !gate_apply(standing->gate, fact, what, sizeof what)) {
        snprintf(standing->what, sizeof standing->what, "fact %lld does not fit: %s",
                 (long long)seq, what);
    }
}

const struct gate_job *tool_standing_job(struct standing *standing, const char *site,
                                         const char *job) {
    const struct model_site *model = model_site_find(standing->gate->model, site);
    const struct gate_job *found = NULL;
    if (standing->what[0] != '\0') {
        return NULL;
    }
    if (model != NULL) {
        found = gate_job_find(&standing->gate->sites[model->index], job);
    }
    if (found == NULL) {
        snprintf(standing->what, sizeof standing->what, "%s %s%s",
                 model == NULL ? "the configuration has no site" : "the job ended long ago at",
                 site, model == NULL ? "" : ", and is folded no longer");
    }
    return found;
}

// What is known from hearing, or of the daemon while it runs, and not from the journal.
static bool is_of_now(enum model_code code) {
    switch (code) {
    case MODEL_CODE_POINT_LIVE:
    case MODEL_CODE_POINT_UNKNOWN:
    case MODEL_CODE_POINT_STALE:
    case MODEL_CODE_POINT_SETTLING:
    case MODEL_CODE_POINT_DISAGREES:
    case MODEL_CODE_CONTROLLER_OFFLINE:
    case MODEL_CODE_POINT_NOT_RESTORED:
    case MODEL_CODE_LINK_DOWN:
    case MODEL_CODE_JOURNAL_DOWN:
    case MODEL_CODE_SITE_CONTESTED:
        return true;
    default:
        return false;
    }
}

bool tool_standing_waits(const struct standing *standing, const char *site,
                         const struct gate_job *job, struct gate_time now, struct gate_list *list) {
    const struct model_site *model = model_site_find(standing->gate->model, site);
    list->unmet_only = true;
    gate_next(standing->gate, model->index, job, now, list);
    size_t kept = 0;
    for (size_t i = 0; i < list->count; i++) {
        if (!is_of_now(list->items[i].refusal.code)) {
            list->items[kept++] = list->items[i];
        }
    }
    list->count = kept;
    return !list->failed;
}

const char *tool_standing_also(const struct gate_job *job) {
    switch (job->phase) {
    case MODEL_PHASE_OPEN:
    case MODEL_PHASE_STOPPED:
        return "every required point proved isolated at that moment, the link to the hardware and "
               "a journal that writes";
    case MODEL_PHASE_WORKING:
        return "the lockout proved at that moment, and a journal that writes";
    case MODEL_PHASE_RESTORING:
        return "the link to the hardware and a journal that writes";
    case MODEL_PHASE_TESTING:
        return "every required point proved live again at that moment, the link to the hardware "
               "and a journal that writes";
    default:
        return "";
    }
}

const char *tool_standing_gate_name(enum model_phase phase) {
    switch (phase) {
    case MODEL_PHASE_OPEN:
    case MODEL_PHASE_STOPPED:
        return "start of work";
    case MODEL_PHASE_WORKING:
        return "finish of work";
    case MODEL_PHASE_RESTORING:
        return "begin of tests";
    case MODEL_PHASE_TESTING:
        return "return of the position";
    default:
        return NULL;
    }
}
