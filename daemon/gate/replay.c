// The way of a fact into the state: to what it is about, or to the list of what the configuration
// lacks; and whether the configuration still has what stands.
#include "gate/apply.h"

#include <stdlib.h>

// --- What the configuration lacks ---

static bool lacking_is(const struct gate_lacking *lacking, const char *site,
                       const struct gate_fact *fact, const char *what, const char *who) {
    return gate_same(lacking->site, site) && gate_same(lacking->job, fact->job) &&
           gate_same(lacking->who, who) && (what == NULL || gate_same(lacking->what, what));
}

static bool lacking_add(struct gate *gate, const char *site, const struct gate_fact *fact,
                        const char *what, const char *who) {
    struct gate_lacking *grown =
        realloc(gate->lacking, (gate->lacking_count + 1) * sizeof *gate->lacking);
    if (grown == NULL) {
        return false;
    }
    gate->lacking = grown;
    struct gate_lacking *lacking = &grown[gate->lacking_count++];
    gate_id_copy(lacking->site, site);
    gate_id_copy(lacking->job, fact->job);
    gate_id_copy(lacking->what, what);
    gate_id_copy(lacking->who, who);
    return true;
}

static void lacking_remove(struct gate *gate, const char *site, const struct gate_fact *fact,
                           const char *what, const char *who) {
    for (size_t i = gate->lacking_count; i-- > 0;) {
        if (lacking_is(&gate->lacking[i], site, fact, what, who)) {
            gate->lacking[i] = gate->lacking[--gate->lacking_count];
        }
    }
}

// A fact about something that is no longer configured: remembered while it stands, else of no
// matter.
static bool apply_lacking(struct gate *gate, const char *site, const struct gate_fact *fact) {
    const char *who = fact->person != NULL ? fact->person : fact->badge;
    switch (fact->type) {
    case GATE_FACT_JOB_OPENED:
        return lacking_add(gate, site, fact, fact->position, NULL);
    case GATE_FACT_JOB_RETURNED:
    case GATE_FACT_JOB_CANCELLED:
        lacking_remove(gate, site, fact, NULL, NULL);
        return true;
    case GATE_FACT_TAG_HUNG:
        if (fact->adopted) { // it hung there without a job
            struct gate_fact loose = {.job = NULL};
            lacking_remove(gate, site, &loose, fact->point, who);
        }
        return lacking_add(gate, site, fact, fact->point, who);
    case GATE_FACT_TAG_LIFTED:
        lacking_remove(gate, site, fact, fact->point, who);
        return true;
    default:
        return true;
    }
}

// --- Dispatch ---

static bool is_about_point(enum gate_fact_type type) {
    return type == GATE_FACT_TAG_HUNG || type == GATE_FACT_TAG_LIFTED ||
           type == GATE_FACT_TAG_DISCOUNTED || type == GATE_FACT_POINT_WITNESSED ||
           type == GATE_FACT_POINT_CHANGED;
}

static bool is_about_alarm(enum gate_fact_type type) {
    return type == GATE_FACT_ALARM_RAISED || type == GATE_FACT_ALARM_ACKNOWLEDGED ||
           type == GATE_FACT_ALARM_CLEARED;
}

// The points that the opening required and the configuration no longer has.
static bool lacking_points(struct gate *gate, const struct gate_site *site,
                           const struct gate_fact *fact) {
    for (size_t i = 0; i < fact->evidence_count; i++) {
        const char *point = fact->evidence[i].point;
        if (model_point_find(site->model, point) == MODEL_NONE &&
            !lacking_add(gate, site->model->site, fact, point, NULL)) {
            return false;
        }
    }
    return true;
}

static bool apply_opened(struct gate *gate, struct gate_site *site, const struct gate_fact *fact,
                         char *what, size_t size) {
    if (gate_used_find(site, fact->job) != NULL) {
        gate_text(what, size, "job %s is opened twice", fact->job);
        return false;
    }
    if (fact->requirements == NULL) {
        gate_text(what, size, "job %s is opened without its requirements", fact->job);
        return false;
    }
    if (model_position_find(site->model, fact->position) == MODEL_NONE) {
        return gate_used_add(site, fact->job, NULL) && apply_lacking(gate, site->model->site, fact);
    }
    return gate_apply_opened(gate, site, fact) && lacking_points(gate, site, fact);
}

static bool apply_to_site(struct gate *gate, struct gate_site *site, const struct gate_fact *fact,
                          char *what, size_t size) {
    if (is_about_alarm(fact->type)) {
        return gate_apply_alarm(site, fact);
    }
    if (fact->type == GATE_FACT_POSITION_OUT_OF_SERVICE ||
        fact->type == GATE_FACT_POSITION_RETURNED) {
        return gate_apply_position(site, fact);
    }
    if (is_about_point(fact->type)) {
        uint32_t point = model_point_find(site->model, fact->point);
        return point != MODEL_NONE ? gate_apply_point(site, point, fact)
                                   : apply_lacking(gate, site->model->site, fact);
    }
    if (fact->type == GATE_FACT_JOB_OPENED) {
        return apply_opened(gate, site, fact, what, size);
    }
    struct gate_job *job = gate_job_find(site, fact->job);
    if (job != NULL && !gate_apply_job(site, job, fact)) {
        return false;
    }
    // Of an ended job no point is lacking any more.
    return apply_lacking(gate, site->model->site, fact);
}

static bool is_whole(const struct gate_fact *fact) {
    if (is_about_alarm(fact->type)) {
        return fact->alarm != NULL;
    }
    if (is_about_point(fact->type)) {
        return fact->point != NULL && (fact->type == GATE_FACT_POINT_CHANGED ||
                                       fact->person != NULL || fact->badge != NULL);
    }
    if (fact->type == GATE_FACT_POSITION_OUT_OF_SERVICE ||
        fact->type == GATE_FACT_POSITION_RETURNED || fact->type == GATE_FACT_JOB_OPENED) {
        return fact->position != NULL && (fact->type != GATE_FACT_JOB_OPENED || fact->job != NULL);
    }
    bool of_person = fact->type == GATE_FACT_CREW_JOINED || fact->type == GATE_FACT_CREW_LEFT ||
                     fact->type == GATE_FACT_CREW_PROTECTED ||
                     fact->type == GATE_FACT_CREW_UNPROTECTED ||
                     fact->type == GATE_FACT_JOB_ASSIGNED || fact->type == GATE_FACT_TEST_RECORDED;
    return fact->job != NULL && (!of_person || fact->person != NULL) &&
           (fact->type != GATE_FACT_CHECK_SIGNED || fact->check != NULL) &&
           (fact->type != GATE_FACT_TEST_RECORDED || fact->test != NULL) &&
           ((fact->type != GATE_FACT_LEAD_OFFERED && fact->type != GATE_FACT_JOB_HANDED_OVER) ||
            fact->to != NULL);
}

bool gate_apply(struct gate *gate, const struct gate_fact *fact, char *what, size_t what_size) {
    if (fact->type == GATE_FACT_DAEMON_STARTED) {
        gate_apply_started(gate, fact);
        return true;
    }
    if (fact->type == GATE_FACT_REQUEST_REFUSED) {
        return true;
    }
    gate_text(what, what_size, "out of memory");
    if (!is_whole(fact)) {
        gate_text(what, what_size, "a %s lacks what it is about", gate_fact_name(fact->type));
        return false;
    }
    if (fact->site == MODEL_NONE) {
        return fact->missing_site == NULL || apply_lacking(gate, fact->missing_site, fact);
    }
    struct gate_site *site = &gate->sites[fact->site];
    site->changes++;
    gate->changes++;
    return apply_to_site(gate, site, fact, what, what_size);
}

// --- Whether the configuration fits ---

static bool job_fits(const struct gate *gate, const struct gate_site *site,
                     const struct gate_job *job, char *what, size_t size) {
    if (job->leader[0] != '\0' && model_person_find(gate->model, job->leader) == NULL) {
        gate_text(what, size, "job %s at %s is led by %s, who is not in the people file", job->job,
                  site->model->site, job->leader);
        return false;
    }
    return true;
}

static bool tags_fit(const struct gate *gate, const struct gate_site *site, uint32_t point,
                     char *what, size_t size) {
    for (size_t i = 0; i < site->points[point].tag_count; i++) {
        const struct gate_tag *tag = &site->points[point].tags[i];
        if (tag->person[0] != '\0' && model_person_find(gate->model, tag->person) == NULL) {
            gate_text(
                what, size,
                "job %s at %s: a tag of %s hangs on %s, and the people file lacks that person",
                tag->job[0] != '\0' ? tag->job : "(none)", site->model->site, tag->person,
                site->model->points[point].point);
            return false;
        }
    }
    return true;
}

static bool site_fits(const struct gate *gate, const struct gate_site *site, char *what,
                      size_t size) {
    for (size_t i = 0; i < site->job_count; i++) {
        if (gate_job_stands(site->jobs[i]) && !job_fits(gate, site, site->jobs[i], what, size)) {
            return false;
        }
    }
    for (uint32_t p = 0; p < site->model->point_count; p++) {
        if (!tags_fit(gate, site, p, what, size)) {
            return false;
        }
    }
    for (uint32_t p = 0; p < site->model->position_count; p++) {
        const struct gate_position *position = &site->positions[p];
        if (position->owed != NULL &&
            model_procedure_find(gate->model, position->owed->procedure) == NULL) {
            gate_text(what, size,
                      "job %s at %s left tests of procedure %s owed on position %s, and no such "
                      "procedure is configured",
                      position->owed_by, site->model->site, position->owed->procedure,
                      site->model->positions[p].position);
            return false;
        }
    }
    return true;
}

bool gate_fits(const struct gate *gate, char *what, size_t what_size) {
    if (gate->lacking_count > 0) {
        const struct gate_lacking *lacking = &gate->lacking[0];
        const char *job = lacking->job[0] != '\0' ? lacking->job : "(none)";
        if (lacking->who[0] != '\0') {
            gate_text(what, what_size,
                      "job %s at %s: a tag of %s hangs on %s, which is not configured", job,
                      lacking->site, lacking->who, lacking->what);
        } else {
            gate_text(what, what_size, "job %s at %s stands on %s, which is not configured", job,
                      lacking->site, lacking->what);
        }
        return false;
    }
    for (size_t s = 0; s < gate->model->site_count; s++) {
        if (!site_fits(gate, &gate->sites[s], what, what_size)) {
            return false;
        }
    }
    return true;
}
